"""Central differences of the fourth order,

f'(0) = (8 (f(h) - f(-h)) - (f(2h) - f(-2h))) / 12 h + O(h⁴ f⁗').
"""

from collections.abc import Callable

from fem.algebra import Array

PLACES: tuple[int, ...] = (-2, -1, 1, 2)
WEIGHTS: tuple[float, ...] = (1.0 / 12.0, -8.0 / 12.0, 8.0 / 12.0, -1.0 / 12.0)


def slope(values: Callable[[float], Array], h: float) -> Array:
    """Derivative at 0 of a function of one number."""
    total: Array | None = None
    for place, weight in zip(PLACES, WEIGHTS, strict=True):
        term = weight * values(place * h)
        total = term if total is None else total + term
    assert total is not None
    return total / h
