"""Buckling factors by linear extrapolation of the tangent.

A structure is at rest in a state with tangent H₀ (pretension, say) that is stable, so that H₀ is
positive definite; under a reference load its tangent is H₁. When the tangent changes in proportion
to the load, H(λ) = H₀ + λ (H₁ - H₀), it becomes singular at

    H₀ φ = -λ (H₁ - H₀) φ,      or      -(H₁ - H₀) φ = μ H₀ φ,  λ = 1/μ,

a symmetric problem whose definite matrix is H₀ (H₁ - H₀ is not: some parts are compressed, others
stretched). The sign matters: λ > 0 buckles under the load as it is, λ < 0 only under its opposite,
and a load that only stretches has no positive factor. Proportionality holds for straight columns
and small loads; a construct that stiffens or bends first is only estimated, the better the nearer
the reference load lies to the factor 1.

Columns carry P-Δ by their law and P-δ by ``fem.bowing``; members not named as columns have no
geometric stiffness. (McGuire, Gallagher & Ziemian, Matrix Structural Analysis, 2000, ch. 9.)
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse
from scipy.sparse.linalg import LinearOperator, eigsh

from fem.algebra import Array
from fem.bowing import Stressed
from fem.errors import ConvergenceError
from fem.sparse_factor import SparseFactor
from fem.system import System
from fem.uncondensed import at_all_nodes, master_freedoms, whole_tangent

WHOLE = 400  # freedoms up to which the problem is solved whole
FAR = 1e6  # factors beyond are rounding of H₁ - H₀


@dataclass(frozen=True)
class Buckling:
    """factors : (k,) λ, first the positive ones ascending, then the negative ones from nothing
    downwards.  modes : (k, n_nodes, 6), largest displacement 1 mm (or rotation 1 rad, where
    nothing shifts).
    """

    factors: Array
    modes: Array

    @property
    def smallest(self) -> float:
        """Smallest positive factor, infinite when the load does not buckle the structure."""
        positive = self.factors[self.factors > 0.0]
        return float(positive[0]) if len(positive) else float("inf")


def buckling(
    system: System,
    rest: Stressed,
    loaded: Stressed,
    count: int = 4,
    name: str = "buckling",
    *,
    held: NDArray[np.bool_] | None = None,
) -> Buckling:
    """Up to ``count`` factors of either sign, of the load that leads from ``rest`` to ``loaded``.

    rest, loaded : states of the system (``fem.uncondensed.stressed``).  name : of the load, for
    errors.  held : (n,) freedoms of the system supported besides those fixed in the model.

    Raises ``MechanismError`` or ``ConvergenceError`` when ``rest`` is not stable; a free structure
    must be supported.
    """
    freedoms = master_freedoms(system, held)
    free = freedoms.rows
    H0, H1 = (
        sparse.csr_array(whole_tangent(system, state)[free][:, free]) for state in (rest, loaded)
    )
    factor = SparseFactor(H0, system.model.names, freedoms.numbers, name)
    if factor.negative is not None and factor.negative:
        raise ConvergenceError(
            f"{name}: the state at rest is unstable already, its stiffness is negative in "
            f"{factor.negative} direction(s); lower its compression.",
            state=name,
        )
    factors, vectors = buckling_factors(H0, sparse.csr_array(H1 - H0), factor, count)
    modes = at_all_nodes(system, freedoms, vectors.T)
    shift = np.abs(modes[..., :3]).max(axis=(1, 2), initial=0.0)
    turn = np.abs(modes[..., 3:]).max(axis=(1, 2), initial=0.0)
    size = np.where(shift > 1e-9 * turn * system.length, shift, turn)
    return Buckling(factors, modes / size[:, None, None])


def buckling_factors(
    H0: sparse.csr_array, change: sparse.csr_array, factor: SparseFactor, count: int
) -> tuple[Array, Array]:
    """(k,) λ and (f, k) φ with H₀ φ = -λ ``change`` φ; up to ``count`` of either sign, in the order
    of ``Buckling.factors``.

    factor : of H₀, positive definite.
    """
    n = H0.shape[0]
    if n <= WHOLE or 2 * count >= n:
        mu, phi = linalg.eigh(-change.toarray(), H0.toarray())
    else:
        inverse = LinearOperator((n, n), matvec=factor.solve, dtype=float)
        start = np.random.default_rng(0).standard_normal(n)
        mu, phi = eigsh(
            -change, 2 * count, M=H0, Minv=inverse, which="BE", v0=start, ncv=min(n, 8 * count + 20)
        )
    positive = np.flatnonzero(mu > 1.0 / FAR)
    negative = np.flatnonzero(mu < -1.0 / FAR)
    order = np.concatenate(
        [
            positive[np.argsort(-mu[positive])][:count],
            negative[np.argsort(mu[negative])][:count],
        ]
    )
    return 1.0 / mu[order], phi[:, order]
