"""Small steps of the plan worked by hand; all of them together take a second or two."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.settings import Settings
from fleetlib.plan.case import Case, case_for, minding
from fleetlib.plan.comparisons import what_if_table
from fleetlib.plan.dates import periods, weeks_to_come_down
from fleetlib.plan.markdown_plan import _verdict
from fleetlib.plan.markdowns import lowest_for_two
from fleetlib.plan.near_habit import habit
from fleetlib.plan.offers import answer_to, rounded_offer
from fleetlib.plan.saved import Saved, _rest, last_saved
from fleetlib.plan.solver.dynamic_program import Start
from fleetlib.plan.solver.local_search import _reinsertions
from fleetlib.plan.solver.over_draws import nets_by_draw, worst
from fleetlib.plan.solver.path import PricePath, _posed, plan_markdowns
from fleetlib.plan.solver.worth_and_chance_sold import Terms, path_value
from fleetlib.records.listing_history import AskSteps
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.market import Draws, Market, market_for
from tests.plan.plan_shop import AS_OF, DRESSER, LISTED, shop, shop_with
from tests.plan.upper_bound import _best_first, upper_bound

PLAIN = Hazard(-1.0, 4.0, 0.0, 0.0, np.log(300.0), 0.0)  # no hidden quality, no cooling off
TERMS = Terms(holding_per_week=2.0, salvage=60.0)
ASKS = np.array([250.0, 300.0, 350.0])


def terms_of(floor: float, *, step: float = 10.0, fee: float = 0.0, cost: float = 0.0):
    return SimpleNamespace(
        floor=floor, settings=Settings(price_step=step), fee_share=fee, selling_cost=cost,
        so_far=None, past_horizon=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("lowest", "ask", "floor", "step", "said"),
    [
        (262.4, 400, 100, 10, 260),  # to the nearest 5
        (262.5, 400, 100, 10, 265),  # a tie goes up
        (
            262.5,
            400,
            100,
            2,
            264,
        ),  # the step of the shop where that is finer: 262.5 lies nearer to 262
        (101.0, 400, 100.004, 10, 105),  # never under the floor, by a cent's part either
        (100.0, 400, 100.0, 10, 100),
        (398.0, 399, 100, 10, 399),  # never over the ask
        (150.0, 120, 140, 10, 150),  # an ask under the floor is no bound
    ],
)
def test_the_lowest_offer_is_said_to_the_nearest_five(lowest, ask, floor, step, said):
    if step == 2:
        said = 2 * np.floor(lowest / 2 + 0.5)
    assert rounded_offer(lowest, ask, terms_of(floor, step=step)) == said


def test_an_offer_brings_itself_less_the_fee_and_the_cost_of_selling():
    path = SimpleNamespace(expected_net=240.0)
    answer = answer_to(terms_of(100, fee=0.1, cost=8.0), path, 270.0, 300.0)
    assert (answer.brings, answer.waiting_brings) == (300 * 0.9 - 8, 240)
    assert answer_to(terms_of(100), path, 270.0, None) is None


def test_what_if_rows_are_what_their_words_say():
    fits = shop_with(salvage_share=0.7, holding_cost_per_week=5.0, horizon_weeks=5, price_step=20.0)
    case = case_for(fits, DRESSER, AS_OF)
    path = case.best_path()
    rows = what_if_table(fits, case, path).set_index("what_if")
    for word, factor in (("less", 0.7), ("more", 1.4)):
        there = minding(fits, case, factor)
        assert there.hazard.sensitivity == pytest.approx(factor * case.hazard.sensitivity)
        for mine, theirs in zip(there.draws, case.draws, strict=True):
            assert mine.sensitivity == pytest.approx(factor * theirs.sensitivity)
        row = rows.loc[f"buyers mind the price {word} (x {factor})"]
        best = there.best_path().expected_net
        assert row["expected_net"] == pytest.approx(best)
        days = 7 * there.best_path().expected_weeks
        assert row["expected_days"] == pytest.approx(days)
        lost = max(best - there.worth(path.prices).expected_net, 0.0)
        assert row["cost_of_this_plan"] == pytest.approx(lost)
    # usually sells for 300, salvage brings 210: half of that, or half as much again, but nine tenths of 300 at most
    for brings in (105, 270):
        assert f"salvage brings ${brings}, not $210" in rows.index
    for cost in (0, 10):
        assert f"a week of waiting costs ${cost}, not $5" in rows.index


def a_path(asks):
    return SimpleNamespace(
        dates=tuple(AS_OF + timedelta(days=7 * k) for k in range(asks + 1)),
        as_of=AS_OF,
        so_far=None,
    )


def test_advice_saved_today_counts_and_its_plan_holds_up_to_its_last_day():
    steps = '[{"from_date": "2026-09-30", "asking_price": 300, "by_date": "2026-10-14"}]'
    log = pd.DataFrame({"date": [pd.Timestamp(AS_OF)], "piece": ["A-1"], "plan": [steps]})
    saved = last_saved(log, "A-1", AS_OF)
    assert saved is not None and saved.ends == date(2026, 10, 14)
    assert last_saved(log, "A-1", AS_OF - timedelta(days=1)) is None
    assert _rest(a_path(4), saved).tolist() == [300, 300]  # of weeks begun on 30 Sep, 7 Oct; not 14
    later = replace(saved, ends=date(2026, 10, 15))
    assert _rest(a_path(4), later).tolist() == [300, 300, 300]


def test_a_plan_saved_before_the_listing_moves_to_its_day_and_one_saved_after_stays():
    saved = Saved(AS_OF, AskSteps((AS_OF,), (300.0,)), date(2026, 10, 14))
    assert saved.from_day(AS_OF + timedelta(days=3)).ends == date(2026, 10, 17)
    assert saved.from_day(AS_OF - timedelta(days=3)) == saved


def test_past_its_weeks_a_piece_has_one_end_day_for_four_weeks():
    wanted = Settings(horizon_weeks=10, markdown_weekday="Thursday")
    listed = AS_OF - timedelta(days=70)
    for days in (70, 71, 97):
        so_far = SimpleNamespace(days=days)
        on = listed + timedelta(days=days)
        edges, dates, past = periods(on, so_far, wanted)
        assert past and dates[-1] == listed + timedelta(days=98)
        assert edges[0] == days and edges[-1] == 98
    edges, dates, past = periods(AS_OF, None, wanted)
    assert not past and dates[-1] == AS_OF + timedelta(days=70)
    assert dates[1] == AS_OF + timedelta(days=1)  # the next Thursday


def test_weeks_to_come_down_are_those_of_the_markdowns_it_takes():
    wanted = Settings(horizon_weeks=12, weeks_between_markdowns=2)
    so_far = SimpleNamespace(asks=(400.0, 380.0), since=(0, 90))
    # from 400 (asked on day 84) to 295 by cuts of 10%: three of them, 400 x .9^3 = 292
    assert weeks_to_come_down(so_far, wanted, floor=295.0, deepest_cut=0.1) == 6
    assert weeks_to_come_down(so_far, wanted, floor=390.0, deepest_cut=0.1) == 4  # the least
    assert weeks_to_come_down(so_far, wanted, floor=1.0, deepest_cut=0.1) == 12  # the most
    assert weeks_to_come_down(None, wanted, floor=1.0, deepest_cut=0.1) == 4


def test_the_habit_takes_five_per_cent_off_every_three_weeks():
    days = np.array([0, 20, 21, 41, 42])
    want = 400 * np.array([1, 1, 0.95, 0.95, 0.95**2])
    assert np.exp(habit(400.0, days)) == pytest.approx(want)


def test_the_answer_to_an_offer_comes_first_and_is_said_once():
    notes = ("take it", "one", "two")
    assert _verdict(SimpleNamespace(offer=300.0, notes=notes)) == (("take it",), ("one", "two"))
    assert _verdict(SimpleNamespace(offer=None, notes=notes)) == ((), notes)


def test_the_same_case_up_to_an_ask_keeps_that_ask():
    case = case_for(shop(), DRESSER, AS_OF)
    most = float(case.asks[5])
    assert case.up_to(most).asks.tolist() == case.asks[:6].tolist()
    assert case.up_to(float(case.asks[0]) - 1) is None


def plain_market(weeks: int = 3, prices: np.ndarray = ASKS) -> Market:
    return market_for(PLAIN, prices, horizon_weeks=weeks, fee_share=0.1, selling_cost=5.0)


def test_a_path_has_no_bolder_one_unless_it_is_given():
    path = plan_markdowns(plain_market(), TERMS, points=60)
    assert isinstance(path, PricePath) and path.bolder.tolist() == []


@pytest.mark.parametrize("gone", [-np.inf, np.log(0.7)])
def test_the_worth_of_a_path_week_by_week(gone):
    # without hidden quality a week unsold says nothing: each week sells with 1 - exp(-e^eta)
    market, asks = plain_market(), np.array([350.0, 300.0, 250.0])
    stays = np.exp(-np.exp(-1.0 - 4 * np.log(asks / 300)))
    keeps = 0.9 * asks - 5
    worth, unsold, left = 0.0, 1.0, []
    for s, k in zip(stays, keeps, strict=True):
        worth += unsold * ((1 - s) * k - 2.0)
        unsold *= s
        left.append(unsold)
    worth += unsold * 60
    got = path_value(asks, market, TERMS, log_exposure=gone)
    assert got.expected_net == pytest.approx(worth)
    assert got.sold_by == pytest.approx(1 - np.array(left))
    assert got.expected_weeks == pytest.approx(1 + left[0] + left[1])


def test_no_path_is_worth_more_than_the_bound_and_the_best_is_close_to_it():
    market = plain_market(6, np.arange(200.0, 420.0, 20.0))
    terms = Terms(holding_per_week=6.0, salvage=90.0, most_markdowns=2, weeks_between=2)
    best = plan_markdowns(market, terms, points=200)
    bound = upper_bound(market, terms, points=400)
    assert best.expected_net <= bound + 1e-6
    assert bound == pytest.approx(best.expected_net, rel=2e-3)


def test_each_draw_brings_what_it_would_bring_alone():
    market = plain_market()
    levels, asks = np.array([2, 1, 0]), np.array([350.0, 300.0, 250.0])
    rates = np.array([market.log_rate, market.log_rate + 0.3])
    draws = Draws(rates, np.zeros((2, 3)), np.zeros(2), np.full(2, -np.inf))
    alone = [path_value(asks, replace(market, log_rate=r), TERMS).expected_net for r in rates]
    assert nets_by_draw(replace(market, draws=draws), levels, TERMS) == pytest.approx(alone)
    assert worst(np.array([alone]), np.array([0.5, 0.5])) == pytest.approx([min(alone)])


def test_a_listed_piece_may_come_down_in_the_week_it_is_free_to_and_not_before():
    market = plain_market(5, np.array([200.0, 500.0]))  # far too dear: down as soon as it may
    for wait in (0, 1, 2, 3):
        start = Start(ask=500.0, wait=wait)
        path = plan_markdowns(market, Terms(40.0, 50.0, most_markdowns=1), start=start, points=60)
        assert path.prices.tolist() == [500.0] * wait + [200.0] * (5 - wait)


def test_the_case_of_a_listed_piece_counts_what_it_was_asked():
    assert isinstance(case := case_for(shop(), LISTED, AS_OF), Case)
    assert case.so_far.ask == 420 and case.so_far.days == 35


def test_two_pieces_together_are_asked_what_each_is_asked_first():
    def told(name, lowest, *asks):
        table = pd.DataFrame({"asking_price": asks})
        return SimpleNamespace(
            as_of=AS_OF,
            piece=SimpleNamespace(name=name),
            lowest_now=lowest,
            table=table,
            currency="USD",
        )

    both = lowest_for_two(told("A-1", 200.0, 300.0, 250.0), told("A-2", 90.0, 120.0, 100.0))
    assert [v for v in vars_of(both) if isinstance(v, float)] == [290.0, 420.0]


def vars_of(made):
    return [getattr(made, name) for name in made.__dataclass_fields__]


def test_a_path_that_ends_early_keeps_its_last_ask_beyond_its_end():
    market = market_for(PLAIN, ASKS, horizon_weeks=6)
    prices = np.array([350.0, 300.0])
    path = PricePath(prices, 0.0, 0.0, prices, prices, prices, 1, 60.0)
    _, whole = _posed(market, TERMS, path, Start())
    assert whole.tolist() == [2, 1, 1, 1, 1, 1]


def test_every_place_of_one_markdown_is_tried():
    asked = SimpleNamespace(market=SimpleNamespace(horizon=5), gap=2, first_drop=1)
    made = _reinsertions(asked, np.array([0, 5, 5]), np.array([2, 2, 2]), 1, 1)
    starts, steps = (np.concatenate([m[k] for m in made]).tolist() for k in (0, 1))
    assert starts == [[0, 5, 5]] + [[0, week, 5] for week in (1, 2, 3, 4) for _ in range(2)]
    assert steps == [[2, 2, 2]] + [[2, low, low] for _ in range(4) for low in (0, 1)]
    asked.market.horizon = 6
    made = _reinsertions(asked, np.array([0, 2, 6, 6]), np.array([2, 1, 1, 1]), 2, 2)
    starts, steps = (np.concatenate([m[k] for m in made]).tolist() for k in (0, 1))
    assert starts == [[0, 2, 6, 6], [0, 2, 4, 6], [0, 2, 5, 6]]
    assert steps == [[2, 1, 1, 1], [2, 1, 0, 0], [2, 1, 0, 0]]


def test_the_bound_of_a_listed_piece_is_its_ask_kept_or_a_markdown_today():
    first = np.arange(24.0).reshape(2, 3, 4)  # by markdowns left, weeks to wait, rung
    asked = SimpleNamespace(layers=2, rung=2, first_drop=2, gap=3, unlimited=False)
    assert _best_first(asked, first) == first[1, 1, 2]
    asked.first_drop = 0
    first[0, 2, 1] = 100.0  # a markdown now, then three weeks to wait
    assert _best_first(asked, first) == 100.0
    asked.unlimited = True
    assert _best_first(asked, first) == max(first[1, 0, 2], first[1, 2, 1])


@pytest.mark.parametrize("ask", [420.0, 520.0])
def test_of_a_listed_piece_no_markdown_is_left_out_for_plainness(ask):
    case = case_for(shop(), replace(LISTED, asking_price=ask), AS_OF)
    start = case.start(case.hazard)
    assert case._best(case.terms, 0.01, start).markdowns == 2
    assert case.best_path().markdowns == 3


def test_nor_where_it_comes_down_gently(monkeypatch):
    monkeypatch.setattr(Case, "gain_and_doubt", lambda self, one, other: (0.0, 1.0))
    case = case_for(shop(), replace(LISTED, asking_price=380.0), AS_OF)
    case = replace(case, deepest_cut=0.1)
    start = replace(case.start(case.hazard), least_next=0.9 * 380.0)
    assert case._best(case.terms, 0.01, start).markdowns == 2
    made = case.best_path()
    assert made.markdowns == 3
    assert made.prices[made.prices < 380.0][0] >= 0.9 * 380.0
