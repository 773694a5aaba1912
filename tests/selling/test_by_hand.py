"""Small steps of the pace of selling worked by hand; all of them together take a second."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize

from fleetlib.base.errors import BadQuestion
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.likelihood import LOG_WEIGHTS, NODES, listing_weeks, price_response
from fleetlib.selling.market import Draws, market_for
from fleetlib.selling.posterior import (
    ASSUMED,
    SENSITIVITY,
    SHOP,
    SellingData,
    _negative_log_posterior,
    _types_given_shop,
    posterior_mode,
)
from tests.selling.test_weeks_at_risk import events, histories

NONE = SellingData(
    listing_weeks(np.zeros(0, dtype=int), np.zeros(0, dtype=bool)),
    *[np.zeros(0)] * 4, np.zeros(0, dtype=int), 0, 0.04,
)  # fmt: skip


def three_listings() -> SellingData:
    weeks, sold = np.array([3, 2, 4]), np.array([True, False, True])
    layout = listing_weeks(weeks, sold)
    week = np.concatenate([np.arange(1, w + 1) for w in weeks])
    x = np.array([0.3, 0.3, 0.1, 0.2, 0.2, 0.0, 0.0, -0.1, -0.1])
    z, no_signal = np.array([0.1, 0.0, -0.05]), np.array([0.0, 1.0, 0.0])
    return SellingData(layout, x, np.log(week), z, no_signal, np.array([0, 1, 0]), 2, 0.04)


def test_what_is_assumed_of_the_price_response_is_what_the_log_of_moved_numbers_says():
    mean, below, above = ASSUMED.sensitivity
    said = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"(B {mean:g}, -{below:g} +{above:g})" in said


def test_without_a_listing_the_mode_is_what_is_assumed_and_the_spread_is_the_lower_one_below():
    best, _, _ = posterior_mode(NONE, ASSUMED)
    mean, below, above = ASSUMED.sensitivity
    assert best[SENSITIVITY] == pytest.approx(mean, abs=1e-3)
    at = [best.copy() for _ in range(3)]
    at[0][SENSITIVITY], at[1][SENSITIVITY], at[2][SENSITIVITY] = mean - below, mean, mean + above
    low, mid, high = (_negative_log_posterior(t, NONE, ASSUMED)[0] for t in at)
    assert low - mid == pytest.approx(0.5) and high - mid == pytest.approx(0.5)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_slope_of_the_density_is_its_difference(seed):
    data = three_listings()
    theta = np.array([-1.7, 3.0, -0.1, 0.8, -1.5, -1.4, 0.1, -0.2])
    theta = theta + 0.1 * np.random.default_rng(seed).standard_normal(8)
    by_hand = optimize.approx_fprime(
        theta, lambda t: _negative_log_posterior(t, data, ASSUMED)[0], 1e-6
    )
    assert _negative_log_posterior(theta, data, ASSUMED)[1] == pytest.approx(by_hand, abs=1e-4)


def test_the_curvature_at_the_mode_is_the_second_difference_of_the_density():
    data = three_listings()
    best, hessian, _ = posterior_mode(data, ASSUMED)
    move = np.zeros(8)
    move[0] = 1e-3
    up, mid, down = (
        _negative_log_posterior(t, data, ASSUMED)[0] for t in (best + move, best, best - move)
    )
    assert hessian[0, 0] == pytest.approx((up - 2 * mid + down) / 1e-6, rel=1e-3)
    assert np.array_equal(hessian, hessian.T)


def test_types_follow_the_shop_so_that_together_they_have_the_whole_covariance():
    root = np.random.default_rng(3).standard_normal((SHOP + 2, SHOP + 2))
    whole = root @ root.T
    follow, own = _types_given_shop(whole)
    assert follow @ whole[:SHOP, :SHOP] == pytest.approx(whole[SHOP:, :SHOP])
    assert follow @ whole[:SHOP, :SHOP] @ follow.T + own == pytest.approx(whole[SHOP:, SHOP:])


def test_the_kinds_of_hidden_quality_count_as_a_standard_normal():
    w = np.exp(LOG_WEIGHTS)
    assert (w.sum(), w @ NODES, w @ NODES**2) == pytest.approx((1.0, 0.0, 1.0))


@pytest.mark.parametrize("y", [-1.5, 0.4, 2.0])
def test_the_price_response_nearly_without_curvature_is_its_series(y):
    c, b = 9e-5, 4.0
    bend = y + c * y**2 / 2 + c**2 * y**3 / 6
    in_kap = y**2 / 2 + c * y**3 / 3 + c**2 * y**4 / 8  # term by term, worked by hand
    got = price_response(np.array([y]), b, c)
    want = (-b * bend, -bend, -b * in_kap, -b * np.exp(c * y))
    assert [float(g[0]) for g in got] == pytest.approx(want, abs=4e-7)


def test_a_new_ask_holds_from_the_week_whose_middle_it_reached():
    day = {"listed_on": "2026-09-01", "sold_on": "2026-09-20", "sale_price": 350.0}
    third = histories(day, log=events(("2026-09-11", "P0", "asking_price", 370.0)))  # day 10
    assert third.asks[0].tolist() == [400.0, 370.0, 370.0]
    fourth = histories(day, log=events(("2026-09-12", "P0", "asking_price", 370.0)))
    assert fourth.asks[0].tolist() == [400.0, 400.0, 370.0]


def test_positions_of_asks_and_the_chance_unsold_by_hand():
    plain = Hazard(-1.0, 4.0, 0.0, 0.0, np.log(300.0), 0.0)
    market = market_for(plain, np.array([280.0, 300.0, 320.0]), horizon_weeks=4)
    assert market.levels(np.array([320.0, 300.0, 280.0])).tolist() == [2, 1, 0]
    with pytest.raises(BadQuestion, match="not among"):
        market.levels(np.array([290.0]))
    for exposure in (0.1, 0.6, 0.8, 5.0):
        assert market.log_unsold(np.array([np.log(exposure)])) == pytest.approx([-exposure])


def test_draws_count_by_how_likely_they_leave_the_piece_unsold():
    rates = np.array([[-1.0], [-1.0]])
    gone = np.log([np.log(2.0), np.log(4.0)])  # half and a quarter left, without hidden quality
    draws = Draws(rates, np.zeros((2, 3)), np.zeros(2), gone)
    assert draws.share == pytest.approx([2 / 3, 1 / 3])
    left = replace(draws, log_exposure=np.full(2, -np.inf)).unsold(np.array([0, 0]))
    assert left[0] == pytest.approx(np.exp(-np.exp(-1.0) * np.arange(3)))


def test_money_kept_from_a_sale_costs_nothing_that_was_not_said():
    plain = Hazard(-1.0, 4.0, 0.0, 0.0, np.log(300.0), 0.0)
    assert market_for(plain, np.array([280.0]), horizon_weeks=1).revenue.tolist() == [280.0]
