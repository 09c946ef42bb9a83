"""What there is to choose from: tensions, diameters, numbers of wires; said in words when it is
nothing."""

from math import ceil, floor, pi

from frames.casefile import Case, CaseError, Problem
from frames.construct import FRAGMENTS
from frames.mending.groups import MOST_OF_YIELD
from frames.searching.choices import Choices
from frames.searching.layout import Layer, Setting
from frames.sizes import STANDARD_GRAVITY

Reach = dict[float, tuple[float, float]]
"""Diameter → lowest and highest tension, whole kgf."""


def refuse_tolerances_of_one_wire(case: Case) -> None:
    """The wires of the case are replaced, so that no tolerance can be of one by its name.

    Raises ``CaseError``.
    """
    wrong = [p for t in case.tolerance for p in t.all_paths if _of_one_wire(p)]
    text = "a search lays wires of its own, so that a tolerance must be of all: write wire.*"
    if wrong:
        raise CaseError([Problem("tolerance, path", text, path) for path in wrong])


def _of_one_wire(path: str) -> bool:
    kind, _, rest = path.partition(".")
    return kind == "wire" and not rest.startswith("*.")


def refuse_without_targets(case: Case) -> None:
    """Raises ``CaseError``."""
    if not case.target:
        text = "there is no [[target]], so any wires would do; write what the frame should reach"
        raise CaseError([Problem("target", text)])


def reach_of(layer: Layer) -> Reach:
    """Tensions of every diameter that can take the lowest one. Raises ``CaseError`` when none
    can."""
    low, high = layer.case.search.tension_kgf
    reach: Reach = {}
    for diameter in layer.diameters:
        wire = layer.wire(Setting(diameter, low))
        area = pi * diameter**2 / 4.0
        most = min(high, MOST_OF_YIELD * wire.yield_MPa * area / STANDARD_GRAVITY)
        if floor(most) >= ceil(low):
            reach[diameter] = float(ceil(low)), float(floor(most))
    if not reach:
        text = (
            f"no wire can be tensioned to {low:g} kgf in whole kgf up to {high:g}: thinner wires "
            f"would stand at more than {100 * MOST_OF_YIELD:.0f} % of their yield stress; lower "
            "the first number, raise the second, or allow thicker wires"
        )
        raise CaseError([Problem("search, tension_kgf", text)])
    return reach


def settings_of(reach: Reach) -> tuple[Setting, ...]:
    """Lowest, middle and highest tension of every diameter, thinnest first."""
    found = [
        Setting(diameter, tension)
        for diameter, (low, high) in sorted(reach.items())
        for tension in sorted({low, float(round((low + high) / 2.0)), high})
    ]
    return tuple(found)


def numbers_of_wires(choices: Choices) -> range:
    """From the fewest that hold both fragments to the most. Raises ``CaseError`` when there are
    none."""
    search, problems = choices.case.search, []
    for fragment in FRAGMENTS:
        least, most = choices.least(fragment), choices.most(fragment)
        if most < least or (least and choices.crosses_at_most(fragment) < choices.crossing):
            problems.append(
                Problem(
                    "search",
                    f"the {fragment} cannot be held: directions are allowed for {most} wires on "
                    f"its rings, {least} are asked for, and some two of them have to cross at "
                    f"{choices.crossing:g} degrees; wider corridors, more rings on it, a smaller "
                    "crossing_deg or bearing_step_deg would help (tautring fit tells of corridors)",
                )
            )
    if problems:
        raise CaseError(problems)
    least = max(1, sum(choices.least(f) for f in FRAGMENTS))
    most = sum(choices.most(f) for f in FRAGMENTS)
    if search.most_wires is not None and search.most_wires < least:
        text = f"both fragments together need {least} wires at least"
        raise CaseError([Problem("search, most_wires", text, search.most_wires)])
    most = most if search.most_wires is None else min(most, search.most_wires)
    return range(least, max(most, least) + 1)
