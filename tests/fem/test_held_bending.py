"""Bending with one tension per span: derivatives, and one tension as a special case."""

import numpy as np
import pytest

from fem.held_bending import bend_spans
from fem.wire_bending import bend, span_end_moments

Array = np.ndarray
TURNS = [[1, 0, 0, 1], [1, 1, 1, 1], [0, 1, 0, 1]]
W, S = 5, 4
N, N_Z, M = S - 1, 2 * S - 1, 4 * S - 3
EI = np.full(W, 1e5)


def wires(turns: list[int]) -> tuple[np.random.Generator, Array, Array, Array]:
    """A generator, spans, which slopes are free, and slopes with kinks (W, 2, M)."""
    rng = np.random.default_rng(0)
    free = np.zeros((W, N_Z), dtype=bool)
    free[:, N:] = ~np.array(turns, dtype=bool)
    y = rng.normal(size=(W, 2, M)) * 0.05
    y[..., :N_Z] *= ~free[:, None, :]
    return rng, rng.uniform(20.0, 60.0, (W, N)), free, y


@pytest.mark.parametrize("turns", TURNS)
def test_equal_tensions_without_kinks(turns: list[int]) -> None:
    """Rounding apart the same as ``fem.wire_bending``, bows and their derivatives summed."""
    rng, spans, free, y = wires(turns)
    z, T = np.stack([y[..., :N_Z]] * 3), rng.uniform(0.0, 1500.0, (3, W))
    one = bend(z, T, EI, spans, free)
    many = bend_spans(z, np.repeat(T[..., None], N, axis=-1), EI, spans, free)
    for got, want in (
        (many.slopes, one.slopes),
        (many.force, one.force * ~free[:, None]),
        (many.stiffness, one.stiffness),
        (many.energy, one.energy),
        (many.bow.sum(-1), one.bow),
        (many.bow_by_T.sum((-1, -2)), one.bow_by_T),
        (many.bow_by_y.sum(-3), one.bow_by_z),
        (many.moments, span_end_moments(one, T, EI, spans)),
    ):
        want = np.broadcast_to(want, got.shape)
        assert np.abs(got - want).max() < 1e-12 * np.abs(want).max()


@pytest.mark.parametrize("turns", TURNS)
def test_derivatives(turns: list[int]) -> None:
    """Quadratic in y, so that central differences are exact; by tension steps of 1 N of 200 N or
    more: 1e-5."""
    rng, spans, free, y = wires(turns)
    T = rng.uniform(200.0, 1500.0, (W, N))
    state = bend_spans(y, T, EI, spans, free)
    largest = {k: np.abs(v).max() for k, v in vars(state).items()}
    for plane in range(2):
        for j in range(M):
            d = np.zeros_like(y)
            d[:, plane, j] = 1e-4 * (j >= N_Z or ~free[:, min(j, N_Z - 1)])
            up, down = (bend_spans(y + s * d, T, EI, spans, free) for s in (1, -1))
            force = (up.energy - down.energy) / 2e-4
            assert force == pytest.approx(state.force[:, plane, j], abs=1e-9 * largest["force"])
            column = (up.force - down.force)[:, plane] / 2e-4
            assert column == pytest.approx(
                state.stiffness[:, :, j], abs=1e-9 * largest["stiffness"]
            )
            bow = (up.bow - down.bow) / 2e-4
            assert bow == pytest.approx(
                state.bow_by_y[:, :, plane, j], abs=1e-9 * largest["bow_by_y"]
            )
    for j in range(N):
        d = np.zeros_like(T)
        d[:, j] = 1.0
        up, down = (bend_spans(y, T + s * d, EI, spans, free) for s in (1, -1))
        b = (up.energy - down.energy) / 2.0
        assert b == pytest.approx(state.bow[:, j], abs=1e-5 * largest["bow"])
        by_T = (up.bow - down.bow) / 2.0
        assert by_T == pytest.approx(state.bow_by_T[:, :, j], abs=1e-5 * largest["bow_by_T"])


def test_kinks_give_back_the_moments() -> None:
    """-∂U/∂α is the moment at that end."""
    _, spans, free, y = wires(TURNS[0])
    state = bend_spans(y, np.full((W, N), 900.0), EI, spans, free)
    by_kink = state.force[..., N_Z:].reshape(W, 2, N, 2)
    assert -np.moveaxis(by_kink, 1, -1) == pytest.approx(state.moments, rel=1e-12)
