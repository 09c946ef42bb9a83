"""Number, diameter and material of the wires."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import STIFFNESSES, Output
from frames.picture.graph import Curve, Graph, Panel
from frames.quantities import QUANTITIES
from frames.trends.constructs import SHIN, SHIN_WORDS, Build
from frames.trends.sources import DUDA
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, rises

DIAMETERS = (1.5, 1.8, 2.0)
COUNTS = (2.0, 3.0, 4.0)
MATERIALS = ("stainless steel", "titanium")


def _thick(diameter: float, material: str) -> Build:
    return replace(SHIN, wire_mm=diameter, wire={"material": material})


def _many(count: float) -> Build:
    """Bearings spread evenly, none at a rod."""
    n = int(count)
    first = 45.0 if n < 4 else 22.5
    return replace(SHIN, bearings=tuple(first + 180.0 * i / n for i in range(n)))


ASKED = {n: Output(n) for n in STIFFNESSES}
STUDIES = {
    "thick": Study(grid(_thick, material=MATERIALS, diameter=DIAMETERS), ASKED),
    "many": Study(grid(_many, count=COUNTS), ASKED),
}


def _steel(found: Found, name: str) -> list[float]:
    return found["thick"].all(name, material="stainless steel")


def _titanium(found: Found, name: str) -> list[float]:
    return found["thick"].all(name, material="titanium")


STATEMENTS = (
    Statement(
        "every stiffness rises with the number of wires, from 2 to 4 a ring",
        lambda f: all(rises(f["many"].all(n)) for n in STIFFNESSES),
    ),
    Statement(
        "every stiffness rises with the diameter of the wires, from 1.5 to 2.0 mm: more wires and "
        "thicker ones act the same way",
        lambda f: all(rises(_steel(f, n)) for n in STIFFNESSES),
    ),
    Statement(
        "every stiffness is lower with titanium wires, at every diameter",
        lambda f: all(
            t < s for n in STIFFNESSES for t, s in zip(_titanium(f, n), _steel(f, n), strict=True)
        ),
    ),
    Statement(
        "twice as many wires give at most twice the stiffness (rings and rods give as well)",
        lambda f: all(v[-1] <= 2.0 * v[0] for v in (f["many"].all(n) for n in STIFFNESSES)),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    heading = ["at rest"]
    heading += [f"{n:g} wires, 1.8 mm" for n in COUNTS]
    heading += [f"2 of {d:g} mm" for d in DIAMETERS if d != SHIN.wire_mm]
    heading += ["2 of 1.8 mm, titanium"]
    rows: list[list[str | float]] = []
    for n in STIFFNESSES:
        row: list[str | float] = [f"{QUANTITIES[n].label}, {QUANTITIES[n].unit}"]
        row += found["many"].all(n)
        row += [v for d, v in zip(DIAMETERS, _steel(found, n), strict=True) if d != SHIN.wire_mm]
        row += [found["thick"].one(n, material="titanium", diameter=SHIN.wire_mm)]
        rows.append(row)
    return Table(heading, rows)


def _graph(found: Found) -> Graph:
    name = "axial_N_per_mm"
    thick = [
        Curve("stainless steel", DIAMETERS, _steel(found, name)),
        Curve("titanium", DIAMETERS, _titanium(found, name)),
    ]
    return Graph(
        "Axial stiffness against the number and against the diameter of wires.",
        (
            Panel(
                "wires a ring",
                "axial stiffness (N/mm)",
                [Curve("", COUNTS, found["many"].all(name))],
            ),
            Panel("diameter of the wires (mm)", "axial stiffness (N/mm)", thick),
        ),
    )


def _says(found: Found) -> str:
    axial = "axial_N_per_mm"
    many, steel = found["many"].all(axial), _steel(found, axial)
    softer = 100.0 * (1.0 - _titanium(found, axial)[1] / steel[1])
    return (
        f"A third wire a ring gains {number(100.0 * (many[1] / many[0] - 1.0))} % along the bone, "
        f"wires of 2.0 in place of 1.8 mm {number(100.0 * (steel[2] / steel[1] - 1.0))} %: at "
        "equal tension a thicker wire gains by bending alone, a further wire brings its tension "
        f"along. Titanium at equal tension is {number(softer)} % softer at rest."
    )


TREND = Trend(
    "wires",
    "More wires and thicker ones stiffen; titanium wires soften",
    "More wires or pins act about like thicker ones; wires of titanium soften the frame.",
    (DUDA,),
    f"Own choice: {SHIN_WORDS}, at 110 kgf; or three or four wires a ring evenly spread; or wires "
    "of 1.5 and 2.0 mm; or of titanium.",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
