"""A target against the value that was found."""

from frames.casefile import Target
from frames.result import plain
from frames.result_parts import TargetResult


def judge(target: Target, value: float) -> TargetResult:
    """Whether a value keeps to the bounds of a target, and its margin to the nearer one (negative
    when it does not)."""
    margins = []
    if target.at_least is not None:
        margins.append(value - target.at_least)
    if target.at_most is not None:
        margins.append(target.at_most - value)
    margin = min(margins)
    return TargetResult(
        quantity=target.quantity,
        load=target.load,
        label=target.label,
        value=value,
        at_least=target.at_least,
        at_most=target.at_most,
        meets=margin >= 0.0,
        margin=plain(margin),
    )
