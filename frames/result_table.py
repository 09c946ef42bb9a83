"""A result as one flat table: what, load, part, quantity (with its unit), value."""

import csv
import io
from collections.abc import Iterator
from typing import Any

Row = tuple[str, str, str, str, float]


def result_table(result: dict[str, Any]) -> str:
    """CSV of the content of a result file; every number of it but the 6 × 6 matrix."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["what", "load", "part", "quantity", "value"])
    for *words, value in _rows(result):
        table.writerow([*words, repr(value)])
    return out.getvalue()


def _rows(result: dict[str, Any]) -> Iterator[Row]:
    for name, value in result["stiffness"].items():
        if name != "matrix":
            yield "stiffness", "", "", name, value
    for stage, entry in enumerate(result["tensioning"], start=1):
        yield from _stage(f"stage {stage}", entry)
    for w in result["wires"]:
        yield from _wire("wire", "", w)
    for turn in result["nut_turns"]:
        for name, value in turn["gap_movement"].items():
            yield "nut turn", turn["name"], "", name, value
        for rod, value in zip(turn["rods"], turn["lengthen_mm"], strict=True):
            yield "nut turn", turn["name"], rod, "lengthen_mm", value
        if turn["bone_N"] is not None:
            yield "nut turn", turn["name"], "", "bone_N", turn["bone_N"]
        for w in turn["wires"]:
            yield from _wire("nut turn", turn["name"], w)
    for load in result["loads"]:
        yield from _load(load)
    for touch in result["touches"]:
        yield "touch", touch["load"], touch["side"], "share_of_load", touch["share"]
        if touch["load_N"] is not None:
            yield "touch", touch["load"], touch["side"], "load_N", touch["load_N"]
    for number, past in enumerate(result["histories"], start=1):
        what, name = f"history {number}", past["load"]
        yield what, name, "", "cycles", past["cycles"]
        for cycle, value in zip(("first", "last"), past["lost_Nmm"], strict=True):
            yield what, name, "", f"lost_{cycle}_Nmm", value
        for quantity, value in (*past["gap_set"].items(), *past["stiffness"].items()):
            yield what, name, "", quantity, value
        for w in past["wires"]:
            yield from _wire(what, name, w)
    for t in result["targets"]:
        yield "target", t["load"] or "", "", t["quantity"], t["value"]
        yield "target margin", t["load"] or "", "", t["quantity"], t["margin"]


def _load(load: dict[str, Any]) -> Iterator[Row]:
    name = load["name"]
    moved = {k: load[k] for k in ("closing_mm", "shear_mm")}
    for quantity, value in {**load["gap_movement"], **moved}.items():
        yield "movement", name, "", quantity, value
    for kind in ("secant", "tangent"):
        for quantity, value in load[kind].items():
            yield kind, name, "", quantity, value
    for quantity in ("bone_N", "bone_share_percent"):
        if load[quantity] is not None:
            yield "bone", name, "", quantity, load[quantity]
    for quantity, value in (load["faces"] or {}).items():
        yield "faces", name, "", quantity, value
    for w in load["wires"]:
        yield from _wire("wire", name, w)
    for pin in load["pins"]:
        for quantity in ("axial_N", "shear_N", "clamp_moment_Nm", "peak_stress_MPa"):
            yield "pin", name, pin["name"], quantity, pin[quantity]


def _wire(what: str, load: str, wire: dict[str, Any]) -> Iterator[Row]:
    name = wire["name"]
    yield what, load, name, "tension_N", wire["tension_N"]
    for end, value in zip(("start", "end"), wire["legs_N"], strict=True):
        yield what, load, name, f"tension_{end}_N", value
    for end, value in zip(("start", "end"), wire.get("tone_Hz", ()), strict=False):
        yield what, load, name, f"tone_{end}_Hz", value
    for quantity in ("peak_stress_MPa", "bow_mm"):
        if quantity in wire:
            yield what, load, name, quantity, wire[quantity]


def _stage(name: str, stage: dict[str, Any]) -> Iterator[Row]:
    for wire, dial in zip(stage["tensioned"], stage["dial_N"], strict=True):
        for end, value in zip(("start", "end"), dial, strict=True):
            if value is not None:
                yield name, "", wire, f"dial_{end}_N", value
    for t in stage["take_up"]:
        for quantity in ("start_mm", "end_mm", "stretch_mm", "closing_mm"):
            yield name, "", t["wire"], f"take_up_{quantity}", t[quantity]
    for w in stage["left"]:
        ends = zip(("start", "end"), w["legs_N"], w["tone_Hz"], strict=True)
        for end, tension, tone in ends:
            yield name, "", w["name"], f"tension_{end}_N", tension
            yield name, "", w["name"], f"tone_{end}_Hz", tone
