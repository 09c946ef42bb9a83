"""Every part's stress against its limits, the worst place of each.

Static: the largest stress of a part (``frames.stressing.sections``, ``frames.stressing.wires``)
over its yield stress, before load and under every load. Cycles: every load comes from rest and goes
again; the fibre that wears fastest sets the part's life (``frames.stressing.fibres``). At the root
of a thread the amplitude counts 2.8 times (cut threads of soft steel, Shigley, from memory); at
rest the steel evens such a peak out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf

import numpy as np

from fem.algebra import Array
from frames.casefile.endurance import CORTICAL_BONE
from frames.casefile.parts import Rod
from frames.construct import Construct, rod_name
from frames.sizes import DEFAULT_MATERIAL
from frames.stressing.fibres import coming_and_going, fibre_stress
from frames.stressing.limits import Limits, limits_for
from frames.stressing.places import place_words, wire_place_words
from frames.stressing.sections import MemberStress
from frames.stressing.solving import Solved
from frames.stressing.wires import all_wire_ends, wire_fibres

THREAD_NOTCH = 2.8


@dataclass(frozen=True)
class PartStress:
    """The worst of one part. stress_MPa under `load` at a place told in words; share of yield_MPa
    in percent, None when no limit is known. Of the load that wears it fastest, life_load:
    amplitude_MPa and mean_MPa of the fibre; notch, by which the amplitude counts more there; life
    in cycles, None for no end. enough: it outlives the cycles wanted under every load, None without
    a load or where nothing is known of its cycles; too_much: loads under which it does not."""

    kind: str
    name: str
    load: str
    stress_MPa: float
    yield_MPa: float | None
    share_percent: float | None
    place: str
    life_load: str | None
    amplitude_MPa: float | None
    mean_MPa: float | None
    notch: float
    life_cycles: float | None
    enough: bool | None
    too_much: tuple[str, ...]


Swing = tuple[Array, Array]
"""Amplitudes and means (n,) MPa of a part's fibres."""


def part_stresses(frame: Solved, members: MemberStress, cycles: float) -> tuple[PartStress, ...]:
    """Parts, the one nearest to yield first; those without a limit last."""
    found = [*_members(frame, members, cycles), *_wires(frame, cycles)]
    return tuple(sorted(found, key=lambda p: -(p.share_percent or 0.0)))


def _limits(place: Construct, kind: str, name: str) -> tuple[Limits | None, float]:
    """Limits of a part of the model, and what a notch makes of its amplitudes."""
    case = place.case
    if kind == "ring":
        ring = place.ring(name).ring
        return limits_for(case, ring.material, ring.yield_MPa), 1.0
    if kind == "rod":
        rod = _rod(place, name)
        notch = 1.0 if rod.thread is None else THREAD_NOTCH
        return limits_for(case, rod.material, rod.yield_MPa), notch
    if kind == "pin":
        pin = next(p for p in case.pin if p.name == name)
        return limits_for(case, pin.material, pin.yield_MPa), 1.0
    return limits_for(case, CORTICAL_BONE if kind == "bone" else DEFAULT_MATERIAL, None), 1.0


def _rod(place: Construct, name: str) -> Rod:
    return next(r.rod for i, r in enumerate(place.rods) if rod_name(i, r) == name)


def _members(frame: Solved, stress: MemberStress, cycles: float) -> Iterator[PartStress]:
    parts = frame.parts
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    sections = parts.model.members.shapes.sections
    for (kind, name), members in parts.members.items():
        if kind == "callus":
            continue
        rows = [row[m] for m in members]
        limits, notch = _limits(parts.construct, kind, name)
        own = [sections[i] for i in rows]
        rest = fibre_stress(own, stress.forces[0, rows])
        swings = [
            coming_and_going(rest, fibre_stress(own, forces[rows])) for forces in stress.forces[1:]
        ]
        points = stress.points[rows].reshape(-1, 3)
        peaks = stress.stress[:, rows].reshape(len(stress.stress), -1)
        where = place_words(parts.construct, kind, name, points[peaks.max(axis=0).argmax()])
        shown = "half-pin" if kind == "pin" else kind
        yield _judged(shown, name, where, peaks, swings, frame, limits, notch, cycles)


def _wires(frame: Solved, cycles: float) -> Iterator[PartStress]:
    place = frame.place
    pull, bend = all_wire_ends(frame)
    peaks = pull + np.linalg.norm(bend, axis=-1)  # (c + 1, w, 6)
    for i, w in enumerate(place.wires):
        limits = limits_for(place.case, w.wire.material, w.wire.yield_MPa)
        rest = wire_fibres(pull[0, i], bend[0, i])
        swings = [
            coming_and_going(rest, wire_fibres(p, b))
            for p, b in zip(pull[1:, i], bend[1:, i], strict=True)
        ]
        where = wire_place_words(place, i, int(peaks[:, i].max(axis=0).argmax()))
        yield _judged("wire", w.wire.name, where, peaks[:, i], swings, frame, limits, 1.0, cycles)


def _judged(
    kind: str,
    name: str,
    where: str,
    peaks: Array,
    swings: list[Swing],
    frame: Solved,
    limits: Limits | None,
    notch: float,
    cycles: float,
) -> PartStress:
    """peaks (c + 1, q) MPa of one part, swings of its fibres under each of the c loads."""
    loads = frame.states
    state, _ = divmod(int(peaks.argmax()), peaks.shape[1])
    stress = float(peaks.max())
    wears = limits is not None and bool(limits.cycles) and bool(swings)
    life_load, amplitude, mean, life = None, None, None, None
    too_much: tuple[str, ...] = ()
    if swings and limits is not None and wears:
        hard = [limits.reversed_amplitude(a, m, notch) for a, m in swings]
        worst = [float(h.max()) for h in hard]
        lives = [limits.cycles_at(S) for S in worst]
        too_much = tuple(loads[c + 1] for c, life in enumerate(lives) if life < cycles)
        # breaking at once leaves no S to tell loads and fibres apart: then by the highest stress
        highest = [a + m for a, m in swings]
        c = max(range(len(hard)), key=lambda c: (worst[c], float(highest[c].max())))
        broken = np.isinf(hard[c])
        fibre = int((np.where(broken, highest[c], 0.0) if broken.any() else hard[c]).argmax())
        life_load = loads[c + 1]
        amplitude, mean = float(swings[c][0][fibre]), float(swings[c][1][fibre])
        life = lives[c]
    return PartStress(
        kind=kind,
        name=name,
        load=loads[state],
        stress_MPa=stress,
        yield_MPa=None if limits is None else limits.yield_MPa,
        share_percent=None if limits is None else 100.0 * stress / limits.yield_MPa,
        place=where,
        life_load=life_load,
        amplitude_MPa=amplitude,
        mean_MPa=mean,
        notch=notch,
        life_cycles=None if life is None or isinf(life) else life,
        enough=None if life is None else not too_much,
        too_much=too_much,
    )
