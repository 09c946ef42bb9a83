"""Draw a chart to files."""

from pathlib import Path

from matplotlib.figure import Figure

from frames.picture.chart_effects import compose_effects
from frames.picture.chart_front import compose_front
from frames.picture.chart_indices import compose_indices
from frames.picture.chart_map import compose_map
from frames.picture.chart_scatter import compose_scatter
from frames.picture.chart_style import save_figure, style
from frames.picture.chart_tornado import compose_tornado
from frames.picture.charts import (
    EffectSheet,
    FrontSheet,
    IndexSheet,
    MapSheet,
    ScatterSheet,
    Sheet,
    TornadoSheet,
)


def draw_chart(sheet: Sheet, *paths: Path) -> None:
    """Draw to each of these files, .png (300 dots to the inch) or .svg, whole or not at all.

    Raises PictureError when one cannot be written.
    """
    with style():
        figure = compose(sheet)
        for path in paths:
            save_figure(figure, path)


def compose(sheet: Sheet) -> Figure:
    """The page of a sheet; inside ``style()``."""
    match sheet:
        case MapSheet():
            return compose_map(sheet)
        case EffectSheet():
            return compose_effects(sheet)
        case TornadoSheet():
            return compose_tornado(sheet)
        case ScatterSheet():
            return compose_scatter(sheet)
        case FrontSheet():
            return compose_front(sheet)
        case IndexSheet():
            return compose_indices(sheet)
