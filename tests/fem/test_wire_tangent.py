"""Energy, forces and tangent of the wire belong together; rigid motions cost nothing."""

from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest

from fem.wire import Wires, WireState, make_wires, natural_length, wire_state
from tests.fem.linear_models import random_rotation
from tests.fem.wire_models import stiffnesses

Array = np.ndarray
# steps of differences, as shares of ``scale``: errors of the four-point rule are step⁴
FIRST = 2e-3


@dataclass(frozen=True)
class Case:
    """One wire in any direction with arms in any direction, and a displacement q (1, 6S) of it."""

    wires: Wires
    q: Array
    scale: Array  # (6S,) displacements of like size: 0.5 mm, 0.02 rad

    def rigid(self) -> Array:
        """(6, 6S) motions of all stations as one body, to first order."""
        nodes = self.wires.points[0] - self.wires.arms[0]
        S = len(nodes)
        out = np.zeros((6, S, 6))
        for axis in range(3):
            w = np.eye(3)[axis]
            out[axis, :, axis] = 1.0
            out[3 + axis, :, :3] = np.cross(w, nodes)
            out[3 + axis, :, 3:] = w
        return out.reshape(6, -1)


def make_case(turns: str, seed: int, R: Array | None = None) -> Case:
    """turns : one letter a station, "b" built in, "p" pivot.  R : turns the whole in space."""
    rng = np.random.default_rng(seed)
    R = np.eye(3) if R is None else R
    S = len(turns)
    along = np.concatenate([[0.0], np.cumsum(rng.uniform(20.0, 60.0, S - 1))])
    e = R @ np.linalg.qr(rng.normal(size=(3, 3)))[0][0]
    points = R @ rng.uniform(-50.0, 50.0, 3) + along[:, None] * e
    arms = rng.uniform(-15.0, 15.0, (S, 3)) @ R.T
    scale = np.tile([0.5] * 3 + [0.02] * 3, S)
    q = (scale * rng.uniform(-1.0, 1.0, 6 * S)).reshape(-1, 3) @ R.T
    EA, EI = stiffnesses(1.8)
    held = np.array([[t == "b" for t in turns]])
    wires = make_wires(
        ("wire",),
        np.arange(S)[None],
        points[None],
        arms[None],
        held,
        np.array([EA]),
        np.array([EI]),
    )
    return Case(wires, q.reshape(1, -1), scale)


def law(case: Case, how: str) -> partial[WireState]:
    if how == "held":
        return partial(wire_state, case.wires, tension=np.array([1100.0]))
    if how == "slack":
        return partial(wire_state, case.wires, natural=np.array([6.0]))
    there = wire_state(case.wires, case.q, tension=np.array([1100.0]))
    return partial(wire_state, case.wires, natural=natural_length(case.wires, there))


STATIONS = ["bb", "pp", "bpb", "bbb", "bppb", "bbbb", "ppbp", "bpbpbb", "pppppp"]
EVERY = [(t, how) for t in STATIONS for how in ("held", "locked", "slack")]
EVERY.remove(("pp", "slack"))  # a straight bar that carries nothing


def quotients(f: partial[WireState], name: str, case: Case) -> Array:
    """Four-point difference quotients of a result by every freedom in its scale: (6S, …)."""
    steps = FIRST * np.diag(case.scale)[:, None]
    at = {m: getattr(f(case.q + m * steps), name)[:, 0] for m in (-2, -1, 1, 2)}
    return np.asarray((8.0 * (at[1] - at[-1]) - (at[2] - at[-2])) / (12.0 * FIRST))


@pytest.mark.parametrize(("turns", "how"), EVERY)
def test_gradient_and_tangent_are_derivatives(turns: str, how: str) -> None:
    """1e-6 of the largest entry, each freedom measured in its scale (N·mm throughout)."""
    for seed in range(3):
        case = make_case(turns, seed)
        f = law(case, how)
        state = f(case.q)
        assert (state.tension[0] > 1.0) == (how != "slack")
        gradient = state.gradient[0] * case.scale
        by_energy = quotients(f, "energy", case)
        assert np.abs(by_energy - gradient).max() < 1e-6 * np.abs(gradient).max()
        tangent = state.tangent[0] * case.scale[:, None] * case.scale
        by_gradient = quotients(f, "gradient", case) * case.scale
        largest = np.abs(tangent).max()
        assert np.abs(by_gradient - tangent).max() < 1e-6 * largest
        # the quotients know nothing of the other half of the matrix
        assert np.abs(by_gradient - by_gradient.T).max() < 1e-6 * largest
        assert np.array_equal(state.tangent[0], state.tangent[0].T)


@pytest.mark.parametrize(("turns", "how"), EVERY)
def test_rigid_motions_cost_nothing(turns: str, how: str) -> None:
    """To first order of turning, as members take it: energy, tension and forces stay."""
    rng = np.random.default_rng(8)
    case = make_case(turns, 4)
    f, rigid = law(case, how), case.rigid()
    before = f(case.q)
    moved = case.q + (rng.uniform(-1.0, 1.0, 6) * [3.0, 3.0, 3.0, 0.1, 0.1, 0.1]) @ rigid
    after = f(moved)
    # displacements of 10 mm round to 1e-15 mm; the wire answers with EA/L, 5e3 N/mm
    assert after.energy[0] == pytest.approx(before.energy[0], rel=1e-9)
    assert after.tension[0] == pytest.approx(before.tension[0], rel=1e-9)
    assert np.abs(after.gradient - before.gradient).max() < 1e-9 * np.abs(before.gradient).max()
    # no resultant, no resulting moment: equilibrium in the undeformed state
    motions = rigid / np.array([1.0] * 3 + [100.0] * 3)[:, None]
    assert np.abs(before.gradient[0] @ motions.T).max() < 1e-9 * np.abs(before.gradient).max()
    assert np.abs(before.tangent[0] @ motions.T).max() < 1e-9 * np.abs(before.tangent).max()


@pytest.mark.parametrize("how", ["held", "locked"])
@pytest.mark.parametrize("turns", STATIONS)
def test_a_wire_turned_in_space_answers_turned(turns: str, how: str) -> None:
    case = make_case(turns, 2)
    before = law(case, how)(case.q)
    for seed in range(3):
        R = random_rotation(seed)
        other = make_case(turns, 2, R)
        after = law(other, how)(other.q)
        assert after.energy[0] == pytest.approx(before.energy[0], rel=1e-9)
        assert after.tension[0] == pytest.approx(before.tension[0], rel=1e-9)
        back = (after.gradient.reshape(-1, 3) @ R).ravel()
        assert back == pytest.approx(before.gradient[0], abs=1e-9 * np.abs(back).max())


def test_turned_clamps_alone_do_not_lengthen_a_wire_without_arms() -> None:
    """Path and tension of a straight wire are untouched by slopes but for bowing, which is second
    order: b = L (2 β₁² - β₁ β₂ + 2 β₂²)/30 of an untensioned beam (Timoshenko; from memory)."""
    EA, EI = stiffnesses(1.8)
    L, b1, b2 = 100.0, 0.01, -0.004
    wires = make_wires(
        ("wire",),
        np.array([[0, 1]]),
        np.array([[[0.0, 0, 0], [L, 0, 0]]]),
        np.zeros((1, 2, 3)),
        np.array([[True, True]]),
        np.array([EA]),
        np.array([EI]),
    )
    q = np.zeros((1, 12))
    q[0, 5], q[0, 11] = b1, b2
    state = wire_state(wires, q, tension=np.array([0.0]))
    assert state.path[0] == 0.0
    assert state.bending.bow[0] == pytest.approx(
        L * (2 * b1**2 - b1 * b2 + 2 * b2**2) / 30, rel=1e-9
    )
    # bending moments 4EI/L and 2EI/L
    assert state.gradient[0, 5] == pytest.approx(EI / L * (4 * b1 + 2 * b2), rel=1e-9)
    assert state.gradient[0, 11] == pytest.approx(EI / L * (2 * b1 + 4 * b2), rel=1e-9)
