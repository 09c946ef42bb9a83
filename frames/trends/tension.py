"""Wire tension: every stiffness rises with it, and what stops it from rising further."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import STIFFNESSES, Output
from frames.picture.graph import Curve, Graph, Panel
from frames.quantities import QUANTITIES
from frames.trends.constructs import SHIN, SHIN_WORDS, Build, along
from frames.trends.sources import ASYMMETRIC, BOLTS, DELPRETE, TENSION, TORQUE
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls, gains, percent_gains, rises

TENSIONS = (50.0, 65.0, 80.0, 95.0, 110.0, 125.0, 140.0)
LOW = (0.0, 40.0, 75.0, 110.0)
LARGEST = 700.0
TORQUE_NM = 10.0
UNDER = Output("secant_axial_N_per_mm", f"{LARGEST:g} N")


def _build(kgf: float) -> Build:
    return replace(SHIN, tension_kgf=kgf)


def _clamped(clamps: str, kgf: float) -> Build:
    wire = {"bolt_torque_Nm": TORQUE_NM} if clamps == "slip" else {}
    return replace(SHIN, tension_kgf=kgf, wire=wire, loads=along(LARGEST))


STUDIES = {
    "rest": Study(grid(_build, kgf=TENSIONS), {n: Output(n) for n in STIFFNESSES}),
    "load": Study(grid(_clamped, clamps=("hold", "slip"), kgf=LOW), {"secant": UNDER}),
}


def _rest(found: Found, name: str) -> list[float]:
    return found["rest"].all(name)


def _load(found: Found, clamps: str) -> list[float]:
    return found["load"].all("secant", clamps=clamps)


STATEMENTS = (
    Statement(
        "all six stiffnesses at rest rise at every step from 50 to 140 kgf",
        lambda f: all(rises(_rest(f, n)) for n in STIFFNESSES),
    ),
    Statement(
        "the effect diminishes: each step gains fewer percent than the one before, in all six",
        lambda f: all(falls(percent_gains(_rest(f, n))) for n in STIFFNESSES),
    ),
    Statement(
        "under 700 N the gain in N/mm diminishes as well, with clamps that hold",
        lambda f: falls(gains(_load(f, "hold"))),
        missed="Under load an untensioned wire tightens itself, so that the first kilograms of "
        "tension gain little; without slip and yield the gain grows with tension towards the "
        "4 ΔT / L of a wire at rest. A measured gain that shrinks points to clamps that slip, "
        "wires that yield or a rig that gives.",
    ),
    Statement(
        "with clamps that slip, the gain in N/mm under 700 N is gone at the highest tensions",
        lambda f: gains(_load(f, "slip"))[-1] < 0.1 * max(gains(_load(f, "slip"))),
    ),
    Statement(
        "slip leaves frames with low tension as they are",
        lambda f: abs(_load(f, "slip")[0] / _load(f, "hold")[0] - 1.0) < 1e-6,
        published=False,
    ),
)


def _table(found: Found) -> Table:
    heading = ["at rest", *(f"{T:g} kgf" for T in TENSIONS)]
    rows: list[list[str | float]] = [
        [f"{QUANTITIES[n].label}, {QUANTITIES[n].unit}", *_rest(found, n)] for n in STIFFNESSES
    ]
    return Table(heading, rows)


def _graph(found: Found) -> Graph:
    relative = [
        Curve(
            QUANTITIES[n].label,
            TENSIONS,
            [100.0 * v / _rest(found, n)[0] for v in _rest(found, n)],
        )
        for n in ("axial_N_per_mm", "bending_ap_Nm_per_deg", "torsion_Nm_per_deg")
    ]
    words = {"hold": "clamps hold", "slip": f"clamps of {TORQUE_NM:g} N·m slip"}
    under = [Curve(w, LOW, _load(found, c), dashed=c == "slip") for c, w in words.items()]
    return Graph(
        "Stiffness against wire tension: at rest, and axial to 700 N with and without slip.",
        (
            Panel("wire tension (kgf)", "stiffness at rest (% of that at 50 kgf)", relative),
            Panel("wire tension (kgf)", "axial stiffness to 700 N (N/mm)", under, from_zero=False),
        ),
    )


def _small(value: float) -> str:
    """Noise of the solver is none."""
    return "nothing" if abs(value) < 0.005 else f"{number(value)} N/mm"


def _says(found: Found) -> str:
    axial = percent_gains(_rest(found, "axial_N_per_mm"))
    hold, slip = gains(_load(found, "hold")), gains(_load(found, "slip"))
    return (
        f"From 50 to 65 kgf the axial stiffness at rest gains {number(axial[0])} %, from 125 to "
        f"140 kgf {number(axial[-1])} %. Under 700 N the last 35 kgf up to 110 gain "
        f"{number(hold[-1])} N/mm if clamps hold and {_small(slip[-1])} if bolts are "
        f"tightened to {TORQUE_NM:g} N·m and let wires slip: the tension under load then has a "
        "ceiling that does not depend on pretension."
    )


TREND = Trend(
    "wire_tension",
    "Stiffness rises with wire tension, ever less",
    "1.8 mm wires, 50 to 140 kgf: stiffness rises in every mode, 140 kgf the stiffest, 110 kgf "
    "or more advised. In asymmetric four-ring frames, 0 to 90 kgf, the effect is small and "
    "diminishing in axial load, bending and torsion. Under load, slip and yield leave a tension "
    "that depends on the load alone.",
    (TENSION, ASYMMETRIC, DELPRETE, TORQUE, BOLTS),
    f"Own choice: {SHIN_WORDS}. Bolts are tightened to 10 N·m, as the paper on bolts advises "
    "at least, and hold 1125 N, in proportion to 900 N for 8 N·m (Veterinary Surgery).",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
