"""Rigid bodies on linear springs with contact points, solved by a small Newton of its own."""

from dataclasses import dataclass

import numpy as np

from fem.contact import (
    ContactHistory,
    Contacts,
    ContactState,
    contact_part,
    contact_state,
    fresh_history,
    make_contacts,
    next_contact_history,
)
from fem.friction import Settled, settle


class NoEquilibrium(Exception):
    """Newton's tangent is singular, or it does not come to an end."""


def contacts_at(points, normals, *, gap=0.0, k_n=1000.0, k_t=400.0, friction=0.0, nodes=None):
    """Contacts between node 0 (ground, A) and node 1 (body, B), both at the origin unless
    ``nodes`` (2, 3) says otherwise.
    """
    points, normals = np.atleast_2d(points), np.atleast_2d(normals)
    each = [np.broadcast_to(v, len(points)) for v in (gap, k_n, k_t, friction)]
    parts = [
        contact_part(f"c{i}", "A", "B", p, n, *(float(v[i]) for v in each))
        for i, (p, n) in enumerate(zip(points, np.broadcast_to(normals, points.shape), strict=True))
    ]
    at = np.zeros((2, 3)) if nodes is None else np.asarray(nodes, float)
    return make_contacts(parts, np.tile([0, 1], (len(parts), 1)), at, np.arange(2))


@dataclass(frozen=True)
class Block:
    """A body B on springs K (6, 6) to the ground and on contacts against the ground A; ``free``
    (6,) of its freedoms.
    """

    contacts: Contacts
    K: np.ndarray
    free: np.ndarray

    def parts(self, u):
        """(..., c, 12) freedoms of the contacts at u (..., 6)."""
        q = np.concatenate([np.zeros_like(u), u], axis=-1)
        return np.repeat(q[..., None, :], len(self.contacts.names), axis=-2)

    def newton(self, load, history: ContactHistory, u):
        """Equilibrium (6,) of one case for limits that stay fixed, and its contact state."""
        load, u = np.asarray(load, float), u.copy()
        scale = max(1.0, np.abs(load).max())

        def look(at):
            state = contact_state(self.contacts, self.parts(at), history)
            force = load - self.K @ at - state.gradient.sum(axis=0)[6:]
            return state, np.where(self.free, force, 0.0)

        state, force = look(u)
        for _ in range(200):
            if np.abs(force).max() < 1e-10 * scale:
                return u, state
            H = (self.K + state.tangent.sum(axis=0)[6:, 6:])[np.ix_(self.free, self.free)]
            if np.linalg.eigvalsh(H)[0] < 1e-12 * np.abs(H).max():
                if np.abs(force).max() < 1e-6 * scale or not state.pressure.any():
                    raise NoEquilibrium("nothing holds the body")
                H = H + 1e-6 * np.abs(H).max() * np.eye(len(H))  # between, it may come and go
            step = np.zeros(6)
            step[self.free] = np.linalg.solve(H, force[self.free])
            new, share = _line_search(lambda share, u=u, d=step: look(u + share * d), step, force)
            u, (state, force) = u + share * step, new
        raise NoEquilibrium(f"residual {np.abs(force).max():.2g} N")

    def rest(self):
        return np.zeros(6), fresh_history(self.contacts)

    def step(self, load, history: ContactHistory, u) -> tuple[np.ndarray, ContactState, Settled]:
        """One load step with Coulomb's law: u (6,), contact state, and how it settled."""
        places = {}

        def solve_once(now, cases):
            places["u"], state = self.newton(load, now.take(np.intp(0)), places.get("u", u))
            places["state"] = state
            return _as_row(state)

        row = ContactHistory(history.gap[None], history.slip[None], history.limit[None])
        settled = settle(solve_once, self.contacts, row, ["block"])
        return places["u"], places["state"], settled

    def walk(self, loads):
        """Through the loads one after the other: lists of u and states."""
        u, history = self.rest()
        us, states = [], []
        for load in loads:
            u, state, settled = self.step(load, history, u)
            used = settled.history.take(np.intp(0))
            history = next_contact_history(self.contacts, used, state)
            us.append(u)
            states.append(state)
        return us, states


def _line_search(look, step, force):
    """Where on the step its power has fallen to a half, by false position: the potential is convex,
    and its slope grows steadily along the step.
    """
    first = force @ step
    low, high, share = (0.0, first), None, 1.0
    for _ in range(60):
        new = look(share)
        power = new[1] @ step
        if abs(power) <= 0.5 * first or (power > 0.0 and share == 1.0):
            break
        if power > 0.0:
            low = (share, power)
        else:
            high = (share, power)
        share = (low[0] * high[1] - high[0] * low[1]) / (high[1] - low[1])
        share = min(max(share, 0.9 * low[0] + 0.1 * high[0]), 0.1 * low[0] + 0.9 * high[0])
    return new, share


def _as_row(state: ContactState) -> ContactState:
    return ContactState(*(np.asarray(getattr(state, f))[None] for f in state.__dataclass_fields__))


def wedge(alpha, mu, k_side, *, k_axial=0.0, gap=0.0, k_n=1e5, k_t=4e4):
    """Block in the x-z plane on a plane inclined by alpha (rising with x), held sideways along x
    by ``k_side``; freedoms x and z.
    """
    normal = [-np.sin(alpha), 0.0, np.cos(alpha)]
    contacts = contacts_at([0.0, 0.0, 0.0], normal, gap=gap, k_n=k_n, k_t=k_t, friction=mu)
    K = np.diag([k_side, 0.0, k_axial, 0.0, 0.0, 0.0])
    return Block(contacts, K, np.array([True, False, True, False, False, False]))
