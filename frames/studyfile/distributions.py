"""What a parameter's values are drawn from: a list, or a law of chance (``frames.distributions``).

Each gives the value that belongs to a number u, evenly spread over 0 to 1: of a list of k the
⌊u k⌋-th, of a law its quantile.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from fem.algebra import Array
from frames.distributions import Distribution, Normal

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
class Drawn:
    """Values by a law of chance."""

    law: Distribution

    def at(self, u: Array) -> list[Any]:
        """Values at u (n,)."""
        if isinstance(self.law, Normal):
            u = np.clip(u, END, 1.0 - END)
        values: list[Any] = self.law.quantile(u).tolist()
        return values

    def probes(self) -> tuple[Any, ...]:
        """Values that must do for the key they are set on."""
        named = (getattr(self.law, name, None) for name in ("low", "mode", "high"))
        middle = (self.law.mean,) if isinstance(self.law, Normal) else ()
        return (*(v for v in named if v is not None), *middle)


Draw = Levels | Drawn
