"""Mesh and sections of a corotational beam model (mechanics: ``fem.corotational``)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.algebra import Array
from fem.beam import beam_frame
from fem.errors import ModelError

_SECTION = ("EA", "GAy", "GAz", "GJ", "EIy", "EIz")


@dataclass(frozen=True)
class CorotationalModel:
    """Straight beam elements at rest; ``corotational_model`` makes one from scalars too.

    points : (n, 3) nodes, mm.  elements : (m, 2) node numbers of ends 1 and 2.
    frames : (m, 3, 3) rows are the local axes x (from end 1 to end 2), y, z of the section at rest.
    EA, GAy, GAz : (m,) N; GAy carries the shear force along y; infinite: no shear deformation.
    GJ, EIy, EIz : (m,) N·mm²; EIz resists bending in the x-y plane.
    natural_length : (m,) mm, length without force; shorter than at rest: pretension.
    """

    points: Array
    elements: NDArray[np.intp]
    frames: Array
    EA: Array
    GAy: Array
    GAz: Array
    GJ: Array
    EIy: Array
    EIz: Array
    natural_length: Array

    def __post_init__(self) -> None:
        n, m = len(self.points), len(self.elements)
        shapes = {"points": (n, 3), "elements": (m, 2), "frames": (m, 3, 3), "natural_length": (m,)}
        for name, shape in (shapes | dict.fromkeys(_SECTION, (m,))).items():
            got = np.shape(getattr(self, name))
            if got != shape:
                raise ModelError(
                    f"corotational model: {name} has shape {got}, must be {shape}.", part=name
                )
        _check_ends(self.points, self.elements)
        _refuse(
            ~((self.natural_length > 0) & np.isfinite(self.natural_length)),
            "needs a natural length above 0",
        )
        _refuse(~((self.EA > 0) & np.isfinite(self.EA)), "needs EA above 0")
        for name in ("GJ", "EIy", "EIz"):
            value = getattr(self, name)
            _refuse(~((value >= 0) & np.isfinite(value)), f"needs {name} of 0 or more")
        for name in ("GAy", "GAz"):
            _refuse(~(getattr(self, name) >= 0), f"needs {name} of 0 or more (infinite: no shear)")
        along = np.diff(self.points[self.elements], axis=1)[:, 0] / self.rest_length[:, None]
        orthonormal = self.frames @ np.swapaxes(self.frames, 1, 2)
        wrong = np.abs(orthonormal - np.eye(3)).max(axis=(1, 2), initial=0.0) > 1e-9
        wrong |= np.linalg.det(self.frames) < 0
        _refuse(wrong, "has a frame that is not a right-handed set of unit vectors")
        _refuse(
            np.abs(self.frames[:, 0] - along).max(axis=1, initial=0.0) > 1e-9,
            "has a frame whose x axis does not run from its first node to its second",
        )

    @property
    def rest_length(self) -> Array:
        """(m,) distance of the nodes at rest, mm."""
        return np.asarray(np.linalg.norm(np.diff(self.points[self.elements], axis=1)[:, 0], axis=1))

    def shear_parameters(self, length: Array) -> Array:
        """(m, 2) Φ_y = 12 EI_y / (GA_z L²) and Φ_z = 12 EI_z / (GA_y L²); infinite for GA = 0."""
        shear = np.stack([self.GAz, self.GAy], axis=1)
        bending = 12.0 * np.stack([self.EIy, self.EIz], axis=1) / length[:, None] ** 2
        return np.divide(bending, shear, out=np.full_like(shear, np.inf), where=shear > 0)


def _refuse(wrong: np.bool_ | NDArray[np.bool_], what: str) -> None:
    if wrong.any():
        part = f"element {int(np.argmax(wrong))}"
        raise ModelError(f"corotational model: {part} {what}.", part=part)


def _check_ends(points: Array, elements: NDArray[np.intp]) -> None:
    if not np.isfinite(points).all():
        raise ModelError("corotational model: points must be finite numbers.", part="points")
    outside = (elements < 0) | (elements >= len(points))
    _refuse(
        outside.any(axis=1), f"refers to a node that is not there (nodes 0 to {len(points) - 1})"
    )
    same = (points[elements[:, 0]] == points[elements[:, 1]]).all(axis=1)
    _refuse(same, "has no length: both its nodes lie at the same point")


def corotational_model(
    points: ArrayLike,
    elements: ArrayLike,
    *,
    EA: ArrayLike,
    GJ: ArrayLike,
    EIy: ArrayLike,
    EIz: ArrayLike,
    GAy: ArrayLike = np.inf,
    GAz: ArrayLike = np.inf,
    frames: ArrayLike | None = None,
    up: ArrayLike | None = None,
    natural_length: ArrayLike | None = None,
    tension: ArrayLike | None = None,
) -> CorotationalModel:
    """A model from values given once or for each element; units as in ``CorotationalModel``.

    frames : (m, 3, 3), or up : (3,) or (m, 3) a vector in the local x-z plane of each element, or
        neither (z as near as it can be to a global axis, see ``fem.beam.beam_frame``).
    natural_length : mm, or tension : N in the element at rest (negative: compression), or neither:
        no force at rest.
    """
    X = np.array(points, float)
    ends = np.array(elements, np.intp).reshape(-1, 2)
    m = len(ends)
    _check_ends(X, ends)
    if frames is None:
        ups = [None] * m if up is None else list(np.broadcast_to(np.asarray(up, float), (m, 3)))
        frames = [
            beam_frame(X[i], X[j], u, f"element {k}")
            for k, ((i, j), u) in enumerate(zip(ends, ups, strict=True))
        ]
    rest = np.linalg.norm(X[ends[:, 1]] - X[ends[:, 0]], axis=1)
    if tension is not None:
        if natural_length is not None:
            raise ModelError(
                "corotational model: give natural_length or tension, not both.", part="tension"
            )
        stiffness, pull = (np.broadcast_to(np.asarray(v, float), m) for v in (EA, tension))
        _refuse(~(stiffness + pull > 0), "has a compression at rest that is not below EA")
        natural_length = rest * stiffness / (stiffness + pull)
    elif natural_length is None:
        natural_length = rest
    values = {"EA": EA, "GAy": GAy, "GAz": GAz, "GJ": GJ, "EIy": EIy, "EIz": EIz}
    return CorotationalModel(
        points=X,
        elements=ends,
        frames=np.array(frames, float).reshape(m, 3, 3),
        natural_length=np.array(np.broadcast_to(np.asarray(natural_length, float), m)),
        **{name: np.array(np.broadcast_to(np.asarray(v, float), m)) for name, v in values.items()},
    )
