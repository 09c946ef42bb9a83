"""Stages of tensioning as results, with the tap tones that can be heard at each."""

import numpy as np

from fem.algebra import Array
from frames.construct import Construct
from frames.result_parts import StageResult, StageWire
from frames.staging import Stage
from frames.tones import leg_tones


def stage_results(place: Construct, stages: tuple[Stage, ...]) -> tuple[StageResult, ...]:
    """Every stage; tones of all wires with the tensioners on and after they came off."""
    names = [w.wire.name for w in place.wires]
    out = []
    for stage in stages:
        rows = [names.index(n) for n in stage.wires]
        out.append(
            StageResult(
                tensioned=stage.wires,
                dial_N=tuple((_given(s), _given(e)) for s, e in stage.dial[rows].tolist()),
                pulled=_wires(place, stage.pulled_spans),
                left=_wires(place, stage.left_spans),
                take_up=stage.take_up,
            )
        )
    return tuple(out)


def _wires(place: Construct, spans: Array) -> tuple[StageWire, ...]:
    legs = spans[:, [0, 2]]
    tones = leg_tones(place, legs, in_bone=spans[:, 1])
    return tuple(
        StageWire(w.wire.name, (float(t[0]), float(t[1])), (float(f[0]), float(f[1])))
        for w, t, f in zip(place.wires, legs, tones, strict=True)
    )


def _given(dial: float) -> float | None:
    return None if np.isnan(dial) else dial
