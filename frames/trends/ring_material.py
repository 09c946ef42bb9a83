"""Rings of carbon composite against rings of aluminium."""

from dataclasses import replace

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.sizes import STANDARD_GRAVITY
from frames.trends.constructs import SMALL_PAIR, SMALL_WORDS, Build, Keys, along
from frames.trends.sources import CARBON
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls

RINGS = (55.0, 85.0, 115.0)
LARGEST = 220.0
LOW, HIGH = 16.0, 55.0  # published, percent of aluminium
HELD_N = (200.0, 100.0)
ALUMINIUM = "aluminium"
CARBON_THIN, CARBON_THICK = "carbon, 6 mm", "carbon, 12 mm"
SOFT_THIN, SOFT_THICK = "10 GPa, 6 mm", "10 GPa, 12 mm"
SOLID: dict[str, Keys] = {
    ALUMINIUM: {"material": "aluminium"},
    CARBON_THIN: {"material": "carbon composite"},
    CARBON_THICK: {"material": "carbon composite", "thickness_mm": 12.0},
    SOFT_THIN: {"E_MPa": 10_000.0, "nu": 0.3},
    SOFT_THICK: {"E_MPa": 10_000.0, "nu": 0.3, "thickness_mm": 12.0},
}


def _build(kind: str, ring: float) -> Build:
    size = {"width_mm": 14.0, "thickness_mm": 6.0}
    return replace(SMALL_PAIR, inner_mm=ring, ring={**size, **SOLID[kind]}, loads=along(LARGEST))


def _held(kind: str, ring: float, held: float) -> Build:
    """Clamps that hold so much and no more: the wire cannot be brought above it either."""
    wire = {"slip_N": held}
    return replace(_build(kind, ring), tension_kgf=0.999 * held / STANDARD_GRAVITY, wire=wire)


SLOPE = {"slope": Output("axial_N_per_mm", f"{LARGEST:g} N")}
STUDIES = {
    "solid": Study(grid(_build, kind=tuple(SOLID), ring=RINGS), SLOPE),
    "slipping": Study(
        (
            *grid(_held, kind=(CARBON_THIN,), held=HELD_N, ring=RINGS),
            *grid(_held, kind=(CARBON_THICK,), held=HELD_N[:1], ring=RINGS[-1:]),
        ),
        SLOPE,
    ),
}


def _aluminium(found: Found) -> list[float]:
    return found["solid"].all("slope", kind=ALUMINIUM)


def share(found: Found, kind: str, held: float | None = None) -> list[float]:
    """Percent of aluminium, ring by ring; held: the clamps hold so much (N), thick carbon in the
    largest ring only."""
    if held is None:
        values = found["solid"].all("slope", kind=kind)
    else:
        values = found["slipping"].all("slope", kind=kind, held=held)
    whole = _aluminium(found)[-len(values) :]
    return [100.0 * v / a for v, a in zip(values, whole, strict=True)]


def _within(values: list[float]) -> bool:
    return all(LOW <= v <= HIGH for v in values)


def _thicker_gains(found: Found, held: float | None = None) -> list[float]:
    """What 12 in place of 6 mm gain, percent."""
    thin, thick = (share(found, k, held) for k in (CARBON_THIN, CARBON_THICK))
    return [100.0 * (b / a - 1.0) for a, b in zip(thin[-len(thick) :], thick, strict=True)]


STATEMENTS = (
    Statement(
        "stiffness falls with diameter, on aluminium and on carbon rings",
        lambda f: all(
            falls(f["solid"].all("slope", kind=k)) for k in (ALUMINIUM, CARBON_THIN, CARBON_THICK)
        ),
    ),
    Statement(
        "carbon rings are softer than aluminium rings of the same size",
        lambda f: all(s < 100.0 for s in share(f, CARBON_THIN)),
    ),
    Statement(
        f"with equal tension in well held wires, carbon reaches {LOW:g} to {HIGH:g} % of aluminium",
        lambda f: _within(share(f, CARBON_THIN)),
        missed="Bending of a ring is a small part of what gives, wires are the most. Even a "
        "laminate of 10 GPa is not soft enough, and if rings did bend so much, twice the thickness "
        "would help, which it did not. That points to the wires' tension.",
    ),
    Statement(
        "twice the thickness of a carbon ring gains less than 5 %",
        lambda f: all(g < 5.0 for h in (None, HELD_N[0]) for g in _thicker_gains(f, h)),
    ),
    Statement(
        "if clamps on carbon hold wires to 100 to 200 N only, stiffness under 220 N lies within "
        "16 to 55 % in all rings, for one or the other",
        lambda f: all(
            any(LOW <= share(f, CARBON_THIN, h)[i] <= HIGH for h in HELD_N)
            for i in range(len(RINGS))
        ),
        published=False,
    ),
)


def _padded(values: list[float]) -> list[str | float]:
    """Empty where rings were left out."""
    return [*[""] * (len(RINGS) - len(values)), *values]


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = [["aluminium, 6 mm: N/mm", *_aluminium(found)]]
    rows += [[f"{k}: %", *share(found, k)] for k in SOLID if k != ALUMINIUM]
    rows += [
        [f"{k}, clamps hold {h:g} N: %", *_padded(share(found, k, h))]
        for k, h in ((CARBON_THIN, HELD_N[0]), (CARBON_THICK, HELD_N[0]), (CARBON_THIN, HELD_N[1]))
    ]
    return Table(["slope under 220 N", *(f"{d:g} mm" for d in RINGS)], rows)


def _graph(found: Found) -> Graph:
    curves = [
        Curve("carbon, wires well held", RINGS, share(found, CARBON_THIN)),
        Curve("ring of 10 GPa, wires well held", RINGS, share(found, SOFT_THIN)),
        *(
            Curve(f"carbon, clamps hold {h:g} N", RINGS, share(found, CARBON_THIN, h), dashed=True)
            for h in HELD_N
        ),
    ]
    return Graph(
        "Stiffness under 220 N in percent of the same frame on aluminium rings.",
        (
            Panel(
                "inner diameter of the rings (mm)",
                "axial stiffness under 220 N\n(% of aluminium rings)",
                curves,
                band=(LOW, HIGH, "published range"),
            ),
        ),
    )


def _says(found: Found) -> str:
    solid, soft = share(found, CARBON_THIN), share(found, SOFT_THIN)
    held = [share(found, CARBON_THIN, h) for h in HELD_N]
    return (
        f"Well held wires at 60 kgf leave carbon rings at {number(min(solid))} to "
        f"{number(max(solid))} % of aluminium, a laminate of 10 GPa at {number(min(soft))} to "
        f"{number(max(soft))} %. Clamps that let wires slip at 200 N bring that down to "
        f"{number(min(held[0]))} to {number(max(held[0]))} %, at 100 N to "
        f"{number(min(held[1]))} to {number(max(held[1]))} %, whatever the thickness. So the "
        "published loss reads as one of grip on the softer ring. That is an explanation, not a "
        "measurement: what clamps held on those rings was not seen."
    )


TREND = Trend(
    "ring_material",
    "Carbon rings are softer than aluminium rings; thickness does not mend it",
    "Single rings of carbon composite 6 mm thick, 55, 85 and 115 mm: 16 to 55 % as stiff as "
    "aluminium ones; 12 mm in place of 6 mm no significant gain; stiffness falls with diameter.",
    (CARBON,),
    f"A pair of rings, two 1.6 mm wires crossing at 90°, 60 kgf; {SMALL_WORDS} and a 16 mm acetal "
    "rod are own choice. Carbon composite: 60 GPa (middle of 50 to 70, from memory). Stiffness is "
    "the slope under 220 N.",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
