"""Small steps of the price model worked by hand; all of them together take a second."""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, special

from fleetlib.price import fit as price_fit
from fleetlib.price.comparables import MOST_SHOWN, _most_telling, differences
from fleetlib.price.estimate import times
from fleetlib.price.features import FACTORS, MEASURES, model_columns
from fleetlib.price.fit import PriceDistribution, share_to_expect
from fleetlib.price.notes import level_notes
from fleetlib.price.own_price import _log_likely
from fleetlib.price.regression.kernels import (
    MISSING,
    UNSEEN,
    Coded,
    Factor,
    around_the_year,
    bell,
    level_kernel,
    same_level,
    wandering,
)
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.noise import _CHI_MEAN, _CHI_VARIANCE, VarianceModel
from fleetlib.price.regression.ordinary import design_columns
from fleetlib.records.schema.columns import COLUMNS


def one_normal(middle: float, sd: float) -> PriceDistribution:
    mixture = Mixture(np.array([[middle]]), np.array([[sd]]), np.array([1e6]), np.ones(1))
    return PriceDistribution(np.exp(middle), np.exp(middle), 30.0, mixture)


def test_shares_above_and_below_are_those_of_the_distribution():
    told = one_normal(np.log(300.0), 0.2)
    assert told.share_above(300.0) == pytest.approx(0.5)
    above = 300 * np.exp(0.2)  # one standard deviation: 15.87% of a normal lies above
    assert told.share_above(above) == pytest.approx(0.158655, abs=1e-5)
    assert told.interval(0.80)[1] == pytest.approx(300 * np.exp(0.2 * 1.281552), rel=1e-5)


@pytest.mark.parametrize(("sd", "fall"), [(0.1, 0.05), (0.3, 0.3), (0.05, 0.2)])
def test_the_density_of_a_sale_about_what_was_told_adds_up_to_one(sd, fall):
    def density(x):
        with np.errstate(divide="ignore"):
            return np.exp(_log_likely(np.array([x]), np.array([sd]), np.array([fall]))[0])

    whole = integrate.quad(density, -8, 8, points=(-1, 0, 1), limit=200)[0]
    assert whole / np.sqrt(2 * np.pi) == pytest.approx(1.0, abs=1e-5)


@pytest.mark.parametrize("inside", [8, 4, 0])
def test_the_share_to_expect_is_counted_into_a_beta_of_known_spread(inside, monkeypatch):
    # .8 (1 - .8) / .05^2 - 1 = 63 sales' worth of belief in .80
    monkeypatch.setattr(price_fit, "inside_when_refitted", lambda fit: inside)

    class Ten:
        sales = range(10)

    assert share_to_expect(Ten()) == pytest.approx((inside + 63 * 0.8) / 73)


def test_a_range_is_said_as_so_many_times_out_of_so_many():
    assert times(0.80) == "8 times out of 10"
    assert times(0.95) == "19 times out of 20"


def test_size_is_width_by_depth_by_height_in_cubic_feet():
    row = pd.DataFrame({"width_in": [36.0], "depth_in": [24.0], "height_in": [48.0]})
    made = model_columns(row, as_of=date(2026, 9, 30))
    assert made["size_cuft"].tolist() == [3 * 2 * 4]
    assert made["pieces_in_lot"].tolist() == [1.0]


def test_words_are_factors_and_numbers_are_measures():
    kinds = {c.name: c.kind for c in COLUMNS if "price" in c.tells}
    assert {n for n in FACTORS if n in kinds} == {n for n, k in kinds.items() if k == "word"}
    assert not {n for n, k in kinds.items() if k == "word"} & set(MEASURES)


def test_the_sales_shown_are_those_of_its_kind_of_most_weight():
    weights = np.array([0.9, 0.004, 0.05, 0.002, 0.0, 0.044])
    same = np.array([False, True, False, True, True, False])
    assert _most_telling(weights, same).tolist() == [1, 3]  # a weight of 0 tells nothing
    assert _most_telling(weights, np.zeros(6, dtype=bool)).tolist() == [0, 2, 5, 1, 3]
    even = np.full(20, 0.05)
    assert _most_telling(even, even > 0).tolist() == list(range(MOST_SHOWN))


def test_likeness_of_levels_by_hand():
    def coded(*codes):
        n = len(codes)
        keys = np.full(n, "", dtype=object)
        return Coded(
            np.array(codes)[:, None], np.zeros((n, 0)), np.zeros((n, 0)), np.zeros((n, 0)), keys
        )

    shares = np.array([0.75, 0.25])
    rows = coded(0, 1, UNSEEN, MISSING)
    made = same_level(rows, rows, shares, 0)
    assert made.tolist() == [
        [1, 0, 0, 0.75],
        [0, 1, 0, 0.25],
        [0, 0, 0, 0],
        [0.75, 0.25, 0, 0.75**2 + 0.25**2],
    ]
    assert level_kernel(np.array([0.0, 1.0])).tolist() == [0.6, 1.0]


def test_likeness_of_numbers_and_times_by_hand():
    assert bell(np.array([0.0]), np.array([2.0]), 2.0)[0, 0] == pytest.approx(np.exp(-1))
    assert around_the_year(np.array([0.25]), np.array([0.75]))[0, 0] == pytest.approx(np.exp(-2))
    assert around_the_year(np.array([0.0]), np.array([0.25]))[0, 0] == pytest.approx(np.exp(-1))
    hole = around_the_year(np.array([np.nan]), np.array([0.25]))[0, 0]
    assert hole == pytest.approx(np.exp(-1) * special.i0(1))
    before = np.array([0.0, 1.0, 3.0])
    back = wandering(np.array([-2.0, np.nan]), np.array([-1.0, 0.5]), before)
    assert back.tolist() == [[1.0, 0.0], [pytest.approx(2 / 3), 0.0]]


def test_the_log_of_a_chi_square_has_the_mean_and_variance_of_the_tables():
    # Abramowitz & Stegun 6.3.3, 6.4.4: psi(1/2) = -gamma - 2 log 2, psi'(1/2) = pi^2/2; log 2 is the scale
    assert pytest.approx(special.digamma(0.5) + np.log(2), abs=1e-6) == _CHI_MEAN
    assert pytest.approx(special.polygamma(1, 0.5)) == _CHI_VARIANCE


def test_one_row_of_a_level_is_all_of_it():
    assert Factor("wood", ("oak",), np.array([1.0])).shares.tolist() == [1.0]


def test_a_sale_of_the_same_size_is_alike_and_another_says_its_own():
    row = pd.Series(dict.fromkeys(FACTORS, None) | dict.fromkeys(MEASURES, np.nan))
    same = row.copy()
    same["size_cuft"] = row["size_cuft"] = 20.0
    assert differences(row, same, {"size_cuft"}) == "alike"
    same["size_cuft"] = 40.0
    assert "40" in differences(row, same, {"size_cuft"})


def test_words_are_told_against_the_first_of_the_alphabet_where_none_is_named():
    words = pd.DataFrame({"wood": ["pine", "oak", "ash"]})
    columns, _, used = design_columns(words, {}, constant=True)
    assert used == {"wood": "ash"}
    assert list(columns) == ["constant", "wood = oak", "wood = pine"]


def test_the_noise_of_a_price_hangs_on_its_distance_in_spreads():
    def h(spread: float) -> np.ndarray:
        model = VarianceModel(
            0, 1, np.array([0.0, 0.0, 0.5]), np.array([1.0, -1.0]), 0.2, np.array([0.0, 1.0]), 5.0, spread, 0.1
        )  # fmt: skip
        return model.at(np.zeros((1, 3, 2)), 5.0 + spread * np.array([-1.0, 0.0, 1.0]))

    assert h(0.5) == pytest.approx(h(2.0))
    assert np.ptp(h(2.0)) > 0.05


@pytest.mark.parametrize(
    ("sold", "said"),
    [
        (0, ["none of your sales has wood oak"]),
        (1, ["only 1 sale has wood oak"]),
        (3, ["only 3 sales have wood oak"]),
        (4, []),
    ],
)
def test_a_word_sold_three_times_is_few_and_four_times_is_not(sold, said):
    wood = SimpleNamespace(name="wood", levels=("oak", "pine"), counts=(sold, 9))
    coding = SimpleNamespace(factors=[wood])
    fit = SimpleNamespace(regressor=SimpleNamespace(coding=coding), sales=[1] * (sold + 9))
    made = level_notes(fit, pd.Series({"wood": "oak"}))
    assert [note[: len(s)] for note, s in zip(made, said, strict=True)] == said
