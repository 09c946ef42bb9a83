"""What would mend a missed target: derivatives, moves that they suggest, changes in steps."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption, assumed
from frames.casefile import Case, CaseError, Problem
from frames.caution import CAUTION
from frames.lines import Line
from frames.mending.aiming import aimed, missed
from frames.mending.answers import judged
from frames.mending.groups import LIMITS, Group, groups
from frames.mending.parameters import parameters
from frames.mending.resolving import resolved
from frames.mending.sensitivity import ADJOINT, RESOLVED, Sensitivity, asked_for, sensitivities
from frames.mending.states import is_smooth
from frames.mending.steps import POST_DIAMETER_MM, POST_HEIGHT_MM, step_moves
from frames.mending.trials import Bench, Change, Trial
from frames.part_sizes import SOURCE
from frames.result_parts import TargetResult

MET = 1.0 - 1e-9
TABLES = ("bone", "ring", "rod", "wire", "pin", "model")


@dataclass(frozen=True)
class Effect:
    """What one number, or some together, does to what is asked for. part, number: words; unit; by:
    derivative of each value asked for; practical: a practical amount of it; method."""

    part: str
    number: str
    unit: str
    by: tuple[float, ...]
    practical: float
    method: str


@dataclass(frozen=True)
class Asked:
    """A quantity that effects are told of; load None: without load; value now."""

    quantity: str
    load: str | None
    value: float


@dataclass(frozen=True)
class Mending:
    """targets as they are; asked: columns of the effects; effects, strongest first; changes that
    fit, best first; misfits: changes that would not fit; best: the changed case of the first change
    (None without one)."""

    title: str
    targets: tuple[TargetResult, ...]
    asked: tuple[Asked, ...]
    effects: tuple[Effect, ...]
    changes: tuple[Change, ...]
    misfits: tuple[Change, ...]
    assumptions: tuple[Assumption, ...]
    best: Case | None = None

    @property
    def missed(self) -> tuple[TargetResult, ...]:
        """Targets that the frame as it is misses."""
        return tuple(t for t in self.targets if not t.meets)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {
            "format": "tautring mending",
            "version": 1,
            "title": self.title,
            "targets": [asdict(t) for t in self.targets],
            "effects": [self._effect(e) for e in self.effects],
            "changes": [self._change(c) for c in self.changes],
            "does_not_fit": [self._change(c) for c in self.misfits],
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def _effect(self, effect: Effect) -> dict[str, Any]:
        by = [
            {"quantity": a.quantity, "load": a.load, "derivative": d}
            for a, d in zip(self.asked, effect.by, strict=True)
        ]
        return {
            "name": f"{effect.part}, {effect.number}" if effect.part else effect.number,
            "per": effect.unit,
            "method": effect.method,
            "by": by,
        }

    def _change(self, change: Change) -> dict[str, Any]:
        values = [
            {"quantity": t.quantity, "load": t.load, "value": v, "meets": m}
            for t, v, m in zip(self.targets, change.values, change.meets, strict=True)
        ]
        content = asdict(change) | {"values": values, "meets_all": change.meets_all}
        del content["meets"]
        return {"name": content.pop("change"), **content}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.mending.text import mending_lines

        return mending_lines(self)


def _quiet(_words: str) -> None:
    pass


def mend(case: Case, say: Callable[[str], None] = _quiet) -> Mending:
    """Derivatives of all targets, and changes that would meet those that are missed.

    Raises ``CaseError`` for a case without targets, ``FemError`` when it cannot be solved.
    """
    if not case.target:
        text = "there is no [[target]], so nothing is missed; write what the frame should reach"
        raise CaseError([Problem("target", text)])
    say("the frame as it is")
    targets = judged(case)
    asked = asked_for(case)
    listed = parameters(case)
    found = groups(case, listed)
    smooth = is_smooth(case)
    singles = sensitivities(case, asked, listed, say) if smooth else ()
    slopes = _along(case, found, singles, asked, say)
    bench = Bench(case, targets)
    trials: list[Trial] = []
    if missed(targets):
        trials = [
            *_continuous(bench, found, slopes, asked, say),
            *_steps(bench, say),
        ]
    good = [t for t in trials if t.told.gain > 0.005]
    fitting = sorted((t for t in good if not t.told.misfits), key=_rank)
    now = {(t.quantity, t.load): t.value for t in targets}
    told = [Asked(*a, now[a]) for a in asked]
    effects = _of_singles(singles) if smooth else _of_groups(found, slopes)
    return Mending(
        title=case.case.title,
        targets=targets,
        asked=tuple(told),
        effects=_strongest(effects, told, targets),
        changes=tuple(t.told for t in fitting),
        misfits=tuple(sorted((t.told for t in good if t.told.misfits), key=_rank_told)),
        assumptions=(*assumed(case, *TABLES), *(_limits() if trials else ())),
        best=fitting[0].case if fitting else None,
    )


def _limits() -> tuple[Assumption, ...]:
    posts = f"{POST_HEIGHT_MM:g} mm high, {POST_DIAMETER_MM:g} mm thick"
    return (
        *LIMITS,
        Assumption("sizes of rings, wires, threads", "the next ones of a generic list", SOURCE),
        Assumption("posts of an added wire", posts, SOURCE),
    )


def _rank_told(change: Change) -> tuple[bool, float]:
    return (not change.meets_all, -min(change.gain, MET))


def _rank(trial: Trial) -> tuple[bool, float]:
    return _rank_told(trial.told)


_Slopes = tuple[tuple[float, ...] | None, ...]


def _along(
    case: Case,
    found: Sequence[Group],
    singles: Sequence[Sensitivity],
    asked: Sequence[tuple[str, str | None]],
    say: Callable[[str], None],
) -> _Slopes:
    """Slopes of what is asked for along each group: sums of the single ones, or whole checks."""
    by = {s.parameter: s.by for s in singles}
    out: list[tuple[float, ...] | None] = []
    for i, g in enumerate(found):
        if all(p in by for p in g.weights):
            rows = [[w * d for d in by[p]] for p, w in g.weights.items()]
            out.append(tuple(sum(column) for column in zip(*rows, strict=True)))
            continue
        say(f"derivatives, each by two checks: {i} of {len(found)}")
        slopes = resolved(case, g.weights, asked)
        out.append(None if slopes is None else tuple(float(s) for s in slopes))
    return tuple(out)


def _continuous(
    bench: Bench,
    found: Sequence[Group],
    slopes: _Slopes,
    asked: Sequence[tuple[str, str | None]],
    say: Callable[[str], None],
) -> Iterator[Trial]:
    for i, (group, along) in enumerate(zip(found, slopes, strict=True)):
        say(f"changes of a number: {i} of {len(found)}")
        if along is None:
            continue
        best: Trial | None = None
        for number in missed(bench.targets):
            target = bench.targets[number]
            slope = along[list(asked).index((target.quantity, target.load))]
            trial = aimed(bench, number, group, slope)
            if trial and (best is None or _rank(trial) < _rank(best)):
                best = trial
        if best is not None:
            yield best


def _steps(bench: Bench, say: Callable[[str], None]) -> Iterator[Trial]:
    for move in step_moves(bench.case, bench.clean):
        say(f"change in a step: {move.change}")
        trial = bench.trial((move.change, move.before, move.after), "step", move.case)
        if trial is not None:
            yield trial


PRACTICAL = {
    "tension_N": 100.0,
    "bearing_deg": 5.0,
    "bearings_deg": 5.0,
    "offset_mm": 2.0,
    "height_mm": 5.0,
    "level_mm": 5.0,
    "inner_diameter_mm": 10.0,
    "centre_mm": 5.0,
    "thickness_mm": 1.0,
    "width_mm": 1.0,
}
_DIAMETER = {"wire": 0.2, "rod": 1.0, "pin": 1.0}


def _of_singles(singles: Sequence[Sensitivity]) -> list[Effect]:
    return [
        Effect(
            s.parameter.part,
            s.parameter.what,
            s.parameter.unit,
            s.by,
            PRACTICAL.get(s.parameter.key) or _DIAMETER[s.parameter.kind],
            s.method,
        )
        for s in singles
    ]


def _of_groups(found: Sequence[Group], slopes: _Slopes) -> list[Effect]:
    return [
        Effect("", g.change, _own_unit(g), by, g.practical, RESOLVED)
        for g, by in zip(found, slopes, strict=True)
        if by is not None
    ]


def _own_unit(group: Group) -> str:
    return "N" if group.unit == "kgf" else group.unit


def _strongest(
    effects: list[Effect], asked: Sequence[Asked], targets: Sequence[TargetResult]
) -> tuple[Effect, ...]:
    """By the change that a practical amount makes, relative to the value, the largest of those
    missed (of all when none is)."""
    wrong = {(t.quantity, t.load) for t in targets if not t.meets}
    counts = [not wrong or (a.quantity, a.load) in wrong for a in asked]

    def size(effect: Effect) -> float:
        return max(
            abs(d * effect.practical) / (abs(a.value) or 1.0)
            for d, a, count in zip(effect.by, asked, counts, strict=True)
            if count
        )

    return tuple(sorted(effects, key=size, reverse=True))


__all__ = ["ADJOINT", "RESOLVED", "Effect", "Mending", "mend"]
