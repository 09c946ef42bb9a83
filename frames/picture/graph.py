"""What a figure shows: plain data, drawn by ``frames.picture.curves``."""

from collections.abc import Sequence
from dataclasses import dataclass

from frames.lines import number


@dataclass(frozen=True)
class Curve:
    """label; x and y (same length); dashed: the line is broken."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    dashed: bool = False


@dataclass(frozen=True)
class Panel:
    """One pair of axes. x, y : quantity and unit; curves; band : (low, high) of y that a source
    gives, shaded, and its label; from_zero : y begins at zero; log_x : logarithmic x."""

    x: str
    y: str
    curves: Sequence[Curve]
    band: tuple[float, float, str] | None = None
    from_zero: bool = True
    log_x: bool = False


@dataclass(frozen=True)
class Graph:
    """Panels side by side, one or two; about : what they show, for readers who do not see them."""

    about: str
    panels: Sequence[Panel]

    def in_words(self) -> str:
        """The same in words: what it shows, then every curve with its points."""
        lines = [self.about]
        for panel in self.panels:
            lines.append(f"{_line(panel.y)} against {_line(panel.x)}")
            for curve in panel.curves:
                points = (
                    f"({number(x)}, {number(y)})" for x, y in zip(curve.x, curve.y, strict=True)
                )
                lines.append(f"{curve.label or 'curve'}: {' '.join(points)}")
        return "; ".join(lines)


def _line(label: str) -> str:
    return " ".join(label.split())
