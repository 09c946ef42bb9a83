"""How a parameter's value follows from a number u, evenly spread over 0 to 1.

A quantile function x = F⁻¹(u):

    uniform      low + u (high - low)
    triangular   low + √(u (h - l)(m - l)) below the mode m, high - √((1 - u)(h - l)(h - m)) above
    normal       mean + sd Φ⁻¹(Φ(a) + u (Φ(b) - Φ(a))),  a and b the limits in sds from the mean
    levels       the ⌊u k⌋-th of k
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri

from fem.algebra import Array

END = 2.0**-33
"""Nearest that u comes to 0 and 1 under a normal distribution, whose values there are infinite."""


@dataclass(frozen=True)
class Levels:
    """A list of values, each as likely as the others."""

    values: tuple[Any, ...]

    def at(self, u: Array) -> list[Any]:
        """Values at u (n,)."""
        number = np.minimum((u * len(self.values)).astype(np.int64), len(self.values) - 1)
        return [self.values[k] for k in number.tolist()]

    def probes(self) -> tuple[Any, ...]:
        """Values that must do for the key they are set on."""
        return self.values


@dataclass(frozen=True)
class Uniform:
    """Even between low and high."""

    low: float
    high: float

    def at(self, u: Array) -> list[Any]:
        """Values at u (n,)."""
        found: list[Any] = (self.low + u * (self.high - self.low)).tolist()
        return found

    def probes(self) -> tuple[Any, ...]:
        """Values that must do for the key they are set on."""
        return (self.low, self.high)


@dataclass(frozen=True)
class Triangular:
    """From low over the likeliest value, mode, to high."""

    low: float
    mode: float
    high: float

    def at(self, u: Array) -> list[Any]:
        """Values at u (n,)."""
        span, rise, fall = self.high - self.low, self.mode - self.low, self.high - self.mode
        up = self.low + np.sqrt(u * span * rise)
        down = self.high - np.sqrt((1.0 - u) * span * fall)
        found: list[Any] = np.where(u * span < rise, up, down).tolist()
        return found

    def probes(self) -> tuple[Any, ...]:
        """Values that must do for the key they are set on."""
        return (self.low, self.mode, self.high)


@dataclass(frozen=True)
class Normal:
    """Normal, cut off at low and high where those are finite."""

    mean: float
    sd: float
    low: float = -np.inf
    high: float = np.inf

    @property
    def kept(self) -> float:
        """Share of the whole distribution that lies between low and high."""
        a, b = ndtr((np.array([self.low, self.high]) - self.mean) / self.sd)
        return float(b - a)

    def at(self, u: Array) -> list[Any]:
        """Values at u (n,)."""
        a, b = ndtr((np.array([self.low, self.high]) - self.mean) / self.sd)
        within = np.clip(a + u * (b - a), END, 1.0 - END)
        found = np.clip(self.mean + self.sd * ndtri(within), self.low, self.high)
        values: list[Any] = found.tolist()
        return values

    def probes(self) -> tuple[Any, ...]:
        """Values that must do for the key they are set on."""
        return tuple(v for v in (self.low, self.mean, self.high) if np.isfinite(v))


Draw = Levels | Uniform | Triangular | Normal
