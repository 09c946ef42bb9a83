"""Every part's stress against its limits, the worst place of each."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isinf

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.checking import Checked
from frames.construct import Construct, rod_name
from frames.fitting.skin import polar
from frames.sizes import DEFAULT_MATERIAL
from frames.stressing.limits import Limits, limits_of
from frames.stressing.sections import MemberStress, member_stress
from frames.wire_answers import wire_peak_stress

AT_REST = "no load"


@dataclass(frozen=True)
class PartStress:
    """The worst of one part. stress_MPa under `load` at a place told in words; share of yield_MPa
    in percent, None when no limit is known; amplitude_MPa and mean_MPa of the load that comes and
    goes with the shortest life; life in cycles, None for no end; enough: it outlives the cycles
    wanted, None without load or limit."""

    kind: str
    name: str
    load: str
    stress_MPa: float
    yield_MPa: float | None
    share_percent: float | None
    place: str
    amplitude_MPa: float
    mean_MPa: float
    life_load: str | None
    life_cycles: float | None
    enough: bool | None


def part_stresses(checked: Checked, cycles: float) -> tuple[tuple[PartStress, ...], MemberStress]:
    """Parts, the one nearest to yield first; and the stress of all members."""
    members = member_stress(checked)
    place = checked.pre.parts.construct
    found = [*_members(checked, members, cycles), *_wires(checked, place, cycles)]
    found.sort(key=lambda p: -(p.share_percent or 0.0))
    return tuple(found), members


def _material(place: Construct, kind: str, name: str) -> tuple[str | None, float | None]:
    """Material and yield stress of its own, of a part of the model."""
    case = place.case
    if kind == "ring":
        return next(r for r in case.ring if r.name == name).material, None
    if kind == "rod":
        rods = {rod_name(i, r): r.rod.material for i, r in enumerate(place.rods)}
        return rods[name], None
    if kind == "pin":
        pin = next(p for p in case.pin if p.name == name)
        return pin.material or DEFAULT_MATERIAL, pin.yield_MPa
    return DEFAULT_MATERIAL, None


def limits_for(case: Case, material: str | None, own_yield: float | None) -> Limits | None:
    """Limits of a part, in proportion to a yield stress of its own."""
    known = limits_of(case, material)
    return known if known is None or own_yield is None else known.scaled(own_yield)


def _members(checked: Checked, stress: MemberStress, cycles: float) -> Iterator[PartStress]:
    parts = checked.pre.parts
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    for (kind, name), members in parts.members.items():
        if kind in ("bone", "callus"):
            continue
        rows = [row[m] for m in members]
        material, own = _material(parts.construct, kind, name)
        limits = limits_for(parts.construct.case, material, own)
        rest, under, swing = stress.rest[rows], stress.under[:, rows], stress.swing[:, rows]
        points = stress.points[rows].reshape(-1, 3)
        worst = int(rest.argmax()) if not len(under) else _worst(rest, under)
        where = _place(parts.construct, kind, points[worst % len(points)])
        label = {"pin": "half-pin"}.get(kind, kind)
        yield _judged(
            label, name, where, rest.ravel(), _flat(under), _flat(swing), checked, limits, cycles
        )


def _flat(values: Array) -> Array:
    return values.reshape(len(values), int(np.prod(values.shape[1:])))


def _worst(rest: Array, under: Array) -> int:
    all_states = np.concatenate([rest.ravel()[None], _flat(under)])
    return int(all_states.max(axis=0).argmax())


def _wires(checked: Checked, place: Construct, cycles: float) -> Iterator[PartStress]:
    peak = wire_peak_stress(checked.pre.parts)
    rest = peak(checked.pre.response)
    under = (
        np.zeros((0, len(rest))) if checked.solution is None else peak(checked.solution.response)
    )
    for i, w in enumerate(place.wires):
        limits = limits_for(place.case, w.wire.material or DEFAULT_MATERIAL, w.wire.yield_MPa)
        swing = np.abs(under[:, i : i + 1] - rest[i])
        at = "at clamp or bone"
        yield _judged(
            "wire", w.wire.name, at, rest[i : i + 1], under[:, i : i + 1], swing, checked, limits,
            cycles,
        )  # fmt: skip


def _judged(
    kind: str,
    name: str,
    where: str,
    rest: Array,
    under: Array,
    swing: Array,
    checked: Checked,
    limits: Limits | None,
    cycles: float,
) -> PartStress:
    """rest (k,), under and swing (c, k) MPa of one part."""
    loads = [AT_REST, *(r.name for r in checked.result.loads)]
    peaks = [float(rest.max()), *under.max(axis=-1).tolist()]
    worst = int(np.argmax(peaks))
    amplitude, mean, life, life_load = 0.0, float(rest.max()), inf, None
    for c in range(len(under)):
        half = swing[c] / 2.0
        middle = np.maximum(rest, under[c]) - half
        for a, m in zip(half.tolist(), middle.tolist(), strict=True):
            found = inf if limits is None else limits.life(a, m)
            if found < life or (life_load is None and a > amplitude):
                amplitude, mean = a, m
                if found < life:
                    life, life_load = found, loads[c + 1]
    known = limits is not None
    return PartStress(
        kind=kind,
        name=name,
        load=loads[worst],
        stress_MPa=peaks[worst],
        yield_MPa=limits.yield_MPa if limits is not None else None,
        share_percent=100.0 * peaks[worst] / limits.yield_MPa if limits is not None else None,
        place=where,
        amplitude_MPa=amplitude,
        mean_MPa=mean,
        life_load=life_load,
        life_cycles=None if isinf(life) else life,
        enough=life >= cycles if known and len(under) else None,
    )


def _place(place: Construct, kind: str, point: Array) -> str:
    _, bearing, level = polar(point, place.sign)
    if kind == "ring":
        return f"at {float(bearing):.0f}°"
    return f"at level {float(level):.0f} mm"
