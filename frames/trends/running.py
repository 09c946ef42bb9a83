"""All trends, in the order of the page, and their studies run."""

from collections.abc import Mapping

from frames.trends import (
    crossing,
    neighbour,
    open_rings,
    overload,
    ring_material,
    ring_size,
    rods,
    sliding,
    tension,
    toe,
    twisting,
    wires,
)
from frames.trends.study import Answers, answers
from frames.trends.trend import Trend

TRENDS: tuple[Trend, ...] = (
    ring_size.TREND,
    toe.TREND,
    tension.TREND,
    overload.TREND,
    crossing.TREND,
    twisting.TREND,
    sliding.TREND,
    wires.TREND,
    open_rings.TREND,
    ring_material.TREND,
    neighbour.TREND,
    rods.TREND,
)


def found_of(trend: Trend) -> Mapping[str, Answers]:
    """Answers of all studies of a trend.  Raises ValueError when a design has none."""
    return {name: answers(study) for name, study in trend.studies.items()}
