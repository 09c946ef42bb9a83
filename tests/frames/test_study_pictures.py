"""Charts of a study: nothing is cut off or written over something else, every answer has its chart,
files are whole and the same again."""

import itertools
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from frames.picture import PictureError
from frames.picture.chart_drawing import compose, draw_chart
from frames.picture.chart_style import LEAST_PT, fold, said, style
from frames.picture.words import DPI, width_of
from frames.studytable import effects
from frames.studytable.sheets import sheets_of
from tests.frames.study_tables import Known, base_samples, grid, table_of

LONG = (
    Known("tension", (600.0, 900.0, 1275.0), "tension of all wires before load", "N"),
    Known("crossing", (30.0, 60.0, 90.0), "crossing angle of the wires on every ring", "°"),
    Known("count", (2, 4), "wires on every ring of the frame"),
    Known("material", ("stainless steel", "carbon fibre"), "material of the rings"),
    Known("rod", (6.0, 8.0), "diameter of the threaded rods between neighbouring rings", "mm"),
    Known("size", (140.0, 180.0), "inner diameter of the proximal and the distal rings", "mm"),
    Known("olive", (False, True), "olive wires against the interfragmentary movement"),
    Known("gap", (1.0, 5.0), "width of the fracture gap before load", "mm"),
)
OUTPUTS = (
    "axial_N_per_mm", "bending_ap_Nm_per_deg", "closing_mm under standing on one leg",
    "wire_tension_min_N under standing on one leg", "mass_g", "wires",
)  # fmt: skip


def values(u):
    """Six outputs of points (n, 8) in [0, 1]."""
    axial = 20.0 + 30.0 * u[:, 0] * (1.0 + u[:, 2]) + 5.0 * u[:, 3] - 8.0 * u[:, 5]
    bend = 1.0 + u[:, 1] + 0.2 * u[:, 6]
    mass = 800.0 + 100.0 * u[:, 2] + 300.0 * u[:, 3] + 50.0 * u[:, 4]
    tension = -200.0 + 1000.0 * u[:, 0] - 3.0 * axial
    wires = 8 * (1 + np.round(u[:, 2]))
    return dict(zip(OUTPUTS, (axial, bend, 200.0 / axial, tension, mass, wires), strict=True))


def full_grid():
    rows = list(itertools.product(*(p.levels for p in LONG)))
    u = np.array(list(itertools.product(*(np.linspace(0, 1, len(p.levels)) for p in LONG))))
    gone = np.random.default_rng(0).permutation(len(rows))[:40]
    return effects(*table_of("grid", LONG, rows, values(u), gone))


def saltelli():
    known = [Known(p.name, None, p.label, p.unit) for p in LONG]
    u = base_samples(64, 8, 0)
    return effects(*table_of("saltelli", known, u.tolist(), values(u), [5]))


def contours():
    levels = np.linspace(500.0, 1300.0, 9), np.linspace(30.0, 90.0, 7)
    known = [Known(p.name, tuple(v), p.label, p.unit) for p, v in zip(LONG, levels, strict=False)]
    rows = list(itertools.product(*levels))
    t, c = np.array(rows).T
    y = {"axial_N_per_mm": np.sqrt(t) * np.sin(np.radians(c)), "mass_g": t + c}
    return effects(*table_of("grid", known, rows, y, [0, 1, 2, 7, 8]))


def boxes(figure):
    """Every text that is seen, with its place."""
    figure.draw_without_rendering()
    renderer = figure.canvas.get_renderer()
    for text in figure.findobj(Text):
        if not text.get_text().strip() or not text.get_visible():
            continue
        axes = text.axes
        if axes is not None and not axes.get_visible():
            continue
        yield text, text.get_window_extent(renderer)


def undrawn_ticks(figure):
    """Texts of ticks beyond the ends of their axis, which are not drawn, and of those switched
    off."""
    hidden = set()
    for axes in figure.axes:
        for axis, limits in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
            low, high = sorted(limits)
            slack = 1e-9 * (high - low)
            for tick in axis.get_major_ticks():
                if not low - slack <= tick.get_loc() <= high + slack:
                    hidden |= {tick.label1, tick.label2}
    return hidden


@pytest.mark.parametrize("made", [full_grid, saltelli, contours])
def test_no_text_is_cut_off_or_on_another(made):
    kinds = set()
    for name, sheet in sheets_of(made()):
        kind = type(sheet).__name__
        if kind in kinds:
            continue  # the same page with other numbers
        kinds.add(kind)
        with style():
            figure = compose(sheet)
            page = figure.bbox
            every = list(boxes(figure))
            undrawn = undrawn_ticks(figure)
            seen = [(t, b) for t, b in every if t not in undrawn]
        for text, box in seen:
            what = f"{name}: {text.get_text()!r}"
            assert box.x0 >= 0 and box.y0 >= 0, what
            assert box.x1 <= page.x1 and box.y1 <= page.y1, what
            assert text.get_fontsize() >= LEAST_PT, what
        for (a, box), (b, other) in itertools.combinations(seen, 2):
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            tall = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert min(wide, tall) < 1.0, f"{name}: {a.get_text()!r} on {b.get_text()!r}"
    expected = {"EffectSheet", "TornadoSheet", "MapSheet", "ScatterSheet", "FrontSheet"}
    assert kinds == expected | ({"IndexSheet"} if made is saltelli else set())


def test_files_are_whole_and_the_same_again(tmp_path):
    name, sheet = next((n, s) for n, s in sheets_of(contours()) if n.startswith("map"))
    first = [tmp_path / f"{name}.png", tmp_path / f"{name}.svg"]
    again = [tmp_path / "again.png", tmp_path / "again.svg"]
    draw_chart(sheet, *first)
    draw_chart(sheet, *again)
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in again]
    with Image.open(first[0]) as picture:
        # 170 mm at 300 dots to the inch, a pixel lost by rounding
        assert picture.width == pytest.approx(170.0 / 25.4 * 300.0, abs=1.0)
    assert ET.fromstring(first[1].read_text()).get("width").endswith("pt")
    assert len(list(tmp_path.iterdir())) == 4


def test_what_cannot_be_written(tmp_path):
    sheet = next(s for _, s in sheets_of(contours()))
    with pytest.raises(PictureError, match=r"must end in \.png or \.svg"):
        draw_chart(sheet, tmp_path / "a.pdf")
    with pytest.raises(PictureError, match="cannot write"):
        draw_chart(sheet, tmp_path / "nowhere" / "a.png")


def test_map_shows_the_cells_it_has():
    """Nine means, drawn as numbers; a cell without any design that has a value is hatched."""
    study, table = grid([(1, 2, 3), (1, 2, 3)], lambda a, b: 10.0 * a + b, [0])
    sheet = next(s for n, s in sheets_of(effects(study, table)) if n.startswith("map"))
    with style():
        figure = compose(sheet)
        figure.draw_without_rendering()
    texts = {t.get_text() for t in figure.axes[0].texts}
    assert texts == {str(10 * a + b) for a in (1, 2, 3) for b in (1, 2, 3)} - {"11"}
    hatched = [p for p in figure.axes[0].patches if p.get_hatch()]
    assert [p.get_xy() for p in hatched] == [(-0.5, -0.5)]


def test_words_are_folded_into_their_room():
    text = fold("interfragmentary movement under load", 15.0, 8.0)
    room = 15.0 / 25.4 * DPI
    assert all(width_of(line, 8.0 * DPI / 72.0) <= room for line in text.split("\n"))
    assert text.replace("-\n", "").replace("\n", " ") == "interfragmentary movement under load"


def test_numbers_as_written():
    assert [said(v) for v in (8.0, -0.5, 1275.0, 0.1234)] == ["8", "−0.500", "1275", "0.123"]
