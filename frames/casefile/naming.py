"""Finding the name that was meant, and listing names in a message."""

import difflib
from collections.abc import Iterable

_LONGEST_COMPARED = 100
_MOST_LISTED = 12


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like the given one, capitals aside; None when none is near."""
    by_lower = {name.lower(): name for name in known}
    found = difflib.get_close_matches(word[:_LONGEST_COMPARED].lower(), by_lower, n=1)
    return by_lower[found[0]] if found else None


def listed(words: Iterable[str], last: str = "or") -> str:
    """ "a", "b" or "c"."""
    quoted = [f'"{word}"' for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} {last} {quoted[-1]}"


def suggestion(word: str, known: Iterable[str]) -> str:
    """The end of a message about an unknown name: the nearest known one, or all of them."""
    names = list(known)
    near = nearest(word, names)
    if near is not None:
        return f'; did you mean "{near}"?'
    if len(names) > _MOST_LISTED:
        return f'; known: "{names[0]}" and {len(names) - 1} more'
    return f"; known: {listed(names, 'and')}" if names else ""


def key_suggestion(key: str, known: Iterable[str]) -> str:
    """The same for a key, which is written without quotes."""
    names = list(known)
    near = nearest(key, names)
    return f"; did you mean {near}?" if near is not None else f"; known here: {', '.join(names)}"
