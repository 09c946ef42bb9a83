"""What a sheet of bars shows: plain data, drawn by ``frames.picture.bars``."""

from dataclasses import dataclass


@dataclass(frozen=True)
class BarPanel:
    """One quantity. title: with its unit; values: one for each frame, None where it has none;
    remarks: written behind each value."""

    title: str
    values: tuple[float | None, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class BarSheet:
    """heading; frames: letter and name of each, in the order of all values; sections: heading and
    panels, three to a row; note: below."""

    heading: str
    frames: tuple[tuple[str, str], ...]
    sections: tuple[tuple[str, tuple[BarPanel, ...]], ...]
    note: str
