"""What a study, a spread or a search asks of every design, by name.

Quantities that a target can bound (``frames.quantities``), in the frame before load or under a
load; and these that belong to the design or to all its targets together::

    wires, pins            how many
    mass_g                 of the frame (``frames.weight``)
    worst_margin_percent   the smallest margin of all targets, in percent of the bound it is against
    meets_targets          1 when no target is missed, else 0

A bound of 0 has no percent: margins against it are taken in percent of 1 in its unit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from frames.casefile import Case
from frames.casefile.naming import suggestion
from frames.construct import Construct
from frames.quantities import QUANTITIES, STIFFNESSES, Quantity
from frames.result_parts import TargetResult
from frames.weight import frame_mass_g

OF_DESIGN: dict[str, Quantity] = {
    q.name: q
    for q in (
        Quantity("wires", "number of wires", ""),
        Quantity("pins", "number of half-pins", ""),
        Quantity("mass_g", "mass of the frame", "g"),
    )
}
"""Known without solving."""

OF_TARGETS: dict[str, Quantity] = {
    q.name: q
    for q in (
        Quantity("worst_margin_percent", "smallest margin of all targets", "%"),
        Quantity("meets_targets", "targets met", ""),
    )
}

OUTPUTS: dict[str, Quantity] = QUANTITIES | OF_DESIGN | OF_TARGETS
"""Every output by its name."""


@dataclass(frozen=True)
class Output:
    """A quantity of ``OUTPUTS``; load: name of the load it belongs to, None before load."""

    quantity: str
    load: str | None = None

    @property
    def name(self) -> str:
        """Heading of its column: ``closing_mm under standing``."""
        return self.quantity if self.load is None else f"{self.quantity} under {self.load}"

    @property
    def label(self) -> str:
        """Plain words with the unit, for axes and tables."""
        q = OUTPUTS[self.quantity]
        words = q.label if self.load is None else f'{q.label} under "{self.load}"'
        return f"{words} ({q.unit})" if q.unit else words


def output_problem(output: Output, case: Case) -> str | None:
    """What is wrong with asking this of a case, None when nothing is."""
    q = OUTPUTS.get(output.quantity)
    if q is None:
        return f'no output is called "{output.quantity}"{suggestion(output.quantity, OUTPUTS)}'
    if output.load is None:
        if q.needs_load:
            return f'"{q.name}" belongs to a load: name one'
        if q.name in OF_TARGETS and not case.target:
            return f'"{q.name}" needs targets, and the case sets none'
        return None
    if q.name in OF_DESIGN | OF_TARGETS:
        return f'"{q.name}" belongs to no load: leave the load out'
    loads = {load.name: load for load in case.load}
    if output.load not in loads:
        return f'the case has no load "{output.load}"{suggestion(output.load, loads)}'
    if q.needs_axial_load and not loads[output.load].is_axial:
        return f'"{q.name}" needs a load along the bone, and "{output.load}" is none'
    return None


def of_design(name: str, place: Construct) -> float:
    """An output that needs no solving."""
    if name == "mass_g":
        return frame_mass_g(place)
    return float(len(place.case.wire if name == "wires" else place.case.pin))


def of_targets(name: str, targets: Sequence[TargetResult]) -> float:
    """An output of all targets together; there is at least one."""
    if name == "meets_targets":
        return float(all(t.meets for t in targets))
    return min(margin_percent(t) for t in targets)


def margin_percent(target: TargetResult) -> float:
    """The margin of a target in percent of the bound it is against, negative when it is missed."""
    margins = []
    if target.at_least is not None:
        margins.append((target.value - target.at_least) / (abs(target.at_least) or 1.0))
    if target.at_most is not None:
        margins.append((target.at_most - target.value) / (abs(target.at_most) or 1.0))
    return 100.0 * min(margins)


__all__ = [
    "OF_DESIGN",
    "OF_TARGETS",
    "OUTPUTS",
    "STIFFNESSES",
    "Output",
    "margin_percent",
    "of_design",
    "of_targets",
    "output_problem",
]
