"""Distributions by their quantile (inverse distribution) functions.

A sample of a quantity with distribution function F is F⁻¹(u) of points u spread evenly over (0, 1):
random, Latin hypercube and Sobol points alike.

uniform      F⁻¹(u) = low + u w;  w = high - low;  sd = w/√12
triangular   with p = mode - low, q = high - mode, w = p + q:
             F⁻¹(u) = low + √(u w p) up to u = p/w, then high - √((1 - u) w q)
             mean (low + mode + high)/3;  sd² = (p² + p q + q²)/18
normal       mean + sd Φ⁻¹(u); between bounds the part outside is cut and the rest scaled up:
             Φ⁻¹(Φ(a) + u (Φ(b) - Φ(a))) with a, b the bounds in standard deviations

Source: Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions, 2nd ed., Wiley 1994-95,
§13.10.1 (truncated normal), ch. 26 (uniform, triangular); from memory.  Tested against scipy.stats.
"""

from dataclasses import dataclass
from math import inf, isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Uniform:
    """Every value between low and high as likely as any other."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, "low", "high")
        if self.low > self.high:
            raise ValueError(f"low ({self.low:g}) lies above high ({self.high:g})")

    @property
    def mean(self) -> float:
        return 0.5 * (self.low + self.high)

    @property
    def sd(self) -> float:
        return (self.high - self.low) / sqrt(12.0)

    def quantile(self, u: ArrayLike) -> Floats:
        """Values below which the shares u, (...) in 0..1, of all lie; same shape as u."""
        return self.low + _shares(u) * (self.high - self.low)


@dataclass(frozen=True)
class Triangular:
    """Most likely at the mode, falling in straight lines to nothing at low and high."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, "low", "mode", "high")
        if not self.low <= self.mode <= self.high:
            raise ValueError(
                f"{self.low:g}, {self.mode:g}, {self.high:g}: low, mode, high must rise"
            )

    @property
    def mean(self) -> float:
        return (self.low + self.mode + self.high) / 3.0

    @property
    def sd(self) -> float:
        below, above = self.mode - self.low, self.high - self.mode
        return sqrt((below * below + below * above + above * above) / 18.0)

    def quantile(self, u: ArrayLike) -> Floats:
        """Values below which the shares u, (...) in 0..1, of all lie; same shape as u."""
        u = _shares(u)
        below, above = self.mode - self.low, self.high - self.mode
        width = below + above
        rising = self.low + np.sqrt(u * width * below)
        falling = self.high - np.sqrt((1.0 - u) * width * above)
        return np.where(u * width <= below, rising, falling)


@dataclass(frozen=True)
class Normal:
    """Gauss's bell. low, high: bounds beyond which it is cut, None for none; mean and sd are those
    of the whole bell, before it is cut."""

    mean: float
    sd: float
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        _finite(self, "mean", "sd")
        if self.sd < 0.0:
            raise ValueError(f"a standard deviation of {self.sd:g} is negative")
        low, high = self._bounds
        if low > high:
            raise ValueError(f"low ({low:g}) lies above high ({high:g})")
        if not low <= self.mean <= high and self.share_inside == 0.0:
            raise ValueError(
                f"nothing of a normal distribution of mean {self.mean:g} and standard deviation "
                f"{self.sd:g} lies between {low:g} and {high:g}"
            )

    def quantile(self, u: ArrayLike) -> Floats:
        """Values below which the shares u, (...) in 0..1, of all lie; same shape as u."""
        u = _shares(u)
        if self.sd == 0.0:
            return np.full_like(u, self.mean)
        low, high = self._bounds
        a, b = (low - self.mean) / self.sd, (high - self.mean) / self.sd
        # Φ keeps its digits in its lower tail only: a cut in the upper half is taken mirrored
        if a > 0.0:
            z = -ndtri(ndtr(-b) + (1.0 - u) * (ndtr(-a) - ndtr(-b)))
        else:
            z = ndtri(ndtr(a) + u * (ndtr(b) - ndtr(a)))
        # rounding may pass a bound by its last digit
        return np.clip(self.mean + self.sd * z, low, high)

    @property
    def _bounds(self) -> tuple[float, float]:
        return -inf if self.low is None else self.low, inf if self.high is None else self.high

    @property
    def share_inside(self) -> float:
        """Of the whole bell between the bounds."""
        if self.sd == 0.0:
            return 0.0
        low, high = self._bounds
        a, b = (low - self.mean) / self.sd, (high - self.mean) / self.sd
        return float(ndtr(-a) - ndtr(-b) if a > 0.0 else ndtr(b) - ndtr(a))


Distribution = Uniform | Triangular | Normal


def _finite(distribution: object, *names: str) -> None:
    for name in names:
        value = getattr(distribution, name)
        if not isfinite(value):
            raise ValueError(f"{name} must be a finite number, not {value}")


def _shares(u: ArrayLike) -> Floats:
    return np.asarray(u, dtype=np.float64)
