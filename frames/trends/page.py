"""The page: a summary, then one section for each trend with its table, figure and verdict.

Every number comes from the studies; the text carries no date, so that it changes only when an
answer does.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

from frames.atomic import write_whole
from frames.caution import CAUTION
from frames.lines import number
from frames.trends.running import TRENDS, found_of
from frames.trends.trend import Found, Table, Trend, verdict

PAGE = "published_trends.md"
SUMMARY = ("trend", "source", "verdict")

INTRODUCTION = f"""# Published trends, repeated

What experiments found about ring frames, each repeated as a study of this program's model.
`scripts/trends` makes this page; no number on it is typed by hand except those quoted from a paper.

Of most papers only the abstract was seen, so frames are alike in what it tells and of own choice in
the rest: signs and orders can be compared, sizes cannot. The statements under "must then be seen"
come from the words of the papers, and the verdict counts them; those marked "mechanics" are what
theory demands of the model besides. Where a choice of ours decides whether a trend is seen (a load,
an angle, clamps that slip), the answers on either side of it are shown. A statement that fails is
an answer too: it says which part of the experiment the model has not got.

> {CAUTION}
"""


def make_page(folder: Path) -> None:
    """Write the page and its figures; all studies are run first.

    Raises OSError when a file cannot be written, ValueError when a design has no answer.
    """
    from frames.picture.curves import draw_curves

    found = {trend.key: found_of(trend) for trend in TRENDS}
    drawn = {figure_name(t): draw_curves(t.graph(found[t.key])) for t in TRENDS}
    text = page_text(found)
    folder.mkdir(parents=True, exist_ok=True)
    for name, svg in drawn.items():
        write_whole(folder / name, svg)
    write_whole(folder / PAGE, text)


def figure_name(trend: Trend) -> str:
    """Its file beside the page."""
    return f"{trend.key}.svg"


def page_text(found: Mapping[str, Found]) -> str:
    """The whole page; found : answers by the key of the trend."""
    heading = (SUMMARY, ("---",) * len(SUMMARY))
    rows = [*(_row(r) for r in heading), *(summary_row(t, found[t.key]) for t in TRENDS)]
    sections = [section(t, found[t.key]) for t in TRENDS]
    return "\n".join([INTRODUCTION, *rows, "", *sections])


def summary_row(trend: Trend, found: Found) -> str:
    """One line of the table on top."""
    met = [s.holds(found) for s in trend.statements if s.published]
    papers = dict.fromkeys(s.paper.split(",")[0] for s in trend.sources)
    told = f"**{verdict(trend, found)}**, {sum(met)} of {len(met)} statements"
    return _row((f"[{trend.title}](#{_anchor(trend.title)})", "; ".join(papers), told))


def section(trend: Trend, found: Found) -> str:
    """One trend."""
    sources = "; ".join(f"{s.paper} ({s.seen})" for s in trend.sources)
    statements = [_statement(s.text, s.holds(found), s.published) for s in trend.statements]
    words = [trend.says(found), *(s.missed for s in trend.statements if not s.holds(found))]
    graph = trend.graph(found)
    return "\n".join(
        [
            f"## {trend.title}\n",
            f"**Published.** {trend.published}\n",
            f"Source: {sources}.\n",
            f"**Frame.** {trend.frame}\n",
            "**Must then be seen**\n",
            *statements,
            "",
            _markdown(trend.table(found)),
            f"![{graph.about}]({figure_name(trend)})\n",
            f"**Verdict: {verdict(trend, found)}.** {' '.join(w for w in words if w)}\n",
        ]
    )


def _statement(text: str, holds: bool, published: bool) -> str:
    kind = "" if published else "mechanics: "
    return f"- {'✓' if holds else '✗'} {kind}{text}"


def _anchor(title: str) -> str:
    kept = (c for c in title.lower() if c.isalnum() or c in " -_")
    return "".join(kept).replace(" ", "-")


def _markdown(table: Table) -> str:
    rows = [[_cell(c) for c in row] for row in table.rows]
    rule = ["---", *(["---:"] * (len(table.heading) - 1))]
    return "\n".join(_row(r) for r in ([*table.heading], rule, *rows)) + "\n"


def _cell(value: str | float) -> str:
    return value if isinstance(value, str) else number(value)


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
