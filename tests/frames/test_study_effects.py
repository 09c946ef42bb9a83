"""Main effects and interactions: worked examples, closed forms, dummy coding by numpy."""

import itertools

import numpy as np
import pytest

from frames.studytable import effects
from frames.studytable.columns import Column
from frames.studytable.grouping import by_bin, by_level
from frames.studytable.variance import analysed, one_way, pair
from tests.frames.study_tables import Known, grid, sampled, table_of


def grouped(*values):
    return [by_level(Column("p", "p", ""), np.asarray(v, dtype=float)) for v in values]


def test_battery_life_of_a_textbook():
    """Montgomery, Design and Analysis of Experiments, battery life (hours) of three materials at
    15, 70 and 125 °F, four of each: sums of squares of material 10683.72, temperature 39118.72,
    interaction 9613.78, in all 77646.97 (data and sums from memory)."""
    hours = np.array(
        [
            [[130, 155, 74, 180], [34, 40, 80, 75], [20, 70, 82, 58]],
            [[150, 188, 159, 126], [136, 122, 106, 115], [25, 70, 58, 45]],
            [[138, 110, 168, 160], [174, 120, 150, 139], [96, 104, 82, 60]],
        ],
        dtype=float,
    )
    material, temperature, _ = np.indices(hours.shape)
    groups = grouped(material.ravel(), temperature.ravel())
    found = analysed(groups, hours.ravel())
    assert found.mains == pytest.approx([10683.72, 39118.72], abs=0.005)
    assert found.total == pytest.approx(77646.97, abs=0.005)
    share, _ = pair(groups, 0, 1, hours.ravel(), sampled=False)
    assert share * found.total == pytest.approx(9613.78, abs=0.005)


def test_additive_function_on_a_grid():
    """y = 3 a + b²: no interaction; the share of each is the variance of its own term."""
    a, b = (1.0, 2.0, 4.0), (0.0, 1.0, 2.0, 3.0)
    found = effects(*grid([a, b], lambda x, y: 3.0 * x + y**2)).outputs[0]
    var = np.var(3.0 * np.array(a)), np.var(np.array(b) ** 2)
    assert found.of("a").share == pytest.approx(var[0] / sum(var), rel=1e-12)
    assert found.of("b").share == pytest.approx(var[1] / sum(var), rel=1e-12)
    assert found.of("a").effect == pytest.approx(9.0)
    assert found.of("b").effect == pytest.approx(9.0)
    assert [i.share for i in found.interactions] == pytest.approx([0.0], abs=1e-12)
    means = [level.mean for level in found.of("a").levels]
    assert means == pytest.approx(3.0 * np.array(a) + 3.5)


def test_product_of_two_parameters():
    """y = a b: V = (m_a² + v_a)(m_b² + v_b) - m_a² m_b², of which m_b² v_a, m_a² v_b and
    v_a v_b are due to a, b and both (variance of a product of independent variables)."""
    a, b = np.array([1.0, 2.0, 6.0]), np.array([-1.0, 2.0, 3.0, 8.0])
    found = effects(*grid([a, b], lambda x, y: x * y)).outputs[0]
    own = b.mean() ** 2 * a.var(), a.mean() ** 2 * b.var(), a.var() * b.var()
    shares = found.of("a").share, found.of("b").share, found.interactions[0].share
    assert shares == pytest.approx(np.array(own) / sum(own), rel=1e-12)


def test_three_way_shares_add_up_to_what_is_no_interaction_of_three():
    """y = a b + c: nothing but a, b, c and a with b."""
    found = effects(*grid([(1, 2, 3), (1, 5), (0, 1, 2, 3)], lambda a, b, c: a * b + c)).outputs[0]
    every = sum(m.share for m in found.main) + sum(i.share for i in found.interactions)
    assert every == pytest.approx(1.0, rel=1e-12)
    assert {found.interactions[0].first, found.interactions[0].second} == {"a", "b"}


def dummies(groups, y):
    """Sum of squares about the mean that dummy coding of these codes explains, by numpy alone."""
    columns = [np.ones((len(y), 1)), *(np.eye(size)[codes] for codes, size in groups)]
    design = np.concatenate(columns, axis=1)
    fitted = design @ np.linalg.lstsq(design, y, rcond=None)[0]
    return float(np.sum((fitted - y.mean()) ** 2))


def test_missing_rows_against_dummy_coding():
    rng = np.random.default_rng(5)
    points = np.array(list(itertools.product(range(3), range(2), range(4), range(3))))
    points = points[rng.random(len(points)) > 0.3]
    a, b, c, d = points.T
    y = a * b + np.sin(c) * d + rng.normal(size=len(points))
    groups = grouped(*points.T)
    codes = [(g.codes, g.size) for g in groups]
    found = analysed(groups, y)
    for i in range(4):
        without = dummies(codes, y) - dummies(codes[:i] + codes[i + 1 :], y)
        assert found.mains[i] == pytest.approx(without, rel=1e-9)
    for i, j in itertools.combinations(range(4), 2):
        cells = codes[i][0] * codes[j][1] + codes[j][0]
        both = [*codes, (cells, codes[i][1] * codes[j][1])]
        expected = dummies(both, y) - dummies(codes, y)
        share, _ = pair(groups, i, j, y, sampled=False)
        assert share * found.total == pytest.approx(expected, rel=1e-8)


def test_missing_rows_of_an_additive_function_leave_its_means():
    """Least squares fills the holes exactly; plain means at the levels would be off."""
    study, table = grid([(1, 2, 3, 4), (1, 2, 3)], lambda a, b: 5.0 * a + 2.0 * b**2, [0, 3, 4, 11])
    found = effects(study, table).outputs[0]
    assert (found.designs, found.missing) == (8, 4)
    means = np.array([level.mean for level in found.of("a").levels])
    assert np.diff(means) == pytest.approx([5.0, 5.0, 5.0])
    assert found.of("b").effect == pytest.approx(16.0)
    assert found.interactions[0].share == pytest.approx(0.0, abs=1e-12)


def test_parameters_that_change_together_are_told():
    study, table = grid([(0, 1), (0, 1)], lambda a, b: a + b, [1, 2])
    found = effects(study, table).outputs[0]
    assert not found.main
    assert "together" in found.why_not


def test_a_list_has_no_effects_unless_it_is_a_grid():
    both = [Known("a", (1, 2, 3)), Known("b", (4, 5, 6))]
    y = {"axial_N_per_mm": np.array([1.0, 2.0, 4.0])}
    found = effects(*table_of("list", both, [(1, 4), (2, 5), (3, 6)], y)).outputs[0]
    assert not found.main
    assert "a list" in found.why_not
    alone = effects(*table_of("list", both, [(1, 4), (2, 4), (3, 4)], y)).outputs[0]
    assert [m.name for m in alone.main] == ["a"]
    assert alone.of("a").share == pytest.approx(1.0)


def test_words_have_no_sign_and_keep_their_order():
    known = [Known("material", ("steel", "carbon")), Known("olive", (False, True))]
    rows = list(itertools.product(*(p.levels for p in known)))
    y = {"axial_N_per_mm": np.array([9.0, 10.0, 5.0, 6.0])}
    found = effects(*table_of("grid", known, rows, y)).outputs[0]
    assert [v.label for v in found.of("material").levels] == ["steel", "carbon"]
    assert found.of("material").effect == pytest.approx(4.0)
    assert [v.label for v in found.of("olive").levels] == ["no", "yes"]


def test_sign_and_bends():
    found = effects(*grid([(1, 2, 3), (1, 2, 3)], lambda a, b: (b - 2) ** 2 - 4 * a)).outputs[0]
    assert found.of("a").effect == pytest.approx(-8.0)
    assert found.of("a").steady
    assert not found.of("b").steady


def test_output_that_does_not_change():
    found = effects(*grid([(1, 2), (1, 2)], lambda a, b: 0 * a + 7.0)).outputs[0]
    assert not found.main
    assert "the same" in found.why_not


@pytest.mark.parametrize("seed", range(3))
def test_shares_of_a_sample(seed):
    """y = 3 u + 2 v + w, uniform: shares 9 : 4 : 1 in 14; eight bins lose 1/64 of each (the
    variance within a bin). A share s of n designs has a standard deviation of
    2 sqrt(s) (1 - s) / sqrt(n), that of a squared coefficient of correlation."""
    points = np.random.default_rng(seed).random((4000, 4))
    found = effects(*sampled(points, lambda u, v, w, _: 3 * u + 2 * v + w)).outputs[0]
    shares = [found.of(n).share for n in "abcd"]
    expected = np.array([9, 4, 1, 0]) / 14 * (1 - 1 / 64)
    sd = 2.0 * np.sqrt(expected) * (1.0 - expected) / np.sqrt(4000.0)
    assert np.all(np.abs(shares - expected) < 3.0 * sd + 0.003)
    assert not any(found.of(n).chance for n in "abc")
    assert all(i.chance or i.share < 0.005 for i in found.interactions)


def test_interaction_in_a_sample_is_seen():
    """y = (u - ½)(v - ½): all of the variance is interaction; four bins keep (15/16)² of it."""
    points = np.random.default_rng(1).random((4000, 3))
    found = effects(*sampled(points, lambda u, v, _: (u - 0.5) * (v - 0.5))).outputs[0]
    first = found.interactions[0]
    assert (first.first, first.second) in {("a", "b"), ("b", "a")}
    assert first.share == pytest.approx((15 / 16) ** 2, abs=0.03)
    assert not first.chance
    assert all(abs(m.share) < 0.01 for m in found.main)


def test_share_is_right_on_average_and_chance_is_called_chance():
    """Without influence: the mean of shares is 0, and about 5 % of the tests are wrong."""
    rng = np.random.default_rng(2)
    shares, chances = [], []
    for _ in range(400):
        x, y = rng.random((2, 100))
        share, chance = one_way(by_bin(Column("p", "p", ""), x, 6), y)
        shares.append(share)
        chances.append(chance)
    assert np.mean(shares) == pytest.approx(0.0, abs=3 * np.std(shares) / 20)
    assert np.mean(np.array(chances) < 0.05) == pytest.approx(0.05, abs=0.035)


def test_interaction_of_chance_is_none_on_average():
    """Of noise: the mean of shares is 0; without the part of chance it would be about 9 / 120."""
    rng = np.random.default_rng(3)
    shares, chances = [], []
    for _ in range(300):
        a, b, y = rng.random((3, 120))
        groups = [by_bin(Column("p", "p", ""), x, 4) for x in (a, b)]
        share, chance = pair(groups, 0, 1, y, sampled=True)
        shares.append(share)
        chances.append(chance)
    assert np.mean(shares) == pytest.approx(0.0, abs=3 * np.std(shares) / np.sqrt(300))
    assert np.mean(np.array(chances) < 0.05) == pytest.approx(0.05, abs=0.04)


def test_too_few_sampled_designs():
    found = effects(*sampled(np.random.default_rng(0).random((10, 3)), lambda a, b, c: a)).outputs[
        0
    ]
    assert "too few" in found.why_not


def test_many_levels_do_not_need_much_memory():
    """A pair of 120 levels each has 14,400 cells."""
    levels = np.linspace(1.0, 2.0, 120)
    found = effects(*grid([levels, levels, (0, 1)], lambda a, b, c: a + b + c, [7])).outputs[0]
    assert found.of("c").effect == pytest.approx(1.0, rel=1e-9)
