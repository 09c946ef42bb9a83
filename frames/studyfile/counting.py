"""How many designs a study has, and what is wrong with that."""

import math
from collections.abc import Sequence

from frames.casefile.problems import Problem
from frames.studyfile.parameters import Parameter
from frames.studyfile.tables import SAMPLED, StudyInfo

MOST_DESIGNS = 10_000_000
MOST_COLUMNS = 1000
_IN_POWERS = ("sobol sequence", "saltelli")


def counting_problems(info: StudyInfo) -> list[Problem]:
    """What is wrong with method, designs and seed."""
    if info.method not in SAMPLED:
        return [
            Problem(f"study, {key}", f'nothing is drawn by method "{info.method}": take it out')
            for key in ("designs", "seed")
            if key in info.model_fields_set and getattr(info, key) is not None
        ]
    if info.designs is None:
        said = f'is missing: say how many designs method "{info.method}" is to draw'
        return [Problem("study, designs", said)]
    if info.method in _IN_POWERS and info.designs & (info.designs - 1):
        below = 1 << info.designs.bit_length() - 1
        said = (
            f'must be a power of two for method "{info.method}", whose points are even only then: '
            f"take {below} or {2 * below}"
        )
        return [Problem("study, designs", said, info.designs)]
    return []


def total_of(info: StudyInfo, parameters: Sequence[Parameter], problems: list[Problem]) -> int:
    """Number of designs."""
    sizes = [len(p.levels or ()) for p in parameters]
    if len(parameters) > MOST_COLUMNS:
        said = f"{len(parameters)} values would vary by themselves, and {MOST_COLUMNS} can at most"
        problems.append(Problem("parameter", said))
    if info.method == "grid":
        total = math.prod(sizes)
    elif info.method == "list":
        if len(set(sizes)) > 1:
            told = ", ".join(f'"{p.name}" has {n}' for p, n in zip(parameters, sizes, strict=True))
            said = f'with method "list" all need equally many values: {told}'
            problems.append(Problem("parameter", said))
        total = max(sizes)
    else:
        designs = info.designs or 0
        total = designs * (len(parameters) + 2) if info.method == "saltelli" else designs
    if total > MOST_DESIGNS:
        many = f"{total:,}" if total < 10**15 else f"about 10^{int(math.log10(total))}"
        said = f"there would be {many} designs, and {MOST_DESIGNS:,} can be studied at most"
        problems.append(Problem("study", f"{said}: take fewer values or parameters"))
    return total
