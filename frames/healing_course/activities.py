"""Peak force along the shin in what a leg does, as a multiple of body weight."""

from frames.casefile import Case
from frames.casefile.recovery import Activity

_TABLE = "upper end of table 1 of Arthritis Res Ther article ar4138"

STANDARD = (
    Activity(name="standing on both legs", times_body_weight=0.5, source="statics"),
    Activity(name="standing on this leg", times_body_weight=1.0, source="statics"),
    Activity(name="cycling", times_body_weight=1.5, source=f"1.0 to 1.5, {_TABLE}"),
    Activity(name="walking", times_body_weight=2.8, source=f"2.5 to 2.8, {_TABLE}"),
    Activity(name="stairs up", times_body_weight=3.2, source=f"2.9 to 3.2, {_TABLE}"),
    Activity(name="stairs down", times_body_weight=3.5, source=f"3.2 to 3.5, {_TABLE}"),
)
"""Activities of a case that lists none of its own."""


def activities_of(case: Case) -> tuple[Activity, ...]:
    """Those of the case, or the standard ones."""
    return case.activity or STANDARD
