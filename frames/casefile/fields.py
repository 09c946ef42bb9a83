"""Kinds of field that the tables of a case file are made of, and their common base."""

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

Real = Annotated[float, Field(strict=True, allow_inf_nan=False)]
"""A finite number; whole numbers are taken, true/false and text are not."""

Whole = Annotated[int, Field(strict=True)]
"""A whole number; decimals, true/false and text are not taken."""

Flag = Annotated[bool, Field(strict=True)]
"""true or false."""

RULE = "tautring_rule"
CHOICE = "tautring_choice"
TEXT = "tautring_text"

SOURCE = "source"
"""Under this word a field carries where its default comes from."""

UNDECIDED: Any = object()
"""A default made from other fields, while one of those is wrong (the table is refused anyway)."""


def between(low: float, high: float, default: Any = ..., source: str = "") -> Any:
    """A field with limits, both included; without a default it has to be given.

    source : where the default comes from, for the list of what was taken without being told
    (``frames.assumptions``).
    """
    return Field(default, ge=low, le=high, json_schema_extra={SOURCE: source} if source else None)


def sourced(default: Any, source: str) -> Any:
    """A field of words with a default and where that comes from."""
    return Field(default, json_schema_extra={SOURCE: source})


def within(size: float) -> Any:
    """Limits -size to size for one number of a list."""
    return Field(ge=-size, le=size)


Shift = Annotated[Real, within(200.0)]
"""A sideways distance from the bone axis, mm."""


def _plain_text(text: str) -> str:
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
        raise PydanticCustomError(TEXT, "must be one line without control characters")
    return text


def _name(text: str) -> str:
    if text != text.strip():
        raise PydanticCustomError(TEXT, "must not begin or end with a space")
    if text == "*":
        raise PydanticCustomError(TEXT, "must be a name; * stands for all parts in a change")
    return text


Text = Annotated[str, Field(strict=True, min_length=1, max_length=200), AfterValidator(_plain_text)]
Name = Annotated[
    str,
    Field(strict=True, min_length=1, max_length=60),
    AfterValidator(_plain_text),
    AfterValidator(_name),
]


def one_of(words: Iterable[str]) -> Any:
    """A check that a text is one of a table's words."""
    allowed = tuple(words)

    def check(text: str) -> str:
        if text not in allowed:
            raise PydanticCustomError(CHOICE, "unknown word", {"allowed": allowed})
        return text

    return AfterValidator(check)


@dataclass(frozen=True)
class Broken:
    """A rule about keys that is not kept.

    key : the key at fault, None for the table. message : what to say of it. unsettled : keys
    whose meaning stays open until it is mended.
    """

    key: str | None
    message: str
    unsettled: tuple[str, ...]


@dataclass(frozen=True)
class OneOf:
    """The keys of one group only may be given; one has to be if `required`."""

    groups: tuple[tuple[str, ...], ...]
    required: bool = True

    def broken(self, given: frozenset[str]) -> Broken | None:
        used = [[key for key in group if key in given] for group in self.groups]
        used = [keys for keys in used if keys]
        unsettled = tuple(key for group in self.groups for key in group)
        if len(used) > 1:
            both = " and ".join(keys[0] for keys in used)
            return Broken(None, f"{both} exclude each other: give one of them", unsettled)
        if self.required and not used:
            return Broken(None, f"needs {_either(unsettled)}", unsettled)
        return None


@dataclass(frozen=True)
class AnyOf:
    """At least one of the keys has to be given."""

    keys: tuple[str, ...]

    def broken(self, given: frozenset[str]) -> Broken | None:
        if given.isdisjoint(self.keys):
            return Broken(None, f"needs {_either(self.keys)}", self.keys)
        return None


@dataclass(frozen=True)
class Needs:
    """A key that may only be given together with (one of) others."""

    key: str
    others: tuple[str, ...]

    def broken(self, given: frozenset[str]) -> Broken | None:
        if self.key in given and given.isdisjoint(self.others):
            missing = f"goes with {_either(self.others)}, which is not given"
            return Broken(self.key, missing, (self.key,))
        return None


Rule = OneOf | AnyOf | Needs


# The same few sets of keys come again in every part and every design of a study.
@lru_cache(maxsize=1024)
def _broken(rules: tuple[Rule, ...], given: frozenset[str]) -> tuple[Broken, ...]:
    return tuple(broken for rule in rules if (broken := rule.broken(given)) is not None)


@lru_cache(maxsize=1024)
def _excluded(rules: tuple[Rule, ...], key: str) -> tuple[str, ...]:
    groups = [r.groups for r in rules if isinstance(r, OneOf) and any(key in g for g in r.groups)]
    return tuple(other for found in groups for g in found if key not in g for other in g)


def _either(keys: tuple[str, ...]) -> str:
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} or {keys[-1]}"


class Part(BaseModel):
    """One table of a case file: frozen, no unknown keys, rules about which keys go together."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    rules: ClassVar[tuple[Rule, ...]] = ()

    @classmethod
    def broken_rules(cls, given: Iterable[str]) -> tuple[Broken, ...]:
        """Rules that a table with these keys does not keep."""
        return _broken(cls.rules, frozenset(given))

    @classmethod
    def excluded_by(cls, key: str) -> tuple[str, ...]:
        """Keys that may not stand beside this one."""
        return _excluded(cls.rules, key)

    @model_validator(mode="before")
    @classmethod
    def _nothing_is_left_out(cls, given: Any) -> Any:
        """A key with None (from Python; TOML has no such word) is as good as absent."""
        if isinstance(given, Mapping):
            return {key: value for key, value in given.items() if value is not None}
        return given

    @model_validator(mode="after")
    def _keeps_rules(self) -> Self:
        given = (key for key in self.model_fields_set if getattr(self, key) is not None)
        broken = self.broken_rules(given)
        if broken:
            text = "; ".join(f"{b.key}: {b.message}" if b.key else b.message for b in broken)
            raise PydanticCustomError(RULE, "{text}", {"text": text})
        return self
