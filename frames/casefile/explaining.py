"""One refused field, explained: what pydantic found, in the words of the case file."""

import re
import typing
from collections.abc import Iterable, Mapping
from typing import Any

from annotated_types import Ge, Le
from pydantic.fields import FieldInfo

from frames.casefile.fields import CHOICE, RULE, TEXT, Part
from frames.casefile.naming import key_suggestion, listed, nearest
from frames.casefile.problems import Problem, one_line, plain_number, show_value

SILENT = frozenset({RULE, "default_factory_not_called"})
"""Kinds of refusal that are not told here: rules are told by `finding`, and a default that could
not be made is the consequence of another problem."""

Details = Mapping[str, Any]


def unknown_key(model: type[Part], key: str) -> str:
    """What to say of a key that a table does not have."""
    return f"unknown key{key_suggestion(key, model.model_fields)}"


def key_text(key: Any) -> str:
    """A key as it may stand in a place, whatever it is."""
    return one_line(key) if isinstance(key, str) else show_value(key)


def explain(model: type[Part], place: str, details: Details) -> Problem:
    """The problem that one refusal (an item of ``ValidationError.errors()``) describes.

    place : the table it stands in. The refusal's location is relative to that table.
    """
    key = key_text(details["loc"][0])
    where = f"{place}, {key}"
    field = model.model_fields.get(key)
    value = details["input"]
    if details["type"] == "missing" and len(details["loc"]) == 1:
        return Problem(where, "is missing", allowed="" if field is None else _range(field))
    if field is None:
        if details["type"] == "extra_forbidden":
            return Problem(where, unknown_key(model, key))
        return Problem(where, "a key must be text")
    items = _item_kinds(field)
    if items and details["type"] in ("missing", "too_long", "tuple_type"):
        return Problem(where, f"must be a list of {len(items)} {_word_for(items)}", value)
    if len(details["loc"]) > 1 and isinstance(details["loc"][1], int):
        where = f"{where}, item {details['loc'][1] + 1}"
    message, allowed = _message(details)
    return Problem(where, message, value, allowed or _range(field))


def _message(details: Details) -> tuple[str, str]:
    """Message, and the allowed words where it is about a choice."""
    kind, context, value = details["type"], details.get("ctx", {}), details["input"]
    match kind:
        case "float_type":
            return "must be a number", ""
        case "int_type":
            return "must be a whole number", ""
        case "bool_type":
            return "must be true or false", ""
        case "finite_number":
            return "must be a finite number", ""
        case "greater_than_equal":
            if context["ge"] > 0 and value <= 0:
                return "must be more than 0", ""
            return f"must be at least {plain_number(context['ge'])}", ""
        case "less_than_equal":
            return f"must be at most {plain_number(context['le'])}", ""
        case "string_type":
            return "must be text, in quotes", ""
        case "string_too_short":
            return "must not be empty", ""
        case "string_too_long":
            return f"must not be longer than {context['max_length']} characters", ""
        case "tuple_type":
            return "must be a list", ""
        case "too_short":
            return f"must be a list of at least {context['min_length']}", ""
        case "too_long":
            return f"must be a list of at most {context['max_length']}", ""
        case "literal_error":
            return _choice(re.findall(r"'([^']*)'", context["expected"]), value)
        case k if k == CHOICE:
            return _choice(context["allowed"], value)
        case k if k == TEXT:
            return str(details["msg"]), ""
    text = str(details["msg"])
    return text[:1].lower() + text[1:], ""


def _choice(words: Iterable[str], value: Any) -> tuple[str, str]:
    allowed = listed(words)
    near = nearest(value, words) if isinstance(value, str) else None
    if near is None:
        return f"must be {allowed}", allowed
    return f'unknown word; did you mean "{near}"?', allowed


def _range(field: FieldInfo) -> str:
    """The limits of a number's field, empty when it has none."""
    low = next((m.ge for m in field.metadata if isinstance(m, Ge)), None)
    high = next((m.le for m in field.metadata if isinstance(m, Le)), None)
    if low is None or high is None:
        return ""
    return f"{low:.12g} to {high:.12g}"


def _item_kinds(field: FieldInfo) -> tuple[Any, ...]:
    """Kinds of the items of a list of fixed length such as centre_mm; none for other fields."""
    for kind in (field.annotation, *typing.get_args(field.annotation)):
        items = typing.get_args(kind) if typing.get_origin(kind) is tuple else ()
        if items and items[-1] is not Ellipsis:
            return items
    return ()


def _word_for(items: tuple[Any, ...]) -> str:
    return "names" if typing.get_args(items[0])[0] is str else "numbers"
