"""Complete rings against incomplete ones."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.result import Result
from frames.trends.constructs import SMALL_PAIR, SMALL_WORDS, Build, along, crossing
from frames.trends.sources import HUDSON
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls

RINGS = (50.0, 66.0, 84.0, 118.0)
TENSIONS = (0.0, 30.0, 60.0, 90.0)
COMPLETE, OPEN = "complete", "open"
KINDS = (COMPLETE, OPEN)
ARC = {"arc_deg": 250.0, "opening_bearing_deg": 180.0}
LARGEST = 220.0


def _build(kind: str, ring: float, kgf: float) -> Build:
    return replace(
        SMALL_PAIR,
        inner_mm=ring,
        tension_kgf=kgf,
        bearings=crossing(60.0),
        rod_bearings=(300.0, 0.0, 60.0),
        ring={**SMALL_PAIR.ring, **(ARC if kind == OPEN else {})},
        loads=along(LARGEST),
    )


def _dialled(kind: str, ring: float) -> Build:
    build = _build(kind, ring, 60.0)
    return replace(build, model={"pretension": "dialled"}, loads={})


def _closing(result: Result) -> float:
    """By how much the clamps of the first wire come nearer while it is tensioned, mm."""
    return result.tensioning[0].take_up[0].closing_mm


def _kept(result: Result) -> float:
    """Tension left in the first wire when the second has been tensioned alike, percent."""
    first = result.tensioning[1].left[0].legs_N[0]
    return 100.0 * first / result.tensioning[0].left[0].legs_N[0]


STUDIES = {
    "load": Study(
        grid(_build, kind=KINDS, ring=RINGS, kgf=TENSIONS),
        {"secant": Output("secant_axial_N_per_mm", f"{LARGEST:g} N")},
    ),
    "tensioning": Study(
        grid(_dialled, kind=KINDS, ring=RINGS), {"closing": _closing, "kept": _kept}
    ),
}


def _share(found: Found, kgf: float) -> list[float]:
    """Stiffness of open rings in percent of complete ones, ring by ring."""
    whole, opened = (found["load"].all("secant", kind=k, kgf=kgf) for k in KINDS)
    return [100.0 * b / a for a, b in zip(whole, opened, strict=True)]


def _clamps(found: Found, kind: str) -> list[float]:
    return found["tensioning"].all("closing", kind=kind)


STATEMENTS = (
    Statement(
        "complete rings of 66, 84 and 118 mm are stiffer to 220 N, at every tension",
        lambda f: all(share < 100.0 for T in TENSIONS for share in _share(f, T)[1:]),
    ),
    Statement(
        "the difference is smallest in the 50 mm ring, at every tension",
        lambda f: all(_share(f, T)[0] > max(_share(f, T)[1:]) for T in TENSIONS),
    ),
    Statement(
        "open rings deform under wire tension: clamps come nearer by 3 times as much or more",
        lambda f: all(
            b > 3.0 * a for a, b in zip(_clamps(f, COMPLETE), _clamps(f, OPEN), strict=True)
        ),
    ),
    Statement(
        "tensioning the second wire of an open ring slackens the first, the more the larger the "
        "ring",
        lambda f: falls([100.0, *f["tensioning"].all("kept", kind=OPEN)]),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = [
        [f"open, % of complete, {T:g} kgf", *_share(found, T)] for T in TENSIONS
    ]
    for kind in KINDS:
        rows.append([f"{kind}: clamps of wire 1 nearer, mm", *_clamps(found, kind)])
        rows.append(
            [f"{kind}: wire 1 keeps, %", *found["tensioning"].all("kept", kind=kind)],
        )
    return Table(["", *(f"{d:g} mm" for d in RINGS)], rows)


def _graph(found: Found) -> Graph:
    share = [Curve(f"{T:g} kgf", RINGS, _share(found, T)) for T in TENSIONS]
    nearer = [Curve(f"{k} ring", RINGS, _clamps(found, k), dashed=k == OPEN) for k in KINDS]
    x = "inner diameter of the rings (mm)"
    return Graph(
        "Stiffness of open rings in percent of complete ones; how far wire clamps come nearer.",
        (
            Panel(x, "open ring, axial stiffness to 220 N\n(% of complete ring)", share),
            Panel(x, "clamps of wire 1 come nearer (mm)", nearer),
        ),
    )


def _says(found: Found) -> str:
    none, much = _share(found, 0.0), _share(found, 90.0)
    kept = found["tensioning"].one("kept", kind=OPEN, ring=118.0)
    whole = found["tensioning"].one("kept", kind=COMPLETE, ring=118.0)
    return (
        f"To 220 N an open ring of 118 mm is {number(none[-1])} % as stiff as a complete one "
        f"without tension and {number(much[-1])} % with 90 kgf, where all tensions are brought to "
        "the same value. It is not the first movement that differs but the stiffening: a ring that "
        "gives keeps a wire from tightening under load. When wires are dialled one after the other "
        f"to 60 kgf, the first keeps {number(kept)} % in the open ring of 118 mm and "
        f"{number(whole)} % in the complete one."
    )


TREND = Trend(
    "open_rings",
    "Open rings are softer and deform under wire tension",
    "Two 1.6 mm wires on a 16 mm acetal rod, rings of 50, 66, 84 and 118 mm, 0 to 90 kgf: complete "
    "rings are stiffer from 66 to 118 mm; incomplete ones deform under wire tension, 60 kgf are "
    "advised on those of 84 and 118 mm.",
    (HUDSON,),
    f"A pair of rings; {SMALL_WORDS}, three rods in front, an arc of 250° open behind and wires "
    "crossing at 60°, so that both kinds carry the same wires, are own choice.",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
