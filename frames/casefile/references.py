"""Looking up rings and loads by name, and saying so when there is none."""

from collections.abc import Iterator

from frames.casefile.naming import suggestion
from frames.casefile.partial import NotKnown
from frames.casefile.parts import Ring
from frames.casefile.places import name_of, parts_of
from frames.casefile.problems import Problem
from frames.casefile.tables import Tables


def missing(tables: Tables, kind: str, name: str, place: str) -> Iterator[Problem]:
    """A problem if no part of this kind has the name.

    None while the kind's table, or the name of one of its parts, is wrong itself: the name may
    be meant for that one.
    """
    names = [name_of(part) for part in getattr(tables, kind)]
    if None in names or name in names:
        return
    known = [known for known in names if known is not None]
    yield Problem(
        place,
        f'there is no {kind} "{name}"'
        + (suggestion(name, known) if known else " (there are none)"),
        allowed=", ".join(known),
    )


def ring_of(tables: Tables, name: str) -> Ring:
    """The ring of a name; raises NotKnown when there is none."""
    for ring in parts_of(tables, "ring"):
        if name_of(ring) == name:
            found: Ring = ring
            return found
    raise NotKnown(name)
