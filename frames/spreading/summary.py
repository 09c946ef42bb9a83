"""What a sample and slopes say together: the answer, from numbers alone."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from frames.assumptions import Assumption, assumed
from frames.casefile import Case, Target
from frames.casefile.numbers import unit_of
from frames.casefile.tolerance import Tolerance
from frames.mending.answers import Asked
from frames.outputs import OUTPUTS
from frames.spreading.chances import by_slopes, counted, meets, why_apart
from frames.spreading.plan import Plan
from frames.spreading.sampling import Sample
from frames.spreading.shares import first_order, fitted
from frames.spreading.spread_result import (
    Distributed,
    Failure,
    Share,
    Spread,
    Taken,
    TargetChance,
)


def summary(
    case: Case,
    plan: Plan,
    sample: Sample,
    asked: Sequence[Asked],
    planned: Array,
    slopes: Array,
    values: Array,
    seed: int,
    failures: tuple[Failure, ...] = (),
    left_out: tuple[str, ...] = (),
) -> Spread:
    """The answer from planned (k,), slopes (k, d) and values (n, k) of what is asked for."""
    names = _names(plan.tolerances)
    quantities = tuple(
        _distributed(a, plan, sample, planned[i], slopes[i], values[:, i], names)
        for i, a in enumerate(asked)
    )
    met = [meets(t, values[:, asked.index((t.quantity, t.load))]) for t in case.target]
    targets = tuple(
        _target(t, quantities[i], values[:, i], m)
        for t, m in zip(case.target, met, strict=True)
        for i in [asked.index((t.quantity, t.load))]
    )
    return Spread(
        title=case.case.title,
        designs=len(values),
        seed=seed,
        tolerances=tuple(
            _taken(t, name, plan, sample, i)
            for i, (t, name) in enumerate(zip(plan.tolerances, names, strict=True))
        ),
        targets=targets,
        together=counted(np.logical_and.reduce(met)) if met else None,
        quantities=quantities,
        failures=failures,
        left_out=left_out,
        assumptions=_assumptions(case, plan),
    )


def _distributed(
    asked: Asked,
    plan: Plan,
    sample: Sample,
    planned: float,
    slopes: Array,
    q: Array,
    names: Sequence[str],
) -> Distributed:
    solved = np.isfinite(q)
    own = q[solved]
    count = len(plan.tolerances)
    sd, shares = first_order(slopes, plan.sd, plan.tolerance_of, count)
    fit = fitted(sample.draws[solved], own, plan.tolerance_of, count) if len(own) else None
    by_fit = [None] * count if fit is None else [float(v) for v in fit[0]]
    rows = sorted(zip(names, shares, by_fit, strict=True), key=lambda r: -r[1])
    low, middle, high = np.quantile(own, [0.05, 0.5, 0.95]).tolist() if len(own) else [None] * 3
    quantity, load = asked
    return Distributed(
        quantity=quantity,
        load=load,
        label=OUTPUTS[quantity].label + ("" if load is None else f' under "{load}"'),
        unit=OUTPUTS[quantity].unit,
        planned=float(planned),
        solved=len(own),
        mean=float(own.mean()) if len(own) else None,
        sd=float(own.std(ddof=1)) if len(own) > 1 else None,
        percentile_5=low,
        percentile_50=middle,
        percentile_95=high,
        sd_first_order=sd,
        shares=tuple(Share(name, float(f), s) for name, f, s in rows),
        explained=None if fit is None else fit[1],
    )


def _target(target: Target, of: Distributed, q: Array, met: NDArray[np.bool_]) -> TargetChance:
    sample = counted(met)
    chance = by_slopes(target, of.planned, of.sd_first_order)
    inside = sample.low <= chance <= sample.high
    own = q[np.isfinite(q)]
    failed = len(q) - len(own)
    why = None if inside else why_apart(target, of.planned, of.sd_first_order, own, failed)
    return TargetChance(
        quantity=target.quantity,
        load=target.load,
        label=of.label,
        unit=of.unit,
        at_least=target.at_least,
        at_most=target.at_most,
        planned=of.planned,
        planned_meets=bool(meets(target, np.array([of.planned]))[0]),
        sample=sample,
        first_order=chance,
        apart=why,
    )


def _names(tolerances: Sequence[Tolerance]) -> list[str]:
    """Their paths; with how far and a number where others have the same."""
    names = [_name(t) for t in tolerances]
    for more in (lambda i, t: _size(t), lambda i, t: f"({i + 1})"):
        names = [
            f"{name} {more(i, t)}" if names.count(name) > 1 else name
            for i, (name, t) in enumerate(zip(names, tolerances, strict=True))
        ]
    return names


def _name(tolerance: Tolerance) -> str:
    return ", ".join(tolerance.all_paths)


def _taken(t: Tolerance, name: str, plan: Plan, sample: Sample, index: int) -> Taken:
    moved = np.any(plan.weights[:, plan.tolerance_of == index] != 0.0, axis=1)
    return Taken(
        name=name,
        size=_size(t),
        distribution=t.distribution,
        together=t.together,
        source=t.source,
        numbers=int(moved.sum()),
        cut=int(sample.cut[moved].sum()),
    )


def _size(t: Tolerance) -> str:
    if t.plus_minus_percent is not None:
        return f"±{t.plus_minus_percent:g} %"
    unit = unit_of(t.all_paths[0].rpartition(".")[2])
    return f"±{t.plus_minus:g}{'' if unit in ('', '°') else ' '}{unit}"


def _assumptions(case: Case, plan: Plan) -> tuple[Assumption, ...]:
    """Tolerances that the case does not give, and defaults of those that it gives."""
    if case.tolerance:
        return assumed(case, "tolerance")
    return tuple(
        Assumption(f"tolerance of {_name(t)}", f"{_size(t)}, {t.distribution}", t.source or "")
        for t in plan.tolerances
    )
