"""An invented frame with every kind of part: half-pins on a tilted open ring, posts, struts, a ring
in hinged halves and one in bolted halves, a tilted wire, olive wires, callus."""

from tests.frames import cases
from tests.frames.cases import Raw, axial

HINGED_DEG, BOLTED_DEG = 80.0, 100.0


def without_face(part: Raw, **other: float) -> None:
    """On a height of its own, with other keys."""
    part.pop("face")
    part.update(other)


def real_frame(side: str = "right") -> Raw:
    """Rings R1 … R4; wires W2 … W8, W5 and W6 with olives, W7 pulled from its start against grip;
    half-pins P1 … P3."""
    loads = [axial("a", 150.0), axial("b", 300.0)]
    raw = cases.frame(loads=loads, side=side, gap=6.0, bearings=((60.0, 120.0),))
    raw["bone"]["callus"] = {"E_MPa": 3.0, "outer_mm": 34.0}
    top, upper, lower, bottom = raw["ring"]
    top.update(arc_deg=240.0, opening_bearing_deg=180.0, tilt_deg=8.0, tilt_bearing_deg=0.0)
    upper.update(halves="hinged", split_bearing_deg=HINGED_DEG)
    lower.update(halves="bolted", split_bearing_deg=BOLTED_DEG)
    bottom.update(tilt_deg=-5.0, tilt_bearing_deg=90.0)
    raw["rod"] = [
        *({"rings": ["R1", "R2"], "bearing_deg": b, "diameter_mm": 6.0} for b in (75.0, 280.0)),
        *(
            {
                "name": f"strut {number}",
                "rings": ["R1", "R2"],
                "bearings_deg": bearings,
                "diameter_mm": 8.0,
                "axial_N_per_mm": 2000.0,
                "ends": "hinged",
            }
            for number, bearings in ((1, [20.0, 50.0]), (2, [-20.0, -50.0]))
        ),
        *(rod for rod in raw["rod"] if rod["rings"] != ["R1", "R2"]),
    ]
    wires = {w["name"]: w for w in raw["wire"]}
    del wires["W1"]
    wires["W2"].update(tilt_deg=6.0, bearing_deg=92.0)
    without_face(wires["W3"], height_mm=14.0, post_diameter_mm=8.0)
    wires["W5"].update(olive="start", grip_N=40.0)
    wires["W6"].update(olive="end")
    wires["W7"].update(grip_N=100.0, tension_from="start")
    raw["wire"] = list(wires.values())
    pin = {"ring": "R1", "diameter_mm": 6.0}
    post = {"post_diameter_mm": 8.0, "tilt_deg": 10.0}
    raw["pin"] = [
        {**pin, "name": "P1", "bearing_deg": 35.0, "face": "proximal"},
        {**pin, "name": "P2", "bearing_deg": 70.0, "height_mm": 18.0, **post},
        {
            "name": "P3",
            "ring": "R4",
            "bearing_deg": 20.0,
            "height_mm": -20.0,
            "diameter_mm": 5.0,
            "cortices": 1,
        },
    ]
    return raw


def pinned_frame() -> Raw:
    """Two rings and four half-pins on posts, no wire."""
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["wire"] = []
    raw["pin"] = [
        {
            "name": f"P{i + 1}",
            "ring": ring,
            "bearing_deg": bearing,
            "height_mm": height,
            "diameter_mm": 6.0,
            "post_diameter_mm": 10.0,
        }
        for i, (ring, bearing, height) in enumerate(
            (r, b, h) for r in ("R1", "R2") for b, h in ((20.0, 15.0), (70.0, -15.0))
        )
    ]
    return raw
