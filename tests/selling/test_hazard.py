"""The weekly chance of selling, as the planner reads it."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats

from fleetlib.selling.hazard import Hazard
from fleetlib.selling.market import market_for

PLAIN = Hazard(
    baseline=-1.7,
    sensitivity=4.0,
    curvature=0.0,
    week_exponent=-0.15,
    log_anchor=np.log(300.0),
    frailty_sd=0.18,
    share_paid=0.94,
)


def curved(kap: float) -> Hazard:
    return Hazard(-1.7, 4.0, kap, -0.15, np.log(300.0), 0.18, 0.94)


def test_at_the_anchored_value_the_rate_is_the_level():
    assert PLAIN.log_rate(np.array([300.0])) == pytest.approx([-1.7])
    assert curved(0.8).log_rate(np.array([300.0])) == pytest.approx([-1.7])


def test_ten_per_cent_more_asked_draws_fewer_buyers_by_the_sensitivity():
    got = PLAIN.log_rate(np.array([330.0]))[0] - PLAIN.log_rate(np.array([300.0]))[0]
    assert got == pytest.approx(-4 * np.log(1.1))


def test_a_tiny_curvature_is_the_same_as_none():
    asks = np.array([150.0, 300.0, 450.0])
    assert curved(1e-7).log_rate(asks) == pytest.approx(PLAIN.log_rate(asks), abs=1e-6)


def test_curvature_makes_dear_asks_dearer_still():
    # f(y) = -B (exp(kap y) - 1)/kap at y = log 1.5, worked by hand: -4 (1.5 - 1)/1 = -2
    assert curved(1.0).log_rate(np.array([450.0]))[0] == pytest.approx(-3.7)


def test_interest_cools_off_with_the_weeks():
    assert PLAIN.log_week(4) == pytest.approx(-0.15 * np.log([1, 2, 3, 4]))


@pytest.mark.parametrize("exposure", [0.05, 0.5, 2.0, 6.0])
def test_the_kinds_of_hidden_quality_stand_for_a_normal_spread(exposure):
    # the chance of being unsold by numerical integration over u ~ N(0, .18^2), phi = exp(4 u)
    log_phi, weights = PLAIN.nodes()
    exact, _ = integrate.quad(
        lambda u: np.exp(-np.exp(4 * u) * exposure) * stats.norm.pdf(u, scale=0.18), -2, 2
    )
    assert weights @ np.exp(-np.exp(log_phi) * exposure) == pytest.approx(exact, abs=2e-5)


def test_no_hidden_quality_is_one_kind():
    log_phi, weights = Hazard(-1.7, 4, 0, 0, 0, 0.0).nodes()
    assert (log_phi.tolist(), weights.tolist()) == ([0.0], [1.0])


def test_money_kept_is_what_the_buyer_pays_less_fee_and_selling_cost():
    market = market_for(
        PLAIN, np.array([200.0, 300.0]), horizon_weeks=3, fee_share=0.1, selling_cost=12.0
    )
    assert market.revenue == pytest.approx([0.94 * 200 * 0.9 - 12, 0.94 * 300 * 0.9 - 12])
    assert market.horizon == 3


def test_haggling_may_deepen_on_dear_asks_but_never_pays_above_the_ask():
    h = Hazard(-1.7, 4, 0, 0, np.log(300.0), 0.1, share_paid=0.95, share_paid_slope=-0.2)
    got = h.paid(np.array([100.0, 300.0, 450.0]))
    assert got == pytest.approx([100.0, 285.0, 450 * (0.95 - 0.2 * np.log(1.5))])


def test_a_sensitivity_factor_turns_the_response_around_the_anchored_value():
    less = replace(PLAIN, sensitivity=0.7 * PLAIN.sensitivity)
    asks = np.array([300.0, 400.0])
    assert less.log_rate(asks)[0] == PLAIN.log_rate(asks)[0]
    assert less.log_rate(asks)[1] > PLAIN.log_rate(asks)[1]


def test_stretches_of_days_count_as_the_weeks_they_lie_in():
    got = np.exp(PLAIN.log_stretch(np.array([0.0, 3.0, 7.0, 14.0, 16.0])))
    second, third = 2**-0.15, 3**-0.15
    assert got == pytest.approx([3 / 7, 4 / 7, second, third * 2 / 7])
