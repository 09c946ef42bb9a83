"""A parameter of a study: one column of its table."""

from dataclasses import dataclass
from itertools import islice
from typing import Any

from frames.casefile import Case
from frames.casefile.numbers import unit_of
from frames.casefile.problems import Problem
from frames.studyfile.distributions import Draw, Levels
from frames.studyfile.drawing import draw_of, draw_problems
from frames.studyfile.settings import CountSetting, CrossingSetting, KeySetting, Setting
from frames.studyfile.tables import ParameterTable
from frames.studyfile.targeting import settings_of
from frames.studyfile.valuing import value_problems

_MOST_TOLD = 10
"""Wrong values of one parameter that are told."""


@dataclass(frozen=True)
class Parameter:
    """name : heading of its column. label : plain words, without the unit. unit : "" where it has
    none. levels : the values it takes, None when it is drawn from a distribution. draw : its
    distribution or levels. setting : what it changes."""

    name: str
    label: str
    unit: str
    draw: Draw
    setting: Setting

    @property
    def levels(self) -> tuple[Any, ...] | None:
        """The values it takes, None when it is drawn from a distribution."""
        return self.draw.values if isinstance(self.draw, Levels) else None


def parameters_of(
    table: ParameterTable, method: str, case: Case, place: str, problems: list[Problem]
) -> list[Parameter]:
    """The columns of a parameter's table; what is wrong goes to ``problems``."""
    before = len(problems)
    problems += draw_problems(table, method, place)
    settings = settings_of(table, case, place, problems)
    if len(problems) > before:
        return []
    draw = draw_of(table)
    for _, setting in settings:
        problems += islice(value_problems(case, setting, draw, place), _MOST_TOLD)
        if len(problems) > before:
            break  # the same for each of its parts
    label = table.label or table.name
    return [
        Parameter(
            head,
            label + head.removeprefix(table.name).replace("[", " of ").replace("]", ""),
            _unit(setting),
            draw,
            setting,
        )
        for head, setting in settings
    ]


def _unit(setting: Setting) -> str:
    if isinstance(setting, KeySetting):
        keys = {slot.key for slot in setting.slots} if setting.bases is None else set()
        units = {unit_of(key) for key in keys}
        return units.pop() if len(units) == 1 else ""
    if isinstance(setting, CountSetting):
        return ""
    return "°" if isinstance(setting, CrossingSetting) else "mm"
