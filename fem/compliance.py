"""Factors of tangents, and the compliance of a state by them.

The free part H of a tangent is factored by ``fem.mechanisms.Factor``, its pivots measured by the
diagonal before condensation; unit loads D then give the compliance C = Dᵀ H⁻¹ D.
"""

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.errors import ConvergenceError
from fem.mechanisms import Factor, refuse_mechanism
from fem.system import System

_STIFFENING = (1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1.0)


def factor_of_case(
    system: System, case: int, tangent: Array, free: NDArray[np.bool_], *, mine: bool = False
) -> Factor:
    """Factor of a case's tangent with free freedoms (n,), measured by its diagonal before
    condensation.
    """
    return Factor(tangent, system.measure_of(case, tangent), ~free, mine=mine)


def stiffened(system: System, case: int, tangent: Array, free: NDArray[np.bool_]) -> Factor:
    """The tangent with as little of its diagonal added as makes it positive definite, for a step on
    the way: where wires yield it may be indefinite between states that are stable.
    """
    measure = system.measure_of(case, tangent)
    for share in _STIFFENING:
        factor = Factor(tangent + share * np.diag(measure), measure, ~free, mine=True)
        if factor.definite:
            break
    return factor


def compliance(
    system: System,
    tangent: Array,
    directions: Array,
    state: str,
    *,
    held: NDArray[np.bool_] | None = None,
    factor: Factor | None = None,
) -> Array:
    """(k, k) Dᵀ H⁻¹ D for the unit loads ``directions`` D (n, k) at a state with tangent H (n, n).

    held : (n,) freedoms supported besides those fixed in the model. factor : of H on the free ones,
    when it is there already (``Solution.factors``).
    """
    if factor is None:
        factor = tangent_factor(system, tangent, held)
    return compliance_by(system, factor, directions, state, held)


def tangent_factor(
    system: System, tangent: Array, held: NDArray[np.bool_] | None = None, case: int = 0
) -> Factor:
    """Of the tangent (n, n) of a load case; what the model fixes and ``held`` (n,) stay put."""
    return factor_of_case(
        system, case, tangent, system.free if held is None else system.free & ~held
    )


def compliance_by(
    system: System,
    factor: Factor,
    directions: Array,
    state: str,
    held: NDArray[np.bool_] | None = None,
) -> Array:
    """``compliance`` by a factor that is there already."""
    free = system.free if held is None else system.free & ~held
    refuse_mechanism(factor, system.model.names, system.kept[free], state)
    if not factor.definite:
        raise ConvergenceError(
            f"{state}: the state is unstable (lowest scaled eigenvalue "
            f"{factor.lowest_eigenvalue():.2g}); "
            "it would snap to another one.",
            load_level=1.0,
            state=state,
        )
    C = directions.T @ factor.solve(directions)
    return np.asarray((C + C.T) / 2.0)
