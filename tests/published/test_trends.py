"""Published trends against the studies that repeat them, and the page made of these.

Signs and orders stand with the studies in ``frames/trends``, each trend with its papers and how
much of them was seen.  A statement that the model does not meet carries the reason; it is held to
be missed, so that a change either way is noticed.  Each trend is solved once, here in one test.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from xml.etree import ElementTree

import pytest

import frames
from frames.picture.curves import draw_curves
from frames.picture.graph import Curve, Graph, Panel
from frames.trends import PAGE, TRENDS, figure_name, found_of, section, summary_row
from frames.trends.crossing import plane
from frames.trends.page import INTRODUCTION
from frames.trends.ring_size import RINGS, TENSIONS, main_effect
from frames.trends.study import Answers
from frames.trends.toe import LOADS, slopes, toe
from frames.trends.trend import Found, Trend, falls, percent_gains, rises

PAGES = Path(frames.__file__).parent / "pages"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
DESCRIPTION = "{http://purl.org/dc/elements/1.1/}description"


@pytest.mark.parametrize("trend", TRENDS, ids=lambda t: t.key)
def test_trend(trend: Trend) -> None:
    """Signs and orders as published, and the page tells of them as they are now."""
    found = found_of(trend)
    sources = "; ".join(f"{s.paper} ({s.seen})" for s in trend.sources)
    for statement in trend.statements:
        meets = statement.holds(found)
        assert meets is not bool(statement.missed), f"{statement.text} [{sources}]: {meets}"
    assert can_fail(trend, found), "statements hold for upside-down answers too"
    page = (PAGES / PAGE).read_text(encoding="utf-8")
    stored = next(p for p in page.split("\n## ") if p.startswith(trend.title))
    assert_same(section(trend, found).removeprefix("## "), stored)
    assert_same(summary_row(trend, found), row_of(trend, page))
    drawn = described((PAGES / figure_name(trend)).read_text(encoding="utf-8"))
    assert_same(trend.graph(found).in_words(), drawn)


def can_fail(trend: Trend, found: Found) -> bool:
    """Whether the trend is met less when every study's numbers stand in the other order."""
    upside_down = {name: reversed_numbers(trend, name, a) for name, a in found.items()}
    met = [s.holds(upside_down) for s in trend.statements if not s.missed]
    return not all(met)


def reversed_numbers(trend: Trend, study: str, answers: Answers) -> Answers:
    asked = trend.studies[study].asked
    pairs = zip(answers.rows, answers.rows[::-1], strict=True)
    return Answers(tuple({**row, **{name: other[name] for name in asked}} for row, other in pairs))


def row_of(trend: Trend, page: str) -> str:
    return next(line for line in page.splitlines() if line.startswith(f"| [{trend.title}]"))


def described(svg: str) -> str:
    text = next(ElementTree.fromstring(svg).iter(DESCRIPTION)).text
    assert text is not None
    return text


def assert_same(new: str, stored: str) -> None:
    """The same words and, to a unit of their last digit and 0.2 %, the same numbers."""
    hint = "the page is out of date: run python3 scripts/trends and look at what changed"
    assert NUMBER.sub("#", new).strip() == NUMBER.sub("#", stored).strip(), hint
    for a, b in zip(NUMBER.findall(new), NUMBER.findall(stored), strict=True):
        decimals = len(b.partition(".")[2]) if "e" not in b else 6
        assert float(a) == pytest.approx(float(b), rel=2e-3, abs=1.1 * 10.0**-decimals), hint


def test_page_is_whole() -> None:
    """Introduction, every trend once and in order, no figure of a trend that is no more."""
    page = (PAGES / PAGE).read_text(encoding="utf-8")
    assert page.startswith(INTRODUCTION)
    assert re.findall("^## (.*)$", page, re.MULTILINE) == [t.title for t in TRENDS]
    assert {p.name for p in PAGES.glob("*.svg")} >= {figure_name(t) for t in TRENDS}
    assert all(len(p.read_text(encoding="utf-8")) < 60_000 for p in PAGES.glob("*.svg"))


def test_stale_numbers_are_noticed() -> None:
    assert_same("| 12.35 | x", "| 12.34 | x")
    for changed in ("| 12.40 | x", "| 12.34 | y", "| 12.34 | 1 x"):
        with pytest.raises(AssertionError):
            assert_same(changed, "| 12.34 | x")


def test_figures_are_the_same_every_time() -> None:
    graph = Graph("about", (Panel("x (mm)", "y (N)", (Curve("a", (1.0, 2.0), (3.0, 4.0)),)),))
    svg = draw_curves(graph)
    assert svg == draw_curves(graph)
    assert described(svg) == graph.in_words()
    assert "(2.00, 4.00)" in described(svg)


# the measures themselves


def test_orders() -> None:
    assert rises([1.0, 2.0, 4.0])
    assert not rises([1.0, 1.0])
    assert not rises([1.0, 3.0, 2.0])
    assert falls([3.0, 2.0])
    assert not falls([3.0, 2.0, 2.5])
    assert percent_gains([50.0, 75.0, 150.0]) == pytest.approx([50.0, 100.0])


def test_toe_of_a_straight_line_with_play() -> None:
    """A line of 100 N/mm that begins at 0.3 mm has a toe of 0.3 mm."""
    u = [0.3 + P / 100.0 for P in LOADS]
    assert toe(u) == pytest.approx(0.3)
    assert slopes(u)[1:] == pytest.approx([100.0] * (len(LOADS) - 1))


def test_main_effects_of_a_sum() -> None:
    """For 2 d + 3 T the ranges of the means are 2 and 3 times those of d and T."""
    rows: list[Mapping[str, float | str]] = [
        {"ring": d, "kgf": T, "secant": 2.0 * d + 3.0 * T} for d in RINGS for T in TENSIONS
    ]
    found = {"frames": Answers(tuple(rows))}
    assert main_effect(found, "secant", "ring", RINGS) == pytest.approx(2.0 * 68.0)
    assert main_effect(found, "secant", "kgf", TENSIONS) == pytest.approx(3.0 * 90.0)


def test_shear_of_crossing_wires_in_the_plane() -> None:
    """cot²(α/2): 1 at 90°, 3 at 60° (closed form)."""
    assert plane(90.0) == pytest.approx(1.0)
    assert plane(60.0) == pytest.approx(3.0)
