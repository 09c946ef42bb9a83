"""A comparison as text: who is who, what differs, numbers side by side, targets, bars."""

from collections.abc import Iterator, Sequence

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.comparing.comparison import Comparison, FrameVerdict
from frames.comparing.differences import Difference
from frames.comparing.rows import Row, TargetRow
from frames.lines import WIDTH, Line, heading, number, table, wrapped

SHORT = {
    "axial_N_per_mm": "axial",
    "shear_ap_N_per_mm": "shear, front-back",
    "shear_ml_N_per_mm": "shear, side-side",
    "bending_ap_Nm_per_deg": "bending, sagittal",
    "bending_ml_Nm_per_deg": "bending, coronal",
    "torsion_Nm_per_deg": "torsion",
    "closing_mm": "gap closes by",
    "shear_mm": "gap shifts by",
    "wire_tension_min_N": "slackest wire",
    "wire_peak_stress_MPa": "stress in wires",
    "pin_peak_stress_MPa": "stress in pins",
    "bone_share_percent": "bone's share",
}
"""Names of quantities that leave room for columns."""

_MOST_OTHERS = 3
"""So many frames stand beside the first one; more follow below."""
_BAR = 48
_MOST_DIFFERENCES = 30
_NAMED = 4  # so many parts are named where they differ alike


def comparison_lines(answer: Comparison) -> Iterator[Line]:
    """The whole comparison."""
    yield Line(f"{len(answer.frames)} frames side by side", "heading")
    for frame in answer.frames:
        yield from _who(frame)
    yield from heading("What differs between the case files")
    if not answer.differences:
        yield Line("  Nothing: they say the same.")
    for difference in answer.differences[:_MOST_DIFFERENCES]:
        yield from _differs(difference, answer.frames)
    if (more := len(answer.differences) - _MOST_DIFFERENCES) > 0:
        yield Line(f"  and {more} more, in the file of --json", "faint")
    if answer.solved:
        yield from _numbers("Stiffness at the gap, without load", answer, None)
    for load in dict.fromkeys(row.load for row in answer.rows if row.load is not None):
        yield from _numbers(f"Under {load!r}", answer, load)
    if answer.solved:
        first = answer.frames[0].letter
        yield Line(f"  Percent: against {first}. A dash: no value there.", "faint")
    if answer.targets:
        yield from heading("Targets, each judged for the frames whose case sets it")
        for target in answer.targets:
            yield from _target(target, answer.frames)
    if answer.solved:
        yield from _bars(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _who(frame: FrameVerdict) -> Iterator[Line]:
    said = f"{frame.name}: {frame.title.rstrip('.')}; {frame.verdict}"
    if frame.unsolved is not None:
        yield from wrapped(f"{said}. {frame.unsolved}", "     ", "bad", f"  {frame.letter}  ")
        return
    if frame.warnings:
        said += f"; warnings: {', '.join(frame.warnings)}"
    if frame.sticking:
        said += (
            "; something rubs in it (wires in the bone, fracture faces), and its stiffness without "
            "load is that of movements so small that it sticks"
        )
    yield from wrapped(said, "     ", "", first=f"  {frame.letter}  ")


def _differs(difference: Difference, frames: Sequence[FrameVerdict]) -> Iterator[Line]:
    kind = difference.kind.replace("_", " ")
    parts = [name.removeprefix(f"{kind} ") for name in difference.parts]
    named = ", ".join(parts[:_NAMED])
    if len(parts) > _NAMED:
        named += f" and {len(parts) - _NAMED} more"
    if difference.every and len(parts) > 1:
        named = f"(all {len(parts)})"
    what = f"{kind} {named}".rstrip()
    said = f"{what}, {difference.key}" if difference.key else what
    same: dict[str, list[str]] = {}
    for frame, value in zip(frames, difference.values, strict=True):
        same.setdefault("-" if value is None else value, []).append(frame.letter)
    told = "   ".join(f"{', '.join(who)}: {value}" for value, who in same.items())
    together = f"  {said:<40} {told}"
    if len(together) <= WIDTH:
        yield Line(together)
        return
    yield from wrapped(said, "    ", "", first="  ")
    yield from wrapped(told, "      ", "", first="      ")


def _numbers(title: str, answer: Comparison, load: str | None) -> Iterator[Line]:
    """Side by side; more columns than fit make more tables, each with the first frame again."""
    yield from heading(title)
    rows = [row for row in answer.rows if row.load == load]
    others = list(range(1, len(answer.frames)))
    if load is not None:  # frames without this load take no room
        others = [i for i in others if any(row.values[i] is not None for row in rows)] or others[:1]
    start = True
    while others:
        for count in range(min(_MOST_OTHERS, len(others)), 0, -1):
            block = list(table(_cells(rows, answer.frames, [0, *others[:count]]), header=1))
            if max(len(line.text) for line in block) <= WIDTH:
                break
        if not start:
            yield Line("")
        start = False
        yield from block
        others = others[count:]


def _cells(
    rows: Sequence[Row], frames: Sequence[FrameVerdict], shown: Sequence[int]
) -> list[list[str]]:
    head = ["", "unit", *[frames[i].letter for i in shown]]
    out = [head]
    for row in rows:
        cells = [_cell(row.values[i], row.change_percent[i] if i else None) for i in shown]
        out.append([SHORT[row.quantity], row.unit, *cells])
    return out


def _cell(value: float | None, percent: float | None) -> str:
    if value is None:
        return "-"
    return number(value) if percent is None else f"{number(value)} {percent_text(percent):>7}"


def percent_text(value: float) -> str:
    """A change in percent, at most 7 characters."""
    if abs(value) > 999.0:
        return ">999 %" if value > 0.0 else "<-999 %"
    if abs(value) < 0.05:
        return "same"
    return f"{value:+.1f} %" if abs(value) < 9.95 else f"{value:+.0f} %"


def _target(target: TargetRow, frames: Sequence[FrameVerdict]) -> Iterator[Line]:
    bounds = (("at least", target.at_least), ("at most", target.at_most))
    asked = " and ".join(f"{word} {v:g}" for word, v in bounds if v is not None)
    yield from wrapped(f"{target.label}: {asked} {target.unit}", "    ", "", first="  ")
    told, missed = [], False
    for frame, result in zip(frames, target.results, strict=True):
        if result is not None:
            missed = missed or not result.meets
            word = "met" if result.meets else "MISSED"
            told.append(f"{frame.letter}: {number(result.value)} {word}")
    mood = "bad" if missed else "good"
    yield from wrapped("    ".join(told), "      ", mood, first="      ")


def _bars(answer: Comparison) -> Iterator[Line]:
    """Of the stiffnesses; the longest bar of each is the stiffest frame."""
    yield from heading("Stiffness as bars")
    letters = max(len(frame.letter) for frame in answer.frames)
    for row in answer.rows:
        if row.load is not None:
            continue
        yield Line(f"  {SHORT[row.quantity]}, {row.unit}")
        most = max((abs(v) for v in row.values if v is not None), default=0.0)
        for frame, value in zip(answer.frames, row.values, strict=True):
            shown = "not solved" if value is None else number(value)
            length = 0 if value is None or most <= 0.0 else round(_BAR * abs(value) / most)
            yield Line(f"    {frame.letter:<{letters}} {'#' * length} {shown}")
