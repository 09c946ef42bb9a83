"""How the nonlinear parts of a structure answer just now: what is set, and what is remembered.

Elastic parts need a setting only (a tension held, a natural length locked, a column made longer);
parts that slip or yield answer from where they stand, their history, which stays fixed within one
step of load and is brought up to date after it (``fem.stepping``).

Every array may have a leading axis of load cases, so that cases with pasts of their own are solved
side by side.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.contact import ContactHistory
from fem.errors import ModelError
from fem.wire import Wires
from fem.wire_holds import WireHistory


@dataclass(frozen=True)
class Law:
    """tension : (..., w) N held by ideal wires, or natural : (..., w) mm, locked (``fem.wire``).

    held_wires : past of the wires of the general law (``fem.wire_holds``). misfit : (..., c) mm by
    which columns are made longer (``fem.chord``). contact : past of the contacts (``fem.contact``);
    None:
    they are out of action. late : (..., b, 12) displacements at which late members grew
    (``fem.late``); None: they are not there yet.
    """

    tension: Array | None = None
    natural: Array | None = None
    held_wires: WireHistory | None = None
    misfit: Array | None = None
    contact: ContactHistory | None = None
    late: Array | None = None

    def part(self, wires: Sequence[Wires]) -> list[dict[str, Array]]:
        """Keyword arguments of ``wire_state`` for each set of ideal wires."""
        if not wires:
            return []
        key, values = (
            ("tension", self.tension) if self.tension is not None else ("natural", self.natural)
        )
        if values is None:
            raise ModelError("a wire law needs tensions or natural lengths.")
        edges = np.cumsum([len(w.names) for w in wires])[:-1]
        return [{key: v} for v in np.split(values, edges, axis=-1)]

    @property
    def has_past(self) -> bool:
        """Whether the answer depends on the way."""
        return self.held_wires is not None or self.contact is not None

    def take(self, cases: NDArray[np.intp]) -> "Law":
        """The law of some of the load cases; what holds for all of them stays."""
        changed: dict[str, Any] = {}
        for name in ("tension", "natural", "misfit"):
            values = getattr(self, name)
            if values is not None and values.ndim == 2:
                changed[name] = values[cases]
        if self.held_wires is not None and self.held_wires.natural.ndim == 3:
            changed["held_wires"] = self.held_wires.take(cases)
        if self.contact is not None and self.contact.gap.ndim == 2:
            changed["contact"] = self.contact.take(cases)
        if self.late is not None and self.late.ndim == 3:
            changed["late"] = self.late[cases]
        return replace(self, **changed) if changed else self

    def spread(self, cases: int) -> "Law":
        """The same law with pasts of their own for so many load cases."""
        one = np.zeros(cases, dtype=np.intp)
        changed: dict[str, Any] = {}
        if self.held_wires is not None and self.held_wires.natural.ndim == 2:
            changed["held_wires"] = _with_axis(self.held_wires).take(one)
        if self.contact is not None and self.contact.gap.ndim == 1:
            changed["contact"] = _with_axis(self.contact).take(one)
        return replace(self, **changed) if changed else self

    def with_misfit(self, misfit: Array) -> "Law":
        """The same with columns made longer by ``misfit`` (..., c) mm."""
        return replace(self, misfit=misfit)

    def one(self, case: int) -> "Law":
        """The law of one load case, without their axis."""
        taken = self.spread(1).take(np.array([case]))
        changed: dict[str, Any] = {}
        for name in ("tension", "natural", "misfit"):
            values = getattr(taken, name)
            if values is not None and values.ndim == 2:
                changed[name] = values[0]
        if taken.late is not None and taken.late.ndim == 3:
            changed["late"] = taken.late[0]
        for name in ("held_wires", "contact"):
            past = getattr(taken, name)
            if past is not None:
                changed[name] = replace(
                    past, **{f.name: getattr(past, f.name)[0] for f in fields(past)}
                )
        return replace(taken, **changed)


_Past = TypeVar("_Past", WireHistory, ContactHistory)


def _with_axis(past: _Past) -> _Past:
    return replace(past, **{f.name: getattr(past, f.name)[None] for f in fields(past)})
