"""Changes that make an ideal frame a real one: tilted and split rings, struts, held and slipping
wires, half-pins, a filled gap, turned nuts, histories.

Each takes the case, which it changes, and a function that draws from a strategy.
"""

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

from tests.frames.casefile_edits import Raw

Draw = Callable[[st.SearchStrategy[Any]], Any]
Mutation = Callable[[Raw, Draw], None]

bearings = st.floats(-360.0, 360.0)
tilts = st.sampled_from([0.0, 1e-9, 0.5, -3.0, 10.0, -45.0])
ends = st.sampled_from(["start", "end"])

REAL: dict[str, list[st.SearchStrategy[Raw]]] = {
    "ring": [
        st.fixed_dictionaries({"tilt_deg": tilts, "tilt_bearing_deg": bearings}),
        st.fixed_dictionaries(
            {"halves": st.sampled_from(["bolted", "hinged"])},
            optional={
                "split_bearing_deg": st.one_of(bearings, st.sampled_from([0.0, 30.0, 90.0])),
                "joint_Nm_per_deg": st.sampled_from([0.001, 1.0, 40.0, 1e6]),
                "joint_play_deg": st.sampled_from([0.0, 0.01, 0.2, 10.0]),
            },
        ),
    ],
    "rod": [
        st.fixed_dictionaries(
            {"ends": st.sampled_from(["fixed", "conical washers", "hinged"])},
            optional={"end_Nm_per_deg": st.sampled_from([0.001, 1.0, 1e5])},
        ),
        st.fixed_dictionaries({"axial_N_per_mm": st.sampled_from([1.0, 500.0, 1e7])}),
        st.fixed_dictionaries({"bearings_deg": st.lists(bearings, min_size=2, max_size=3)}),
    ],
    "wire": [
        st.fixed_dictionaries({"tilt_deg": tilts}),
        st.fixed_dictionaries({"olive": ends}, optional={"tension_from": ends}),
        st.fixed_dictionaries({"grip_N": st.sampled_from([1e-6, 5.0, 100.0, 5000.0])}),
        st.fixed_dictionaries({"threaded": st.booleans()}),
        st.fixed_dictionaries({"slip_N": st.sampled_from([1.0, 900.0, 1079.0, 1500.0, 1e5])}),
        st.fixed_dictionaries({"bolt_torque_Nm": st.sampled_from([0.1, 8.0, 9.6, 15.0])}),
        st.fixed_dictionaries({"post_diameter_mm": st.sampled_from([2.0, 8.0, 40.0])}),
        st.fixed_dictionaries({"order": st.integers(1, 3)}),
        st.fixed_dictionaries({"free_share": st.floats(0.1, 1.0)}),
        st.fixed_dictionaries({"tensioner_drop_percent": st.floats(0.0, 90.0)}),
        st.fixed_dictionaries(
            {
                "end_tension_N": st.sampled_from([0.0, 1000.0, 1100.0]),
                "tension_from": st.just("both"),
                "grip_N": st.sampled_from([50.0, 1000.0]),
            }
        ),
    ],
    "model": [
        st.fixed_dictionaries({"pretension": st.sampled_from(["final", "dialled"])}),
        st.fixed_dictionaries({"wire_steel": st.sampled_from(["elastic", "elastic-plastic"])}),
        st.fixed_dictionaries(
            {"tensioner_drop_percent": st.floats(0.0, 90.0), "load_steps": st.integers(1, 20)}
        ),
    ],
}


def real_part(raw: Raw, draw: Draw) -> None:
    """One part made real, or all of its kind."""
    kind = draw(st.sampled_from(["ring", "rod", "wire", "wire", "wire", "model"]))
    keys = draw(st.sampled_from(REAL[kind]))
    parts = [raw.setdefault(kind, {})] if kind == "model" else raw[kind]
    if parts and draw(st.booleans()):
        parts = [draw(st.sampled_from(parts))]
    for part in parts:
        part.update(draw(keys))
        if "bearings_deg" in part:
            part.pop("bearing_deg", None)


def filled_gap(raw: Raw, draw: Draw) -> None:
    """Faces that touch, or callus, in the gap."""
    contact = st.fixed_dictionaries(
        {},
        optional={
            "friction": st.sampled_from([0.0, 0.3, 2.0]),
            "points": st.integers(8, 24),
            "obliquity_deg": st.sampled_from([0.0, 20.0, 60.0, 75.0]),
            "obliquity_bearing_deg": bearings,
            "layer_mm": st.sampled_from([0.001, 1.0, 100.0]),
        },
    )
    callus = st.fixed_dictionaries(
        {"E_MPa": st.sampled_from([0.001, 1.0, 50.0, 1e5])},
        optional={
            "nu": st.sampled_from([0.0, 0.3, 0.49]),
            "outer_mm": st.sampled_from([10.0, 26.0, 40.0]),
            "inner_mm": st.sampled_from([0.0, 14.0, 26.0]),
            "thickness_mm": st.sampled_from([0.01, 2.0, 300.0]),
        },
    )
    if draw(st.booleans()):
        raw["bone"]["contact"] = draw(contact)
    else:
        raw["bone"]["callus"] = draw(callus)


def pin(raw: Raw, draw: Draw) -> None:
    """One more half-pin, or one in the place of a wire."""
    if not raw["ring"]:
        return
    new = {
        "name": f"P{len(raw.get('pin', ())) + 1}",
        "ring": draw(st.sampled_from(raw["ring"]))["name"],
        "bearing_deg": draw(bearings),
        "diameter_mm": draw(st.sampled_from([2.0, 5.0, 6.0, 10.0])),
    }
    place = st.sampled_from([{"face": "proximal"}, {"height_mm": 20.0}, {"height_mm": -12.0}])
    more = st.fixed_dictionaries(
        {},
        optional={
            "offset_mm": st.sampled_from([0.0, 5.0, 12.99]),
            "tilt_deg": tilts,
            "cortices": st.sampled_from([1, 2]),
            "post_diameter_mm": st.sampled_from([4.0, 12.0]),
            "material": st.just("titanium"),
        },
    )
    raw.setdefault("pin", []).append(new | draw(place) | draw(more))
    if raw["wire"] and draw(st.booleans()):
        raw["wire"].pop(draw(st.integers(0, len(raw["wire"]) - 1)))


def turn_nuts(raw: Raw, draw: Draw) -> None:
    """Rods between two rings made longer or shorter."""
    if len(raw["ring"]) < 2:
        return
    first = draw(st.integers(0, len(raw["ring"]) - 2))
    rings = [raw["ring"][first]["name"], raw["ring"][first + 1]["name"]]
    size = draw(st.sampled_from([0.0, 1e-6, 0.5, -2.0, 200.0]))
    new = {"name": f"n{len(raw.get('nut_turn', ()))}", "rings": rings}
    new[draw(st.sampled_from(["lengthen_mm", "turns"]))] = size
    if raw["rod"] and draw(st.booleans()):
        new["bearings_deg"] = [draw(st.sampled_from(raw["rod"])).get("bearing_deg", 0.0)]
    if draw(st.booleans()):
        new["when"] = draw(st.sampled_from(["after tensioning", "before tensioning"]))
    raw.setdefault("nut_turn", []).append(new)


def history(raw: Raw, draw: Draw) -> None:
    """A load that has come and gone before."""
    if raw.get("load"):
        name = draw(st.sampled_from(raw["load"]))["name"]
        new = {"load": name, "cycles": draw(st.sampled_from([1, 2, 5]))}
        raw.setdefault("history", []).append(new)
