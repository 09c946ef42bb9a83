"""A search as text: what was found, its wires, its targets, what was looked at, what is proven."""

from collections.abc import Iterator

import numpy as np

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, number, table, wrapped
from frames.quantities import QUANTITIES
from frames.result_parts import TargetResult
from frames.searching.coarse import Stage
from frames.searching.found import Found
from frames.searching.frame import Candidate


def search_lines(found: Found) -> Iterator[Line]:
    """The whole answer."""
    yield Line(found.title, "heading")
    yield from _verdict(found)
    if found.best is not None:
        yield from heading("Its wires")
        yield from _wires(found.best)
        yield from heading("Its targets, by a check of the case as it is written")
        yield from _targets(found.best, found.tolerances)
        yield from _fits(found)
    if found.runners_up:
        yield from heading("Runners-up")
        for place, other in enumerate(found.runners_up, start=2):
            yield from _runner_up(place, other)
    yield from heading("What was looked at")
    yield from _stages(found)
    if found.left_out:
        yield Line("")
        keys = ", ".join(found.left_out)
        yield from wrapped(
            "Of the wires in the case, the frames do not keep, or keep from the first wire for "
            f"all: {keys}. Wires off the ring, on posts, and stoppers are not searched.",
            "  ",
            "warning",
            "  ",
        )
    yield from assumption_lines(found.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _verdict(found: Found) -> Iterator[Line]:
    best = found.best
    if found.stopped:
        had = "this is the best it had" if best else "it had none yet"
        yield from wrapped(f"Stopped before the end: {had}.", "", "warning")
    if best is None:
        if not found.stopped:
            yield Line("No frame of the grid can be solved.", "bad")
        return
    count = _count(len(best.wires))
    if found.meets:
        words = f"{count} meet all targets, with a smallest margin of {_signed(best)}"
        yield from wrapped(f"{words}{_after(found)}.", "", "good")
        return
    words = f"No frame was found that meets all targets. The best has {count} and misses"
    short = -best.worst_case_percent
    yield from wrapped(f"{words} a target by {short:.1f} % of its bound{_after(found)}.", "", "bad")


def _after(found: Found) -> str:
    return " after all that the tolerances can take" if found.tolerances else ""


def _signed(best: Candidate) -> str:
    return f"{best.worst_case_percent:.1f} % of its bound"


def _count(wires: int) -> str:
    return f"{wires} wire" if wires == 1 else f"{wires} wires"


def _wires(best: Candidate) -> Iterator[Line]:
    rows = [["", "ring", "face", "bearing", "diameter", "tension"]]
    for w in best.wires:
        rows.append(
            [
                w.name,
                w.ring,
                w.face,
                f"{w.bearing_deg:.0f}°",
                f"{w.diameter_mm:g} mm",
                f"{w.tension_kgf:.0f} kgf",
            ]
        )
    yield from table(rows, header=1)


def _targets(best: Candidate, tolerances: bool) -> Iterator[Line]:
    for target in best.targets:
        mood = "good" if target.meets else "bad"
        yield from wrapped(_told(target), "      ", mood, "  ")
    if tolerances:
        yield from wrapped(
            f"Smallest margin as planned {best.margin_percent:.1f} %; with all tolerances at their "
            f"ends in the bad direction {best.worst_case_percent:.1f} %.",
            "  ",
            "",
            "  ",
        )


def _told(target: TargetResult) -> str:
    unit = QUANTITIES[target.quantity].unit
    bounds = (("at least", target.at_least), ("at most", target.at_most))
    asked = " and ".join(f"{word} {v:g}" for word, v in bounds if v is not None)
    word = "met" if target.meets else "MISSED"
    return f"{target.label}: {number(target.value)} {unit}, {asked} {unit}: {word}"


def _fits(found: Found) -> Iterator[Line]:
    best = found.best
    assert best is not None
    if not best.misfits:
        yield Line("  It fits: tautring fit finds nothing against it.", "good")
        return
    always = "whatever the wires: " if set(best.misfits) <= set(found.always) else ""
    yield Line(f"  It does not fit, {always}".rstrip(), "bad")
    for words in best.misfits:
        yield from wrapped(words, "    ", "bad", "    ")


def _runner_up(place: int, other: Candidate) -> Iterator[Line]:
    rings = dict.fromkeys(w.ring for w in other.wires)
    laid = "; ".join(
        f"{ring} "
        + " and ".join(f"{w.bearing_deg:.0f}° {w.face}" for w in other.wires if w.ring == ring)
        for ring in rings
    )
    pulls = sorted({w.tension_kgf for w in other.wires})
    pull = f"{pulls[0]:.0f}" if len(pulls) == 1 else f"{pulls[0]:.0f} to {pulls[-1]:.0f}"
    diameter = f"{other.wires[0].diameter_mm:g} mm"
    yield from wrapped(
        f"{_count(len(other.wires))} of {diameter} at {pull} kgf, smallest margin "
        f"{other.worst_case_percent:.1f} %: {laid}",
        "     ",
        "",
        f"  {place}. ",
    )


def _stages(found: Found) -> Iterator[Line]:
    thick = sorted({s.diameter_mm for s in found.settings})
    wires = "; ".join(
        f"of {d:g} mm at {_list([s.tension_kgf for s in found.settings if s.diameter_mm == d])} kgf"
        for d in thick
    )
    yield from wrapped(
        f"Bearings every {found.step_deg}° where fit allows them, wires of a ring crossing at "
        f"{found.crossing_deg:g}° or more; wires {wires}. The best few of the grid are then "
        "refined to whole degrees and kgf.",
        "  ",
        "",
        "  ",
    )
    before = ", before tolerances" if found.tolerances else ""
    rows = [["", "frames", "solved", f"best margin on the grid{before}"]]
    rows += [[_count(s.wires), str(s.frames), str(s.solved), _margin(s.margin)]
             for s in found.stages]  # fmt: skip
    if found.stages:
        yield from table(rows, header=1)
    yield from _proven(found)


def _proven(found: Found) -> Iterator[Line]:
    if found.stopped or found.best is None or not found.stages:
        return
    count = len(found.best.wires)
    fewer = [s for s in found.stages if s.wires < count] if found.meets else list(found.stages)
    if not fewer and found.meets:
        words = "Fewer wires cannot hold both fragments."
    elif not fewer:
        return
    elif all(s.complete for s in fewer):
        which = "with fewer wires " if found.meets else ""
        words = (
            f"Every frame of the grid {which}was solved at every tension and diameter, mirror "
            "images once: proven on this grid. Between its bearings a little more may be had."
        )
    else:
        words = _by_estimate(fewer, found.meets)
    yield from wrapped(words, "  ", "", "  ")


def _by_estimate(fewer: list[Stage], meets: bool) -> str:
    estimated = [s for s in fewer if not s.complete]
    off = [s.estimate_off for s in estimated if s.estimate_off is not None]
    which = "that fewer wires do not do" if meets else "that no frame meets the targets"
    words = (
        "Where not all were solved, all were estimated half by half (one fragment's wires at a "
        "time) and the best by estimate were solved"
    )
    if off:
        words += f"; the estimates were off by up to {100.0 * max(off):.1f} % of a bound"
    if any(s.drawn for s in estimated):
        words += "; and of halves too many to solve, some were drawn by chance (--seed)"
    return f"{words}. It is therefore likely, but not proven, {which}."


def _margin(share: float) -> str:
    return f"{100.0 * share:+.1f} %" if np.isfinite(share) else "none can be solved"


def _list(values: list[float]) -> str:
    told = [f"{v:g}" for v in values]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"
