"""Held wires solved by looking at every choice of regimes (``fem.held_solver``)."""

from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.held_newton import newton_system
from fem.held_rows import Choice, Local, Point, Rows, evaluate, part_of
from fem.wire_holds import slid

MOST_SPANS = 4
ITERATIONS = 25
STEP, VIOLATION = 1e-6, 1e-4  # of the tension; N


def every_choice(rows: Rows, point: Point) -> tuple[Point, NDArray[np.bool_]]:
    """Newton that in each step solves for every choice of regimes and takes the one that holds;
    without yield. For wires of few spans on which choosing by the last step goes in circles.
    """
    R, n = rows.e.shape
    T, s = point.T.copy(), point.s.copy()
    spans = np.array(list(product((-1, 0, 1), repeat=n)), dtype=np.int8)
    stations = np.array(list(product((-2, -1, 0, 1, 2), repeat=n - 1)), dtype=np.int8)
    a, b = np.indices((len(spans), len(stations))).reshape(2, -1)
    C = len(a)
    every = rows.take(np.repeat(np.arange(R), C))
    way = np.tile(stations[b], (R, 1))
    end = np.where(way > 0, every.travel[..., 0], every.travel[..., 1])
    never = np.where(np.abs(way) == 2, np.isinf(end), (way != 0) & np.isinf(every.grip))
    span = np.tile(spans[a], (R, 1))
    span = np.where((span > 0) & np.isinf(every.high), 0, span)
    span = np.where(every.low == every.high, 1, span)
    choice = Choice(span, np.where(never, 0, way), np.zeros((R * C, 2 * n), dtype=bool))
    failed = np.ones(R, dtype=bool)
    for _ in range(ITERATIONS):
        here = Point(T, s, point.a)
        at = evaluate(rows, here, yields=False, with_stiffness=False)
        many, there = at.take(np.repeat(np.arange(R), C)), part_of(here, np.repeat(np.arange(R), C))
        many = replace(many, choice=choice)
        residual, J, _ = newton_system(every, there, many, yields=False, eased=False)
        step = -np.linalg.solve(J, residual[..., None])[..., 0]
        wrong = _violation(every, there, many, np.asarray(step)).reshape(R, C)
        best = np.argmin(wrong, axis=1)
        step = step.reshape(R, C, -1)[np.arange(R), best]
        new = np.maximum(T + step[:, :n], 0.0)
        size = np.abs(new - T).max(axis=1) + np.abs(step[:, n:] / at.give).max(axis=1, initial=0.0)
        T, s = new, s + step[:, n:]
        failed = (size > STEP * (1.0 + T.max(axis=1))) | (wrong.min(axis=1) > VIOLATION)
        if not failed.any():
            break
    return Point(T, s, point.a), failed


def _violation(rows: Rows, point: Point, at: Local, step: Array) -> Array:
    """(R,) N, by how much a step of Newton breaks the conditions of its choice."""
    n = rows.e.shape[1]
    T, s = point.T + step[:, :n], point.s + step[:, n:]
    E = at.E + slid(step[:, n:]) - np.einsum("rij,rj->ri", at.G, step[:, :n])
    E = E / np.einsum("rii->ri", at.G)
    span, way = at.choice.span, np.sign(at.choice.station)
    fixed = rows.low == rows.high
    beyond = np.maximum(rows.low - T, T - rows.high)
    wrong = np.where(span == 0, beyond, np.where(fixed, 0.0, -span * E))
    D = np.diff(T, axis=1)
    slips, stops = np.abs(at.choice.station) == 1, np.abs(at.choice.station) == 2
    slid_too_far = np.maximum(s - rows.travel[..., 0], -s - rows.travel[..., 1])
    backwards = np.where(rows.grip > 0.0, -way * s, -np.inf)
    slid_too_far = np.maximum(slid_too_far, backwards) / at.give
    off = np.where(stops, rows.grip - way * D, np.abs(D) - rows.grip)
    off = np.where(slips, slid_too_far, off)
    return np.asarray(np.maximum(wrong.max(axis=1), off.max(axis=1, initial=-np.inf)))
