"""What a strongly tensioned wire does to its weaker neighbour on the same ring."""

from dataclasses import replace

from frames.lines import number
from frames.picture.graph import Curve, Graph, Panel
from frames.result import Result
from frames.trends.constructs import SHIN, Build, crossing
from frames.trends.sources import DUDA
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, rises

ANGLES = (30.0, 40.0, 50.0, 60.0, 90.0)
OPEN_ANGLES = (30.0, 60.0, 90.0)
WEAK, STRONG = 50.0, 130.0
COMPLETE, OPEN = "complete", "open"


def _build(kind: str, angle: float) -> Build:
    arc = {"arc_deg": 280.0, "opening_bearing_deg": 180.0} if kind == OPEN else {}
    return replace(
        SHIN,
        tension_kgf=(WEAK, STRONG),
        bearings=crossing(angle),
        rod_bearings=(300.0, 0.0, 60.0) if kind == OPEN else SHIN.rod_bearings,
        levels=(60.0, -60.0),
        ring={**SHIN.ring, **arc},
        model={"pretension": "dialled"},
    )


def _kept(result: Result) -> float:
    """Tension of the first ring's weak wire after its neighbour, percent of that dialled."""
    weak = "R1 wire 1"
    dialled = result.tensioning[0].left[0].legs_N[0]
    after = next(w for w in result.tensioning[1].left if w.name == weak)
    return 100.0 * min(after.legs_N) / dialled


STUDY = Study(
    (*grid(_build, kind=(COMPLETE,), angle=ANGLES), *grid(_build, kind=(OPEN,), angle=OPEN_ANGLES)),
    {"kept": _kept},
)


def kept(found: Found, kind: str) -> list[float]:
    """Percent of its tension that the weak wire keeps, by crossing angle."""
    return found["rings"].all("kept", kind=kind)


def _at(found: Found, kind: str, angle: float) -> float:
    return found["rings"].one("kept", kind=kind, angle=angle)


STATEMENTS = (
    Statement(
        "complete ring, wires crossing at 30 and 40°: the neighbour loses a tenth or more",
        lambda f: all(_at(f, COMPLETE, a) < 90.0 for a in (30.0, 40.0)),
    ),
    Statement(
        "complete ring, wires crossing at 60 to 90°: the neighbour loses as well",
        lambda f: all(_at(f, COMPLETE, a) < 100.0 for a in (60.0, 90.0)),
        missed="A wire pulls its ring oval: shorter along the wire, wider across it. A neighbour "
        "that crosses at more than 43.9° lies on the widened side of a free complete ring and "
        "tightens (thin ring under a pair of forces: the change of the diameter at φ from them is "
        "zero there). The tested frame's crossing angle was not seen.",
    ),
    Statement(
        "open ring: the neighbour loses a tenth or more, at every angle",
        lambda f: all(_at(f, OPEN, a) < 90.0 for a in OPEN_ANGLES),
    ),
    Statement(
        "complete ring: what the neighbour keeps rises with the angle, past 100 % between 40 and "
        "50°",
        lambda f: (
            rises(kept(f, COMPLETE)) and _at(f, COMPLETE, 40.0) < 100.0 < _at(f, COMPLETE, 50.0)
        ),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    opened = dict(zip(OPEN_ANGLES, kept(found, OPEN), strict=True))
    rows: list[list[str | float]] = [
        ["complete ring: kept, %", *kept(found, COMPLETE)],
        ["open ring: kept, %", *(opened.get(a, "") for a in ANGLES)],
    ]
    return Table(["crossing angle", *(f"{a:g}°" for a in ANGLES)], rows)


def _graph(found: Found) -> Graph:
    curves = [
        Curve("complete ring", ANGLES, kept(found, COMPLETE)),
        Curve("open ring", OPEN_ANGLES, kept(found, OPEN), dashed=True),
    ]
    return Graph(
        "Tension that a wire keeps when its neighbour is tensioned, against the crossing angle.",
        (
            Panel(
                "crossing angle (degrees)",
                f"tension kept by a wire of {WEAK:g} kgf\nwith its neighbour at {STRONG:g} kgf (%)",
                curves,
            ),
        ),
    )


def _says(found: Found) -> str:
    return (
        f"The wire of {WEAK:g} kgf keeps {number(_at(found, COMPLETE, 30.0))} % of its tension at "
        f"30° and comes to {number(_at(found, COMPLETE, 90.0))} % at 90° in a complete ring; in an "
        f"open one it keeps {number(_at(found, OPEN, 30.0))} % and {number(_at(found, OPEN, 90.0))}"
        " %."
    )


TREND = Trend(
    "neighbour",
    "A strongly tensioned wire slackens its neighbour",
    "Asymmetric pretension significantly lowers the tension of the neighbouring wire.",
    (DUDA,),
    "Own choice: two steel rings of 160 mm (14 × 5 mm), on each a wire dialled to 50 kgf and "
    "after it one to 130 kgf; complete, or open by 80° behind on three rods.",
    {"rings": STUDY},
    STATEMENTS,
    _table,
    _graph,
    _says,
)
