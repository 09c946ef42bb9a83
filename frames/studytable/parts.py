"""What the answer from a table is made of: frozen numbers of one output."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Level:
    """A level or bin of a parameter. label: its value; value: as a number, None for words; mean: of
    the output there, None without designs; error: standard error of the mean, how far the other
    parameters leave it open (these designs have no chance in them); designs: how many."""

    label: str
    value: float | None
    mean: float | None
    error: float | None
    designs: int


@dataclass(frozen=True)
class MainEffect:
    """What one parameter does to one output.

    effect : highest less lowest mean; negative when the lowest mean stands at the larger value;
    without sign (positive) for words. steady : the means rise or fall throughout. share : of the
    variance, first order. low, high : places in levels of the lowest and highest mean. chance : of
    sampled designs, their bins differ no more than chance alone would make them (F test, 95 %).
    """

    name: str
    levels: tuple[Level, ...]
    effect: float
    steady: bool
    share: float
    low: int
    high: int
    chance: bool = False


@dataclass(frozen=True)
class Interaction:
    """Two parameters whose effects do not add up. share : of the variance. chance : of
    sampled designs, no more than chance makes it in one of all pairs (F test, 95 % for all)."""

    first: str
    second: str
    share: float
    chance: bool = False


@dataclass(frozen=True)
class Index:
    """Sobol indices of a parameter with their bounds."""

    name: str
    first: float
    first_low: float
    first_high: float
    total: float
    total_low: float
    total_high: float


@dataclass(frozen=True)
class OutputEffects:
    """One output. designs : how many it was computed from; missing: how many more would count but
    have no value. lowest, highest, mean, sd : over the designs. kind : "grid", "bins" or "none",
    how effects were found; why_not: in words when none were. main, interactions, indices : largest
    share (total index) first. samples, dropped : base samples of the indices."""

    name: str
    label: str
    unit: str
    designs: int
    missing: int
    lowest: float | None
    highest: float | None
    mean: float | None
    sd: float | None
    kind: str
    why_not: str
    main: tuple[MainEffect, ...] = ()
    interactions: tuple[Interaction, ...] = ()
    indices: tuple[Index, ...] = ()
    samples: int = 0
    dropped: int = 0

    @property
    def text(self) -> str:
        """Label and unit."""
        return f"{self.label} ({self.unit})" if self.unit else self.label

    def of(self, name: str) -> MainEffect:
        """Main effect of the parameter of this name."""
        return next(m for m in self.main if m.name == name)
