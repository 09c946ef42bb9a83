"""Stand-ins for parts with wrong fields, so that checks between parts can still be made.

A `Partial` holds the fields that are right. Asking it for another one raises `NotKnown`, which
ends the check that asked: what cannot be known is not reported on.
"""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from frames.casefile.fields import UNDECIDED, Part


class NotKnown(Exception):
    """A value that a check needs is wrong or missing itself, and reported elsewhere."""


class Partial:
    """The right fields of a part, or the readable tables of a case."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self.__dict__.update(values)

    def __getattr__(self, key: str) -> Any:
        raise NotKnown(key)


def given_keys(table: Mapping[str, Any]) -> set[str]:
    """Keys of a table that say something: None stands for a key left out."""
    return {key for key, value in table.items() if value is not None and isinstance(key, str)}


def right_fields(
    model: type[Part],
    table: Mapping[str, Any],
    error: ValidationError,
    inner: Mapping[str, Any],
) -> Partial:
    """What is right in a table that `model` refused with `error`, with the defaults.

    inner : the tables inside it, each read by itself.
    """
    wrong = {details["loc"][0] for details in error.errors(include_url=False) if details["loc"]}
    unsettled = {
        key for broken in model.broken_rules(given_keys(table)) for key in broken.unsettled
    }
    wrong |= unsettled
    values: dict[str, Any] = {}
    for key, field in model.model_fields.items():
        if key in table and key not in wrong:
            value = table[key]
            values[key] = tuple(value) if isinstance(value, list) else value
        elif key not in table and not field.is_required():
            default = field.get_default(call_default_factory=True, validated_data=values)
            if default is not UNDECIDED:
                values[key] = default
    return Partial(values | {key: part for key, part in inner.items() if key not in unsettled})
