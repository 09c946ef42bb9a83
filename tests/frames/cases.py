"""Cases as dictionaries, and changes of them that must not, or must in a known way, change answers.

All frames are invented.  What a common frame is: four rings, two crossing wires of 1.8 mm on each
at about 110 kgf (common practice, no source).
"""

import copy
import itertools
import math
import tomllib
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from frames import Result, case_from_dict, check
from frames.demo import demo_text

Raw = dict[str, Any]
KGF = 9.80665


def demo() -> Raw:
    """The demo case that comes with the program."""
    return tomllib.loads(demo_text())


def ring(name: str, level: float, **other: Any) -> Raw:
    """A stainless ring of 160 mm, 14 × 5 mm."""
    size = {"inner_diameter_mm": 160.0, "width_mm": 14.0, "thickness_mm": 5.0}
    return {"name": name, "level_mm": level, **size, **other}


def wire(name: str, on: str, bearing: float, face: str, **other: Any) -> Raw:
    """A wire of 1.8 mm at 110 kgf."""
    how = {} if "tension_N" in other else {"tension_kgf": 110.0}
    place = {} if "height_mm" in other else {"face": face}
    size = {"diameter_mm": 1.8, "bearing_deg": bearing}
    return {"name": name, "ring": on, **size, **place, **how, **other}


def axial(name: str, newton: float, **other: Any) -> Raw:
    """A load along the bone, compression positive."""
    return {"name": name, "axial_N": newton, **other}


def wrench(
    name: str,
    force: Sequence[float] = (0.0, 0.0, 0.0),
    moment: Sequence[float] = (0.0, 0.0, 0.0),
    at: str = "knee",
) -> Raw:
    """Force (N) and moment (N·m), (anterior, medial, proximal), at a named point."""
    return {"name": name, "force_N": list(force), "moment_Nm": list(moment), "at": at}


def frame(
    levels: Sequence[float] = (140.0, 50.0, -50.0, -140.0),
    bearings: Sequence[Sequence[float]] = ((60.0, 120.0), (57.0, 122.0)),
    rods: Sequence[float] = (30.0, 150.0, 210.0, 330.0),
    wires: Raw | None = None,
    rings: Raw | None = None,
    loads: Iterable[Raw] = (),
    side: str = "right",
    gap: float = 2.0,
) -> Raw:
    """A frame of rings ``R1`` … joined by rods of 6 mm between neighbours.

    bearings : of the wires ``W1`` … of each ring, taken in turn; they lie on alternate faces.
    wires, rings : other keys of all of them.
    """
    names = [f"R{i + 1}" for i in range(len(levels))]
    laid = [
        (name, bearing, face)
        for i, name in enumerate(names)
        for bearing, face in zip(
            bearings[i % len(bearings)], ("proximal", "distal") * 4, strict=False
        )
    ]
    return {
        "case": {"title": "invented", "side": side, "body_mass_kg": 75},
        "bone": {
            "proximal_end_mm": 170.0,
            "distal_end_mm": -170.0,
            "outer_mm": 26.0,
            "inner_mm": 14.0,
            "gap_mm": gap,
        },
        "ring": [ring(n, z, **(rings or {})) for n, z in zip(names, levels, strict=True)],
        "rod": [
            {"rings": [a, b], "bearing_deg": at, "diameter_mm": 6.0}
            for a, b in itertools.pairwise(names)
            for at in rods
        ],
        "wire": [
            wire(f"W{i + 1}", name, bearing, face, **(wires or {}))
            for i, (name, bearing, face) in enumerate(laid)
        ],
        "load": list(loads),
    }


def small(**other: Any) -> Raw:
    """The smallest stable frame: two rings, two wires each (not common practice)."""
    return frame(
        levels=(60.0, -60.0),
        bearings=((50.0, 130.0), (40.0, 120.0)),
        rods=(0.0, 120.0, 240.0),
        **other,
    )


def answers(raw: Raw) -> Result:
    """Checked and solved."""
    return check(case_from_dict(raw))


def edited(raw: Raw, change: Callable[[Raw], object]) -> Raw:
    """A deep copy on which ``change`` was made."""
    new = copy.deepcopy(raw)
    change(new)
    return new


def every(raw: Raw, kind: str, **keys: Any) -> Raw:
    """All parts of a kind with keys set; None takes a key out."""
    new = copy.deepcopy(raw)
    for part in new[kind]:
        part.update(keys)
        for key in [k for k, v in keys.items() if v is None]:
            del part[key]
    return new


def with_loads(raw: Raw, *loads: Raw) -> Raw:
    """Other loads, no targets."""
    return {**{k: v for k, v in raw.items() if k != "target"}, "load": list(loads)}


def other_leg(raw: Raw) -> Raw:
    """The mirror image."""
    side = "left" if raw["case"]["side"] == "right" else "right"
    return {**raw, "case": {**raw["case"], "side": side}}


def turned_pair(pair: Sequence[float], degrees: float) -> list[float]:
    """(anterior, medial) turned from anterior towards medial."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [c * pair[0] - s * pair[1], s * pair[0] + c * pair[1]]


def turned_about_axis(raw: Raw, degrees: float) -> Raw:
    """The whole construct and its loads turned about the bone's axis."""
    new = copy.deepcopy(raw)
    keys = ("bearing_deg", "opening_bearing_deg", "tilt_bearing_deg", "split_bearing_deg")
    keys += ("bearings_deg", "obliquity_bearing_deg")
    faces = [new["bone"]["contact"]] if "contact" in new["bone"] else []
    kinds = (new.get(kind, []) for kind in ("ring", "rod", "wire", "pin", "nut_turn"))
    for part in itertools.chain(faces, *kinds):
        for key in keys:
            if isinstance(part.get(key), list):
                part[key] = [(b + degrees) % 360.0 for b in part[key]]
            elif key in part:
                part[key] = (part[key] + degrees) % 360.0
    for part in new["ring"]:
        if "centre_mm" in part:
            part["centre_mm"] = turned_pair(part["centre_mm"], degrees)
    for load in new.get("load", []):
        if "offset_mm" in load:
            load["offset_mm"] = turned_pair(load["offset_mm"], degrees)
        for key in ("force_N", "moment_Nm"):
            if key in load:
                load[key] = [*turned_pair(load[key][:2], degrees), load[key][2]]
    return new


def swapped_ends(raw: Raw) -> Raw:
    """Every wire described from its other end: bearing + 180°, offset and tilt with the other sign,
    start and end exchanged."""
    new = copy.deepcopy(raw)
    other = {"start": "end", "end": "start", "both": "both"}
    for w in new["wire"]:
        w["bearing_deg"] = (w["bearing_deg"] + 180.0) % 360.0
        for key in ("offset_mm", "tilt_deg"):
            if key in w:
                w[key] = -w[key]
        for key in ("olive", "tension_from"):
            if key in w:
                w[key] = other[w[key]]
        if "end_tension_N" in w:
            w["tension_N"], w["end_tension_N"] = w["end_tension_N"], w["tension_N"]
    return new


def symmetric(**other: Any) -> Raw:
    """Two planes of symmetry: wires at ±45° in the middle of their rings, four rods, rings centred.

    An axial load then moves the gap along the axis only.
    """
    return frame(
        levels=(100.0, 40.0, -40.0, -100.0),
        bearings=((45.0, 135.0),),
        rods=(0.0, 90.0, 180.0, 270.0),
        wires={"height_mm": 0.0},
        **other,
    )


def own_constants(raw: Raw) -> Raw:
    """Elastic constants written out in place of materials and defaults."""
    new = copy.deepcopy(raw)
    new["bone"].update(E_MPa=17_000.0, nu=0.3)
    for kind in ("ring", "rod", "wire"):
        for part in new[kind]:
            part.pop("material", None)
            part.update(E_MPa=193_000.0, nu=0.3)
    return new


def stiff_bone(raw: Raw, E_MPa: float = 1e6) -> Raw:
    """Bone as stiff as a case file allows (or of another modulus)."""
    return {**raw, "bone": {**raw["bone"], "E_MPa": E_MPa}}
