"""Crossing angle of the wires: shear across the bone, and what stays."""

from dataclasses import replace
from math import radians, tan

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.trends.constructs import RIGID_RING, SHIN, SHIN_WORDS, Build, crossing
from frames.trends.sources import ATHENS
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls, rises

ANGLES = (90.0, 75.0, 60.0, 45.0, 30.0)
LONG = "long and rigid"
AXIAL, ALONG, ACROSS = "axial_N_per_mm", "shear_ml_N_per_mm", "shear_ap_N_per_mm"


def _build(frame: str, angle: float) -> Build:
    build = replace(SHIN, bearings=crossing(angle))
    if frame == "steel":
        return build
    # long and stout, so that fragments hardly tilt and wires alone give
    return replace(
        build,
        levels=(500.0, 20.0, -20.0, -500.0),
        ring={"width_mm": 14.0, **RIGID_RING},
        rod={"E_MPa": 1e6, "nu": 0.3},
        rod_mm=40.0,
        bone={**SHIN.bone, "inner_mm": 0.0, "E_MPa": 1e6},
    )


STUDY = Study(
    grid(_build, frame=("steel", LONG), angle=ANGLES),
    {n: Output(n) for n in (AXIAL, ALONG, ACROSS)},
)


def ratios(found: Found, frame: str) -> list[float]:
    """Shear stiffness along the bisector of the wires over that across it."""
    rows = found["angles"]
    stiff, soft = (rows.all(n, frame=frame) for n in (ALONG, ACROSS))
    return [max(a, b) / min(a, b) for a, b in zip(stiff, soft, strict=True)]


def plane(angle: float) -> float:
    """cot²(α/2)."""
    return 1.0 / tan(radians(angle) / 2.0) ** 2


def _axial(found: Found, frame: str) -> list[float]:
    return found["angles"].all(AXIAL, frame=frame)


STATEMENTS = (
    Statement(
        "shear stiffness in its soft direction falls as the wires come closer",
        lambda f: falls([min(a, b) for a, b in _pairs(f, "steel")]),
    ),
    Statement(
        "shear stiffness in its stiff direction rises meanwhile, and so does their ratio",
        lambda f: rises([max(a, b) for a, b in _pairs(f, "steel")]) and rises(ratios(f, "steel")),
        published=False,
    ),
    Statement(
        "the ratio stays below cot²(α/2), and comes within a fifth of it in a long and rigid frame",
        lambda f: all(
            steel <= 1.001 * plane(a) and 0.8 < long / plane(a) < 1.001
            for a, steel, long in zip(ANGLES, ratios(f, "steel"), ratios(f, LONG), strict=True)
        ),
        published=False,
    ),
    Statement(
        "axial stiffness does not depend on the angle: within 3 %, in the long and rigid frame "
        "0.1 %",
        lambda f: all(
            max(v) < (1.0 + allowed) * min(v)
            for v, allowed in ((_axial(f, "steel"), 0.03), (_axial(f, LONG), 0.001))
        ),
        published=False,
    ),
)


def _pairs(found: Found, frame: str) -> list[tuple[float, float]]:
    rows = found["angles"]
    return list(zip(rows.all(ALONG, frame=frame), rows.all(ACROSS, frame=frame), strict=True))


def _table(found: Found) -> Table:
    pairs = _pairs(found, "steel")
    return Table(
        ["crossing angle", *(f"{a:g}°" for a in ANGLES)],
        [
            ["axial stiffness, N/mm", *_axial(found, "steel")],
            ["shear, stiff direction, N/mm", *(max(p) for p in pairs)],
            ["shear, soft direction, N/mm", *(min(p) for p in pairs)],
            ["ratio of the two", *ratios(found, "steel")],
            ["ratio, long and rigid frame", *ratios(found, LONG)],
            ["cot²(α/2)", *(plane(a) for a in ANGLES)],
        ],
    )


def _graph(found: Found) -> Graph:
    pairs = _pairs(found, "steel")
    shear = [
        Curve("stiff direction", ANGLES, [max(p) for p in pairs]),
        Curve("soft direction", ANGLES, [min(p) for p in pairs]),
    ]
    of = [
        Curve("frame", ANGLES, ratios(found, "steel")),
        Curve("long and rigid frame", ANGLES, ratios(found, LONG)),
        Curve("cot²(α/2)", ANGLES, [plane(a) for a in ANGLES], dashed=True),
    ]
    x = "crossing angle α (degrees)"
    return Graph(
        "Shear stiffness in two directions, and their ratio, against the crossing angle.",
        (Panel(x, "shear stiffness (N/mm)", shear), Panel(x, "ratio of the two", of)),
    )


def _says(found: Found) -> str:
    return (
        f"At 30° the frame is {number(ratios(found, 'steel')[-1])} times as stiff to one side as "
        f"to the other, the long and rigid one {number(ratios(found, LONG)[-1])} times "
        f"(cot²: {number(plane(30.0))}). Under shear at the gap fragments tilt as well, and that "
        "gives to both sides nearly alike: the shorter the fragments are held, the more."
    )


TREND = Trend(
    "crossing_angle",
    "The crossing angle decides about shear, not about axial stiffness",
    "A model held to experiments finds tension, crossing angle and ring diameter critical, other "
    "factors minor. Plane statics of smooth wires that cross at α: across their bisector "
    "2k cos²(α/2) or sin²(α/2) to either side, a ratio of cot²(α/2), and an axial stiffness "
    "without α at first order.",
    (ATHENS,),
    f"Own choice: {SHIN_WORDS}, at 110 kgf; and the same wires in a frame so rigid "
    "and so long (rings at ±20 and ±500 mm) that wires alone give and fragments hardly tilt.",
    {"angles": STUDY},
    STATEMENTS,
    _table,
    _graph,
    _says,
)
