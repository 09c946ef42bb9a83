"""The toe of the axial curve of a single ring."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.trends.constructs import SMALL_PAIR, SMALL_WORDS, Build, along
from frames.trends.sources import LEWIS, WATSON
from frames.trends.study import Answers, Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls, rises

RINGS = (50.0, 66.0, 84.0, 118.0)
TENSIONS = (0.0, 30.0, 60.0, 90.0)
LOADS = tuple(20.0 * i for i in range(1, 12))
ROD = {**SMALL_PAIR.bone, "outer_mm": 19.0}


def _build(ring: float, kgf: float) -> Build:
    return replace(SMALL_PAIR, inner_mm=ring, tension_kgf=kgf, bone=ROD, loads=along(*LOADS))


STUDY = Study(
    grid(_build, ring=RINGS, kgf=TENSIONS),
    {f"{P:g}": Output("closing_mm", f"{P:g} N") for P in LOADS},
)


def curve(found: Found, ring: float, kgf: float) -> list[float]:
    """Movement of one ring (half of the pair's) under every load, mm."""
    rows: Answers = found["rings"]
    return [0.5 * rows.one(f"{P:g}", ring=ring, kgf=kgf) for P in LOADS]


def slopes(u: list[float]) -> list[float]:
    """From load to load, from no load on, N/mm."""
    return [
        (P - P0) / (b - a) for P0, P, a, b in zip((0.0, *LOADS), LOADS, [0.0, *u], u, strict=False)
    ]


def toe(u: list[float]) -> float:
    """Where the straight line through the last two loads meets no load, mm."""
    return u[-1] - LOADS[-1] / slopes(u)[-1]


def _toes(found: Found) -> dict[tuple[float, float], float]:
    return {(d, T): toe(curve(found, d, T)) for d in RINGS for T in TENSIONS}


def _straightens(found: Found) -> bool:
    """The slope grows by a larger factor over the first 60 N than over the last, untensioned."""
    s = [slopes(curve(found, d, 0.0)) for d in RINGS]
    return all(x[2] / x[0] > x[-1] / x[-3] for x in s)


STATEMENTS = (
    Statement(
        "every curve has a toe: its last slope is the steepest",
        lambda f: all(rises(slopes(curve(f, d, T))) for d in RINGS for T in TENSIONS),
    ),
    Statement(
        "it bends most at the beginning: without tension the slope grows by a larger factor over "
        "the first 60 N than over the last",
        _straightens,
        missed="In the smallest ring wires carry the first load by bending, which is linear; its "
        "curve is the straightest of all at first.",
    ),
    Statement(
        "the toe grows with the ring, at every tension",
        lambda f: all(rises([_toes(f)[d, T] for d in RINGS]) for T in TENSIONS),
    ),
    Statement(
        "tension shortens the toe, in every ring",
        lambda f: all(falls([_toes(f)[d, T] for T in TENSIONS]) for d in RINGS),
    ),
    Statement(
        "from the toe on the curve is a straight line: the slope grows by less than 5 % over the "
        "last 60 N",
        lambda f: all(s[-1] < 1.05 * s[-3] for s in (slopes(curve(f, d, 0.0)) for d in RINGS)),
        missed="A wire that only stretches stiffens for ever (F grows as the cube of the movement "
        "far out); its slope never settles. A measured line in that range has yield and slip in "
        "it, which soften the wire just where stretching stiffens it: yield begins at 50 to 55 N "
        "across a wire (Watson and others).",
    ),
)


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = [
        [f"{d:g} mm", *(_toes(found)[d, T] for T in TENSIONS)] for d in RINGS
    ]
    return Table(["toe of one ring, mm", *(f"{T:g} kgf" for T in TENSIONS)], rows)


def _graph(found: Found) -> Graph:
    shown = ((50.0, 0.0), (50.0, 90.0), (118.0, 0.0), (118.0, 90.0))
    curves = [
        Curve(f"{d:g} mm, {T:g} kgf", [0.0, *curve(found, d, T)], [0.0, *LOADS], dashed=T == 0.0)
        for d, T in shown
    ]
    toes = [Curve(f"{T:g} kgf", RINGS, [_toes(found)[d, T] for d in RINGS]) for T in TENSIONS]
    return Graph(
        "Load against movement of one ring; length of the toe against ring diameter.",
        (
            Panel("movement of the bone in one ring (mm)", "load (N)", curves),
            Panel("inner diameter of the ring (mm)", "toe (mm)", toes),
        ),
    )


def _says(found: Found) -> str:
    t = _toes(found)
    return (
        f"Without tension the toe grows from {number(t[50.0, 0.0])} mm in the smallest ring to "
        f"{number(t[118.0, 0.0])} mm in the largest; 90 kgf leave {number(t[50.0, 90.0])} and "
        f"{number(t[118.0, 90.0])} mm. (Toe: where the line through the last two loads meets no "
        "load.)"
    )


TREND = Trend(
    "toe_of_a_single_ring",
    "The axial curve has a toe, long in large rings, shortened by tension",
    "Single rings of 50 to 118 mm with two 1.6 mm wires on a 19 mm rod, 0 to 90 kgf, to 220 N: an "
    "exponential toe, then a straight line; the toe is longer in large rings and shortened by "
    "tension.",
    (LEWIS, WATSON),
    f"A pair of rings, wires crossing at 90°; {SMALL_WORDS} and 60 mm between the rings are own "
    "choice. Movement is that of one ring, half of the pair's.",
    {"rings": STUDY},
    STATEMENTS,
    _table,
    _graph,
    _says,
)
