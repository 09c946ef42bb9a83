"""Parameters of a study that get in each other's way."""

from collections.abc import Iterator, Sequence

from frames.casefile import Case
from frames.casefile.places import name_of, part_place, parts_of
from frames.casefile.problems import Problem
from frames.casefile.tables import SINGLE
from frames.studyfile.parameters import Parameter
from frames.studyfile.settings import WIRE_LAYOUT, CountSetting, Key, KeySetting

RESERVED = ("design", "reason")
"""Headings of other columns."""


def clashes(case: Case, parameters: Sequence[Parameter], outputs: Sequence[str]) -> list[Problem]:
    """Every two that set one key or share a heading, and keys that a layout of wires undoes."""
    return [
        *_headings(parameters, outputs),
        *_keys(case, parameters),
        *(p for one in parameters for p in _on_laid_rings(case, one, _laid_rings(parameters))),
    ]


def _headings(parameters: Sequence[Parameter], outputs: Sequence[str]) -> Iterator[Problem]:
    seen: set[str] = set()
    for p in parameters:
        where = f'parameter "{p.name}", name'
        if p.name in RESERVED:
            yield Problem(where, "is the heading of another column of the table: take another")
        elif p.name in outputs:
            yield Problem(where, "is the heading of an output: take another")
        elif p.name in seen:
            yield Problem(where, "another parameter has this name already")
        seen.add(p.name)


def _keys(case: Case, parameters: Sequence[Parameter]) -> Iterator[Problem]:
    owner: dict[Key, str] = {}
    tops: dict[Key, str] = {}
    for p in parameters:
        for key in sorted(p.setting.sets()):
            if owner.get(key, p.name) != p.name:  # told already when two have one name
                said = f'{_called(case, key)} is set by parameter "{owner[key]}" already'
                yield Problem(f'parameter "{p.name}"', said)
                break
        for key in p.setting.sets():
            owner.setdefault(key, p.name)
            tops.setdefault((*key[:2], key[2].partition(".")[0]), p.name)
    for p in parameters:
        for key in sorted(p.setting.ousts(case)):
            other = tops.get(key)
            if other is not None and other < p.name:  # of the two, told once
                said = (
                    f'{_called(case, key)}, which parameter "{other}" sets, and what this one sets '
                    "exclude each other"
                )
                yield Problem(f'parameter "{p.name}"', said)
                break


def _called(case: Case, key: Key) -> str:
    kind, number, name = key
    if name == WIRE_LAYOUT:
        return f'how the wires of ring "{case.ring[number].name}" lie'
    where = kind
    if kind not in SINGLE:
        where = part_place(kind, number + 1, name_of(parts_of(case, kind)[number]))
    return f"{where}, {name}"


def _laid_rings(parameters: Sequence[Parameter]) -> set[int]:
    return {r for p in parameters if isinstance(p.setting, CountSetting) for r in p.setting.rings}


def _on_laid_rings(case: Case, p: Parameter, rings: set[int]) -> Iterator[Problem]:
    """Keys of wires that ``wires_per_ring_of`` lays out by themselves."""
    if not isinstance(p.setting, KeySetting) or not rings:
        return
    names = {case.ring[r].name for r in rings}
    first = {w.ring: i for i, w in reversed(list(enumerate(case.wire)))}
    touched = {s.number for s in p.setting.slots if s.kind == "wire"}
    for slot in p.setting.slots:
        if slot.kind != "wire":
            continue
        wire = case.wire[slot.number]
        if slot.key == "ring":
            yield Problem(
                f'parameter "{p.name}"',
                "a wire cannot change its ring while wires_per_ring_of lays out wires",
            )
            return
        if wire.ring not in names:
            continue
        if slot.key in ("face", "height_mm") or first[wire.ring] not in touched:
            yield Problem(
                f'parameter "{p.name}"',
                f'wires_per_ring_of lays out the wires of ring "{wire.ring}" by its first one, '
                f'"{case.wire[first[wire.ring]].name}": {slot.key} of wire "{wire.name}" would not '
                "count",
            )
            return
