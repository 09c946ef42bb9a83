"""Which olive wire draws a fragment where it should go, with what pull, and what remains.

The fragment that stays is taken to be held by all its wires, tensioned before. Half-pins of the
fragment that is to move are taken to come after, and so do nut turns after tensioning; the bone
ends are taken not to touch.
"""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from fem import FemError, MechanismError
from frames.assumptions import Assumption, assumed
from frames.casefile import Case, CaseError, Problem, case_from_dict
from frames.casefile.correction import Correction
from frames.caution import CAUTION
from frames.correcting.directions import (
    MOST_OFF_DEG,
    Way,
    bearing_of,
    side_words,
    ways,
    wires_of,
)
from frames.correcting.drawing import Drawn, draw, not_drawn
from frames.correcting.sequence import Bench, bench
from frames.freedom import explained
from frames.lines import Line


@dataclass(frozen=True)
class Wanted:
    """One correction: fragment, the way it has to go, how far; ``wires`` best first; out_of_reach:
    why no wire can do it, "" when some are tried."""

    name: str
    fragment: str
    towards_bearing_deg: float
    by_mm: float
    soft_tissue_N_per_mm: float
    left_out: tuple[str, ...]
    wires: tuple[Drawn, ...]
    out_of_reach: str


@dataclass(frozen=True)
class Corrections:
    """All corrections asked for."""

    title: str
    corrections: tuple[Wanted, ...]
    assumptions: tuple[Assumption, ...]

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring correction", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.correcting.text import correction_lines

        return correction_lines(self)


def correction(
    case: Case, wanted: Correction | None = None, say: Callable[[str], None] | None = None
) -> Corrections:
    """Every wire tried for every [[correction]] of the case, or for ``wanted`` in their place.

    Raises ``CaseError`` where nothing is asked for, where callus has grown, and ``FemError`` when
    the frame cannot be solved.
    """
    asked = case.correction if wanted is None else (wanted,)
    if not asked:
        text = "nothing is asked for: write a [[correction]], or use --fragment, --towards and --by"
        raise CaseError([Problem("correction", text)])
    if case.bone.callus is not None:
        text = "holds the fragments: an olive wire draws a fragment before callus grows; take the "
        raise CaseError([Problem("bone.callus", f"{text}table out")])
    found = tuple(_one(case, c, say or (lambda _words: None)) for c in asked)
    return Corrections(case.case.title, found, _assumptions(case, asked))


def _one(case: Case, wanted: Correction, say: Callable[[str], None]) -> Wanted:
    own = [w.name for w in wires_of(case, wanted.fragment)]
    tried = ways(case, wanted)
    bare, left_out = _without_pins(case, wanted.fragment)
    drawn = [not_drawn(w, w.refused) for w in tried if w.refused]
    open_ = [w for w in tried if not w.refused]
    why = "" if open_ else _out_of_reach(wanted, tried)
    if open_:
        work = bench(bare, wanted.soft_tissue_N_per_mm)
        drawn += [_tried(work, wanted, way, own, say) for way in open_]
    return Wanted(
        wanted.name,
        wanted.fragment,
        bearing_of(wanted),
        wanted.by_mm,
        wanted.soft_tissue_N_per_mm,
        left_out,
        tuple(sorted(drawn, key=_rank)),
        why,
    )


def _tried(
    work: Bench, wanted: Correction, way: Way, own: list[str], say: Callable[[str], None]
) -> Drawn:
    try:
        return draw(work, wanted, way, own, say)
    except MechanismError as error:
        return not_drawn(way, str(explained(error, work.parts)))
    except FemError as error:
        return not_drawn(way, f"no equilibrium is found: {error}")


def _rank(drawn: Drawn) -> tuple[int, float]:
    """Those that get there first, then those that pass a limit later, then how little remains."""
    remains = drawn.remains_mm if drawn.remains_mm is not None else 0.0
    if drawn.reached:
        return (1 if drawn.later else 0), remains
    if drawn.moved is not None:
        return 2, remains
    return (4 if drawn.way.refused else 3), drawn.way.off_deg


def _out_of_reach(wanted: Correction, tried: list[Way]) -> str:
    if not tried:
        return f"The {wanted.fragment} fragment has no wire; an olive wire has to be laid first."
    towards = bearing_of(wanted)
    nearest = min(tried, key=lambda w: w.off_deg)
    need = (
        f"What is needed is an olive wire along bearing {towards % 180.0:.0f}°, its bead on the "
        f"{side_words(towards + 180.0)} side, pulled on the {side_words(towards)} side."
    )
    if nearest.off_deg <= MOST_OFF_DEG:
        return f"No wire of the {wanted.fragment} fragment can be used as an olive wire. {need}"
    return (
        f"No wire of the {wanted.fragment} fragment points within {MOST_OFF_DEG:.0f}° of that way; "
        f"the nearest, {nearest.wire}, is {nearest.off_deg:.0f}° off and would move the bone more "
        f"across than along. {need}"
    )


def _without_pins(case: Case, fragment: str) -> tuple[Case, tuple[str, ...]]:
    """The case under the general law with elastic wires, without half-pins in the fragment that
    moves; their names."""
    from frames.construct import construct

    pins = tuple(p.pin.name for p in construct(case).pins if p.fragment == f"{fragment} fragment")
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    raw["model"] = {
        **raw.get("model", {}),
        "pretension": "dialled",
        "wire_steel": "elastic",
    }
    raw["pin"] = [p for p in raw.get("pin", []) if p["name"] not in pins]
    for key in ("load", "history", "target", "correction"):
        raw.pop(key, None)
    return case_from_dict(raw), pins


def _assumptions(case: Case, asked: tuple[Correction, ...]) -> tuple[Assumption, ...]:
    known = assumed(case, "bone", "ring", "rod", "wire", "model")
    found = [a for a in known if not a.key.startswith("bone.contact")]
    if any("soft_tissue_N_per_mm" not in c.model_fields_set for c in asked):
        field = Correction.model_fields["soft_tissue_N_per_mm"]
        extra: Any = field.json_schema_extra
        count = sum("soft_tissue_N_per_mm" not in c.model_fields_set for c in asked)
        found.append(
            Assumption("correction.soft_tissue_N_per_mm", "0.0", str(extra["source"]), count)
        )
    found += [
        Assumption(what, how, "own choice, no source")
        for what, how in (
            ("the other fragment", "held by all its wires, tensioned as in the case before"),
            ("bone ends", "do not touch while the fragment is drawn"),
            ("wires that come later", "laid straight through the bone where it then is"),
        )
    ]
    return tuple(found)
