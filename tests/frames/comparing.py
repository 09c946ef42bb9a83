"""Two results that must say the same, and what a turn of the axes does to one."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frames import Result
from frames.result import LoadResult

Array = NDArray[np.float64]
SAME = 1e-9
"""Relative: what rounding may leave."""

SAME_LOADED = 1e-8
"""Relative, under load: Newton's iteration ends at 1e-10 of the largest force, some 1000 N; divided
by a sideways stiffness of a few N/mm that leaves 1e-8 mm of a movement of some millimetres."""

ARM_MM = 100.0
"""A turn is measured against a shift over this arm."""


def movement(load: LoadResult) -> Array:
    """(6,) anterior, medial, axial (mm), turns (rad)."""
    values = np.array(list(load.gap_movement.values()))
    return values * np.array([1.0, 1.0, 1.0, *[np.pi / 180.0] * 3])


def turn_matrix(degrees: float) -> Array:
    """(6, 6): components (anterior, medial, proximal, and turns) of what was turned from anterior
    towards medial."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.kron(np.eye(2), np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]))


def matrix_difference(K: Array, other: Array) -> float:
    """Largest difference of two stiffness matrices, every entry against its diagonal ones."""
    d = np.sqrt(np.diag(K))
    for pair in ([0, 1], [3, 4]):  # the same scale whichever way the axes point
        d[pair] = d[pair].max()
    return float(np.abs((K - other) / np.outer(d, d)).max())


def vector_difference(move: Array, other: Array) -> float:
    """Largest difference of two movements (6,), relative to the largest component."""
    scale = np.array([1.0, 1.0, 1.0, *[ARM_MM] * 3])
    return float(np.abs((move - other) * scale).max() / np.abs(move * scale).max())


def values(numbers: Mapping[str, float]) -> Array:
    """The numbers alone."""
    return np.array(list(numbers.values()))


def assert_same(
    result: Result,
    other: Result,
    *,
    degrees: float = 0.0,
    name_of: Callable[[str], str] = str,
    tolerance: float = SAME,
    loaded_tolerance: float = SAME_LOADED,
) -> None:
    """All numbers of ``other`` are those of ``result``, turned by ``degrees``.

    name_of : the new name of a part.
    """
    R = turn_matrix(degrees)
    close = {"rtol": tolerance, "atol": 0.0}
    near = {"rtol": loaded_tolerance, "atol": 0.0}
    assert matrix_difference(R @ result.matrix @ R.T, other.matrix) < tolerance
    assert [load.name for load in result.loads] == [load.name for load in other.loads]
    if not degrees:  # shears and bendings belong to the axes
        np.testing.assert_allclose(values(other.stiffness), values(result.stiffness), **close)
    wires = {w.name: w for w in other.wires}
    for w in result.wires:
        again = wires[name_of(w.name)]
        np.testing.assert_allclose(again.tension_N, w.tension_N, **close)
        np.testing.assert_allclose(again.peak_stress_MPa, w.peak_stress_MPa, **close)
        np.testing.assert_allclose(sorted(again.tone_Hz), sorted(w.tone_Hz), **close)
    for load, under in zip(result.loads, other.loads, strict=True):
        assert vector_difference(R @ movement(load), movement(under)) < loaded_tolerance, load.name
        loaded = {w.name: w for w in under.wires}
        for v in load.wires:
            again = loaded[name_of(v.name)]
            np.testing.assert_allclose(again.tension_N, v.tension_N, **near)
            np.testing.assert_allclose(again.peak_stress_MPa, v.peak_stress_MPa, **near)
            assert again.slack == v.slack
        if not degrees:
            np.testing.assert_allclose(values(under.tangent), values(load.tangent), **near)
            assert under.secant.keys() == load.secant.keys()
            np.testing.assert_allclose(values(under.secant), values(load.secant), **near)
    assert sorted(w.kind for w in result.warnings) == sorted(w.kind for w in other.warnings)


def numbers_in(value: Any) -> Iterator[float]:
    """Every float in the content of a result file."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from numbers_in(item)
    elif isinstance(value, float):
        yield value
