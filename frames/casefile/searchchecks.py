"""Checks of [search]: its limits leave something to choose from."""

from collections.abc import Iterator

from frames.casefile.problems import Problem
from frames.casefile.search import Search
from frames.casefile.tables import Tables


def _tensions_in_order(_tables: Tables, search: Search, place: str) -> Iterator[Problem]:
    low, high = search.tension_kgf
    if low > high:
        yield Problem(
            f"{place}, tension_kgf", "must be [lowest, highest]", list(search.tension_kgf)
        )


def _most_not_under_least(_tables: Tables, search: Search, place: str) -> Iterator[Problem]:
    most, least = search.most_wires, search.least_wires_per_fragment
    if most is not None and most < least:
        yield Problem(
            f"{place}, most_wires", f"is less than least_wires_per_fragment ({least})", most
        )


SEARCH_CHECKS = (_tensions_in_order, _most_not_under_least)
