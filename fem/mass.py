"""Mass of a structure: members, wires, masses at nodes.

Units tonne, mm, s, so that N = tonne·mm/s²: steel has 7.9e-9 tonne/mm³.

Consistent mass of a member, with its exact static shapes N = (N_u, N_θ) (``fem.static_shapes``),

    M = ∫ ρA N_uᵀ N_u + N_θᵀ R diag(ρ(I_y + I_z), ρI_y, ρI_z) Rᵀ N_θ ds,

the second part being the rotary inertia of the sections (Rayleigh; the first entry makes torsion
vibrate). Lumped mass puts half of the member's mass, and with rotary inertia half of its sections'
inertia in the axes at that end, on each end; for a whole arc that is a coarse picture. Sections are
taken at their full area: where ``Section.scaled`` has taken holes off the stiffness it has taken
them off the mass.

Consistent mass of a wire: along its own line it slides through the inner stations and moves with
its clamps; across, it runs straight between the points of its stations. With h_k(s) the hat
functions of the stations, and ĥ of the clamps alone, per unit length,

    M_ij = μ ∫ ĥ_i ĥ_j e eᵀ + h_i h_j (1 - e eᵀ) ds,

carried from the points to their nodes by the arms (U = u + θ × a). The wire's own vibration between
its stations is not in it (``fem.tone`` is about that).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike
from scipy import sparse

from fem.algebra import Array, skew, transpose
from fem.assembly import assemble_blocks
from fem.errors import ModelError
from fem.model import Model
from fem.recovery import places_along
from fem.static_shapes import static_shapes
from fem.wire import Wires

Density = float | Mapping[str, float]


@dataclass(frozen=True)
class PointMass:
    """A body at a node. mass : tonne.  inertia : (3,) or (3, 3) tonne·mm² about the node, global
    axes.
    """

    node: str
    mass: float
    inertia: ArrayLike = field(default=(0.0, 0.0, 0.0))


def member_mass(model: Model, density: Array, *, rotary: bool = True) -> Array:
    """(m, 12, 12) consistent mass, global axes; density (m,) tonne/mm³."""
    out = np.zeros((len(model.members.names), 12, 12))
    area, inertia = _section_inertia(model)
    for part in static_shapes(model, np.arange(len(out))):
        rho_ds = density[part.rows, None] * part.weight
        N_u, N_θ = part.shape[..., :3, :], part.axes @ part.shape[..., 3:, :]
        by_ds = area[part.rows, None, None, None] * (transpose(N_u) @ N_u)
        if rotary:
            by_ds = by_ds + transpose(N_θ) @ (inertia[part.rows, None, :, None] * N_θ)
        out[part.rows] = np.sum(rho_ds[..., None, None] * by_ds, axis=1)
    return (out + transpose(out)) / 2.0


def member_lumped_mass(model: Model, density: Array, *, rotary: bool = True) -> Array:
    """(m, 12, 12) lumped mass, global axes; density (m,) tonne/mm³."""
    out = np.zeros((len(model.members.names), 12, 12))
    area, inertia = _section_inertia(model)
    half = density * model.members.shapes.length / 2.0
    _, axes = places_along(model, np.array([0.0, 1.0]))
    for end in (0, 1):
        u, θ = 6 * end + np.arange(3), 6 * end + np.arange(3, 6)
        out[:, u, u] = (half * area)[:, None]
        if rotary:
            R_T = axes[:, end]
            turned = transpose(R_T) @ (inertia[:, :, None] * R_T)
            out[:, θ[:, None], θ] = half[:, None, None] * turned
    return out


def _section_inertia(model: Model) -> tuple[Array, Array]:
    """(m,) area mm² and (m, 3) second moments about the local axes, mm⁴."""
    sections = model.members.shapes.sections
    area = np.array([s.area for s in sections])
    return area, np.array([(s.I_y + s.I_z, s.I_y, s.I_z) for s in sections]).reshape(-1, 3)


def wire_mass(wires: Wires, line_density: Array) -> Array:
    """(w, 6S, 6S) on the stations' nodes; line_density (w,) tonne/mm."""
    w, S = wires.nodes.shape
    hats = np.zeros((w, S, S))
    for k in range(S - 1):
        pair = np.array([[2.0, 1.0], [1.0, 2.0]]) / 6.0
        hats[:, k : k + 2, k : k + 2] += wires.spans[:, k, None, None] * pair
    at = np.concatenate([np.zeros((w, 1)), np.cumsum(wires.spans, axis=-1)], axis=-1)
    share = (at / at[:, -1:])[..., None]  # of the way between the clamps
    by_clamps = np.zeros((w, S, S))
    by_clamps[..., :1], by_clamps[..., -1:] = 1.0 - share, share
    along = transpose(by_clamps) @ hats @ by_clamps
    e = np.cross(wires.across[:, 0], wires.across[:, 1])
    ee = (e[:, :, None] * e[:, None, :])[:, None, :, None, :]
    blocks = along[:, :, None, :, None] * ee + hats[:, :, None, :, None] * (
        np.eye(3)[:, None, :] - ee
    )
    U = np.zeros((w, S, 3, S, 6))
    for k in range(S):
        U[:, k, :, k, :3], U[:, k, :, k, 3:] = np.eye(3), -skew(wires.arms[:, k])
    flat = U.reshape(w, 3 * S, 6 * S)
    M = transpose(flat) @ blocks.reshape(w, 3 * S, 3 * S) @ flat
    return np.asarray(line_density[:, None, None] * (M + transpose(M)) / 2.0)


def mass_matrix(
    model: Model,
    density: Density,
    *,
    wires: Density | None = None,
    points: Sequence[PointMass] = (),
    lumped: bool = False,
    rotary: bool = True,
) -> sparse.csr_array:
    """(6n, 6n) mass of the structure, all nodes, arms not yet applied (tonne, tonne·mm, tonne·mm²).

    density : tonne/mm³ of every member, one number or by name (0: without mass).
    wires : tonne/mm of every wire, likewise; without mass when not given.
    lumped : members' masses at their ends instead of consistent.  rotary : inertia of sections.
    """
    n = len(model.names)
    rho = _by_name("density of member", density, model.members.names)
    of_members = member_lumped_mass if lumped else member_mass
    total = assemble_blocks(of_members(model, rho, rotary=rotary), model.members.ends, n)
    if wires is not None:
        sets = (*model.wires, *(() if model.held_wires is None else (model.held_wires.wires,)))
        names = tuple(name for s in sets for name in s.names)
        mu, start = _by_name("mass by length of wire", wires, names), 0
        for wire_set in sets:
            stop = start + len(wire_set.names)
            total = total + assemble_blocks(wire_mass(wire_set, mu[start:stop]), wire_set.nodes, n)
            start = stop
    if points:
        at = np.array([[model.node(p.node)] for p in points], dtype=np.intp)
        total = total + assemble_blocks(np.array([_point(p) for p in points]), at, n)
    return sparse.csr_array(total)


def _point(body: PointMass) -> Array:
    """(6, 6) mass of a body about its node."""
    J = np.asarray(body.inertia, float)
    J = np.diag(J) if J.shape == (3,) else J
    if not (np.isfinite(body.mass) and body.mass >= 0.0):
        raise ModelError(
            f"mass at node {body.node!r}: must not be less than 0 tonne (got {body.mass}).",
            part=body.node,
        )
    if J.shape != (3, 3) or not np.allclose(J, J.T) or np.linalg.eigvalsh(J).min() < 0.0:
        raise ModelError(
            f"mass at node {body.node!r}: its inertia needs 3 values not less than 0 tonne·mm², or "
            "a symmetric 3 × 3 matrix that is not negative.",
            part=body.node,
        )
    out = np.zeros((6, 6))
    out[:3, :3], out[3:, 3:] = body.mass * np.eye(3), J
    return out


def _by_name(what: str, given: Density, names: tuple[str, ...]) -> Array:
    """(k,) values in the order of ``names``."""
    if isinstance(given, Mapping):
        for stranger in sorted(set(given) - set(names)):
            raise ModelError(f"{what} {stranger!r}: there is no such part.", part=stranger)
        for missing in sorted(set(names) - set(given)):
            raise ModelError(f"{what} {missing!r} is not given.", part=missing)
        values = np.array([given[name] for name in names], dtype=float)
    else:
        values = np.full(len(names), float(given))
    for name, value in zip(names, values, strict=True):
        if not (np.isfinite(value) and value >= 0.0):
            raise ModelError(f"{what} {name!r}: must not be less than 0 (got {value}).", part=name)
    return values
