"""The answer of a search."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.assumptions import Assumption
from frames.caution import CAUTION
from frames.lines import Line
from frames.searching.coarse import Stage
from frames.searching.frame import Candidate
from frames.searching.layout import Setting


@dataclass(frozen=True)
class Found:
    """best and runners_up: confirmed frames, best first, all with the same number of wires where
    the targets are met; best is None when no frame could be solved. stages: what was looked at for
    every number of wires. settings: diameters and tensions of the grid. always:
    what does not fit whatever the wires. left_out: keys of the case's wires that the frames do not
    have, or all have as its first wire. tolerances: the case has some. stopped: it was
    interrupted, and this is what it had by then."""

    title: str
    seed: int
    step_deg: int
    crossing_deg: float
    settings: tuple[Setting, ...]
    stages: tuple[Stage, ...]
    best: Candidate | None
    runners_up: tuple[Candidate, ...]
    always: tuple[str, ...]
    left_out: tuple[str, ...]
    tolerances: bool
    stopped: bool
    assumptions: tuple[Assumption, ...]

    @property
    def meets(self) -> bool:
        """The best frame meets all targets."""
        return self.best is not None and self.best.meets

    @property
    def good(self) -> bool:
        """It meets all targets and fits."""
        return self.meets and self.best is not None and not self.best.misfits

    @property
    def proven(self) -> bool:
        """On the grid, that fewer wires do not do: every frame with fewer wires was solved and
        missed a target."""
        if self.best is None or self.stopped or not self.meets:
            return False
        fewer = [s for s in self.stages if s.wires < len(self.best.wires)]
        return all(s.complete and s.margin < 0.0 for s in fewer)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {
            "format": "tautring search",
            "version": 1,
            "title": self.title,
            "seed": self.seed,
            "stopped": self.stopped,
            "bearing_step_deg": self.step_deg,
            "crossing_deg": self.crossing_deg,
            "settings_of_the_grid": [asdict(s) for s in self.settings],
            "fewer_wires_ruled_out_on_the_grid": self.proven,
            "numbers_of_wires": [
                {
                    "name": f"{s.wires} wires",
                    "wires": s.wires,
                    "frames_on_the_grid": s.frames,
                    "frames_solved": s.solved,
                    "all_solved": s.complete,
                    "some_left_out_by_chance": s.drawn,
                    "best_margin_percent": _percent(s.margin),
                    "estimates_off_percent": _percent(s.estimate_off),
                }
                for s in self.stages
            ],
            "meets": self.meets,
            "with_tolerances": self.tolerances,
            "best": None if self.best is None else self.best.to_dict(),
            "runners_up": [c.to_dict() for c in self.runners_up],
            "does_not_fit_whatever_the_wires": list(self.always),
            "not_kept_of_the_wires": list(self.left_out),
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.searching.text import search_lines

        return search_lines(self)


def _percent(share: float | None) -> float | None:
    return None if share is None or not np.isfinite(share) else 100.0 * float(share)
