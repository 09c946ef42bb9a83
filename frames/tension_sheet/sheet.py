"""The tension sheet: the tensioning in order, what happens when nothing is corrected, the best
order, and winding on bolts."""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from fem import MechanismError
from frames.assumptions import Assumption, assumed
from frames.built import built
from frames.casefile import Case, CaseError, Problem, replace
from frames.caution import CAUTION
from frames.dialling import Tensioning, tensioning
from frames.freedom import explained
from frames.lines import Line
from frames.tension_sheet.naive import NaiveWire, bench_of, naive_round
from frames.tension_sheet.orders import BestOrder, best_order
from frames.tension_sheet.winding import WoundWire, wound_wires

WITHIN_PERCENT = 10.0
"""How far off a tension may end before the wire is tensioned once more: common practice, no
source."""


@dataclass(frozen=True)
class TensionSheet:
    """tensioning: stage by stage; naive: every wire dialled at its tension, and a second round for
    those off by more than within_percent; winding: on slotted bolts; best: order, when asked for.
    """

    tensioning: Tensioning
    within_percent: float
    naive: tuple[NaiveWire, ...]
    winding: tuple[WoundWire, ...]
    best: BestOrder | None
    assumptions: tuple[Assumption, ...]

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file: that of the tensioning, and the rest."""
        return {
            **self.tensioning.to_dict(),
            "within_percent": self.within_percent,
            "naive": [asdict(w) for w in self.naive],
            "winding": [asdict(w) for w in self.winding],
            "best_order": None if self.best is None else asdict(self.best),
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.tension_sheet.text import sheet_lines

        return sheet_lines(self)


def tension_sheet(
    case: Case,
    say: Callable[[str], None] = lambda _words: None,
    *,
    within_percent: float = WITHIN_PERCENT,
    with_best_order: bool = False,
) -> TensionSheet:
    """Raises ``CaseError`` for a case without wires, or whose wires want no tension; ``FemError``
    when the frame cannot be solved."""
    for w in case.wire:
        if w.tension <= 0.0:
            raise CaseError(
                [Problem(f'wire "{w.name}", tension_N', "there is nothing to dial", w.tension)]
            )
    done = tensioning(case)
    parts = built(replace(case, {"model.pretension": "dialled"}))
    try:
        bench = bench_of(parts)
        say("every wire dialled at its tension")
        naive = naive_round(bench, within_percent)
        best = best_order(bench, say) if with_best_order else None
    except MechanismError as error:
        raise explained(error, parts) from error
    wound = wound_wires(case, done.stages)
    taken = assumed(case, "winding", "bone", "ring", "rod", "wire", "model")
    tolerance = Assumption("--within-percent", f"{within_percent:g}", "common practice, no source")
    return TensionSheet(done, within_percent, naive, wound, best, (tolerance, *taken))


def in_order(case: Case, best: BestOrder) -> Case:
    """The case with its wires dialled in the best order."""
    changes: dict[str, Any] = {"model.pretension": "dialled"}
    for number, names in enumerate(best.best.stages, start=1):
        changes |= {f"wire.{name}.order": number for name in names}
    return replace(case, changes)
