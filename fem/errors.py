"""Errors of the kernel. Each carries its data as attributes, so that a caller can say it in words
of its own.
"""

from typing import Any


class FemError(Exception):
    """Base of all errors raised by the kernel."""


class ModelError(FemError):
    """The model is not well formed: a bad number, a missing part, a member without length.

    part : name of the node, member or section at fault.
    """

    def __init__(self, message: str, *, part: str = "") -> None:
        super().__init__(message)
        self.part = part


class MechanismError(FemError):
    """The structure can move without resistance.

    motions : one dict per free motion, ``{node name: (6,) array}``: translation (any scale) and
        rotation of every node in that motion, nan where a freedom was condensed.
    state : in which state it was found ("pretension", "load case …").
    """

    def __init__(
        self, message: str, *, motions: list[dict[str, Any]] | None = None, state: str = ""
    ) -> None:
        super().__init__(message)
        self.motions = motions or []
        self.state = state


class ConvergenceError(FemError):
    """Newton's iteration found no equilibrium.

    load_level : share of the load reached (0 to 1) when it was given up.
    iterations : number of iterations spent in the last step.
    residuals : (n,) scaled residual norms of the last step, in order.
    worst_node : name of the node with the largest residual.
    state : which state or load case.
    """

    def __init__(
        self,
        message: str,
        *,
        load_level: float = 0.0,
        iterations: int = 0,
        residuals: tuple[float, ...] = (),
        worst_node: str = "",
        state: str = "",
    ) -> None:
        super().__init__(message)
        self.load_level = load_level
        self.iterations = iterations
        self.residuals = residuals
        self.worst_node = worst_node
        self.state = state
