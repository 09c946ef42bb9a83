"""Telescopic rods, and rods that brace the outer rings."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import STIFFNESSES, Output
from frames.picture.graph import Curve, Graph, Panel
from frames.quantities import QUANTITIES
from frames.trends.constructs import SHIN, SHIN_WORDS, Build
from frames.trends.sources import DUDA
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, rises

PLAIN, TELESCOPIC, BRACED = "plain", "telescopic", "braced"
ROD_N_PER_MM = (1000.0, 500.0, 200.0, 100.0, 50.0)
BRACES_AT = (45.0, 135.0, 225.0, 315.0)
AXIAL, TORSION = "axial_N_per_mm", "torsion_Nm_per_deg"
SHEARS = ("shear_ap_N_per_mm", "shear_ml_N_per_mm")


def _telescopic(rod: float) -> Build:
    return replace(SHIN, rod={"axial_N_per_mm": rod})


def _braced(kind: str) -> Build:
    return replace(SHIN, braces=BRACES_AT if kind == BRACED else ())


ASKED = {n: Output(n) for n in STIFFNESSES}
STUDIES = {
    "telescopic": Study(grid(_telescopic, rod=ROD_N_PER_MM), ASKED),
    "braced": Study(grid(_braced, kind=(PLAIN, BRACED)), ASKED),
}


def _plain(found: Found, name: str) -> float:
    return found["braced"].one(name, kind=PLAIN)


def kept(found: Found, name: str) -> list[float]:
    """Stiffness with telescopic rods in percent of that with plain ones."""
    return [100.0 * v / _plain(found, name) for v in found["telescopic"].all(name)]


def _braced_gain(found: Found, name: str) -> float:
    """What bracing gains, percent."""
    return 100.0 * (found["braced"].one(name, kind=BRACED) / _plain(found, name) - 1.0)


STATEMENTS = (
    Statement(
        "axial stiffness falls with the stiffness of telescopic rods",
        lambda f: rises(kept(f, AXIAL)[::-1]) and kept(f, AXIAL)[0] < 100.0,
    ),
    Statement(
        "shear and torsion stay within 1 % meanwhile (only axial stiffness suffers)",
        lambda f: all(abs(v - 100.0) < 1.0 for n in (*SHEARS, TORSION) for v in kept(f, n)),
    ),
    Statement(
        "bracing the outer rings lowers the stiffness",
        lambda f: any(_braced_gain(f, n) < 0.0 for n in STIFFNESSES),
        missed="A part that is added without strain of its own can only take up energy: no "
        "stiffness of an elastic frame can fall (Rayleigh). If bracing softened a frame in a test, "
        "something else changed with it: a rod fitted under strain, tensions, or parts left out "
        "elsewhere. Of the test nothing but the sentence was seen.",
    ),
    Statement(
        "bracing lowers none of the six stiffnesses",
        lambda f: all(_braced_gain(f, n) >= 0.0 for n in STIFFNESSES),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    heading = ["% of plain rods", *(f"rods of {k:g} N/mm" for k in ROD_N_PER_MM), "braced"]
    rows: list[list[str | float]] = [
        [QUANTITIES[n].label, *kept(found, n), 100.0 + _braced_gain(found, n)] for n in STIFFNESSES
    ]
    return Table(heading, rows)


def _graph(found: Found) -> Graph:
    names = (AXIAL, "bending_ap_Nm_per_deg", SHEARS[0], TORSION)
    curves = [Curve(QUANTITIES[n].label, ROD_N_PER_MM, kept(found, n)) for n in names]
    return Graph(
        "Stiffness with telescopic rods in percent of that with plain ones.",
        (
            Panel(
                "axial stiffness of each rod between rings (N/mm)",
                "stiffness (% of that with plain rods)",
                curves,
                log_x=True,
            ),
        ),
    )


def _says(found: Found) -> str:
    gain = max(_braced_gain(found, n) for n in STIFFNESSES)
    bending = kept(found, "bending_ap_Nm_per_deg")[-1]
    return (
        f"Rods of 50 N/mm leave {number(kept(found, AXIAL)[-1])} % of the axial stiffness and "
        f"{number(kept(found, TORSION)[-1])} % of the torsional; bending, which leans on the "
        f"push and pull of the rods, keeps {number(bending)} %. Four rods of 6 mm from the first "
        f"ring to the last gain {number(gain)} % at most: rods are not what gives."
    )


TREND = Trend(
    "rods",
    "Telescopic rods soften along the bone only; bracing the outer rings softens",
    "Telescopic rods soften axial stiffness only; bracing the outer rings lowered the overall "
    "stiffness.",
    (DUDA,),
    f"Own choice: {SHIN_WORDS}, at 110 kgf; rods of given axial stiffness; or four further rods of "
    "6 mm from the first ring to the last.",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
