"""Changes to a case: numbers to their limits and beyond, parts lost, doubled, moved, renamed.

Each mutation takes the case, which it changes, and a function that draws from a strategy.
"""

import copy

from hypothesis import strategies as st

from frames.casefile.tables import REPEATED, SINGLE
from tests.frames.casefile_edits import Raw
from tests.frames.real_parts import Draw, Mutation, filled_gap, history, pin, real_part, turn_nuts

NAMES = [
    *("R1", "W1", "a b", "Ω 環", "x" * 60, "[bold]", "ring", "ring spacer", "1", "rod R1-R2 at 0°"),
    *("proximal fragment", "distal fragment rod", "proximal fragment from 1", "W1 start clamp"),
]


def _limits() -> dict[tuple[str, str], tuple[float, float]]:
    found = {}
    for kind, model in {**SINGLE, **REPEATED}.items():
        for key, field in model.model_fields.items():
            low = [m.ge for m in field.metadata if getattr(m, "ge", None) is not None]
            high = [m.le for m in field.metadata if getattr(m, "le", None) is not None]
            if low and high:
                found[kind, key] = (float(low[0]), float(high[0]))
    return found


LIMITS = _limits()
"""Smallest and largest value of every number of a case, tables inside tables apart."""
WHOLE = {"order", "cortices", "load_steps", "cycles"}
"""Keys of whole numbers."""

EXCLUDED = {
    "tension_N": ("tension_kgf",),
    "height_mm": ("face",),
    "body_weight": ("axial_N",),
    "diameter_mm": ("thread",),
    "E_MPa": ("material",),
    "nu": ("material",),
    "slip_N": ("bolt_torque_Nm",),
    "bolt_torque_Nm": ("slip_N",),
    "bearing_deg": ("bearings_deg",),
    "lengthen_mm": ("turns",),
    "turns": ("lengthen_mm",),
}


def _part(raw: Raw, draw: Draw, kinds: list[str]) -> tuple[str, Raw] | None:
    kind = draw(st.sampled_from(kinds))
    parts = [raw.setdefault(kind, {})] if kind in SINGLE else raw.get(kind, [])
    return (kind, draw(st.sampled_from(parts))) if parts else None


def number(raw: Raw, draw: Draw) -> None:
    """One number of one part: a limit, beyond one, anywhere between, or near what it was."""
    common = ["bone", "ring", "ring", "rod", "wire", "wire", "wire", "load"]
    found = _part(raw, draw, [*common, "pin", "model", "nut_turn", "history"])
    if found is None:
        return
    kind, part = found
    key = draw(st.sampled_from(sorted(k for of, k in LIMITS if of == kind)))
    low, high = LIMITS[kind, key]
    old = part.get(key, (low + high) / 2.0)
    part[key] = draw(
        st.one_of(
            st.sampled_from([low, high, 0.0, -old, old / 10.0, 10.0 * old, 1e-12, 1e12, low - 1.0]),
            st.sampled_from([1e-6, 0.05, 1.0, 20.0]).map(lambda step: old + step),
            st.floats(low, high, allow_subnormal=False),
        )
    )
    if key in WHOLE and draw(st.booleans()):
        part[key] = int(part[key])
    for other in EXCLUDED.get(key, ()) if kind != "rod" or key != "diameter_mm" else ():
        part.pop(other, None)
    if key in ("E_MPa", "nu") and kind != "bone":
        part.setdefault("nu", 0.3)
        part.setdefault("E_MPa", 1e5)


def drop(raw: Raw, draw: Draw) -> None:
    """A part lost."""
    parts = raw[draw(st.sampled_from(["ring", "rod", "rod", "wire", "wire", "load"]))]
    if parts:
        parts.pop(draw(st.integers(0, len(parts) - 1)))


def double(raw: Raw, draw: Draw) -> None:
    """A part twice: under its name or another, in its place or next to it."""
    kind = draw(st.sampled_from(["ring", "rod", "wire", "wire", "pin", "load"]))
    if not raw.get(kind):
        return
    part = copy.deepcopy(draw(st.sampled_from(raw[kind])))
    if "name" in part:
        part["name"] += draw(st.sampled_from(["", " again"]))
    key = "level_mm" if kind == "ring" else "bearing_deg"
    if key in part:
        part[key] += draw(st.sampled_from([0.0, 1e-9, 1e-4, 0.01, 1.0, 45.0, -150.0]))
    raw[kind].append(part)


def rename(raw: Raw, draw: Draw) -> None:
    """A part by another name, and what refers to it."""
    found = _part(raw, draw, ["ring", "rod", "wire", "pin", "load"])
    if found is None:
        return
    kind, part = found
    old, new = part.get("name"), draw(st.sampled_from(NAMES))
    part["name"] = new
    if kind == "ring":
        for w in (*raw["wire"], *raw.get("pin", ())):
            w["ring"] = new if w["ring"] == old else w["ring"]
        for rod in (*raw["rod"], *raw.get("nut_turn", ())):
            rod["rings"] = [new if name == old else name for name in rod["rings"]]
    for h in raw.get("history", ()) if kind == "load" else ():
        h["load"] = new if h["load"] == old else h["load"]


def refer(raw: Raw, draw: Draw) -> None:
    """A wire or pin on another ring, a rod through others."""
    names = st.sampled_from([*(r["name"] for r in raw["ring"]), "nowhere"])
    found = _part(raw, draw, ["wire", "pin", "rod"])
    if found is None:
        return
    if found[0] != "rod":
        found[1]["ring"] = draw(names)
    else:
        found[1]["rings"] = draw(st.lists(names, min_size=1, max_size=3))


def load(raw: Raw, draw: Draw) -> None:
    """One more load, from nothing to absurd."""
    name = f"load {len(raw['load'])}"
    size = st.sampled_from([0.0, 1e-6, 1.0, 50.0, 700.0, 3000.0, 50_000.0]).flatmap(
        lambda s: st.sampled_from([s, -s])
    )
    offset = st.tuples(st.floats(-200.0, 200.0), st.floats(-60.0, 60.0)).map(list)
    three = st.lists(size, min_size=3, max_size=3)
    moment = st.lists(st.sampled_from([0.0, 0.1, 5.0, -40.0, 5000.0]), min_size=3, max_size=3)
    at = st.sampled_from(["knee", "ankle", "proximal face", "distal face"])
    new = draw(
        st.one_of(
            st.fixed_dictionaries({"axial_N": size}, optional={"offset_mm": offset}),
            st.fixed_dictionaries({"body_weight": st.sampled_from([1.0, 20.0, -1.0, 0.1])}),
            st.fixed_dictionaries({"force_N": three, "moment_Nm": moment, "at": at}),
        )
    )
    raw["load"].append({"name": name, **new})


def open_ring(raw: Raw, draw: Draw) -> None:
    """An opening in a ring, or nearly none."""
    if raw["ring"]:
        part = draw(st.sampled_from(raw["ring"]))
        part["arc_deg"] = draw(st.sampled_from([90.0, 180.0, 240.0, 300.0, 359.999, 360.0]))
        part["opening_bearing_deg"] = draw(st.floats(-360.0, 360.0))


def every_wire(raw: Raw, draw: Draw) -> None:
    """All wires at one tension, one level, one bearing, one offset, of one stiffness."""
    key, values = draw(
        st.sampled_from(
            [
                ("tension_N", [0.0, 1e-9, 1.0, 50.0, 1275.0, 5000.0]),
                ("height_mm", [0.0, 0.05, 10.0, -30.0, 50.0]),
                ("bearing_deg", [0.0, 45.0, 123.4]),
                ("offset_mm", [12.99, -12.9999999, 6.0]),
                ("diameter_mm", [0.5, 4.0]),
                ("E_MPa", [10.0, 1e3, 1e6]),
                ("bone_hold", ["pivot", "built in"]),
            ]
        )
    )
    value = draw(st.sampled_from(values))
    for w in raw["wire"]:
        if draw(st.booleans()):
            w[key] = value
            if key == "E_MPa":
                w["nu"] = 0.3
            for other in EXCLUDED.get(key, ()):
                w.pop(other, None)


def every_member(raw: Raw, draw: Draw) -> None:
    """All rings or rods of one modulus, from rubber to ceramics."""
    kind = draw(st.sampled_from(["ring", "rod"]))
    E = draw(st.sampled_from([10.0, 100.0, 1e3, 1e6]))
    for part in raw[kind]:
        part.pop("material", None)
        part.update(E_MPa=E, nu=draw(st.sampled_from([0.0, 0.3, 0.49])))


def crowd(raw: Raw, draw: Draw) -> None:
    """A ring next to another, or off the bone's axis; rods in one place, or few."""
    match draw(st.sampled_from(["level", "centre", "rods", "few rods", "gap"])):
        case "level" if raw["ring"]:
            near = draw(st.sampled_from(raw["ring"]))["level_mm"]
            step = draw(st.sampled_from([0.0, 1e-9, 1e-3, 0.1, 1.0, 6.0]))
            draw(st.sampled_from(raw["ring"]))["level_mm"] = near + step
        case "centre" if raw["ring"]:
            aside = st.floats(-70.0, 70.0)
            draw(st.sampled_from(raw["ring"]))["centre_mm"] = [draw(aside), draw(aside)]
        case "rods":
            for rod in raw["rod"]:
                old = rod.get("bearing_deg", 90.0)
                rod["bearing_deg"] = draw(st.sampled_from([0.0, 0.001, 5.0, old]))
                rod.pop("bearings_deg", None)
        case "few rods":
            raw["rod"] = raw["rod"][: draw(st.integers(0, 2))]
        case "gap":
            raw["bone"]["gap_mm"] = draw(st.sampled_from([0.01, 0.1, 100.0, 300.0]))


MUTATIONS: list[Mutation] = [
    *(number,) * 6,
    *(drop, double, rename, refer),
    *(load,) * 2,
    *(open_ring, every_wire, every_wire, every_member, crowd, crowd),
    *(real_part, real_part, real_part, filled_gap, pin, pin, turn_nuts, history),
]


def mutate(raw: Raw, draw: Draw) -> Raw:
    """A copy with one to five mutations."""
    new = copy.deepcopy(raw)
    for mutation in draw(st.lists(st.sampled_from(MUTATIONS), min_size=1, max_size=5)):
        mutation(new, draw)
    return new
