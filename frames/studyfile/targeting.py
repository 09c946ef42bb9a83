"""From a parameter's table to what it changes in the case, and what is wrong with that."""

import math
from collections import Counter

from frames.casefile import Case
from frames.casefile.naming import suggestion
from frames.casefile.numbers import is_measure, value_at
from frames.casefile.paths import PathError, Slot, slots_of
from frames.casefile.places import parts_of
from frames.casefile.problems import Problem, one_line
from frames.casefile.tables import SINGLE
from frames.studyfile.settings import (
    CountSetting,
    CrossingSetting,
    KeySetting,
    Setting,
    SizeSetting,
)
from frames.studyfile.tables import ParameterTable

ALL = "all"


def settings_of(
    table: ParameterTable, case: Case, place: str, problems: list[Problem]
) -> list[tuple[str, Setting]]:
    """Heading and setting of each column of a parameter: one, or with ``each`` one for every
    part."""
    if table.path is not None or table.paths is not None:
        return _keys(table, case, place, problems)
    before = len(problems)
    setting: Setting
    if table.crossing_deg_of is not None:
        setting = _crossing(table.crossing_deg_of, case, f"{place}, crossing_deg_of", problems)
    elif table.wires_per_ring_of is not None:
        where = f"{place}, wires_per_ring_of"
        setting = CountSetting(_rings(table.wires_per_ring_of, case, where, problems, (1, 500)))
    else:
        assert table.ring_size_of is not None and table.sizes is not None
        rings = _rings(table.ring_size_of, case, f"{place}, ring_size_of", problems)
        setting = SizeSetting(rings, table.sizes)
    return [(table.name, setting)] if len(problems) == before else []


def _rings(
    names: tuple[str, ...],
    case: Case,
    where: str,
    problems: list[Problem],
    wires: tuple[int, int] = (0, 500),
) -> tuple[int, ...]:
    """Numbers of the rings named that carry so many wires at least and at most; all stands for
    every one that does."""
    known = [ring.name for ring in case.ring]
    carried = Counter(wire.ring for wire in case.wire)
    wanted = "two wires" if wires == (2, 2) else "a wire"
    if names == (ALL,) and ALL not in known:
        found = tuple(i for i, n in enumerate(known) if wires[0] <= carried[n] <= wires[1])
        if not found:
            problems.append(Problem(where, f"no ring of the case carries {wanted}"))
        return found
    numbers = []
    for name in names:
        if name not in known:
            said = f'there is no ring "{name}"{suggestion(name, known)}'
            problems.append(Problem(where, said))
        elif names.count(name) > 1 and known.index(name) in numbers:
            problems.append(Problem(where, f'ring "{name}" stands there twice'))
        elif not wires[0] <= carried[name] <= wires[1]:
            has = f"carries {carried[name]} in the case"
            problems.append(Problem(where, f'ring "{name}" must carry {wanted} and {has}'))
        else:
            numbers.append(known.index(name))
    return tuple(numbers)


def _crossing(
    names: tuple[str, ...], case: Case, where: str, problems: list[Problem]
) -> CrossingSetting:
    pairs = []
    for number in _rings(names, case, where, problems, (2, 2)):
        ring = case.ring[number].name
        one, other = (i for i, w in enumerate(case.wire) if w.ring == ring)
        b1, b2 = case.wire[one].bearing_deg, case.wire[other].bearing_deg
        apart = math.remainder(b2 - b1, 180.0)  # of the two lines, -90 to 90
        side = -1.0 if apart < 0.0 else 1.0
        # the other wire may be written from its far end: half a turn more
        pairs.append(
            (number, (one, other), b1 + apart / 2.0, (-side, side), (0.0, b2 - b1 - apart))
        )
    return CrossingSetting(tuple(pairs))


def _keys(
    table: ParameterTable, case: Case, place: str, problems: list[Problem]
) -> list[tuple[str, Setting]]:
    before = len(problems)
    slots: list[Slot] = []
    for path in table.paths or (table.path,):
        assert path is not None
        try:
            found = slots_of(case, path)
        except PathError as error:
            problems.append(Problem(place, f'path "{one_line(path)}": {error}'))
            continue
        if found[0].key == "name":
            said = f'path "{one_line(path)}": a name cannot vary, other parts are found by it'
            problems.append(Problem(place, said))
        slots += found
    twice = [slot for slot, times in Counter(slots).items() if times > 1]
    if twice:
        said = f"its paths stand for {_called(case, twice[0])}, {twice[0].key} twice"
        problems.append(Problem(place, said))
    if len(problems) > before:
        return []
    if not table.each:
        return [(table.name, _key_setting(table, case, tuple(slots), place, problems))]
    groups: dict[tuple[str, int], list[Slot]] = {}
    for slot in slots:
        groups.setdefault((slot.kind, slot.number), []).append(slot)
    heads = [_called(case, own[0], short=True) for own in groups.values()]
    if len(set(heads)) < len(heads):  # parts of several kinds with one name
        heads = [_called(case, own[0]).replace('"', "") for own in groups.values()]
    if len(set(heads)) < len(heads):
        heads = [f"{kind} {number + 1}" for kind, number in groups]
    return [
        (f"{table.name}[{head}]", _key_setting(table, case, tuple(own), place, problems))
        for head, own in zip(heads, groups.values(), strict=True)
    ]


def _called(case: Case, slot: Slot, short: bool = False) -> str:
    """A part in words: wire "W1"; its name alone when short."""
    if slot.kind in SINGLE:
        return slot.kind
    part = parts_of(case, slot.kind)[slot.number]
    name = getattr(part, "name", None) or part.label
    return name if short else f'{slot.kind} "{name}"'


def _key_setting(
    table: ParameterTable, case: Case, slots: tuple[Slot, ...], place: str, problems: list[Problem]
) -> KeySetting:
    if not table.relative:
        return KeySetting(slots)
    bases = []
    for slot in slots:
        number = value_at(case, slot) if is_measure(slot) else None
        if not isinstance(number, float):
            problems.append(
                Problem(
                    f"{place}, relative",
                    f"{_called(case, slot)}, {slot.key} has no number in the case that a value "
                    "could multiply",
                )
            )
            return KeySetting(slots)
        bases.append(number)
    return KeySetting(slots, tuple(bases))
