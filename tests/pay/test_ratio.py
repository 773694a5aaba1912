"""Ratios of totals, their intervals and their errors, against published figures."""

import math

import numpy as np
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.pay.ratio import (
    fieller,
    jackknife_error,
    ratio_of_totals,
)
from tests.pay.published_ratios import (
    BIG_CITY_1920,
    BIG_CITY_1930,
    CITY_1920,
    CITY_1930,
    PATCH_Y,
    PATCH_Z,
)


def test_city_ratio_of_totals_is_1_52_where_the_mean_of_ratios_is_4_05() -> None:
    # Davison & Hinkley 1997, city data (from memory, page not known): one city of 2 thousand rules the mean of ratios.
    assert ratio_of_totals(CITY_1930, CITY_1920) == pytest.approx(1.520313, rel=1e-6)
    assert (CITY_1930 / CITY_1920).mean() == pytest.approx(4.051447, abs=5e-7)


def test_patch_ratio_and_mean_of_ratios_differ_in_sign() -> None:
    # Efron & Tibshirani 1993, chapter 10 (from memory, page not known).
    assert ratio_of_totals(PATCH_Y, PATCH_Z) == pytest.approx(-0.0713061, abs=5e-8)
    assert (PATCH_Y / PATCH_Z).mean() == pytest.approx(0.0379914, abs=5e-8)


def test_big_city_ratio_estimate_of_the_total() -> None:
    # Cochran 1977, chapter 6 (figures from memory, page not known): known 1920 total 22,919; ratio estimate 28,397.
    ratio = ratio_of_totals(BIG_CITY_1930, BIG_CITY_1920)
    assert ratio == pytest.approx(1.239019, abs=5e-7)
    assert ratio * 22919 == pytest.approx(28397, abs=0.5)


@pytest.mark.parametrize(
    ("level", "low", "high"), [(0.90, -0.248873, 0.170226), (0.95, -0.289628, 0.252430)]
)
def test_fieller_on_the_patch_data(level: float, low: float, high: float) -> None:
    # Efron & Tibshirani 1993, chapter 25 (from memory, page not known), prints -.249 and .170 at 90% (t, 7
    # degrees of freedom).
    made = fieller(PATCH_Y, PATCH_Z, level=level)
    assert (made.low, made.high) == pytest.approx((low, high), abs=5e-7)
    assert not made.unbounded


def test_fieller_is_unbounded_when_the_bottom_could_be_nothing() -> None:
    made = fieller(np.array([10.0, 30.0, -5.0]), np.array([0.1, 20.0, 0.0]), level=0.95)
    assert made.unbounded
    assert (made.low, made.high) == (-math.inf, math.inf)
    assert made.value == pytest.approx(35 / 20.1)


def test_fieller_with_equal_hours_is_the_t_interval_of_the_mean() -> None:
    from scipy import stats

    profit = np.array([40.0, 90.0, 10.0, 75.0])
    low, high = stats.t.interval(0.8, 3, profit.mean() / 5, stats.sem(profit) / 5)
    made = fieller(profit, np.full(4, 5.0), level=0.8)
    assert (made.low, made.high) == pytest.approx((low, high), rel=1e-9)


def test_jackknife_error_of_the_patch_ratio() -> None:
    # Efron & Tibshirani 1993, chapters 10 and 11 (from memory, pages not known).
    assert jackknife_error(PATCH_Y, PATCH_Z) == pytest.approx(0.1055278, abs=5e-8)


@pytest.mark.parametrize("pieces", [8, 15, 40])
def test_fieller_covers_the_true_pay_on_skewed_pieces(pieces: int) -> None:
    # Lognormal hours, exponential takings (skewness 2) less costs. Nominal .95; more worlds in bench_earnings.
    rng = np.random.default_rng(pieces)
    mean_hours = 8 * math.exp(0.5**2 / 2)
    truth = (100 - 40 + 10 * mean_hours) / mean_hours
    hits, shops = 0, 1000
    for _ in range(shops):
        hours = 8 * np.exp(0.5 * rng.standard_normal(pieces))
        made = fieller(100 * rng.exponential(1, pieces) + 10 * hours - 40, hours, level=0.95)
        hits += made.low <= truth <= made.high
    assert 0.90 <= hits / shops <= 0.97


def test_no_hours_at_all_is_no_ratio() -> None:
    assert math.isnan(ratio_of_totals(np.array([50.0, 20.0]), np.zeros(2)))
    assert math.isnan(fieller(np.array([50.0, 20.0]), np.zeros(2)).low)


def test_two_pieces_have_an_interval() -> None:
    made = fieller(np.array([10.0, 12.0]), np.array([1.0, 1.0]), level=0.5)
    assert (made.low, made.value, made.high) == pytest.approx((10.0, 11.0, 12.0))  # t is 1 here


def test_one_piece_has_a_ratio_but_no_interval() -> None:
    made = fieller(np.array([50.0]), np.array([4.0]))
    assert made.value == 12.5
    assert math.isnan(made.low)
    assert math.isnan(made.high)


def test_gaps_and_negative_hours_are_refused() -> None:
    with pytest.raises(BadQuestion, match="without gaps"):
        fieller(np.array([1.0, math.nan]), np.array([1.0, 2.0]))
    with pytest.raises(BadQuestion, match="found -2"):
        fieller(np.array([1.0, 2.0]), np.array([1.0, -2.0]))
    with pytest.raises(BadQuestion, match=r"level is 1\.2"):
        fieller(np.array([1.0, 2.0]), np.array([1.0, 2.0]), level=1.2)
