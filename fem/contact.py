"""Unilateral contact with Coulomb friction at points between two bodies A and B.

A contact point belongs to both bodies: each carries it over a rigid arm from one of its nodes to
the same point, so that what one body gives the other takes, at one place, and forces and moments
balance exactly. With n the unit normal from A to B, g₀ the gap at rest and U the motion of the
point with each body,

    j = U_B - U_A,     g = g₀ + n·j,     p = k_n max(-g, 0),     normal energy ½ p² / k_n
    τ = j - n (n·j)

Across n the point sticks on a spring k_t and slips when the traction would pass a limit R: with w
the slip so far and e = τ - w, x = k_t |e|,

    t = k_t e                       x ≤ R  (stick),     energy ½ k_t |e|²
    t = R e / |e|                   x > R  (slip),      energy R |e| - R² / 2 k_t
    ∂t/∂τ = k_t (1 - n nᵀ)   or   (R / |e|) (1 - n nᵀ - s sᵀ),   s = e / |e|

(radial return; force on B: p n - t). R and w stay fixed while equilibrium is sought, so that forces
derive from an energy, convex, with one continuous derivative, and the tangent is symmetric.
Coulomb's R = μ p is reached from outside (``fem.friction``), with the exact law at its end. After a
step w follows: w = τ - t / k_t. The energy above is then what is stored, ½ p² / k_n + ½ t² / k_t,
and what has been dissipated in the step, t·Δw ≥ 0. A point in the air has no limit and no memory: w
= τ. Where it touches within a step, friction counts from the place of touching: ``approach``
foresees it from a straight prediction of the motion. (Energy method with radial return: Simo &
Laursen, Computers & Structures 42 (1992) 97-116; Wriggers, Computational Contact Mechanics, 2006,
ch. 5 and 9; from memory.)

First order: normals and points stay where the undeformed bodies have them. When the bodies turn by
θ, directions err by θ (forces sideways by θ p: 1.7 % of p at 1°), the gap by |arm| θ² / 2 (0.002 mm
at 1° and 13 mm), and moments by p |τ|.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.algebra import Array, transpose
from fem.errors import ModelError
from fem.points import checked_point
from fem.relative import relative_motion

# A point that has slipped lies on the limit to rounding; it counts as sticking until it moves on.
_EDGE = 1.0 + 1e-9


@dataclass(frozen=True)
class Contacts:
    """c points. names (c,), nodes (c, 2) that carry A and B, jump (c, 3, 12): j from the freedoms
    of both nodes, arms included; normal (c, 3) from A to B, gap (c,) g₀ mm, k_n, k_t (c,) N/mm,
    friction (c,) μ.
    """

    names: tuple[str, ...]
    nodes: NDArray[np.intp]
    jump: Array
    normal: Array
    gap: Array
    k_n: Array
    k_t: Array
    friction: Array

    BY_DESIGN: ClassVar = ("jump", "normal", "gap", "k_n", "k_t", "friction")

    def take(self, cases: NDArray[np.intp]) -> "Contacts":
        """Of points of several designs (arrays with a leading axis of load cases): some cases."""
        return replace(self, **{name: getattr(self, name)[cases] for name in self.BY_DESIGN})


@dataclass(frozen=True)
class ContactHistory:
    """What the past has left: gap (..., c) g mm and slip (..., c, 3) w mm at the start of the step;
    limit (..., c) R N, of the present step.
    """

    gap: Array
    slip: Array
    limit: Array

    def take(self, cases: NDArray[np.intp]) -> "ContactHistory":
        """Of the chosen entries of the first axis."""
        return ContactHistory(self.gap[cases], self.slip[cases], self.limit[cases])


@dataclass(frozen=True)
class ContactState:
    """gap (..., c) g mm (negative: faces pressed into each other), across (..., c, 3) τ mm,
    pressure (..., c) p N, force (..., c, 3) N on body B, slipping (..., c), energy (..., c) N·mm;
    gradient (..., c, 12), tangent (..., c, 12, 12) or (..., c, 0, 0) when not asked for.
    """

    gap: Array
    across: Array
    pressure: Array
    force: Array
    slipping: NDArray[np.bool_]
    energy: Array
    gradient: Array
    tangent: Array


class ContactPart(NamedTuple):
    """One point as the model's builder collects it: nodes by name, the rest checked."""

    name: str
    a: str
    b: str
    point: Array
    normal: Array
    gap: float
    k_n: float
    k_t: float
    friction: float


def contact_part(
    name: str,
    a: str,
    b: str,
    point: ArrayLike,
    normal: ArrayLike,
    gap: float,
    k_n: float,
    k_t: float,
    friction: float,
) -> ContactPart:
    """Check one contact; the normal is made a unit vector. Raises ``ModelError``."""
    xyz, n = checked_point("contact", name, point), np.array(normal, float)
    size = float(np.linalg.norm(n))
    if n.shape != (3,) or not (np.isfinite(size) and size > 0.0):
        raise ModelError(
            f"contact {name!r}: its normal {n.tolist()} has no direction; give a vector of three "
            "that is not zero.",
            part=name,
        )
    limits = {"gap": (gap, -np.inf), "k_t": (k_t, 0.0), "friction": (friction, 0.0)}
    for word, (value, least) in limits.items():
        if not (np.isfinite(value) and value >= least):
            raise ModelError(
                f"contact {name!r}: {word} is {value}; it must be finite and at least {least}.",
                part=name,
            )
    if not (np.isfinite(k_n) and k_n > 0.0):
        raise ModelError(
            f"contact {name!r}: k_n is {k_n} N/mm; it must be finite and above 0.", part=name
        )
    return ContactPart(name, a, b, xyz, n / size, gap, k_n, k_t, friction)


def make_contacts(
    parts: Sequence[ContactPart],
    ends: NDArray[np.intp],
    points: Array,
    master: NDArray[np.intp],
) -> Contacts:
    """Stack contacts between the nodes ``ends`` (c, 2); place ``points`` (n, 3) mm and ``master``
    (n,) of each node.
    """
    nodes = master[ends]
    for part, (a, b) in zip(parts, nodes.tolist(), strict=True):
        if a == b:
            raise ModelError(
                f"contact {part.name!r}: nodes {part.a!r} and {part.b!r} belong to one rigid body, "
                "which cannot press on itself.",
                part=part.name,
            )
    at = np.array([p.point for p in parts]).reshape(-1, 1, 3)
    return Contacts(
        tuple(p.name for p in parts),
        nodes,
        relative_motion(at - points[nodes])[:, :3],
        np.array([p.normal for p in parts]).reshape(-1, 3),
        np.array([p.gap for p in parts]),
        np.array([p.k_n for p in parts]),
        np.array([p.k_t for p in parts]),
        np.array([p.friction for p in parts]),
    )


def fresh_history(contacts: Contacts, lead: tuple[int, ...] = ()) -> ContactHistory:
    """At rest, before any step, for leading axes ``lead``."""
    shape = (*lead, *contacts.gap.shape)
    gap = np.broadcast_to(contacts.gap, shape).copy()
    return ContactHistory(gap, np.zeros((*shape, 3)), np.zeros(shape))


def contact_state(
    contacts: Contacts, q: Array, history: ContactHistory, *, with_tangent: bool = True
) -> ContactState:
    """Forces of the points at q (..., c, 12), mm and rad, global axes, for the slip and limit of
    ``history``.
    """
    n, k_n, k, R = contacts.normal, contacts.k_n, contacts.k_t, history.limit
    along, across = _motion(contacts, q)
    gap = contacts.gap + along
    pressure = k_n * np.maximum(-gap, 0.0)
    e = across - history.slip
    size = np.linalg.norm(e, axis=-1)
    carried = np.minimum(k * size, R)
    secant = np.divide(carried, size, out=np.zeros_like(size), where=size > 0.0)
    t = secant[..., None] * e
    elastic = np.divide(carried, k, out=np.zeros_like(size), where=k > 0.0)
    energy = pressure * np.maximum(-gap, 0.0) / 2.0 + carried * (size - elastic / 2.0)
    slipping = k * size > R * _EDGE
    force = pressure[..., None] * n - t
    tangent = np.zeros((*energy.shape, 0, 0))
    if with_tangent:
        nn = n[..., :, None] * n[..., None, :]
        s = np.divide(e, size[..., None], out=np.zeros_like(e), where=size[..., None] > 0.0)
        ss = slipping[..., None, None] * s[..., :, None] * s[..., None, :]
        turning = np.where(slipping, secant, np.where(R > 0.0, k, 0.0))
        pressed = np.where(gap <= 0.0, k_n, 0.0)  # faces that just touch count as closed
        core = pressed[..., None, None] * nn
        core = core + turning[..., None, None] * (np.eye(3) - nn - ss)
        tangent = transpose(contacts.jump) @ core @ contacts.jump
    gradient = -np.einsum("...cxq,...cx->...cq", contacts.jump, force)
    return ContactState(gap, across, pressure, force, slipping, energy, gradient, tangent)


def approach(contacts: Contacts, history: ContactHistory, step: Array) -> ContactHistory:
    """Where points now in the air will touch if they go on by ``step`` (..., c, 12), the motion in
    the coming step foreseen without them (say, of tangent and load step): their slip is set there,
    at the latest where the step would end.
    """
    along, across = _motion(contacts, step)
    gap = np.maximum(history.gap, 0.0)
    share = np.divide(gap, -along, out=np.ones_like(along), where=-along > gap)
    share = np.where(gap > 0.0, share, 0.0)
    return replace(history, slip=history.slip + share[..., None] * across)


def with_limits(history: ContactHistory, limit: Array) -> ContactHistory:
    """The same past with limits (..., c) N for the step."""
    return replace(history, limit=limit)


def next_limits(contacts: Contacts, state: ContactState) -> Array:
    """(..., c) N, μ p: Coulomb's limits at the present pressures."""
    return np.asarray(contacts.friction * state.pressure)


def coulomb_misses(contacts: Contacts, history: ContactHistory, state: ContactState) -> Array:
    """(..., c) N, difference between the friction that acts and Coulomb's at the same place and
    pressure; both have one direction. Where a point sticks either way its limit is no miss.
    """
    trial = contacts.k_t * np.linalg.norm(state.across - history.slip, axis=-1)
    due = np.minimum(trial, next_limits(contacts, state))
    return np.asarray(np.abs(np.minimum(trial, history.limit) - due))


def coulomb_error(contacts: Contacts, history: ContactHistory, state: ContactState) -> Array:
    """(...,) largest of ``coulomb_misses``, as a share of the largest pressure or of 1 N."""
    largest = coulomb_misses(contacts, history, state).max(axis=-1, initial=0.0)
    return np.asarray(largest / state.pressure.max(axis=-1, initial=1.0))


def next_contact_history(
    contacts: Contacts, history: ContactHistory, state: ContactState
) -> ContactHistory:
    """After a converged step; its limit is Coulomb's at the present pressure, or the friction that
    acts where that is more by rounding: what has slipped sticks until it moves on.
    """
    slip = history.slip + _slipped(contacts, history, state)
    slip = np.where(state.pressure[..., None] > 0.0, slip, state.across)
    acts = np.linalg.norm(traction(contacts, state), axis=-1)
    return ContactHistory(state.gap, slip, np.maximum(next_limits(contacts, state), acts))


def traction(contacts: Contacts, state: ContactState) -> Array:
    """(..., c, 3) N, friction t on body A, across n."""
    return np.asarray(state.pressure[..., None] * contacts.normal - state.force)


def dissipated(contacts: Contacts, history: ContactHistory, state: ContactState) -> Array:
    """(..., c) N·mm turned into heat in the step from ``history`` to ``state``: t·Δw ≥ 0."""
    t = np.linalg.norm(traction(contacts, state), axis=-1)
    slipped = np.linalg.norm(_slipped(contacts, history, state), axis=-1)
    return np.asarray(t * slipped)  # both point the same way


def stored(contacts: Contacts, state: ContactState) -> Array:
    """(..., c) N·mm that the springs of the points hold: ½ p² / k_n + ½ t² / k_t."""
    t = np.linalg.norm(traction(contacts, state), axis=-1)
    k = contacts.k_t
    across = np.divide(t * t, 2.0 * k, out=np.zeros_like(t), where=k > 0.0)
    return np.asarray(state.pressure**2 / (2.0 * contacts.k_n) + across)


def _motion(contacts: Contacts, q: Array) -> tuple[Array, Array]:
    """n·j (..., c) and τ (..., c, 3) of q (..., c, 12)."""
    jump = np.einsum("...cxq,...cq->...cx", contacts.jump, q)
    along = np.sum(contacts.normal * jump, axis=-1)
    return along, jump - along[..., None] * contacts.normal


def _slipped(contacts: Contacts, history: ContactHistory, state: ContactState) -> Array:
    """(..., c, 3) Δw of the step, mm."""
    t, k = traction(contacts, state), contacts.k_t[..., None]
    elastic = np.divide(t, k, out=np.zeros_like(t), where=k > 0.0)
    return np.asarray(state.across - elastic - history.slip)
