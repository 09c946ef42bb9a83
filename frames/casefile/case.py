"""The checked case: what every other part of the program takes."""

from typing import Self

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from frames.casefile.crosschecks import cross_problems
from frames.casefile.fields import RULE
from frames.casefile.tables import Tables


class Case(Tables):
    """A whole case. It cannot be made with parts that contradict each other.

    Units are in the names of the fields. Use `frames.casefile.load_case` and its neighbours to
    make one: they tell of wrong values in the case file's own words.
    """

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        problems = cross_problems(self)
        if problems:
            text = "\n".join(str(problem) for problem in problems)
            raise PydanticCustomError(RULE, "{text}", {"text": text})
        return self
