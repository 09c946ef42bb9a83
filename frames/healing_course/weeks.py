"""One week: the frame with the callus of that week, tried under loads along the bone."""

from dataclasses import dataclass

from fem import FemError, MechanismError
from frames.freedom import explained
from frames.gap import gap_compliance, named_stiffnesses
from frames.healing_course.allowed import allowed_load
from frames.healing_course.bridged import Bridged
from frames.healing_course.callus import callus_bending, modulus, with_callus
from frames.healing_course.trials import Trials
from frames.healing_course.yielding import first_yield
from frames.pretension import Pretensioned
from frames.sizes import STANDARD_GRAVITY
from frames.supports import held_at_ankle

TEST_LOAD_N = 200.0


@dataclass(frozen=True)
class Week:
    """One week. E_MPa of callus; bound_mm: movement across the fracture plane that is not
    exceeded; allowed_N along the bone, at_least: the bound is not reached at the largest load
    tried; unstable: more load has no equilibrium; kg and body_weight_percent: the same on the
    scales; movement_mm at the cortex and strain_percent there; wire_peak_stress_MPa at that load;
    yield_N: load from which the steel of yield_part is past its yield stress, None when it is not
    up to allowed_N; stiffness at the gap for small loads, bending in the sagittal (ap) and coronal
    (ml) plane; frame_share_percent and bone_share_percent of a static test load, None when that
    has no equilibrium; callus_Nm_per_deg: bending stiffness with the frame slackened; steps: of
    this leg since the operation."""

    week: float
    E_MPa: float
    bound_mm: float
    allowed_N: float
    at_least: bool
    unstable: bool
    allowed_kg: float
    body_weight_percent: float | None
    movement_mm: float
    strain_percent: float
    wire_peak_stress_MPa: float | None
    yield_N: float | None
    yield_part: str | None
    axial_N_per_mm: float
    bending_ap_Nm_per_deg: float
    bending_ml_Nm_per_deg: float
    torsion_Nm_per_deg: float
    frame_share_percent: float | None
    bone_share_percent: float | None
    callus_Nm_per_deg: float
    steps: float


@dataclass(frozen=True)
class Asked:
    """What is asked in one week; width_mm of the gap across the fracture plane; largest_N: no
    larger load is tried; weight_N of the body, None when it is not known; growth: by how much more
    than straight the load is guessed to grow until the bound is reached."""

    week: float
    bound_mm: float
    width_mm: float
    largest_N: float
    weight_N: float | None
    growth: float


def week_of(frame: Bridged, asked: Asked) -> Week:
    """Raises ``FemError`` when the frame cannot be solved without load."""
    case = frame.case
    E = modulus(case.healing, asked.week)
    pre = frame.with_modulus(E)
    stiffness = _stiffness(pre)
    trials = Trials(pre, case.bone)
    guess = min(asked.growth * stiffness["axial_N_per_mm"] * asked.bound_mm, asked.largest_N)
    trials.prepare([TEST_LOAD_N, guess] if guess != TEST_LOAD_N else [guess])
    found = allowed_load(trials.movement, asked.bound_mm, asked.largest_N, guess)
    stress, yields = None, None
    if found.load_N > 0.0:
        wires = trials.result(found.load_N).wires
        stress = max((w.peak_stress_MPa for w in wires), default=None)
        yields = first_yield(pre, trials.at(found.load_N))
    bone_share = _bone_share(trials)
    return Week(
        week=asked.week,
        E_MPa=E,
        bound_mm=asked.bound_mm,
        allowed_N=found.load_N,
        at_least=found.capped,
        unstable=found.limited,
        allowed_kg=found.load_N / STANDARD_GRAVITY,
        body_weight_percent=_percent(found.load_N, asked.weight_N),
        movement_mm=found.movement_mm,
        strain_percent=100.0 * found.movement_mm / asked.width_mm,
        wire_peak_stress_MPa=stress,
        yield_N=None if yields is None else yields.load_N,
        yield_part=None if yields is None else yields.part,
        axial_N_per_mm=stiffness["axial_N_per_mm"],
        bending_ap_Nm_per_deg=stiffness["bending_ap_Nm_per_deg"],
        bending_ml_Nm_per_deg=stiffness["bending_ml_Nm_per_deg"],
        torsion_Nm_per_deg=stiffness["torsion_Nm_per_deg"],
        frame_share_percent=None if bone_share is None else 100.0 - bone_share,
        bone_share_percent=bone_share,
        callus_Nm_per_deg=callus_bending(with_callus(case, E).bone),
        steps=case.healing.steps_per_day * 7.0 * asked.week,
    )


def _percent(part: float, whole: float | None) -> float | None:
    return None if whole is None else 100.0 * part / whole


def _stiffness(pre: Pretensioned) -> dict[str, float]:
    held = held_at_ankle(pre.parts, pre.system)
    try:
        C = gap_compliance(pre.parts, pre.system, pre.response.tangent, "with callus", held)
    except MechanismError as error:
        raise explained(error, pre.parts) from error
    return named_stiffnesses(C)


def _bone_share(trials: Trials) -> float | None:
    try:
        return trials.result(TEST_LOAD_N).bone_share_percent
    except FemError:
        return None
