"""Mechanisms: motions that a structure does not resist.

A residual cannot find them (an unsupported frame under balanced loads has the smallest residual of
all). Here the tangent is scaled to unit diagonal, D^-½ K D^-½, which takes out units and member
sizes; the pivots of its Cholesky factor then measure how independent each freedom is of those
before it. A pivot below ``PIVOT_LIMIT`` raises suspicion; the smallest eigenpairs of the scaled
matrix confirm or reject it, and the eigenvectors are the free motions.

A matrix with a clearly negative eigenvalue is no mechanism but an unstable state (buckling).
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from fem.algebra import Array
from fem.errors import MechanismError

PIVOT_LIMIT = 1e-11
EIGEN_LIMIT = 1e-12
_MOST_MOTIONS = 12


class Factor:
    """Cholesky factor of a symmetric matrix, its pivots measured as those of the scaled matrix:
    scaling takes the same factors out of rows of the factor, so that it need not be done.

    measure : (n,) stiffnesses that unit size is taken from, K's own diagonal when not given. After
    condensation it is the diagonal before: what is left of a free motion is rounding of that.
    held : (n,) rows that stay where they are: they are cut off from the rest. mine : K may be
    written over (C order); one triangle of it survives, for a look at free motions.
    ``definite`` is False when the matrix is not positive definite; ``smallest_pivot`` is that of
    the scaled matrix (0 when not definite).
    """

    def __init__(
        self,
        K: Array,
        measure: Array | None = None,
        held: NDArray[np.bool_] | None = None,
        *,
        mine: bool = False,
    ) -> None:
        self._diagonal = np.diagonal(K).copy()
        diagonal = self._diagonal if measure is None else measure
        size = np.where(diagonal > 0, diagonal, 1.0)
        self._size, self._held = size, None
        own = K if mine else np.array(K, order="C")
        self._below = own  # what LAPACK leaves of K
        if held is not None and held.any():
            self._held = np.flatnonzero(held)
            own[self._held] = 0.0
            own[:, self._held] = 0.0
            own[self._held, self._held] = size[self._held]
        # symmetric, so the transpose is the same matrix in the order that LAPACK takes without
        # copying
        self._L, info = linalg.lapack.dpotrf(own.T, lower=1, clean=0, overwrite_a=1)
        self.definite = info == 0
        pivots = np.diagonal(self._L) ** 2 / size if self.definite else np.zeros(1)
        self.smallest_pivot = float(np.min(pivots, initial=1.0))

    def solve(self, b: Array) -> Array:
        """K⁻¹ b for b (n,) or (n, k); zero in held rows."""
        own = np.array(b, order="F")
        if self._held is not None:
            own[self._held] = 0.0
        x, _ = linalg.lapack.dpotrs(self._L, own, lower=1, overwrite_b=1)
        return np.asarray(x.reshape(b.shape))

    def half_solve(self, b: Array) -> Array:
        """L⁻¹ b for b (n, k), with K = L Lᵀ; of a matrix without held rows."""
        x, _ = linalg.lapack.dtrtrs(self._L, b, lower=1)
        return np.asarray(x)

    def suspicious(self) -> bool:
        """Whether a mechanism is possible and the eigenpairs must decide."""
        return not self.definite or self.smallest_pivot < PIVOT_LIMIT

    def free_motions(self) -> Array:
        """(f, k) motions of the f rows not held without resistance, k = 0 when there is none."""
        scaled, scale = self._scaled()
        top = min(len(scaled), _MOST_MOTIONS + 1) - 1
        values, vectors = linalg.eigh(scaled, subset_by_index=[0, top])
        largest = np.linalg.norm(scaled, 1)
        free = np.abs(values) < EIGEN_LIMIT * largest
        return np.asarray(vectors[:, free] * scale[:, None])

    def lowest_eigenvalue(self) -> float:
        """Smallest eigenvalue of the scaled matrix (negative: unstable)."""
        return float(linalg.eigvalsh(self._scaled()[0], subset_by_index=[0, 0])[0])

    def _scaled(self) -> tuple[Array, Array]:
        """(f, f) of the rows not held, and their scale (f,)."""
        free = np.arange(len(self._below))
        if self._held is not None:
            free = np.setdiff1d(free, self._held)
        K = np.tril(self._below[np.ix_(free, free)], -1)
        K = K + K.T + np.diag(self._diagonal[free])
        size = self._size[free]
        scale = 1.0 / np.sqrt(size)
        return K * scale[:, None] * scale, scale


def refuse_mechanism(
    factor: Factor, node_names: tuple[str, ...], dofs: NDArray[np.intp], state: str
) -> None:
    """Raise ``MechanismError`` when the factored matrix has free motions.

    dofs : (f,) freedom numbers (6 node + freedom) of the rows not held, nodes counted as in
    ``node_names``.
    """
    if not factor.suspicious():
        return
    motions = factor.free_motions()
    if motions.shape[1]:
        raise MechanismError(
            *_words(motions, node_names, dofs, state),
            motions=[_by_node(m, node_names, dofs) for m in motions.T],
            state=state,
        )


def _by_node(motion: Array, names: tuple[str, ...], dofs: NDArray[np.intp]) -> dict[str, Array]:
    full = np.full(6 * len(names), np.nan)
    full[dofs] = motion
    nodes: Iterable[int] = sorted({int(d) // 6 for d in dofs})
    return {names[i]: full[6 * i : 6 * i + 6] for i in nodes}


def _words(
    motions: Array, names: tuple[str, ...], dofs: NDArray[np.intp], state: str
) -> tuple[str]:
    first = motions[:, 0]
    most = int(np.argmax(np.abs(first)))
    kind = "slides" if dofs[most] % 6 < 3 else "turns"
    count = motions.shape[1]
    return (
        f"{state}: the structure can move without resistance in {count} "
        f"way{'s' if count > 1 else ''}; "
        f"node {names[dofs[most] // 6]!r} {kind} freely. Support it or add a member that holds it.",
    )
