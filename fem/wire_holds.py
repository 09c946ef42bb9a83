"""What holds a real wire, and what it remembers.

Along its axis a wire is held by its clamps, each up to a slip load; by the bone, in which it grips
up to a limit per cortex (none when smooth, any when threaded), and on which a stopper bead (olive)
sits from one side; and by a tensioner while it is being pulled. Where these slide, and where its
steel yields, the way matters: the answer to displacements (``fem.held_wire``) starts from a history
that is fixed within a step and brought up to date after it.

Signs. Spans 0 … S-2 follow each other from the start clamp to the end clamp. A slip s at inner
station k is wire that passes through the bone towards the END: it leaves the span before and enters
the span after. A slip t of a clamp is wire that enters the frame through it (negative where a
tensioner takes it up). n_i is the natural length of the wire in span i less the span as built, so
that a step changes it by

    n_i ← n_i - s_i + s_{i-1} + t_i + plastic stretch.

An olive stops the wire's way through a station: its travel is the slip still left to the end and to
the start, infinite where nothing stops it, 0 where it sits on the bone.

Within a step a slip is counted as a length in space, while the wire that passes is stretched by
T/EA (0.3 % at 1275 N, 1.8 mm) and changes the flexibility N_i/EA: errors of that relative size in
the work of the slip. They do not add up, for after the step both are set right.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.errors import ModelError
from fem.wire_path import Wires

if TYPE_CHECKING:
    from fem.held_wire import HeldState


@dataclass(frozen=True)
class Hinges:
    """Plastic hinges at the ends of every span (``fem.plastic_hinge``), one value a wire (w,).

    M_y : N·mm first yield in bending (infinite: stays elastic).  N_y : N yield in tension.
    H : N·mm/rad hardening.  spread : rad, ϑ, over which a hinge gains its full strength.
    """

    M_y: Array
    N_y: Array
    H: Array
    spread: Array


@dataclass(frozen=True)
class WireHolds:
    """Constants of w wires with S stations.

    grip : (w, S-2) N, limit of grip at each inner station; 0 smooth, inf threaded.
    slip : (w, 2) N, slip load of the start and end clamp; inf: holds anything.
    travel : (w, S-2, 2) mm, travel of an olive to the end and to the start when the wire is laid;
        inf: no olive.
    hinges : None when the steel stays elastic.
    """

    grip: Array
    slip: Array
    travel: Array
    hinges: Hinges | None = None

    def each(self, change: Callable[[Array], Array]) -> "WireHolds":
        """With every array changed."""
        hinges = self.hinges
        if hinges is not None:
            hinges = replace(hinges, **{k: change(v) for k, v in vars(hinges).items()})
        return WireHolds(change(self.grip), change(self.slip), change(self.travel), hinges)

    def __post_init__(self) -> None:
        for name in ("grip", "slip", "travel"):
            value = getattr(self, name)
            if np.isnan(value).any() or (value < 0.0).any():
                raise ModelError(f"{name} must not be negative (got {value.tolist()}).")
        if (self.slip == 0.0).any():
            raise ModelError("slip must be more than 0: a clamp that holds nothing is no clamp.")


@dataclass(frozen=True)
class WireHistory:
    """What w wires with S stations remember; leading axes ``...`` (load cases) as they may be.

    natural : (..., w, S-1) mm n_i.  flexibility : (..., w, S-1) mm/N N_i/EA.
    travel : (..., w, S-2, 2) mm, left to an olive, to the end and to the start.
    pull : (..., w, 2) N at which a tensioner pulls the start and the end; nan: clamped.
    unlaid : (..., w) wires not tensioned yet: loose, without tension, whatever happens.
    kink : (..., w, S-1, 2, 2) rad, plastic slope of each span at start and end, in two planes.
    turned : (..., w, S-1, 2) rad, Σ |Δα| of each hinge so far.
    dissipated : (..., w) N·mm, by friction and yield.
    taken_up : (..., w, 2) mm of wire drawn out at the start and at the end; slip inwards counts
        negative.
    """

    natural: Array
    flexibility: Array
    travel: Array
    pull: Array
    unlaid: NDArray[np.bool_]
    kink: Array
    turned: Array
    dissipated: Array
    taken_up: Array

    def take(self, cases: NDArray[np.intp]) -> "WireHistory":
        """The history of some of the load cases; the same for all when it has no axis of cases."""
        changed: dict[str, Any] = {}
        for name, inner in AXES.items():
            value = getattr(self, name)
            if value.ndim > inner:
                changed[name] = value[cases]
        return replace(self, **changed) if changed else self

    def pulled(self, which: NDArray[np.bool_], pull: Array) -> "WireHistory":
        """Tensioners put on: ``pull`` (..., w, 2) N, nan for none, at the wires of ``which`` (...,
        w).
        """
        return replace(self, pull=np.where(which[..., None], pull, self.pull))


# number of axes without load cases
AXES = {
    "natural": 2,
    "flexibility": 2,
    "travel": 3,
    "pull": 2,
    "unlaid": 1,
    "kink": 4,
    "turned": 3,
    "dissipated": 1,
    "taken_up": 2,
}


def start(wires: Wires, holds: WireHolds) -> WireHistory:
    """Wires not laid yet: loose, their natural lengths the spans as built."""
    spans, wire = wires.spans.shape, wires.EA.shape
    return WireHistory(
        natural=np.zeros(spans),
        flexibility=wires.spans / wires.EA[..., None],
        travel=holds.travel,
        pull=np.full((*wire, 2), np.nan),
        unlaid=np.ones(wire, dtype=bool),
        kink=np.zeros((*spans, 2, 2)),
        turned=np.zeros((*spans, 2)),
        dissipated=np.zeros(wire),
        taken_up=np.zeros((*wire, 2)),
    )


def lay(
    wires: Wires,
    holds: WireHolds,
    state: "HeldState",
    history: WireHistory,
    which: NDArray[np.bool_],
) -> WireHistory:
    """Lay the wires of ``which`` (..., w) where the structure is, without tension or slack.

    state : answer to the present displacements. Pulling (``WireHistory.pulled``) starts from here.
    """
    fits = state.elongation + state.bending.bow
    flexibility = (wires.spans + fits) / wires.EA[..., None]
    chosen = which[..., None]
    return replace(
        history,
        natural=np.where(chosen, fits, history.natural),
        flexibility=np.where(chosen, flexibility, history.flexibility),
        travel=np.where(chosen[..., None], holds.travel, history.travel),
        unlaid=history.unlaid & ~which,
    )


def next_history(wires: Wires, state: "HeldState", history: WireHistory) -> WireHistory:
    """History after the step that ended in ``state``. Tensioners stay on.

    Natural lengths and flexibilities are those that give back the tensions of ``state`` exactly:
    N_i (1 + T_i/EA) = ℓ_i + b_i, and the loose length besides where a span is slack.
    """
    laid = ~history.unlaid[..., None]
    EA = wires.EA[..., None]
    present = wires.spans + state.elongation + state.bending.bow + state.slack
    N = present / (1.0 + state.tensions / EA)
    way = np.stack([-state.slip, state.slip], axis=-1)
    return replace(
        history,
        natural=np.where(laid, N - wires.spans, history.natural),
        flexibility=np.where(laid, N / EA, history.flexibility),
        travel=np.maximum(history.travel + way, 0.0),
        kink=state.kink,
        turned=history.turned + np.sqrt(np.sum((state.kink - history.kink) ** 2, axis=-1)),
        dissipated=history.dissipated + state.dissipation,
        taken_up=history.taken_up - state.clamp_slip,
    )


def lock(
    wires: Wires,
    state: "HeldState",
    history: WireHistory,
    which: NDArray[np.bool_],
) -> WireHistory:
    """History after ``state``, in which the wires of ``which`` (..., w) are clamped as they are and
    their tensioners come off.
    """
    after = next_history(wires, state, history)
    return replace(after, pull=np.where(which[..., None], np.nan, after.pull))


def slid(slip: Array) -> Array:
    """(..., S-1) s_i - s_{i-1}, what leaves each span through the stations: slip (..., S-2)."""
    out = np.zeros((*slip.shape[:-1], slip.shape[-1] + 1))
    out[..., :-1] += slip
    out[..., 1:] -= slip
    return out
