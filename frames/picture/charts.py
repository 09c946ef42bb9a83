"""What the charts of a study show: plain data, each drawn by a file of its own.

title : above. note : below, what a reader has to know; "" for none. Labels hold their unit.
"""

from dataclasses import dataclass

from frames.picture.scene import Floats


@dataclass(frozen=True)
class Axis:
    """Values along an axis. at : positions; words : what stands at 0, 1, ...; None for numbers."""

    label: str
    at: Floats
    words: tuple[str, ...] | None = None


@dataclass(frozen=True)
class MapSheet:
    """An output over two parameters. smooth : levels are numbers close enough for contours, else
    cells are drawn. x, y : the levels, of cells their words. mean : (n_y, n_x), NaN without value.
    designs, missing : (n_y, n_x) counts."""

    title: str
    x: Axis
    y: Axis
    value: str
    mean: Floats
    designs: Floats
    missing: Floats
    smooth: bool
    note: str = ""


@dataclass(frozen=True)
class EffectPanel:
    """One parameter. means, errors : at each level, NaN where unknown. remark : above the panel."""

    x: Axis
    means: Floats
    errors: Floats
    remark: str


@dataclass(frozen=True)
class EffectSheet:
    """Main effects on one output; mean : of all designs."""

    title: str
    value: str
    mean: float
    panels: tuple[EffectPanel, ...]
    note: str = ""


@dataclass(frozen=True)
class TornadoBar:
    """A parameter. low, high : lowest and highest mean; at_low, at_high : its values there; rises :
    the highest mean stands at the larger value, None for words."""

    label: str
    low: float
    high: float
    at_low: str
    at_high: str
    rises: bool | None


@dataclass(frozen=True)
class TornadoSheet:
    """Bars, longest first."""

    title: str
    value: str
    mean: float
    bars: tuple[TornadoBar, ...]
    note: str = ""


@dataclass(frozen=True)
class ScatterSheet:
    """Every row over every column, and rows over each other; all values (n,)."""

    title: str
    columns: tuple[Axis, ...]
    rows: tuple[Axis, ...]
    note: str = ""


@dataclass(frozen=True)
class FrontSheet:
    """Designs by pairs of aims. labels : of the aims; values : (n, n_aims); on : (n,) bool; more :
    for each aim, larger is better."""

    title: str
    labels: tuple[str, ...]
    more: tuple[bool, ...]
    values: Floats
    on: Floats
    note: str = ""


@dataclass(frozen=True)
class IndexBar:
    """Indices of a parameter: value, lower, upper bound."""

    label: str
    first: tuple[float, float, float]
    total: tuple[float, float, float]


@dataclass(frozen=True)
class IndexSheet:
    """Bars, largest total index first."""

    title: str
    bars: tuple[IndexBar, ...]
    note: str = ""


Sheet = MapSheet | EffectSheet | TornadoSheet | ScatterSheet | FrontSheet | IndexSheet
