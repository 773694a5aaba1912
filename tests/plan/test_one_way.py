"""Asks answer what they rest on one way only: scans over own price, salvage, costs and markdowns allowed."""

from dataclasses import replace

import numpy as np
import pytest

from fleetlib.plan.case import MOST_ASKS, case_for
from tests.plan.plan_shop import AS_OF, DRESSER, SHOP, KnownPace, KnownPrices, shop


def first_ask(*args, **own):
    return float(best_path(*args, **own).prices[0])


def best_path(usual=300.0, gut=340.0, sensitivity=4.0, level=-1.7, step=10.0, **own):
    fits = shop(
        settings=replace(SHOP, price_step=step, **own),
        prices=KnownPrices(usual),
        pace=KnownPace(level, sensitivity, cap=0.7),
    )
    return case_for(fits, replace(DRESSER, gut_price=gut), AS_OF).best_path()


# A week more or less before a markdown may still move the first ask back by one step: weeks are whole.
MARKETS = [
    {"sensitivity": 2.0, "level": -2.5, "usual": 300.0, "gut": 340.0, "step": 10.0},
    {"sensitivity": 4.0, "level": -1.7, "usual": 700.0, "gut": 790.0, "step": 5.0},
]


@pytest.mark.parametrize(("usual", "step", "begin"), [(300.0, 10.0, 290.0), (700.0, 5.0, 640.0)])
@pytest.mark.parametrize(("sensitivity", "level"), [(2.0, -2.5), (4.0, -1.7)])
def test_an_own_price_ten_higher_never_lowers_the_ask(usual, step, begin, sensitivity, level):
    # Spread from the highest ask down, the asks to choose from moved with the own price: 5 to 30 less, 1 time in 8.
    asks = [
        first_ask(usual, gut, sensitivity, level, step) for gut in np.arange(begin, begin + 130, 10)
    ]
    assert np.all(np.diff(asks) >= 0)
    assert asks[-1] > asks[0]


@pytest.mark.parametrize("market", MARKETS)
def test_more_salvage_or_a_dearer_sale_never_lowers_the_ask_by_more_than_a_step(market):
    for key, values in (
        ("salvage_share", (0.0, 0.1, 0.2, 0.35, 0.5, 0.65)),
        ("delivery_cost", (0.0, 15.0, 30.0, 60.0)),
    ):
        paths = [best_path(**market, **{key: v}) for v in values]
        most = [(p.bolder if len(p.bolder) else p.prices)[0] for p in paths]
        assert np.all(np.diff(most) >= -market["step"])
        # a markdown more or less moves the doubt, and with it how much habit counts
        asks = [p.prices[0] for p in paths]
        assert np.all(np.diff(asks) >= -0.02 * np.array(asks[1:]))
        assert asks[-1] > asks[0]


@pytest.mark.parametrize("market", MARKETS)
def test_more_markdowns_or_weeks_allowed_never_lower_the_first_ask(market):
    for key, values in (("most_markdowns", (0, 1, 2, 4)), ("horizon_weeks", (8, 14, 20, 30))):
        asks = [first_ask(**market, **{key: v}) for v in values]
        assert np.all(np.diff(asks) >= -market["step"])
        assert asks[-1] > asks[0]


@pytest.mark.parametrize("market", MARKETS)
def test_a_dearer_week_of_waiting_lowers_the_ask(market):
    asks = [first_ask(**market, holding_cost_per_week=v) for v in (0.0, 2.0, 5.0, 12.0)]
    assert np.all(np.diff(asks) < 0)


def test_the_search_begins_on_asks_that_stay_where_they_are():
    fits = shop(settings=replace(SHOP, price_step=5.0), prices=KnownPrices(700.0))
    made = [case_for(fits, replace(DRESSER, gut_price=g), AS_OF) for g in (790.0, 800.0)]
    for case in made:
        assert len(case.coarse) <= MOST_ASKS < len(case.asks)
        assert {case.asks[0], case.asks[-1]} <= set(case.coarse)
        assert np.diff(case.asks) == pytest.approx(5.0)
    inner = [set(case.coarse[1:-1]) for case in made]
    assert inner[0] <= inner[1]  # the dearer one only adds asks on top
