"""The planner against published closed forms, brute force, a certificate, and its own rules."""

from itertools import combinations_with_replacement, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlib.base.errors import BadQuestion
from fleetlib.plan.solver.dynamic_program import pose, sweep, walk
from fleetlib.plan.solver.path import Market, Start, Terms, path_value, plan_markdowns
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.market import market_for
from tests.plan.upper_bound import upper_bound

# ---- published closed forms, through the same code -------------------------------------------------


def lazear_market(periods: int) -> Market:
    """A value uniform on [0, 1], one buyer a period who buys when the price is below the value.

    In our form a limit: phi = V^B, lam(p) = p^-B, so that exp(-(V/p)^B) is 1 below the price and 0 above.
    """
    B = 500.0
    values = (np.arange(240) + 0.5) / 240
    prices = np.arange(1, 61) / 60
    return Market(
        prices=prices,
        revenue=prices,
        log_rate=-B * np.log(prices),
        log_week=np.zeros(periods),
        log_phi=B * np.log(values),
        weights=np.full(240, 1 / 240),
    )


@pytest.mark.parametrize("periods", [1, 2, 3, 4, 5])
def test_lazear_prices_and_revenue(periods):
    # Lazear 1986, American Economic Review 76(1) 14-32: two periods 2/3 then 1/3, revenue 1/3; T periods
    # p_t = (T + 1 - t)/(T + 1), revenue T/(2(T + 1)), from the first-order conditions of his model.
    found = plan_markdowns(
        lazear_market(periods), Terms(0.0, 0.0, most_markdowns=9, weeks_between=1), points=2000
    )
    expected = (periods + 1 - np.arange(1, periods + 1)) / (periods + 1)
    assert found.prices == pytest.approx(expected, abs=1 / 60 + 1e-9)
    assert found.expected_net == pytest.approx(periods / (2 * (periods + 1)), abs=0.002)


def test_lazear_two_periods_to_the_digit():
    found = plan_markdowns(
        lazear_market(2), Terms(0.0, 0.0, most_markdowns=1, weeks_between=1), points=2000
    )
    assert found.prices == pytest.approx([2 / 3, 1 / 3], abs=1e-9)
    assert found.sold_by == pytest.approx([1 / 3, 2 / 3], abs=0.003)


@pytest.mark.parametrize(("periods", "value"), [(10, 2.1208956), (50, 2.1230751), (200, 2.1231640)])
def test_gallego_van_ryzin_values_from_below(periods, value):
    # Gallego & van Ryzin 1994, Management Science 40(8) 999-1020, one item, buyers' rate a exp(-alpha p):
    # J* = log(1 + a t/e)/alpha and p* = J* + 1/alpha; here a 20, alpha 1, t 1. In equal periods the price
    # moves only between them, so the worth comes from below; the values are those of the exact recursion
    # J <- max_p [p (1 - e^-lam) + e^-lam J], lam = a e^-p / n.
    limit = np.log(1 + 20 / np.e)
    prices = np.arange(0.6, 3.6, 0.002)
    market = Market(
        prices=prices,
        revenue=prices,
        log_rate=np.log(20 / periods) - prices,
        log_week=np.zeros(periods),
    )
    found = plan_markdowns(
        market, Terms(0.0, 0.0, most_markdowns=periods, weeks_between=1), points=12
    )
    assert found.expected_net == pytest.approx(value, abs=5e-7)
    assert found.expected_net < limit == pytest.approx(2.1231700, abs=1e-7)
    # p* = J* + 1/alpha at time to go 1, the first period's price halfway through it
    to_go = 1 - 0.5 / periods
    assert found.prices[0] == pytest.approx(np.log(1 + 20 * to_go / np.e) + 1, abs=0.004)


def test_posted_price_search_without_end():
    # Buyers U[0, 1], one a period at cost C: V = 1 - 2 sqrt(C), p = (1 + V)/2 (McCall's search rule for a
    # seller, from V = max_p p(1-p) + p V - C). In our form lam(p) = -log p.
    prices = np.arange(0.5, 0.999, 0.001)
    prices = np.sort(np.append(prices, 0.858579))
    market = Market(
        prices=prices, revenue=prices, log_rate=np.log(-np.log(prices)), log_week=np.zeros(250)
    )
    found = plan_markdowns(market, Terms(0.02, 0.0, most_markdowns=0), points=12)
    assert found.expected_net == pytest.approx(0.717157, abs=1e-6)
    assert found.prices[0] == pytest.approx(0.858579)


# ---- the worked piece ------------------------------------------------------------------------------

WORKED = Hazard(-1.7, 4.0, 0.0, -0.15, np.log(300.0), 0.18, share_paid=0.94)


def worked_market() -> Market:
    return market_for(WORKED, np.arange(110, 461, 10.0), horizon_weeks=20, selling_cost=12.0)


def test_worked_piece():
    found = plan_markdowns(worked_market(), Terms(2.5, 100.0, most_markdowns=3, weeks_between=2))
    at = found.changes()
    assert found.prices[at].tolist() == [390.0, 330.0, 270.0, 210.0]
    assert (at + 1).tolist() == [1, 7, 13, 18]
    assert found.expected_net == pytest.approx(246.09, abs=0.005)
    assert found.sold_by[[3, 7, 11, 19]] == pytest.approx([0.24, 0.43, 0.58, 0.91], abs=0.005)
    lowest = found.lowest_offers(selling_cost=12.0)
    assert lowest[[0, 3, 7, 11, 15, 19]] == pytest.approx([258, 241, 221, 199, 171, 128], abs=0.5)
    assert lowest[-1] == pytest.approx(112.0)


@pytest.mark.parametrize(
    ("markdowns", "net"),
    [(0, 234.2275), (1, 242.7619), (2, 245.1545), (3, 246.0908), (4, 246.5334)],
)
def test_worked_piece_gains_less_and_less_from_each_further_markdown(markdowns, net):
    found = plan_markdowns(worked_market(), Terms(2.5, 100.0, most_markdowns=markdowns))
    assert found.expected_net == pytest.approx(net, abs=1e-4)
    assert found.markdowns == markdowns


@pytest.mark.slow
def test_worked_piece_at_one_and_two_markdowns_is_the_best_of_all_paths():
    market = worked_market()
    for markdowns in (0, 1, 2):
        terms = Terms(2.5, 100.0, most_markdowns=markdowns)
        best = -np.inf
        level = np.arange(len(market.prices))
        for weeks in combinations_with_replacement(range(2, 20), markdowns):
            if any(b - a < 2 for a, b in pairwise(weeks)):
                continue
            falling = np.array(list(combinations_with_replacement(level[::-1], markdowns + 1)))
            slot = np.searchsorted(np.array(weeks), np.arange(20), side="right")
            best = max(best, plain_net(market, terms, falling[:, slot]).max())
        assert plan_markdowns(market, terms).expected_net == pytest.approx(best, rel=1e-9)


def plain_net(market: Market, terms: Terms, levels: np.ndarray) -> np.ndarray:
    """Worth of each row of weekly levels written out once more without logs, kind by kind."""
    x = np.cumsum(np.exp(market.log_rate)[levels] * np.exp(market.log_week[: levels.shape[1]]), 1)
    unsold = np.ones((levels.shape[0], levels.shape[1] + 1))
    unsold[:, 1:] = 0.0
    for log_phi, weight in zip(market.log_phi, market.weights, strict=True):
        unsold[:, 1:] += weight * np.exp(-np.exp(log_phi) * x)
    net = (market.revenue[levels] * -np.diff(unsold, axis=1)).sum(1)
    net -= terms.holding_per_week * unsold[:, :-1].sum(1)
    return net + terms.salvage * unsold[:, -1]


# ---- brute force and the certificate ---------------------------------------------------------------


def random_case(seed: int, *, weeks: int, count: int) -> tuple[Market, Terms]:
    rng = np.random.default_rng(seed)
    value = rng.uniform(80, 900)
    hazard = Hazard(
        baseline=rng.uniform(-3.2, -0.6),
        sensitivity=rng.uniform(1.5, 8.0),
        curvature=rng.choice([0.0, rng.uniform(0, 2.5)]),
        week_exponent=rng.uniform(-0.4, 0.2),
        log_anchor=np.log(value),
        frailty_sd=rng.choice([0.0, rng.uniform(0.05, 0.4)]),
        share_paid=rng.uniform(0.85, 1.0),
    )
    salvage = value * rng.uniform(0.1, 0.5)
    prices = np.unique(np.round(np.linspace(salvage * 1.15, value * 1.5, count), 0))
    market = market_for(
        hazard,
        prices,
        horizon_weeks=weeks,
        fee_share=rng.uniform(0, 0.12),
        selling_cost=rng.uniform(0, 0.04 * value),
    )
    terms = Terms(
        value * rng.uniform(0.0, 0.02), salvage, int(rng.integers(0, 4)), int(rng.integers(1, 4))
    )
    return market, terms


def every_path(weeks: int, count: int, terms: Terms) -> np.ndarray:
    """All non-increasing weekly levels with at most `most_markdowns` drops, `weeks_between` weeks apart."""
    falling = np.array(list(combinations_with_replacement(range(count)[::-1], weeks)))
    drop = np.diff(falling, axis=1) < 0
    ok = drop.sum(1) <= terms.most_markdowns
    kept = np.zeros((len(falling), weeks), bool)
    kept[:, 0] = True
    kept[:, 1:] = drop
    for gap in range(1, terms.weeks_between):
        ok &= ~(kept[:, gap:] & kept[:, :-gap]).any(1)
    return falling[ok]


@pytest.mark.parametrize("seed", range(30))
def test_brute_force_finds_nothing_better(seed):
    market, terms = random_case(seed, weeks=8, count=7)
    best = terms.salvage
    for weeks in range(1, 9):
        best = max(best, plain_net(market, terms, every_path(weeks, 7, terms)).max())
    found = plan_markdowns(market, terms)
    assert best * (1 - 2e-4) <= found.expected_net <= best * (1 + 1e-9)
    assert upper_bound(market, terms) >= best * (1 - 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_the_certificate_at_half_a_year_four_markdowns_and_sixty_prices(seed):
    market, terms = random_case(100 + seed, weeks=26, count=60)
    terms = Terms(terms.holding_per_week, terms.salvage, 4, 2)
    found = plan_markdowns(market, terms)
    bound = upper_bound(market, terms, points=320)
    assert found.expected_net <= bound <= found.expected_net * 1.001


@pytest.mark.parametrize("seed", range(10))
def test_planning_again_with_no_news_gains_nothing(seed):
    market, terms = random_case(200 + seed, weeks=20, count=40)
    found = plan_markdowns(market, terms)
    steps = found.changes()
    for week in range(1, len(found.prices), 3):
        past = steps[steps < week]
        left = terms.most_markdowns - (len(past) - 1)
        start = Start(
            log_exposure=found.log_exposure[week - 1],
            ask=found.prices[week - 1],
            wait=int(max(past[-1] + terms.weeks_between - week, 0)),
        )
        again = plan_markdowns(
            market.later(week),
            Terms(terms.holding_per_week, terms.salvage, left, terms.weeks_between),
            start=start,
        )
        assert again.expected_net >= found.continuation[week] * (1 - 1e-9)
        assert again.expected_net <= found.continuation[week] * (1 + 1e-4)


# ---- rules every plan keeps ------------------------------------------------------------------------


@settings(max_examples=60)
@given(st.integers(0, 10_000), st.integers(2, 26), st.integers(2, 30))
def test_rules_of_every_plan(seed, weeks, count):
    market, terms = random_case(seed, weeks=weeks, count=count)
    found = plan_markdowns(market, terms)
    assert found.expected_net >= terms.salvage
    assert np.all(np.diff(found.prices) <= 0)
    assert set(found.prices) <= set(market.prices)
    at = found.changes()
    assert len(at) - 1 <= terms.most_markdowns
    assert np.all(np.diff(at) >= terms.weeks_between)
    assert np.all(np.diff(found.sold_by) >= 0) and np.all(found.sold_by <= 1)
    assert np.all(found.continuation >= terms.salvage - 1e-9)


@settings(max_examples=60)
@given(st.integers(0, 10_000))
def test_lowest_offers_stay_below_what_the_ask_brings_and_end_at_salvage(seed):
    market, terms = random_case(seed, weeks=16, count=25)
    found = plan_markdowns(market, terms)
    lowest = found.lowest_offers(fee_share=0.1, selling_cost=7.0)
    assert lowest[-1] == pytest.approx((terms.salvage + 7.0) / 0.9)
    # what the sale at the ask brings is never worse than going on unsold
    kept = market.revenue[market.levels(found.prices)] if len(found.prices) else np.zeros(0)
    assert np.all(found.continuation[:-1] < kept + 1e-9)


def test_a_listed_piece_keeps_its_ask_until_it_may_come_down():
    market = worked_market()
    start = Start(log_exposure=-1.0, ask=390.0, wait=3)
    found = plan_markdowns(market.later(6), Terms(2.5, 100.0, 2), start=start)
    assert found.prices[:3].tolist() == [390.0] * 3
    assert found.prices[3] < 390.0
    assert found.markdowns == 2


def test_a_listed_piece_that_may_come_down_today_does_so_if_it_is_far_too_dear():
    found = plan_markdowns(
        worked_market().later(15), Terms(2.5, 100.0, 1), start=Start(-1.0, ask=460.0, wait=0)
    )
    assert found.prices[0] < 300.0
    assert found.markdowns == 1


def test_a_week_unsold_lowers_what_the_piece_is_still_worth():
    market, terms = worked_market(), Terms(2.5, 100.0)
    fresh = plan_markdowns(market, terms).expected_net
    stale = plan_markdowns(market, terms, start=Start(log_exposure=np.log(2.0))).expected_net
    assert stale < fresh


def test_fewer_markdowns_are_taken_when_they_cost_at_most_the_stated_share():
    market, terms = worked_market(), Terms(2.5, 100.0, 4)
    found = plan_markdowns(market, terms, fewer_within=0.005)
    # 246.5334 with four; 246.0908 with three is 0.18% less, 245.1545 with two is 0.56% less
    assert found.markdowns == 3
    assert plan_markdowns(market, terms, fewer_within=0.006).markdowns == 2


def test_salvage_now_when_sales_are_slow_and_holding_is_dear():
    slow = Hazard(-6.0, 4.0, 0.0, -0.15, np.log(300.0), 0.18)
    market = market_for(slow, np.arange(110, 461, 10.0), horizon_weeks=20, selling_cost=12.0)
    found = plan_markdowns(market, Terms(10.0, 100.0))
    assert found.salvage_now
    assert found.expected_net == 100.0
    assert found.expected_weeks == 0.0


def test_salvage_may_come_before_the_horizon():
    # interest dies away, so there comes a week after which waiting costs more than it brings
    fading = Hazard(-0.7, 4.0, 0.0, -2.5, np.log(300.0), 0.0)
    market = market_for(fading, np.arange(110, 461, 10.0), horizon_weeks=26)
    found = plan_markdowns(market, Terms(6.0, 100.0))
    assert 0 < len(found.prices) < 26
    full = path_value(np.append(found.prices, found.prices[-1]), market, Terms(6.0, 100.0))
    assert full.expected_net < found.expected_net


# ---- the exact worth of a path ---------------------------------------------------------------------


def test_path_value_agrees_with_pieces_sold_one_by_one():
    rng = np.random.default_rng(2026)
    market, terms = worked_market(), Terms(2.5, 100.0)
    prices = np.repeat([380.0, 300.0, 200.0], [8, 6, 6])
    pieces = 200_000
    rate = np.exp(market.log_rate[market.levels(prices)] + market.log_week)
    phi = np.exp(4.0 * 0.18 * rng.standard_normal(pieces))
    unsold, net, weeks = np.ones(pieces, bool), np.zeros(pieces), np.zeros(pieces)
    for week, price in enumerate(prices):
        net[unsold] -= 2.5
        weeks[unsold] += 1
        buys = unsold & (rng.random(pieces) < 1 - np.exp(-phi * rate[week]))
        net[buys] += 0.94 * price - 12
        unsold &= ~buys
    net[unsold] += 100
    worth = path_value(prices, market, terms)
    assert worth.expected_net == pytest.approx(net.mean(), abs=4 * net.std() / pieces**0.5)
    assert worth.expected_weeks == pytest.approx(weeks.mean(), abs=4 * weeks.std() / pieces**0.5)
    assert worth.sold_by[-1] == pytest.approx(1 - unsold.mean(), abs=0.005)


def test_periods_of_other_lengths_pay_holding_cost_by_their_length():
    market = Market(
        np.array([1.0]),
        np.array([1.0]),
        np.array([-np.inf]),
        np.zeros(2),
        week_lengths=np.array([0.5, 2.0]),
    )
    worth = path_value(np.array([1.0, 1.0]), market, Terms(3.0, 10.0))
    assert worth.expected_net == pytest.approx(10 - 3 * 2.5)
    assert worth.expected_weeks == pytest.approx(2.5)


def test_a_price_that_is_not_among_the_asks_is_refused():
    with pytest.raises(BadQuestion, match="not among the market's asking prices"):
        path_value(np.array([333.0]), worked_market(), Terms(2.5, 100.0))


def test_a_path_longer_than_the_horizon_is_refused():
    with pytest.raises(BadQuestion, match="21 weeks but the market only 20"):
        path_value(np.full(21, 330.0), worked_market(), Terms(2.5, 100.0))


def test_asks_out_of_order_are_refused():
    with pytest.raises(BadQuestion, match="rising"):
        Market(np.array([2.0, 1.0]), np.ones(2), np.zeros(2), np.zeros(3))


def test_a_market_without_a_week_is_refused():
    with pytest.raises(BadQuestion, match="no week left"):
        worked_market().later(20)


def test_a_new_piece_may_have_to_wait_longer_for_its_first_markdown():
    market = worked_market()
    terms = Terms(2.5, 100.0, most_markdowns=9, weeks_between=1)
    found = plan_markdowns(market, terms, start=Start(wait=5))
    assert found.changes()[1] >= 5
    assert upper_bound(market, terms, start=Start(wait=5)) >= found.expected_net
    assert found.expected_net <= plan_markdowns(market, terms).expected_net


def test_the_certificate_also_holds_for_a_piece_already_listed():
    market, terms = worked_market().later(4), Terms(2.5, 100.0, 2, 3)
    start = Start(log_exposure=-0.5, ask=390.0, wait=2)
    found = plan_markdowns(market, terms, start=start)
    bound = upper_bound(market, terms, start=start, points=320)
    assert found.expected_net <= bound <= found.expected_net * 1.001


@pytest.mark.parametrize("seed", range(8))
def test_the_programme_alone_already_finds_what_the_plan_is_worth(seed):
    # before any polish: what its own walk brings exactly
    market, terms = random_case(300 + seed, weeks=20, count=40)
    terms = Terms(terms.holding_per_week, terms.salvage, 3, 4)
    asked = pose(market, terms, Start())
    x, values = sweep(asked, points=48)
    found = plan_markdowns(market, terms)
    walked = path_value(market.prices[walk(asked, x, values, 3)], market, terms)
    assert walked.expected_net >= found.expected_net * (1 - 2e-3)
