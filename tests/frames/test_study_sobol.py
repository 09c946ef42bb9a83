"""Sobol indices: Ishigami's function, scipy, linear functions, a frame."""

import numpy as np
import pytest
from scipy.stats import sobol_indices

from frames import case_from_dict
from frames.bulk import evaluate
from frames.casefile import replace
from frames.outputs import Output
from frames.studytable import effects, sobol
from tests.frames.cases import small
from tests.frames.study_tables import base_samples, sampled

# Ishigami and Homma (1990), a = 7, b = 0.1; indices from their closed form
FIRST = np.array([0.3139, 0.4424, 0.0])
TOTAL = np.array([0.5576, 0.4424, 0.2437])


def ishigami(u1, u2, u3):
    x, y, z = (np.pi * (2.0 * u - 1.0) for u in (u1, u2, u3))
    return np.sin(x) + 7.0 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)


def by_scipy(y, k):
    blocks = y.reshape(k + 2, -1)
    func = {"f_A": blocks[:1], "f_B": blocks[1:2], "f_AB": blocks[2:, None, :]}
    found = sobol_indices(func=func, n=blocks.shape[1])
    return found.first_order, found.total_order


def test_ishigami_lies_within_its_bounds():
    y = ishigami(*base_samples(2048, 3, 1).T)
    found = sobol(y, 3)
    assert np.all((found.first_low <= FIRST) & (found.first_high >= FIRST))
    assert np.all((found.total_low <= TOTAL) & (found.total_high >= TOTAL))
    assert found.first == pytest.approx(FIRST, abs=0.02)
    assert found.total == pytest.approx(TOTAL, abs=0.02)


def test_same_as_scipy():
    y = ishigami(*base_samples(256, 3, 4).T)
    found = sobol(y, 3)
    first, total = by_scipy(y, 3)
    assert found.first == pytest.approx(first, abs=1e-12)
    assert found.total == pytest.approx(total, abs=1e-12)


def test_base_samples_with_a_gap_are_dropped_whole():
    """What is left is what scipy makes of the others."""
    k, n = 3, 512
    y = ishigami(*base_samples(n, k, 2).T)
    holed = y.copy().reshape(k + 2, n)
    rng = np.random.default_rng(0)
    gone = rng.permutation(n)[:256]
    holed[rng.integers(0, k + 2, 256), gone] = np.nan
    found = sobol(holed.ravel(), k)
    first, total = by_scipy(np.delete(y.reshape(k + 2, n), gone, axis=1).ravel(), k)
    assert (found.kept, found.dropped) == (256, 256)
    assert found.first == pytest.approx(first, abs=1e-12)
    assert found.total == pytest.approx(total, abs=1e-12)


def test_bounds_cover_as_often_as_they_say():
    """Of 120 independent samples 95 % should cover; percentiles of a bootstrap fall a little short
    (Efron and Tibshirani 1993), and 88 % is three standard deviations below 95 %."""
    covered = []
    for seed in range(120):
        found = sobol(ishigami(*base_samples(256, 3, seed, even=False).T), 3, seed)
        covered.append((found.first_low <= FIRST) & (found.first_high >= FIRST))
        covered.append((found.total_low <= TOTAL) & (found.total_high >= TOTAL))
    rate = np.mean(covered)
    assert 0.88 < rate < 0.99


def test_bounds_are_the_same_again():
    y = ishigami(*base_samples(64, 3, 0).T)
    assert sobol(y, 3, 7).first_low.tolist() == sobol(y, 3, 7).first_low.tolist()
    assert sobol(y, 3, 7).first_low.tolist() != sobol(y, 3, 8).first_low.tolist()


def test_constant_output_has_no_indices():
    found = sobol(np.full(5 * 16, 3.0), 3)
    assert not found.first.any()
    assert not found.total.any()


def test_too_few_designs_for_bins_still_have_indices():
    study, table = sampled(base_samples(8, 3, 1), ishigami, "saltelli")
    found = effects(study, table).outputs[0]
    assert not found.main
    assert len(found.indices) == 3


def test_one_base_sample_is_too_few():
    y = np.full((4, 8), np.nan)
    y[:, 3] = 1.0
    with pytest.raises(ValueError, match="1 of 8"):
        sobol(y.ravel(), 2)


def test_answer_of_a_saltelli_study():
    study, table = sampled(base_samples(512, 3, 1), ishigami, "saltelli")
    lost = [0, 600, 2500]
    table.loc[lost, "axial_N_per_mm"] = np.nan
    table.loc[lost, "reason"] = "it has no rest position"
    found = effects(study, table).outputs[0]
    assert (found.samples, found.dropped) == (509, 3)
    by_name = {i.name: i for i in found.indices}
    assert [i.name for i in found.indices] == ["a", "b", "c"]  # largest total index first
    assert by_name["c"].total == pytest.approx(TOTAL[2], abs=0.05)
    assert found.designs == 2 * 512 - 2  # of A and B alone
    assert found.of("b").share == pytest.approx(FIRST[1], abs=0.1)


def test_frame_in_a_tiny_range_is_linear():
    """Indices of a frame where its parameters move by 0.1 % are those of its tangent on the same
    samples, and cover the shares (dy/dx_i)² / sum of them; derivatives by central differences."""
    case = case_from_dict(small())
    paths = {"wire.*.tension_kgf": 110.0, "bone.gap_mm": 2.0, "ring.*.thickness_mm": 5.0}
    middle = np.array(list(paths.values()))
    width = 1e-3 * middle
    k, n = len(middle), 16

    def solved(points):
        cases = [replace(case, dict(zip(paths, map(float, p), strict=True))) for p in points]
        return np.array([r.values[0] for r in evaluate(cases, [Output("axial_N_per_mm")])])

    samples = base_samples(n, k, 3)
    found = sobol(solved(middle + (samples - 0.5) * width), k)
    ends = solved(np.concatenate([middle + np.diag(width) / 2, middle - np.diag(width) / 2]))
    slope = ends[:k] - ends[k:]
    tangent = sobol(samples @ slope, k)
    assert found.first == pytest.approx(tangent.first, abs=2e-3)
    assert found.total == pytest.approx(tangent.total, abs=2e-3)
    share = slope**2 / np.sum(slope**2)
    assert np.all((found.total_low - 1e-3 <= share) & (share <= found.total_high + 1e-3))
