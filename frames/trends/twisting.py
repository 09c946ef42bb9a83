"""Torsion: crossing angle, ring diameter, one ring or two."""

from collections.abc import Sequence
from dataclasses import replace

from frames.lines import number
from frames.outputs import Output
from frames.picture.graph import Curve, Graph, Panel
from frames.trends.constructs import RIGID_RING, SHIN, Build, crossing
from frames.trends.sources import KHURANA
from frames.trends.study import Study, grid
from frames.trends.trend import Found, Statement, Table, Trend, falls

ANGLES = (90.0, 75.0, 60.0, 45.0)
DIAMETERS = (180.0, 155.0)
TWO, ONE = "two rings", "one ring"
TWIST_NM = 20.0
ALUMINIUM = {"material": "aluminium", "width_mm": 14.0, "thickness_mm": 8.0}
MEASURED = {
    (180.0, TWO): (2.11, 2.09, 1.91, 1.84),
    (155.0, TWO): (2.63, 2.17, 2.11, 2.09),
    (180.0, ONE): (0.49, 0.46, 0.35, 0.34),
    (155.0, ONE): (0.60, 0.51, 0.51, 0.45),
}
"""N·m/deg, table 3 of the paper, in the order of ANGLES."""


def _build(side: str, ring: float, angle: float, kind: str = "aluminium") -> Build:
    levels = (120.0, 40.0, -40.0, -120.0) if side == TWO else (40.0, -40.0)
    return replace(
        SHIN,
        inner_mm=ring,
        levels=levels,
        bearings=crossing(angle),
        ring=ALUMINIUM if kind == "aluminium" else {"width_mm": 14.0, **RIGID_RING},
        rod_mm=20.0,
        loads={"twist": {"moment_Nm": (0.0, 0.0, TWIST_NM)}},
    )


ASKED = {"rest": Output("torsion_Nm_per_deg"), "twisted": Output("torsion_Nm_per_deg", "twist")}
STUDIES = {
    "torsion": Study(grid(_build, side=(TWO, ONE), ring=DIAMETERS, angle=ANGLES), ASKED),
    "rigid": Study(grid(_build, side=(TWO,), ring=(180.0,), angle=ANGLES, kind=("rigid",)), ASKED),
}


def one_fragment(found: Found, name: str, ring: float, side: str) -> list[float]:
    """N·m/deg of one fragment on its rings, twice that of both in a row."""
    return [2.0 * v for v in found["torsion"].all(name, ring=ring, side=side)]


def _rigid(found: Found, name: str) -> list[float]:
    return [2.0 * v for v in found["rigid"].all(name)]


def _drop(values: Sequence[float]) -> float:
    """From 90 to 45°, percent."""
    return 100.0 * (1.0 - values[-1] / values[0])


ALL = tuple((d, s) for s in (TWO, ONE) for d in DIAMETERS)

STATEMENTS = (
    Statement(
        "twisted by 20 N·m, stiffness falls from 90 to 45°, in both ring sizes, on one and on two "
        "rings",
        lambda f: all(falls(one_fragment(f, "twisted", d, s)) for d, s in ALL),
    ),
    Statement(
        "155 mm rings are stiffer than 180 mm rings at every angle",
        lambda f: all(
            small > large
            for name in ("rest", "twisted")
            for s in (TWO, ONE)
            for small, large in zip(
                one_fragment(f, name, 155.0, s), one_fragment(f, name, 180.0, s), strict=True
            )
        ),
    ),
    Statement(
        "two rings are stiffer than one at rest, at every angle",
        lambda f: all(
            two > one
            for d in DIAMETERS
            for two, one in zip(
                one_fragment(f, "rest", d, TWO), one_fragment(f, "rest", d, ONE), strict=True
            )
        ),
    ),
    Statement(
        "two rings are 4 times as stiff as one",
        lambda f: all(
            two > 3.5 * one
            for two, one in zip(
                one_fragment(f, "rest", 180.0, TWO),
                one_fragment(f, "rest", 180.0, ONE),
                strict=True,
            )
        ),
        missed="Twice as many equal wires in parallel are twice as stiff. Twice again must lie in "
        "how the single ring was mounted or its wires tensioned, of which nothing was seen.",
    ),
    Statement(
        "at rest the angle makes no difference (wires through the axis: each adds the same)",
        lambda f: all(
            max(v) < 1.002 * min(v) for v in (one_fragment(f, "rest", d, s) for d, s in ALL)
        ),
        published=False,
    ),
    Statement(
        "on rigid rings less than a fifth of the difference under the twist is left",
        lambda f: _drop(_rigid(f, "twisted")) < 0.2 * _drop(one_fragment(f, "twisted", 180.0, TWO)),
        published=False,
    ),
)


def _table(found: Found) -> Table:
    rows: list[list[str | float]] = []
    for d, s in ALL:
        rows.append([f"{d:g} mm, {s}: measured", *MEASURED[d, s]])
        rows.append([f"{d:g} mm, {s}: here, twisted", *one_fragment(found, "twisted", d, s)])
        rows.append([f"{d:g} mm, {s}: here, at rest", *one_fragment(found, "rest", d, s)])
    return Table(["N·m/deg", *(f"{a:g}°" for a in ANGLES)], rows)


def _graph(found: Found) -> Graph:
    def relative(values: list[float]) -> list[float]:
        return [100.0 * v / values[0] for v in values]

    curves = [
        Curve("measured, 180 mm", ANGLES, relative(list(MEASURED[180.0, TWO])), dashed=True),
        Curve("measured, 155 mm", ANGLES, relative(list(MEASURED[155.0, TWO])), dashed=True),
        Curve("twisted, 180 mm", ANGLES, relative(one_fragment(found, "twisted", 180.0, TWO))),
        Curve("twisted, 155 mm", ANGLES, relative(one_fragment(found, "twisted", 155.0, TWO))),
        Curve("twisted, rigid rings", ANGLES, relative(_rigid(found, "twisted"))),
    ]
    return Graph(
        "Torsional stiffness on two rings in percent of that at 90 degrees.",
        (
            Panel(
                "crossing angle (degrees)",
                "torsional stiffness on two rings\n(% of that at 90°)",
                curves,
                from_zero=False,
            ),
        ),
    )


def _says(found: Found) -> str:
    drop = [
        number(_drop(v))
        for v in (
            one_fragment(found, "twisted", 180.0, TWO),
            one_fragment(found, "twisted", 155.0, TWO),
            MEASURED[180.0, TWO],
            MEASURED[155.0, TWO],
            _rigid(found, "twisted"),
        )
    ]
    size = [
        number(100.0 * (a[0] / b[0] - 1.0))
        for a, b in (
            (one_fragment(found, "rest", 155.0, TWO), one_fragment(found, "rest", 180.0, TWO)),
            (MEASURED[155.0, TWO], MEASURED[180.0, TWO]),
        )
    ]
    return (
        f"From 90 to 45° the twisted frame on two rings loses {drop[0]} % (180 mm) and {drop[1]} % "
        f"(155 mm); measured were {drop[2]} and {drop[3]} %. The reason is the ring: a twist "
        "tightens all wires alike, four pulls at right angles hardly change the shape of a ring, "
        f"pulls close together make it oval and let the tension go. Rigid rings leave {drop[4]} %. "
        f"The smaller ring is stiffer by {size[0]} % here and by {size[1]} % in the test. "
        "Sizes are not comparable: tension and mounting of the test were not seen."
    )


TREND = Trend(
    "torsion",
    "Torsional stiffness falls with crossing angle and ring diameter",
    "Wires on one or two rings of 180 and 155 mm, crossing at 90, 75, 60 and 45°, torque to "
    "20 N·m: stiffness falls with a smaller angle and a larger ring, and two rings are 4.3 to 4.4 "
    "times as stiff as one.",
    (KHURANA,),
    "Both fragments on one ring or on two, doubled to stand for one fragment. Own choice: 1.8 mm "
    "wires at 110 kgf, aluminium rings 14 × 8 mm, rods too stout to count, bone of 30 mm.",
    STUDIES,
    STATEMENTS,
    _table,
    _graph,
    _says,
)
