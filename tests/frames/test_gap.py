"""Movement and stiffness at the gap: directions, signs, rigid motions."""

from collections.abc import Iterator

import numpy as np
import pytest

from fem.algebra import Array
from frames import case_from_dict
from frames.construct import construct
from frames.discretise import Discretised, discretise
from frames.gap import AXIS_OF, NM_PER_DEG, gap_directions, mirror, named_stiffnesses
from frames.pretension import Pretensioned, pretension
from frames.quantities import STIFFNESSES
from tests.frames import cases

Frame = tuple[Discretised, Pretensioned, Array]


@pytest.fixture(scope="module", params=["left", "right"])
def frame(request: pytest.FixtureRequest) -> Iterator[Frame]:
    raw = cases.small(side=request.param, gap=4.0)
    parts = discretise(construct(case_from_dict(raw)))
    pre = pretension(parts)
    yield parts, pre, gap_directions(parts, pre.system)


def rigid(pre: Pretensioned, nodes: list[int], shift: Array, turn: Array) -> Array:
    """u of the kept freedoms when the named nodes move as a body about the origin, global axes."""
    full = np.zeros((len(pre.system.model.names), 6))
    X = pre.system.model.points
    full[nodes, :3] = shift + np.cross(turn, X[nodes])
    full[nodes, 3:] = turn
    return full.ravel()[pre.system.kept]


def _proximal(parts: Discretised) -> list[int]:
    return [i for i, n in enumerate(parts.model.names) if n.startswith("proximal fragment")]


MOTIONS = [(s, t) for s, t in zip(np.eye(6)[:, :3], np.eye(6)[:, 3:], strict=True)]


@pytest.mark.parametrize("i", range(6))
def test_moving_everything_moves_no_gap(frame: Frame, i: int) -> None:
    parts, pre, D = frame
    u = rigid(pre, list(range(len(parts.model.names))), *MOTIONS[i])
    np.testing.assert_allclose(D.T @ u, 0.0, atol=1e-12)


@pytest.mark.parametrize("i", range(6))
def test_moving_the_proximal_fragment(frame: Frame, i: int) -> None:
    """Positive towards anterior, medial, proximal; turns: medial towards proximal, proximal
    towards anterior, anterior towards medial.  On a left leg medial is -y."""
    parts, pre, D = frame
    u = rigid(pre, _proximal(parts), *MOTIONS[i])
    expected = np.zeros(6)
    left = parts.construct.sign < 0.0
    expected[i] = -1.0 if left and i in (1, 3, 5) else 1.0
    np.testing.assert_allclose(D.T @ u, expected, atol=1e-12)


def test_senses_of_the_turns() -> None:
    """By a point: which way does it go?  On either leg."""
    anterior, proximal = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    for sign in (1.0, -1.0):
        medial = np.array([0.0, sign, 0.0])
        turns = np.diag(mirror(sign))[3:, 3:]  # global axes of a positive anatomical turn
        np.testing.assert_allclose(np.cross(turns[0], medial), proximal)
        np.testing.assert_allclose(np.cross(turns[1], proximal), anterior)
        np.testing.assert_allclose(np.cross(turns[2], anterior), medial)


def test_unit_loads_are_balanced(frame: Frame) -> None:
    """Equal and opposite on the two faces: no force, no moment in sum."""
    parts, pre, D = frame
    X = parts.model.points
    full = np.zeros((6 * len(X), 6))
    full[pre.system.kept] = D
    f = full.reshape(len(X), 6, 6)
    np.testing.assert_allclose(f[:, :3].sum(axis=0), 0.0, atol=1e-12)
    moment = f[:, 3:].sum(axis=0) + sum(
        np.cross(X[k], f[k, :3], axisb=0, axisc=0) for k in range(len(X))
    )
    np.testing.assert_allclose(moment, 0.0, atol=1e-12)


def test_named_stiffnesses() -> None:
    """One newton metre per degree is 1000 · 180/π N·mm/rad."""
    C = np.diag([1 / 10.0, 1 / 20.0, 1 / 30.0, *(1e-6 * np.array([4.0, 5.0, 6.0]))])
    named = named_stiffnesses(C)
    assert tuple(named) == STIFFNESSES
    assert named["shear_ap_N_per_mm"] == pytest.approx(10.0)
    assert named["shear_ml_N_per_mm"] == pytest.approx(20.0)
    assert named["axial_N_per_mm"] == pytest.approx(30.0)
    per_degree = np.pi / 180.0 / 1000.0
    assert named["bending_ml_Nm_per_deg"] == pytest.approx(1e6 / 4.0 * per_degree)
    assert named["bending_ap_Nm_per_deg"] == pytest.approx(1e6 / 5.0 * per_degree)
    assert named["torsion_Nm_per_deg"] == pytest.approx(1e6 / 6.0 * per_degree)
    assert pytest.approx(per_degree) == NM_PER_DEG
    assert sorted(AXIS_OF.values()) == list(range(6))
