"""Quantile functions against scipy.stats (an independent implementation) and the definitions."""

import numpy as np
import pytest
from scipy import stats

from frames.distributions import Distribution, Normal, Triangular, Uniform

U = np.linspace(0.001, 0.999, 37)

PAIRS = [
    (Uniform(-2.0, 5.0), stats.uniform(-2.0, 7.0)),
    (Triangular(1.0, 2.0, 6.0), stats.triang(0.2, 1.0, 5.0)),
    (Triangular(1.0, 1.0, 6.0), stats.triang(0.0, 1.0, 5.0)),
    (Triangular(1.0, 6.0, 6.0), stats.triang(1.0, 1.0, 5.0)),
    (Normal(10.0, 2.0), stats.norm(10.0, 2.0)),
    (Normal(10.0, 2.0, 9.0, 15.0), stats.truncnorm(-0.5, 2.5, 10.0, 2.0)),
    (Normal(10.0, 2.0, 16.0, None), stats.truncnorm(3.0, np.inf, 10.0, 2.0)),
    (Normal(10.0, 2.0, None, 4.0), stats.truncnorm(-np.inf, -3.0, 10.0, 2.0)),
]


@pytest.mark.parametrize(("own", "outside"), PAIRS, ids=lambda p: repr(p)[:40])
def test_quantiles_are_those_of_scipy(own: Distribution, outside) -> None:  # type: ignore[no-untyped-def]
    np.testing.assert_allclose(own.quantile(U), outside.ppf(U), rtol=1e-9)


@pytest.mark.parametrize(("own", "outside"), PAIRS[:5], ids=lambda p: repr(p)[:40])
def test_mean_and_standard_deviation(own: Distribution, outside) -> None:  # type: ignore[no-untyped-def]
    assert own.mean == pytest.approx(outside.mean(), rel=1e-12)
    assert own.sd == pytest.approx(outside.std(), rel=1e-12)


def test_a_cut_far_in_the_upper_tail_keeps_its_digits() -> None:
    """The mirrored cut gives the mirrored values."""
    upper = Normal(0.0, 1.0, 12.0, 13.0).quantile(U)
    lower = Normal(0.0, 1.0, -13.0, -12.0).quantile(1.0 - U)
    np.testing.assert_allclose(upper, -lower, rtol=1e-12)
    assert np.all((upper >= 12.0) & (upper <= 13.0))


def test_no_width_is_one_value() -> None:
    for d in (Uniform(3.0, 3.0), Triangular(3.0, 3.0, 3.0), Normal(3.0, 0.0)):
        np.testing.assert_array_equal(d.quantile([0.1, 0.9]), [3.0, 3.0])


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Uniform(2.0, 1.0), "above"),
        (lambda: Triangular(1.0, 0.0, 2.0), "must rise"),
        (lambda: Normal(0.0, -1.0), "negative"),
        (lambda: Normal(0.0, 1.0, 50.0, 60.0), "nothing of"),
        (lambda: Uniform(0.0, float("inf")), "finite"),
    ],
)
def test_what_cannot_be_is_refused(make, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=words):
        make()
