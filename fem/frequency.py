"""Natural frequencies and modes of a structure about a state.

    K_t φ = ω² M φ,     f = ω / 2π,

K_t the whole tangent at the state (``fem.uncondensed``), M the mass (``fem.mass``); tonne, mm, s
give Hz. The highest ν = 1/ω² of the flexibility are sought, by shift-invert about nothing.

Rigid motions. A structure without supports has rigid motions R (six, fewer when supported in part)
that cost nothing: R is made from geometry and kept as far as supports leave it and the linear part
(springs to the ground) does not resist it. They are no vibrations; they are left out and counted.
In what remains, loads M x lose their resultant, and the structure may be held at any r freedoms
that stop R, K_c⁻¹ being its flexibility so held:

    P = 1 - R (Rᵀ M R)⁻¹ Rᵀ M,     G = P K_c⁻¹ Pᵀ,     G M φ = ν φ.

No shift has to be guessed, and every ν > 0 is elastic. (Craig & Kurdila, Fundamentals of
Structural Dynamics, 2006, ch. 10 and 17, for rigid-body modes and their elimination.) In a stressed
structure, moved a little out of the places it was built in, R is that motion of the freedoms that
stop R, and the rest follows without load, φ = -K_rr⁻¹ K_rp R_p. The columns' forces then resist or
help a turn a little, because arcs and beams that are no columns do not carry theirs along; against
the vibrations that is nothing (3e-5 of the lowest ω² in a frame of four rings with tensioned
wires), and more than ``RIGID_SHARE`` is refused. Anything else that moves
without resistance is a mechanism and is refused; a tangent with a negative direction is a buckled
state and is refused too.

Small structures are solved whole. Large ones by Lanczos' method (ARPACK), which could overlook one
of several equal frequencies; Sylvester's law tells: K_t - σM has as many negative pivots as there
are frequencies below √σ, rigid motions included.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse
from scipy.sparse.linalg import LinearOperator, eigsh

from fem.algebra import Array, skew
from fem.assembly import assemble_masters
from fem.bowing import Stressed
from fem.constraints import master_transform
from fem.errors import ConvergenceError, ModelError
from fem.sparse_factor import SparseFactor
from fem.system import System
from fem.uncondensed import Freedoms, at_all_nodes, master_freedoms, whole_tangent

WHOLE = 400  # freedoms up to which the problem is solved whole
RIGID_LIMIT = 1e-11  # energy of a motion against that of its freedoms one by one
RIGID_SHARE = 1e-3  # of the lowest ω² that stress may give a rigid motion
_EXTRA = 4  # modes beyond those asked for, to find a gap for the count
_NO_MASS = 1e-12


@dataclass(frozen=True)
class Frequencies:
    """hertz : (k,) ascending.  modes : (k, n_nodes, 6) mm and rad with φᵀ M φ = 1 (tonne, mm).
    rigid : number of rigid motions without resistance, left out.
    """

    hertz: Array
    modes: Array
    rigid: int


def frequencies(
    system: System,
    state: Stressed,
    mass: sparse.csr_array,
    count: int = 10,
    name: str = "frequencies",
    *,
    held: NDArray[np.bool_] | None = None,
) -> Frequencies:
    """The ``count`` lowest natural frequencies of a system about a state.

    mass : (6n, 6n), all nodes (``fem.mass.mass_matrix``).  name : of the state, for errors.
    held : (n,) freedoms of the system supported besides those fixed in the model.
    """
    freedoms = master_freedoms(system, held)
    free, dofs = freedoms.rows, freedoms.numbers
    T = master_transform(system.model.master, system.model.arm)
    K = sparse.csr_array(whole_tangent(system, state)[free][:, free])
    M = sparse.csr_array(sparse.csr_array(T.T @ mass @ T)[free][:, free])
    names = system.model.names
    R = _rigid_motions(system, freedoms)
    stop = _freedoms_that_stop(R)
    rest = np.setdiff1d(np.arange(len(free)), stop)
    factor = SparseFactor(sparse.csr_array(K[rest][:, rest]), names, dofs[rest], name)
    if factor.negative is not None and factor.negative:
        raise ConvergenceError(
            f"{name}: the state is unstable, its stiffness is negative in {factor.negative} "
            "direction(s), so that it would snap to another one instead of vibrating. "
            "Lower the load, raise tensions or add members.",
            load_level=1.0,
            state=name,
        )
    R[rest] = -factor.solve(np.asarray(K[rest][:, stop] @ R[stop]))
    flexible = _Flexibility(factor, rest, M, R)
    solve = _whole if len(free) <= WHOLE else _lanczos
    nu, vectors = solve(flexible, count + _EXTRA)
    if len(nu) < count:
        raise ModelError(
            f"{name}: {count} frequencies asked for, but the structure has only {len(nu)}; "
            "ask for fewer or divide members by nodes."
        )
    if len(free) > WHOLE:
        _refuse_overlooked(K, M, nu, count, R.shape[1], dofs, names, name)
    nu, vectors = nu[:count], vectors[:, :count]
    _refuse_stressed_motion(flexible, K, nu[0], name)
    size = np.sqrt(np.sum(vectors * (M @ vectors), axis=0))
    hertz = 1.0 / (2.0 * np.pi * np.sqrt(nu))
    return Frequencies(hertz, at_all_nodes(system, freedoms, (vectors / size).T), R.shape[1])


class _Flexibility:
    """G = P K_c⁻¹ Pᵀ on f freedoms, and M."""

    def __init__(
        self, factor: SparseFactor, rest: NDArray[np.intp], M: sparse.csr_array, R: Array
    ) -> None:
        self.M, self.R, self._factor, self._rest = M, R, factor, rest
        # a motion without mass, as of a line about itself, needs no balance
        self.by_inertia = np.linalg.pinv(R.T @ (M @ R), rcond=_NO_MASS, hermitian=True)
        self._to_R = self.by_inertia @ (M @ R).T

    def __call__(self, load: Array) -> Array:
        """(f,) or (f, k) → the same."""
        balanced = load - self._to_R.T @ (self.R.T @ load)
        x = np.zeros(load.shape)
        x[self._rest] = self._factor.solve(balanced[self._rest])
        return np.asarray(x - self.R @ (self._to_R @ x))


def _whole(flexible: _Flexibility, count: int) -> tuple[Array, Array]:
    """Highest ν (k,), descending, and vectors (f, k): of Lᵀ G L with M = L Lᵀ."""
    M = flexible.M.toarray()
    values, axes = linalg.eigh(M)
    massive = values > _NO_MASS * values[-1]
    L = axes[:, massive] * np.sqrt(values[massive])
    nu, y = linalg.eigh(_symmetric(L.T @ flexible(L)))
    elastic = nu > _NO_MASS * nu[-1]
    nu, y = nu[elastic][::-1][:count], y[:, elastic][:, ::-1][:, :count]
    return nu, flexible(L @ y) / nu


def _lanczos(flexible: _Flexibility, count: int) -> tuple[Array, Array]:
    """The same by shift-invert."""
    n = flexible.M.shape[0]
    operator = LinearOperator((n, n), matvec=flexible, dtype=float)
    omega2, vectors = eigsh(
        flexible.M,  # only its size is read: the operator stands for the inverse of K
        count,
        M=flexible.M,
        sigma=0.0,
        OPinv=operator,
        v0=np.random.default_rng(0).standard_normal(n),
        ncv=min(n, max(4 * count, 40)),
    )
    order = np.argsort(omega2)
    return 1.0 / omega2[order], vectors[:, order]


def _symmetric(A: Array) -> Array:
    return np.asarray((A + A.T) / 2.0)


def _refuse_stressed_motion(
    flexible: _Flexibility, K: sparse.csr_array, nu: float, name: str
) -> None:
    R = flexible.R
    omega2 = np.linalg.eigvals(flexible.by_inertia @ (R.T @ (K @ R)))
    share = float(np.abs(omega2).max(initial=0.0)) * nu
    if share > RIGID_SHARE:
        raise ModelError(
            f"{name}: forces in the columns resist a rigid motion of the free structure with "
            f"{share:.2g} of its lowest ω² (limit {RIGID_SHARE:g}), so that it has no vibrations "
            "of its own; support it, or take the state without loads."
        )


def _refuse_overlooked(
    K: sparse.csr_array,
    M: sparse.csr_array,
    nu: Array,
    count: int,
    rigid: int,
    dofs: NDArray[np.intp],
    node_names: tuple[str, ...],
    name: str,
) -> None:
    """Count frequencies below a gap beyond the last one asked for, by pivots of K - σM."""
    omega2 = 1.0 / nu[count - 1 :]
    wide = int(np.argmax(omega2[1:] / omega2[:-1]))
    sigma = np.sqrt(omega2[wide] * omega2[wide + 1])
    shifted = SparseFactor(sparse.csr_array(K - sigma * M), node_names, dofs, name)
    expected = count + wide + rigid
    if shifted.negative is not None and shifted.negative != expected:
        raise ConvergenceError(
            f"{name}: {shifted.negative} frequencies lie below "
            f"{np.sqrt(sigma) / (2 * np.pi):.6g} Hz, but {expected} were found; "
            "ask for a few more.",
            state=name,
        )


def _rigid_motions(system: System, freedoms: Freedoms) -> Array:
    """(f, r) rigid motions that neither supports nor the linear part resist."""
    model, dofs = system.model, freedoms.numbers
    scale = system.length
    X = (model.points - model.points.mean(axis=0)) / scale
    whole = np.zeros((len(model.names), 6, 6))
    whole[:, :3, :3] = np.eye(3)
    whole[:, :3, 3:] = -skew(X)
    whole[:, 3:, 3:] = np.eye(3) / scale
    fixed = whole[freedoms.fixed]
    fixed[np.nonzero(freedoms.fixed)[1] >= 3] *= scale
    R = whole[dofs // 6, dofs % 6] @ linalg.null_space(fixed, rcond=1e-9)
    if not R.shape[1]:
        return R
    K = sparse.csr_array(assemble_masters(model)[freedoms.rows][:, freedoms.rows])
    diagonal = K.diagonal()
    resisted, mix = linalg.eigh(_symmetric(R.T @ (K @ R)), R.T @ (diagonal[:, None] * R))
    return np.asarray(R @ mix[:, np.abs(resisted) < RIGID_LIMIT])


def _freedoms_that_stop(R: Array) -> NDArray[np.intp]:
    """(r,) rows of R that hold every one of its motions, by pivoted QR."""
    if not R.shape[1]:
        return np.zeros(0, dtype=np.intp)
    _, pivots = linalg.qr(R.T, mode="r", pivoting=True)
    return np.asarray(pivots[: R.shape[1]], dtype=np.intp)
