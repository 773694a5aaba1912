"""Shrinkage of groups toward their average, against the published eighteen batters and exact limits."""

import numpy as np
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.pay.shrinkage import chance_best, pooled_variances, shrink
from tests.pay.published_ratios import HITS_IN_45, SEASON

RAW = HITS_IN_45 / 45


def test_eighteen_batters_as_published() -> None:
    # Efron & Morris 1975, JASA 70, 311-319; 1977, Scientific American 236(5): c = .212, 16 of 18 improve,
    # total squared error .077 -> .022 (published from rounded averages).
    mean = RAW.mean()
    made = shrink(RAW, np.full(18, mean * (1 - mean) / 45))
    assert 1 - made.weights == pytest.approx(np.full(18, 0.211653), abs=5e-7)
    assert made.toward == pytest.approx(0.265432, abs=5e-7)
    printed = "294 289 285 28 275 275 27 266 261 261 256 256 256 256 256 252 247 242"
    assert made.values.round(3).tolist() == [float(f".{v}") for v in printed.split()]
    assert ((RAW - SEASON) ** 2).sum() == pytest.approx(0.07532, abs=5e-6)
    assert ((made.values - SEASON) ** 2).sum() == pytest.approx(0.02131, abs=5e-6)
    assert (abs(made.values - SEASON) < abs(RAW - SEASON)).sum() == 16


def test_eighteen_batters_on_the_arcsine_scale() -> None:
    # Efron & Morris 1975, JASA 70, 311-319 (figures from memory): unit variances after sqrt(45) arcsin(2 p
    # - 1); factor .209, 17.56 -> 5.01.
    y = np.sqrt(45) * np.arcsin(2 * RAW - 1)
    truth = np.sqrt(45) * np.arcsin(2 * SEASON - 1)
    made = shrink(y, np.ones(18))
    assert ((y - y.mean()) ** 2).sum() == pytest.approx(18.963, abs=5e-4)
    assert 1 - made.weights[0] == pytest.approx(0.209, abs=5e-4)
    assert ((y - truth) ** 2).sum() == pytest.approx(17.56, abs=0.02)
    assert ((made.values - truth) ** 2).sum() == pytest.approx(5.01, abs=0.02)


def test_the_remaining_variance_by_hand() -> None:
    # Five groups of variance 4: the squares about the mean of 4 add up to 40, so V + A = 40/(5 - 3) = 20 and B = .2.
    y = np.array([0.0, 2.0, 4.0, 6.0, 8.0])
    made = shrink(y, np.full(5, 4.0))
    assert made.weights == pytest.approx(np.full(5, 0.2))
    assert made.sd**2 == pytest.approx(4 * 0.8 + 0.04 * 20 / 5 + 2 * 0.04 * (y - 4) ** 2 / 2)


def test_many_pieces_stay_and_few_go_to_the_average() -> None:
    values = np.array([10.0, 20.0, 30.0, 40.0, 90.0])
    made = shrink(values, np.array([1e-9, 25.0, 25.0, 25.0, 1e9]))
    assert made.values[0] == pytest.approx(10.0, abs=1e-6)
    assert made.values[4] == pytest.approx(made.toward, abs=1e-3)
    assert ((made.weights >= 0) & (made.weights <= 1)).all()


def test_groups_that_differ_by_less_than_their_noise_share_one_value() -> None:
    made = shrink(np.array([10.0, 11.0, 10.5, 9.5]), np.full(4, 100.0))
    assert made.between_sd == 0
    assert made.values == pytest.approx(np.full(4, 10.25))
    assert (made.sd > 0).all()


def test_between_sd_is_recovered_from_many_groups() -> None:
    rng = np.random.default_rng(5)
    noise = rng.uniform(1.0, 9.0, 4000)
    truth = rng.normal(20, 3.0, 4000)
    made = shrink(truth + rng.normal(0, np.sqrt(noise)), noise)
    assert made.between_sd == pytest.approx(3.0, abs=0.15)
    inside = abs(made.values - truth) < 1.2816 * made.sd
    assert inside.mean() == pytest.approx(0.80, abs=0.02)


def test_one_group_is_left_alone() -> None:
    made = shrink(np.array([14.0]), np.array([4.0]))
    assert made.values.tolist() == [14.0]
    assert made.sd.tolist() == [2.0]


def test_order_of_groups_does_not_matter() -> None:
    values, variances = np.array([3.0, 9.0, 4.0, 12.0, 8.0]), np.array([1.0, 4.0, 2.0, 9.0, 3.0])
    turned = [4, 2, 0, 1, 3]
    a, b = shrink(values, variances), shrink(values[turned], variances[turned])
    assert b.values == pytest.approx(a.values[turned], rel=1e-9)


def test_a_group_of_three_like_pieces_is_not_certain() -> None:
    made = pooled_variances(np.array([0.0, 90.0, 90.0]), np.array([2.0, 9.0, 9.0]))
    assert made[0] == pytest.approx(4 * 9 / 6)  # shop variance 180/20 = 9
    assert made[1] > made[0]


def test_chance_best_adds_up_and_follows_the_values() -> None:
    fit = shrink(np.array([10.0, 20.0, 21.0, 30.0]), np.array([4.0, 4.0, 4.0, 4.0]))
    chances = chance_best(fit, rng=np.random.default_rng(1))
    assert chances.sum() == pytest.approx(1.0)
    assert chances[3] > 0.95
    some = chance_best(fit, rng=np.random.default_rng(1), among=np.array([True, True, True, False]))
    assert len(some) == 3
    assert some[2] > some[1] > some[0]


def test_chance_best_is_as_often_right_as_it_says() -> None:
    # 1,500 shops of 6 styles whose truth is known: the style called best is best about as often as said.
    rng = np.random.default_rng(8)
    said, right = [], []
    for _ in range(1500):
        noise = rng.uniform(2.0, 40.0, 6)
        truth = rng.normal(20, 4.0, 6)
        fit = shrink(truth + rng.normal(0, np.sqrt(noise)), noise)
        chances = chance_best(fit, rng=rng, draws=400)
        said.append(chances.max())
        right.append(chances.argmax() == truth.argmax())
    assert np.mean(right) == pytest.approx(np.mean(said), abs=0.05)


def test_unmatched_or_missing_variances_are_refused() -> None:
    with pytest.raises(BadQuestion, match="one variance for each"):
        shrink(np.array([1.0, 2.0]), np.array([1.0]))
    with pytest.raises(BadQuestion, match="0 or more"):
        shrink(np.array([1.0, 2.0]), np.array([1.0, -1.0]))
