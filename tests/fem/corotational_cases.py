"""Meshes and an independent reference shared by the tests of the corotational beam."""

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

Array = NDArray[np.float64]


def chain(points: Array) -> NDArray[np.intp]:
    """(n - 1, 2) elements that join consecutive points."""
    i = np.arange(len(points) - 1)
    return np.stack([i, i + 1], axis=1)


def straight(n: int, length: float) -> Array:
    """(n + 1, 3) points along x."""
    return np.linspace([0.0, 0.0, 0.0], [length, 0.0, 0.0], n + 1)


def held(n: int, *nodes: int) -> Array:
    """(n, 6) supports: all six freedoms of some nodes held, the others free."""
    out = np.full((n, 6), np.nan)
    out[list(nodes)] = 0.0
    return out


def exact_force(
    start: tuple[float, float],
    end: tuple[float, float],
    slope: float,
    natural_length: float,
    EA: float,
    EI: float,
    GA: float = np.inf,
) -> tuple[float, float]:
    """Horizontal and vertical force on the end of a plane beam, both ends held at the same slope.

    The geometrically exact beam (Reissner 1972, J. Appl. Math. Phys. 23, 795-804), integrated by
    SciPy's collocation and so independent of any beam element:

        x' = (1 + N/EA) cos t - (Q/GA) sin t,   y' = (1 + N/EA) sin t + (Q/GA) cos t,
        t' = M/EI,   M' = H y' - V x',   N = H cos t + V sin t,   Q = -H sin t + V cos t.
    """

    def slopes(s: Array, state: Array, force: Array) -> Array:
        _, _, t, M = state
        H, V = force
        stretch = 1 + (H * np.cos(t) + V * np.sin(t)) / EA
        shear = (-H * np.sin(t) + V * np.cos(t)) / GA
        dx = stretch * np.cos(t) - shear * np.sin(t)
        dy = stretch * np.sin(t) + shear * np.cos(t)
        return np.array([dx, dy, M / EI, H * dy - V * dx])

    def ends(a: Array, b: Array, force: Array) -> Array:
        held_at = [a[0] - start[0], a[1] - start[1], a[2] - slope]
        return np.array([*held_at, b[0] - end[0], b[1] - end[1], b[2] - slope])

    s = np.linspace(0.0, natural_length, 101)
    part = s / natural_length
    guess = np.array(
        [
            start[0] + part * (end[0] - start[0]),
            start[1] + part * (end[1] - start[1]),
            slope + 0 * s,
            0 * s,
        ]
    )
    chord = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    pull = EA * (chord / natural_length - 1.0)
    solution = solve_bvp(
        slopes, ends, s, guess, p=[pull, 0.0], tol=1e-9, max_nodes=20000, verbose=0
    )
    assert solution.success, solution.message
    return float(solution.p[0]), float(solution.p[1])
