"""Bending, where the bone grips its wires and then slides along them."""

from dataclasses import replace
from itertools import pairwise

from frames.lines import number
from frames.picture.graph import Curve, Graph, Panel
from frames.result import Result
from frames.trends.constructs import SHIN, SHIN_WORDS, Build
from frames.trends.sources import ASYMMETRIC
from frames.trends.study import Asked, Study, grid
from frames.trends.trend import Found, Statement, Table, Trend

GRIP_N = 8.0
MOMENTS = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0)
GRIPPED, SMOOTH = "gripped", "smooth"


def _build(wires: str) -> Build:
    loads = {f"{M:g} N·m": {"moment_Nm": (0.0, M, 0.0)} for M in MOMENTS}
    grip = {"grip_N": GRIP_N} if wires == GRIPPED else {}
    return replace(SHIN, wire=grip, loads=loads, model={"load_steps": 5})


def _turn(moment: float) -> Asked:
    def read(result: Result) -> float:
        return abs(result.load(f"{moment:g} N·m").gap_movement["about_medial_deg"])

    return read


STUDY = Study(grid(_build, wires=(GRIPPED, SMOOTH)), {f"{M:g}": _turn(M) for M in MOMENTS})


def turns(found: Found, wires: str) -> list[float]:
    """Angulation at the gap under every moment, degrees."""
    return [found["frames"].one(f"{M:g}", wires=wires) for M in MOMENTS]


def slopes(found: Found, wires: str) -> list[float]:
    """From moment to moment, N·m/deg."""
    u = [0.0, *turns(found, wires)]
    M = [0.0, *MOMENTS]
    return [(M[i + 1] - M[i]) / (u[i + 1] - u[i]) for i in range(len(MOMENTS))]


def _knees(slope: list[float]) -> int | None:
    """How often the slope falls to a third; None where it changes by some other amount."""
    steps = [b / a for a, b in pairwise(slope)]
    falls = [step < 1.0 / 3.0 for step in steps]
    calm = all(fall or 0.85 < step < 1.15 for fall, step in zip(falls, steps, strict=True))
    return sum(falls) if calm else None


STATEMENTS = (
    Statement(
        "the bending curve has two straight parts: once from a moment to the next the slope falls "
        "to a third or less, else it changes by 15 % at most",
        lambda f: _knees(slopes(f, GRIPPED)) == 1,
    ),
    Statement(
        "beyond the knee the slope is that of smooth wires to 10 %: the bone slides along them",
        lambda f: abs(slopes(f, GRIPPED)[-1] / slopes(f, SMOOTH)[-1] - 1.0) < 0.1,
    ),
    Statement(
        "without grip there is no knee: slopes stay within 10 %",
        lambda f: max(slopes(f, SMOOTH)) < 1.1 * min(slopes(f, SMOOTH)),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = []
    for wires in (GRIPPED, SMOOTH):
        rows.append([f"{wires}: angulation, degrees", *turns(found, wires)])
        rows.append([f"{wires}: slope, N·m/deg", *slopes(found, wires)])
    return Table(["bending moment", *(f"{M:g} N·m" for M in MOMENTS)], rows)


def _graph(found: Found) -> Graph:
    curves = [
        Curve(f"{w} wires", [0.0, *turns(found, w)], [0.0, *MOMENTS], dashed=w == SMOOTH)
        for w in (GRIPPED, SMOOTH)
    ]
    return Graph(
        "Bending moment against angulation at the gap, wires gripped by the bone or smooth.",
        (Panel("angulation at the gap (degrees)", "bending moment (N·m)", curves),),
    )


def _says(found: Found) -> str:
    s = slopes(found, GRIPPED)
    return (
        f"With a grip of {GRIP_N:g} N at each cortex the slope falls from {number(s[0])} to "
        f"{number(s[-1])} N·m/deg, against {number(slopes(found, SMOOTH)[-1])} on smooth wires. "
        "Where the knee lies is set by the grip, which the abstract does not tell."
    )


TREND = Trend(
    "sliding",
    "In bending the bone slips along its wires",
    "Asymmetric four-ring frames: the bending curve is bilinear, as the bone slips along the wires "
    "above a critical moment.",
    (ASYMMETRIC,),
    f"Own choice: {SHIN_WORDS}, at 110 kgf; each cortex grips its wire with {GRIP_N:g} N, or not "
    "at all.",
    {"frames": STUDY},
    STATEMENTS,
    _table,
    _graph,
    _says,
)
