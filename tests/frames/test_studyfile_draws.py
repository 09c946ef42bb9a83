"""Drawn values against scipy.stats, scipy.stats.qmc and the definitions of the methods."""

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from tests.frames.cases import Raw
from tests.frames.studies import GAP, drawn, even

MANY = 50_000

NORMAL: Raw = {"distribution": "normal", "mean": 1000, "sd": 100}
DISTRIBUTIONS: dict[str, tuple[Raw, Any]] = {
    "uniform": ({}, stats.uniform(500, 1000)),
    "normal": (NORMAL, stats.norm(1000, 100)),
    "cut both": ({**NORMAL, "low": 950, "high": 1200}, stats.truncnorm(-0.5, 2.0, 1000, 100)),
    "cut below": ({**NORMAL, "low": 1050}, stats.truncnorm(0.5, np.inf, 1000, 100)),
    "triangular": (
        {"distribution": "triangular", "mode": 700},
        stats.triang(0.2, 500, 1000),
    ),
    "mode at low": (
        {"distribution": "triangular", "mode": 500},
        stats.triang(0.0, 500, 1000),
    ),
}


def parameter(how: Raw, name: str = "W1") -> Raw:
    raw = {**even(name), **how}
    if raw["distribution"] == "normal":
        raw = {k: v for k, v in raw.items() if k not in ("low", "high") or k in how}
    return raw


def column(study: Any, i: int = 0) -> np.ndarray:
    return np.array([row[i] for row in study.values(0, study.total)])


@pytest.mark.parametrize("name", DISTRIBUTIONS)
def test_quantiles_are_those_of_scipy(name):
    how, reference = DISTRIBUTIONS[name]
    draw = drawn(parameter(how)).parameters[0].draw
    u = np.array([1e-6, 0.001, 0.1, 0.2, 0.35, 0.5, 0.75, 0.99, 1 - 1e-6])
    assert draw.at(u) == pytest.approx(reference.ppf(u), rel=1e-9)


@pytest.mark.parametrize("name", DISTRIBUTIONS)
def test_moments_and_quantiles_of_a_sample(name):
    how, reference = DISTRIBUTIONS[name]
    x = column(drawn(parameter(how), designs=MANY, seed=2))
    # five standard errors of mean and variance
    sd, excess = reference.std(), float(reference.stats(moments="k"))
    assert x.mean() == pytest.approx(reference.mean(), abs=5 * sd / math.sqrt(MANY))
    assert x.var() == pytest.approx(sd**2, rel=5 * math.sqrt((2 + excess) / MANY))
    # Kolmogorov and Smirnov: 1.95 / √n is passed once in a thousand samples
    assert stats.kstest(x, reference.cdf).statistic < 1.95 / math.sqrt(MANY)


@pytest.mark.parametrize("method", ["random", "latin hypercube", "sobol sequence", "saltelli"])
def test_ends_of_a_normal_distribution_are_finite(method):
    x = column(drawn(parameter(NORMAL), method=method, designs=4096))
    assert np.isfinite(x).all()
    draw = drawn(parameter(NORMAL)).parameters[0].draw
    assert np.isfinite(draw.at(np.array([0.0, 1.0]))).all()


def test_words_are_drawn_evenly():
    raw = {"name": "hold", "path": "model.bone_hold", "values": ["pivot", "built in"]}
    x = column(drawn(raw, designs=4096, method="sobol sequence"))
    assert sorted(set(x)) == ["built in", "pivot"]
    assert (x == "pivot").sum() == 2048  # each half of 0 to 1 holds half of a Sobol sequence


@pytest.mark.parametrize("correlated", [False, True])
def test_latin_hypercube_has_one_design_in_each_stratum(correlated):
    n = 5000  # more than a block
    tables = {"correlation": [{"parameters": ["W1", "W3"], "coefficient": 0.8}]}
    how = tables if correlated else {}
    study = drawn(even("W1"), even("W2"), even("W3"), method="latin hypercube", designs=n,
                  tables=how)  # fmt: skip
    for i in range(3):
        stratum = np.floor((column(study, i) - 500) / 1000 * n).astype(int)
        assert sorted(stratum) == list(range(n))


def test_sobol_sequence_is_that_of_scipy():
    n = 8192
    study = drawn(even("W1"), even("W2"), method="sobol sequence", designs=n, seed=5)
    u = qmc.Sobol(2, scramble=True, seed=np.random.default_rng(5)).random(n)
    assert np.array(study.values(0, n)) == pytest.approx(500 + 1000 * u, rel=1e-12)


def test_saltelli_rows_are_what_sobol_indices_of_scipy_takes():
    """A, B, then for each parameter A with its column from B."""
    n, k = 16, 3
    study = drawn(even("W1"), even("W2"), even("W3"), method="saltelli", designs=n, seed=4)
    assert study.total == n * (k + 2)
    rows = np.array(study.values(0, study.total)).reshape(k + 2, n, k)
    A, B = rows[:2]
    for i in range(k):
        expected = A.copy()
        expected[:, i] = B[:, i]
        np.testing.assert_array_equal(rows[2 + i], expected)
    # one sequence of 2 k columns, as scipy.stats.sobol_indices draws its own sample
    u = qmc.Sobol(2 * k, seed=np.random.default_rng(4)).random(n)
    assert np.hstack([A, B]) == pytest.approx(500 + 1000 * u, rel=1e-12)


def test_indices_of_a_known_function_from_saltelli_rows():
    """Ishigami's function, a = 7, b = 0.1: first-order 0.3139, 0.4424, 0 (closed form: Saltelli et
    al., Global Sensitivity Analysis: The Primer, 2008, from memory, and by the variances below)."""
    n = 4096
    study = drawn(even("W1"), even("W2"), even("W3"), method="saltelli", designs=n)
    x = (np.array(study.values(0, study.total)) - 1000) / 500 * np.pi
    y = np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    parts = y.reshape(5, 1, n)
    found = stats.sobol_indices(
        func={"f_A": parts[0], "f_B": parts[1], "f_AB": parts[2:]}, n=n
    ).first_order
    v1, v2 = 0.5 * (1 + 0.1 * np.pi**4 / 5) ** 2, 7**2 / 8
    total = v1 + v2 + 0.1**2 * np.pi**8 * (1 / 18 - 1 / 50)
    assert found == pytest.approx([v1 / total, v2 / total, 0.0], abs=0.01)


@pytest.mark.parametrize("method", ["random", "latin hypercube", "sobol sequence"])
def test_correlation_of_the_underlying_normals(method):
    n, r = 16384, 0.6
    study = drawn(
        parameter(NORMAL, "W1"), even("W2"), parameter(NORMAL, "W3"), method=method, designs=n,
        tables={
            "correlation": [
                {"parameters": ["W1", "W2"], "coefficient": r},
                {"parameters": ["W3", "W1"], "coefficient": -0.3},
            ]
        },
    )  # fmt: skip
    x = np.array(study.values(0, n))
    scores = stats.norm.ppf(
        np.column_stack(
            [stats.norm(1000, 100).cdf(x[:, 0]), (x[:, 1] - 500) / 1000,
             stats.norm(1000, 100).cdf(x[:, 2])]
        )
    )  # fmt: skip
    expected = np.array([[1, r, -0.3], [r, 1, 0], [-0.3, 0, 1]])
    # five standard errors of a coefficient, (1 - r²) / √n at most 1 / √n
    assert np.corrcoef(scores.T) == pytest.approx(expected, abs=5 / math.sqrt(n))
    # each keeps its own distribution
    assert stats.kstest(x[:, 1], stats.uniform(500, 1000).cdf).statistic < 1.95 / math.sqrt(n)


@pytest.mark.parametrize("method", ["random", "latin hypercube", "sobol sequence", "saltelli"])
def test_any_slice_gives_the_same_rows(method):
    tables = {"correlation": [{"parameters": ["W1", "W2"], "coefficient": 0.5}]}
    study = drawn(even("W1"), even("W2"), GAP, method=method, designs=8192,
                  tables={} if method == "saltelli" else tables)  # fmt: skip
    rows = study.values(0, study.total)
    assert len(rows) == study.total
    rng = np.random.default_rng(0)
    for start in (0, 1, 4095, 4096, 8191, study.total - 3, *rng.integers(0, study.total, 5)):
        for length in (1, 7, 4100):
            assert study.values(int(start), int(start) + length) == rows[start : start + length]
    assert study.values(study.total, study.total + 5) == []


def test_another_seed_draws_others():
    one, other = (drawn(even("W1"), seed=seed).values(0, 64) for seed in (0, 1))
    assert not set(one) & set(other)


@pytest.mark.parametrize("method", ["random", "latin hypercube", "sobol sequence"])
def test_columns_are_independent(method):
    x = np.array(drawn(even("W1"), even("W2"), designs=8192, method=method).values(0, 8192))
    assert abs(np.corrcoef(x.T)[0, 1]) < 5 / math.sqrt(8192)
