"""Ring diameter against wire tension, along the bone."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.trends.constructs import SMALL_FOUR, SMALL_WORDS, Build, along
from frames.trends.sources import CROSS, GASSER
from frames.trends.study import Answers, Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls, gains, rises

RINGS = (50.0, 66.0, 84.0, 118.0)
TENSIONS = (0.0, 30.0, 60.0, 90.0)
LARGEST = 400.0


def _build(ring: float, kgf: float) -> Build:
    return replace(SMALL_FOUR, inner_mm=ring, tension_kgf=kgf, loads=along(LARGEST))


STUDY = Study(
    grid(_build, ring=RINGS, kgf=TENSIONS),
    {
        "start": Output("axial_N_per_mm"),
        "secant": Output("secant_axial_N_per_mm", f"{LARGEST:g} N"),
    },
)


def _answers(found: Found) -> Answers:
    return found["frames"]


def _by_ring(found: Found, name: str, kgf: float) -> list[float]:
    return _answers(found).all(name, kgf=kgf)


def _by_tension(found: Found, name: str, ring: float) -> list[float]:
    return _answers(found).all(name, ring=ring)


def main_effect(found: Found, name: str, factor: str, levels: tuple[float, ...]) -> float:
    """Largest less smallest mean over the levels of a factor, N/mm."""
    means = [sum(v) / len(v) for x in levels for v in [_answers(found).all(name, **{factor: x})]]
    return max(means) - min(means)


def _diameter_first(found: Found) -> bool:
    return all(
        main_effect(found, name, "ring", RINGS) > main_effect(found, name, "kgf", TENSIONS)
        for name in ("start", "secant")
    )


def _gain(found: Found, ring: float) -> float:
    """Of stiffness over all the range of tension, N/mm to the largest load."""
    return sum(gains(_by_tension(found, "secant", ring)))


STATEMENTS = (
    Statement(
        "stiffness falls from the 50 to the 118 mm ring, at every tension",
        lambda f: all(falls(_by_ring(f, n, T)) for n in ("start", "secant") for T in TENSIONS),
    ),
    Statement(
        "stiffness rises with tension from 0 to 90 kgf, in every ring",
        lambda f: all(rises(_by_tension(f, n, d)) for n in ("start", "secant") for d in RINGS),
    ),
    Statement(
        "the main effect of diameter is larger than that of tension, at rest and to 400 N",
        _diameter_first,
    ),
    Statement(
        "what 90 kgf gain to 400 N (N/mm) falls from ring to ring as the diameter grows",
        lambda f: falls([_gain(f, d) for d in RINGS]),
    ),
    Statement(
        "strongly nonlinear: stiffness to 400 N is above that at rest by a tenth or more in every "
        "frame",
        lambda f: all(
            b > 1.1 * a
            for a, b in zip(_answers(f).all("start"), _answers(f).all("secant"), strict=True)
        ),
    ),
)


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = [
        [f"{d:g} mm", *_by_tension(found, "secant", d), _gain(found, d)] for d in RINGS
    ]
    heading = ["N/mm to 400 N", *(f"{T:g} kgf" for T in TENSIONS), "gain 0 to 90 kgf"]
    return Table(heading, rows)


def _graph(found: Found) -> Graph:
    def panel(name: str, title: str) -> Panel:
        curves = [Curve(f"{T:g} kgf", RINGS, _by_ring(found, name, T)) for T in TENSIONS]
        return Panel("inner diameter of the rings (mm)", title, curves)

    return Graph(
        "Axial stiffness against ring diameter, one curve for each wire tension.",
        (
            panel("start", "axial stiffness at rest (N/mm)"),
            panel("secant", "axial stiffness to 400 N (N/mm)"),
        ),
    )


def _says(found: Found) -> str:
    by = [number(main_effect(found, "secant", *f)) for f in (("ring", RINGS), ("kgf", TENSIONS))]
    return (
        f"From one end of its range to the other, diameter moves the mean stiffness to 400 N by "
        f"{by[0]} N/mm and tension by {by[1]} N/mm. A wire gains 4 ΔT / L across it, so that the "
        "same pull does less on a longer wire, and large movement tightens a long wire by itself."
    )


TREND = Trend(
    "ring_diameter_and_tension",
    "Ring diameter matters more than wire tension",
    "Four rings, two 1.6 mm wires each at 90° on opposite faces, rings of 50, 66, 84 and 118 mm, "
    "0 to 90 kgf, to 400 N: both matter, diameter more than tension, and the effect of tension "
    "shrinks as the diameter grows. Diameter is the most important parameter; the axial response "
    "is strongly nonlinear.",
    (CROSS, GASSER),
    f"As published; {SMALL_WORDS}, levels ±30 and ±90 mm and a 16 mm acetal rod as bone are own "
    "choice.",
    {"frames": STUDY},
    STATEMENTS,
    _table,
    _graph,
    _says,
)
