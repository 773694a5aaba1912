"""Plans of pieces: rules they keep, what they are worth beside others, and what is said of the hard cases."""

import re
from dataclasses import replace
from datetime import date, timedelta
from functools import partial

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import WEEKDAYS, Settings
from fleetlib.fits import fit_all
from fleetlib.plan.case import case_for
from fleetlib.plan.comparisons import patient_path, steady_path
from fleetlib.plan.markdowns import lowest_for_two, plan
from fleetlib.records.folder import read_records
from fleetlib.records.listing_history import listed_so_far
from fleetlib.records.piece import Piece
from tests.plan.plan_shop import (
    AS_OF,
    DEAR,
    DRESSER,
    LISTED,
    SHOP,
    KnownPace,
    KnownPrices,
    events_of,
    shop,
    shop_with,
)

quick = partial(plan, alternatives=False)  # where the comparisons are not looked at

# ---- rules every plan keeps ------------------------------------------------------------------------


@settings(max_examples=60)
@given(
    usual=st.floats(30, 3000),
    gut=st.one_of(st.none(), st.floats(0.5, 2.0)),
    level=st.floats(-4.5, -0.5),
    sensitivity=st.floats(1.0, 9.0),
    step=st.sampled_from([(5.0, 0.0), (10.0, 5.0), (25.0, 0.0), (1.0, 0.0)]),
    drops=st.integers(0, 5),
    gap=st.integers(1, 6),
    horizon=st.integers(2, 40),
    weekday=st.sampled_from(WEEKDAYS),
    day=st.integers(0, 400),
    fee=st.sampled_from([0.0, 0.12]),
    least_cash=st.sampled_from([0.0, 200.0]),
    age=st.one_of(st.none(), st.integers(0, 200)),
)
@pytest.mark.slow
def test_rules_of_every_plan(
    usual, gut, level, sensitivity, step, drops, gap, horizon, weekday, day, fee, least_cash, age
):
    as_of = date(2026, 1, 1) + timedelta(days=day)
    own = Settings(
        price_step=step[0],
        price_ending=step[1],
        most_markdowns=drops,
        weeks_between_markdowns=gap,
        horizon_weeks=horizon,
        markdown_weekday=weekday,
        fee_share={"stall": fee},
        usual_channel="stall",
        delivery_cost=7.0,
        least_cash=least_cash,
    )
    fits = shop(settings=own, prices=KnownPrices(usual), pace=KnownPace(level, sensitivity))
    piece = Piece(furniture_type="desk", gut_price=None if gut is None else gut * usual)
    if age is not None:
        listed = as_of - timedelta(days=age)
        piece = replace(piece, listed_on=listed, asking_price=round(1.3 * usual, 2))
    made = quick(fits, piece, as_of=as_of)
    table, weekly = made.table, made.weekly
    asks = table["asking_price"].to_numpy()
    assert np.all(np.diff(asks) < 0)
    assert np.all(asks[1:] >= made.floor - 1e-9)
    new = asks if age is None else asks[1:]
    on_steps = (new - step[1]) / step[0]
    assert on_steps == pytest.approx(np.round(on_steps), abs=1e-6)
    days = pd.to_datetime(table["from_date"]).dt.date.tolist()
    assert days[0] == as_of
    assert all(WEEKDAYS[d.weekday()] == weekday for d in days[1:])
    if age is None:
        assert np.all(np.diff([d.toordinal() for d in days]) >= 7 * gap)
        assert len(asks) - 1 <= drops
    assert made.expected_net >= made.salvage - 1e-9
    assert np.all(table["lowest_offer"] <= np.maximum(asks, made.floor) + 5)
    if made.take_salvage_now:
        assert made.expected_net == pytest.approx(made.salvage)
        return
    assert np.all(weekly["lowest_offer"] <= weekly["asking_price"]) or asks[0] < made.floor
    assert np.all(weekly["lowest_offer"] >= made.floor - 1e-9) or asks[0] < made.floor
    assert np.all(np.diff(table["chance_sold"]) >= -1e-12)
    assert np.all(table["chance_low"] <= table["chance_sold"])
    assert np.all(table["chance_sold"] <= table["chance_high"])
    assert table["chance_high"].max() <= 1.0
    assert table["chance_sold"].iloc[-1] == weekly["chance_sold"].iloc[-1]
    assert weekly["by_date"].iloc[-1] == pd.Timestamp(made.ends_on)
    assert max(map(len, str(made).splitlines())) <= 80


def test_dates_asks_and_floor_of_a_new_piece():
    made = quick(shop(settings=replace(SHOP, fee_share={"market stall": 0.1})), DRESSER)
    table = made.table
    assert list(table.columns) == [
        "from_date",
        "asking_price",
        "chance_sold",
        "chance_low",
        "chance_high",
        "lowest_offer",
    ]
    assert table["from_date"].iloc[0] == pd.Timestamp(AS_OF)
    assert set(table["from_date"].iloc[1:].dt.day_name()) == {"Friday"}
    # floor = (max(salvage, least_cash) + selling cost)/(1 - fee share) = (.35 x 300 + 8)/.9
    assert made.floor == pytest.approx((105 + 8) / 0.9)
    assert made.ends_on == AS_OF + timedelta(weeks=20)
    assert made.usual_price == 300.0
    assert not made.take_salvage_now


def test_the_lowest_offer_is_what_waiting_is_worth():
    made = quick(shop(settings=replace(SHOP, fee_share={"market stall": 0.1})), DRESSER)
    # taking y brings y (1 - fee) - selling cost
    assert made.lowest_now * 0.9 - 8 == pytest.approx(made.expected_net)
    assert made.table["lowest_offer"].iloc[0] == pytest.approx(made.lowest_now, abs=2.5)
    assert np.all(np.diff(made.weekly["lowest_offer"]) <= 0)


def test_the_range_of_the_chance_sold_is_that_of_the_twelve_alternatives():
    fits = shop(settings=replace(SHOP, most_markdowns=0, markdown_weekday="Wednesday"))
    made = quick(fits, DRESSER)
    ask, chances = made.table["asking_price"].iloc[0], []
    for draw in range(12):
        # the chance to be unsold after 20 whole weeks, written out kind by kind
        hazard = fits.selling.hazard("dresser", 300.0, 340.0, draw=draw)
        log_phi, weights = hazard.nodes()
        pull = np.exp(hazard.log_rate(np.array([ask]))[0]) * np.exp(hazard.log_week(20)).sum()
        chances.append(1 - weights @ np.exp(-np.exp(log_phi) * pull))
    # Of twelve, the next lies below the lowest one time in 13: a tenth is 0.3 of the way to the second.
    chances.sort()
    low = chances[0] + 0.3 * (chances[1] - chances[0])
    high = chances[-1] - 0.3 * (chances[-1] - chances[-2])
    assert made.table["chance_low"].iloc[-1] == pytest.approx(low)
    assert made.table["chance_high"].iloc[-1] == pytest.approx(high)
    assert low < made.table["chance_sold"].iloc[-1] < high


def test_the_same_question_gives_the_same_words():
    first, second = plan(shop(), DRESSER), plan(shop(), DRESSER)
    assert str(first) == str(second)
    assert first._repr_html_() == second._repr_html_()
    assert "<script" not in first._repr_html_()


def test_names_are_escaped_in_the_page():
    odd = replace(DRESSER, piece="<b>&A")
    assert "&lt;b&gt;&amp;A" in quick(shop(), odd)._repr_html_()


def test_what_the_piece_has_cost_is_not_in_the_plan():
    dear = replace(DRESSER, buy_price=900.0, materials_cost=200.0, hours=40.0)
    assert quick(shop(), dear).table.equals(quick(shop(), DRESSER).table)


# ---- beside other ways -----------------------------------------------------------------------------


def test_the_plan_beats_what_one_might_do_instead():
    made = plan(shop(), DRESSER)
    other = made.alternatives
    assert other["what"].tolist() == [
        "this plan",
        "hold your own price, $340",
        "5% off every three weeks",
        "15% off every four weeks",
        "steady: 5% off every three weeks",
        "patient: one markdown at most",
        "the bolder plan, $410",
    ]
    assert other["expected_net"].iloc[0] == made.expected_net
    assert (other["gain"].iloc[1:4] > 0).all() and other["gain"].iloc[-1] <= 0
    assert any("A bolder plan, from $410" in note for note in made.notes)
    assert other["gain"].to_numpy() == pytest.approx(
        made.expected_net - other["expected_net"].to_numpy()
    )
    assert other["first_price"].iloc[1:4].tolist() == [340.0] * 3
    assert other["last_price"].iloc[1] == 340.0
    # every rule stops at the floor
    assert (other["last_price"] >= made.floor).all()


def test_five_per_cent_every_three_weeks_is_that():
    made = plan(shop_with(salvage_share=0.0, delivery_cost=0.0, horizon_weeks=9), DRESSER)
    # from 30 September: full three weeks by the last Friday before 2 December: 2, and 340 x .95^2 = 307
    assert made.alternatives["last_price"].iloc[2] == pytest.approx(310.0)
    assert made.alternatives["last_price"].iloc[3] == pytest.approx(250.0)  # 340 x .85^2 = 246


def test_steadier_and_more_patient_ways_down_begin_alike_and_cost_a_few_dollars():
    case = case_for(shop(), DRESSER, AS_OF)
    path = case.best_path()
    what, steady = steady_path(case, path)
    patient = patient_path(case, path)
    assert path.markdowns >= 2 and steady is not None and patient is not None
    first, best = path.prices[0], max(path.expected_net, case.worth(path.bolder).expected_net)
    assert steady.prices[0] == patient.prices[0] == first
    keep = 1 - float(re.match(r"steady: (\d+)% off", what)[1]) / 100
    for n, ask in enumerate(np.unique(steady.prices)[::-1]):  # on the shop's steps of 10
        assert ask == pytest.approx(first * keep**n, abs=5.01)
    assert len(np.unique(patient.prices)) == 2
    for other in (steady, patient):
        assert 0.97 * best < other.expected_net <= best + 1e-6
    once = shop_with(most_markdowns=1)
    assert (
        patient_path(case_for(once, DRESSER, AS_OF), case_for(once, DRESSER, AS_OF).best_path())
        is None
    )


def test_other_ways_are_judged_under_every_draw():
    fits = shop()
    case = case_for(fits, DRESSER, AS_OF)
    path, held = case.best_path(), np.full(len(case.dates) - 1, 340.0)
    assert len(case.draws) == 12
    better = [
        case.worth(path.prices, hazard).expected_net - case.worth(held, hazard).expected_net
        for hazard in case.draws
    ]
    row = plan(fits, DRESSER).alternatives.iloc[1]
    assert row["gain"] == pytest.approx(np.mean(better))
    assert row["better_in"] == pytest.approx(np.mean(np.array(better) > 0))
    assert 0 < row["better_in"] < 1 or row["gain"] > 0
    # a piece unsold for long counts the draws in which that was likely for more
    old = case_for(fits, replace(LISTED, listed_on=date(2026, 6, 3)), AS_OF)
    nets, weight = old.over_draws(np.full(len(old.dates) - 1, 420.0))
    assert weight.sum() == pytest.approx(1.0)
    quickest = np.argmax([h.baseline for h in old.draws])
    assert weight[quickest] == weight.min() < 1 / 12 < weight.max()
    assert nets[quickest] == nets.max()


def test_for_a_listed_piece_the_other_ways_start_from_todays_ask():
    assert plan(shop(), LISTED).alternatives["what"].iloc[1] == "hold today's ask, $420"


def test_if_it_were_otherwise():
    made = plan(shop(), DRESSER)
    otherwise = made.what_ifs.set_index("what_if")
    assert len(otherwise) == 8
    assert (otherwise["cost_of_this_plan"] >= 0).all()
    less, more = otherwise["first_price"].iloc[0], otherwise["first_price"].iloc[1]
    assert less > more
    assert otherwise.loc["salvage after 30 weeks, not 20", "expected_net"] > made.expected_net
    assert otherwise.loc["salvage after 10 weeks, not 20", "expected_net"] < made.expected_net
    assert otherwise.loc["salvage brings $157, not $105", "expected_net"] > made.expected_net
    dear = otherwise.loc["a week of waiting costs $6, not $3"]
    assert dear["expected_net"] < made.expected_net
    # this plan there: the same sales, each week on the market 3 dearer
    this_plan_there = made.expected_net - 3 * made.expected_days / 7
    assert dear["cost_of_this_plan"] == pytest.approx(dear["expected_net"] - this_plan_there)
    assert dear["cost_of_this_plan"] > 0.5


def test_lists_leave_the_comparisons_out():
    made = plan(shop(), DRESSER, alternatives=False)
    assert made.alternatives.empty and made.what_ifs.empty
    assert made.table.equals(plan(shop(), DRESSER).table)


def test_at_most_as_many_markdowns_as_pay():
    # a drop that brings under half a per cent is not worth the trouble
    few = quick(shop_with(most_markdowns=10, weeks_between_markdowns=1), DRESSER)
    assert len(few.table) - 1 < 6
    best = quick(shop_with(most_markdowns=3), DRESSER).expected_net
    assert few.expected_net >= 0.994 * best


# ---- a piece already listed ------------------------------------------------------------------------


def test_a_listed_piece_starts_from_today_at_its_ask():
    made = quick(shop(), DEAR)
    assert made.ask_now == 520.0
    assert made.table["asking_price"].iloc[0] == 520.0  # Wednesday; changes wait for Friday
    assert made.table["from_date"].iloc[1] == pd.Timestamp(2026, 10, 2)
    assert made.ends_on == date(2026, 8, 26) + timedelta(weeks=20)
    assert any("Listed 35 days so far at $520" in n for n in made.notes)


def test_on_the_owners_weekday_a_listed_piece_may_come_down_today():
    made = quick(shop_with(markdown_weekday="Wednesday"), DEAR)
    assert made.table["asking_price"].iloc[0] < 520.0
    assert made.table["from_date"].iloc[0] == pd.Timestamp(AS_OF)


def test_a_listed_piece_without_an_asking_price_is_planned_as_new_and_that_is_said():
    made = quick(shop(), replace(LISTED, asking_price=None))
    assert made.ask_now is None
    assert any("no asking price is on record" in n for n in made.notes)
    assert not any("no asking price" in n for n in quick(shop(), DRESSER).notes)


def test_weeks_unsold_are_evidence():
    fresh = quick(shop(), replace(LISTED, listed_on=AS_OF, asking_price=330.0))
    stale = quick(shop(), replace(LISTED, listed_on=AS_OF - timedelta(days=70), asking_price=330.0))
    assert stale.expected_net < fresh.expected_net
    for made, gone in ((fresh, 0), (stale, 70)):
        assert made.weekly["chance_sold"].iloc[0] == pytest.approx(chance_next(made, gone, 330.0))
    # Ten weeks unsold say that the piece is less wanted than such pieces are: less than its cooler weeks alone.
    assert chance_next(stale, 70, 330.0) < chance_next(stale, 70, 330.0, known=False)


def chance_next(made, gone: int, ask: float, *, known: bool = True) -> float:
    """The chance sold in the plan's first period after `gone` days unsold at `ask`, written out kind by kind."""
    length = (made.weekly["by_date"].iloc[0] - made.weekly["from_date"].iloc[0]).days
    days = np.arange(gone + length) // 7 + 1.0
    before, after = [], []
    for draw in range(12):
        hazard = KnownPace().hazard("dresser", 300.0, 340.0, draw=draw)
        pull = np.exp(hazard.log_rate(np.array([ask]))[0]) * days**hazard.week_exponent / 7
        phi, weights = hazard.nodes()
        begun = 0 if known else gone
        before.append(weights @ np.exp(-np.exp(phi) * pull[begun:gone].sum()))
        after.append(weights @ np.exp(-np.exp(phi) * pull[begun:].sum()))
    return float(1 - np.sum(after) / np.sum(before))


def test_days_off_the_market_are_no_evidence():
    listed = replace(LISTED, listed_on=date(2026, 7, 1))
    events = [("2026-07-15", "A-2", "paused", np.nan), ("2026-09-16", "A-2", "relisted", np.nan)]
    found = listed_so_far(listed, events_of(*events), AS_OF)
    assert found.days == 28
    assert not found.paused
    assert quick(shop(events=events), listed).expected_net > quick(shop(), listed).expected_net
    made = quick(shop(events=events), listed)
    assert made.weekly["chance_sold"].iloc[0] == pytest.approx(chance_next(made, 28, 420.0))


def test_a_paused_piece_is_planned_as_put_up_again_today():
    events = [("2026-09-10", "A-2", "paused", np.nan)]
    made = quick(shop(events=events), LISTED)
    assert any("off the market now" in n for n in made.notes)
    assert listed_so_far(LISTED, events_of(*events), AS_OF).days == 15


def test_prices_tried_are_evidence_and_use_up_markdowns():
    events = [
        ("2026-09-04", "A-2", "asking_price", 400),
        ("2026-09-18", "A-2", "asking_price", 370),
    ]
    found = listed_so_far(LISTED, events_of(*events), AS_OF)
    assert (found.asks, found.since, found.markdowns) == ((420.0, 400.0, 370.0), (0, 9, 23), 2)
    made = quick(shop(events=events), LISTED)
    assert made.markdowns_made == 2
    assert made.ask_now == 370.0
    assert len(made.table) - 1 <= 1
    # two weeks after the last change, on a Friday
    assert made.table["from_date"].iloc[1] >= pd.Timestamp(2026, 10, 2)


def test_the_next_markdown_waits_for_the_gap():
    events = [("2026-09-25", "A-2", "asking_price", 500)]
    made = quick(shop_with(weeks_between_markdowns=4), DEAR, as_of=AS_OF)
    waited = quick(shop(settings=replace(SHOP, weeks_between_markdowns=4), events=events), DEAR)
    assert made.table["from_date"].iloc[1] == pd.Timestamp(2026, 10, 2)
    assert waited.table["from_date"].iloc[1] >= pd.Timestamp(2026, 10, 23)


def test_used_up_markdowns_are_said():
    events = [("2026-09-18", "A-2", "asking_price", 400)]
    made = quick(shop(settings=replace(SHOP, most_markdowns=1), events=events), LISTED)
    assert made.table["asking_price"].tolist() == [400.0]
    assert any("used up" in n for n in made.notes)


def test_an_undated_last_ask_counts_as_one_markdown_in_even_steps():
    found = listed_so_far(replace(LISTED, last_asking_price=380.0), None, AS_OF)
    assert found.asks[0] == 420.0 and found.asks[-1] == 380.0
    assert len(found.asks) == 6
    assert np.diff(np.log(found.asks)) == pytest.approx(np.log(380 / 420) / 5)
    assert found.markdowns == 1


def test_a_plan_of_an_earlier_day_knows_nothing_later():
    events = [
        ("2026-09-04", "A-2", "asking_price", 400),
        ("2026-09-18", "A-2", "asking_price", 370),
        ("2026-09-20", "A-2", "offer", 350),
    ]
    laid_over = replace(LISTED, last_asking_price=370.0)
    made = quick(shop(events=events), laid_over, as_of=date(2026, 8, 31))
    assert made.ask_now == 420.0
    assert made.offer is None
    assert quick(shop(events=events), laid_over, as_of=date(2026, 8, 20)).ask_now is None


@pytest.mark.parametrize(
    ("usual", "level", "sensitivity"),
    [(300.0, -1.7, 4.0), (140.0, -2.6, 6.0), (760.0, -1.2, 2.5), (450.0, -2.2, 5.0)],
)
def test_planning_again_with_no_news_changes_nothing(usual, level, sensitivity):
    known = {"prices": KnownPrices(usual), "pace": KnownPace(level, sensitivity)}
    piece = replace(DRESSER, gut_price=1.1 * usual)
    first = quick(shop(**known), piece)
    weekly = first.weekly
    for k in range(1, len(weekly), 3):
        day = weekly["from_date"].iloc[k].date()
        taken = first.table[(first.table["from_date"] < pd.Timestamp(day))].iloc[1:]
        events = [
            (row.from_date, "A-1", "asking_price", row.asking_price) for row in taken.itertuples()
        ]
        listed = replace(piece, listed_on=AS_OF, asking_price=weekly["asking_price"].iloc[0])
        again = quick(shop(**known, events=events), listed, as_of=day)
        rest = weekly.iloc[k:]
        assert again.weekly["asking_price"].tolist() == rest["asking_price"].tolist()
        assert again.weekly["from_date"].tolist() == rest["from_date"].tolist()
        assert again.weekly["lowest_offer"].tolist() == rest["lowest_offer"].tolist()
        assert again.ends_on == first.ends_on


def test_a_piece_off_its_plan_is_planned_afresh():
    first = quick(shop(), DRESSER)
    late = first.table["from_date"].iloc[1].date() + timedelta(days=21)
    listed = replace(DRESSER, listed_on=AS_OF, asking_price=first.table["asking_price"].iloc[0])
    again = quick(shop(), listed, as_of=late)
    # a Friday three weeks after the markdown that was never made: it is made now, at least as far down
    assert again.table["asking_price"].iloc[0] <= first.table["asking_price"].iloc[1]
    assert len(again.table) <= SHOP.most_markdowns


def test_past_its_horizon_a_piece_gets_weeks_to_come_down_and_one_more_markdown():
    old = replace(LISTED, listed_on=AS_OF - timedelta(days=200))
    made = quick(shop_with(most_markdowns=0), old)
    assert made.ends_on == old.listed_on + timedelta(
        weeks=20 + 18
    )  # 9 steps of 15 %, 2 weeks apart
    assert len(made.table) == 2
    assert any("20 weeks, when it was to go for salvage" in n for n in made.notes)


def test_a_piece_asked_too_little_is_said_to_be():
    made = plan(shop(), replace(LISTED, asking_price=220.0, gut_price=380.0))
    assert made.table["asking_price"].iloc[0] == 220.0
    assert any("asked too little" in n for n in made.notes)


def test_an_ask_under_the_floor_is_said_to_be():
    made = quick(shop(), replace(LISTED, asking_price=60.0))
    assert any("under its floor of $113" in n for n in made.notes)


# ---- offers ----------------------------------------------------------------------------------------


def test_an_offer_is_answered_with_the_numbers():
    waiting = quick(shop(), DRESSER)
    yes = quick(shop(), DRESSER, offer=waiting.lowest_now + 1).offer
    no = quick(shop(), DRESSER, offer=waiting.lowest_now - 20).offer
    assert yes.take and "take it" in str(yes)
    assert not no.take and "not yet" in str(no)
    assert yes.brings == pytest.approx(waiting.expected_net + 1)
    assert no.waiting_brings == waiting.expected_net


def test_a_logged_offer_is_answered_for_a_week():
    events = [("2026-09-27", "A-2", "offer", 310)]
    made = quick(shop(events=events), LISTED)
    assert made.offer.amount == 310
    assert "logged on 27 Sep 2026" in made.notes[0]
    assert str(made).index("An offer of $310") < str(made).index("Floor:")
    assert str(made).count("An offer of $310") == 1
    page = made._repr_html_()
    assert page.index("An offer of $310") < page.index("What to ask, from which day")
    assert quick(shop(events=events), LISTED, as_of=date(2026, 10, 9)).offer is None


def test_enquiries_are_shown_but_not_counted():
    events = [("2026-09-27", "A-2", "enquiry", np.nan), ("2026-09-28", "A-2", "enquiry", np.nan)]
    made = quick(shop(events=events), LISTED)
    assert made.table.equals(quick(shop(), LISTED).table)
    assert any("2 enquiries logged" in n for n in made.notes)


def test_an_offer_better_than_waiting_but_under_the_least_cash_is_the_owners_to_decide():
    slow = KnownPace(level=-5.0)
    own = shop(settings=replace(SHOP, least_cash=280.0), pace=slow)
    answer = quick(own, DRESSER, offer=260.0).offer
    assert not answer.take
    assert "Yours to decide" in str(answer)


@pytest.mark.parametrize("offer", [0.0, -5.0, float("nan"), float("inf")])
def test_an_offer_that_is_no_amount_is_refused(offer):
    with pytest.raises(BadQuestion, match="must be an amount above 0"):
        quick(shop(), DRESSER, offer=offer)


def test_two_pieces_to_one_buyer_add_their_lowest_offers_up():
    a, b = quick(shop(), DRESSER), quick(shop(), LISTED)
    both = lowest_for_two(a, b)
    assert both.lowest_offer == pytest.approx(a.lowest_now + b.lowest_now)
    assert "A-1 and A-2 to one buyer" in str(both)


def test_two_plans_of_different_days_are_not_added_up():
    later = quick(shop(), LISTED, as_of=date(2026, 10, 7))
    with pytest.raises(BadQuestion, match="2026-09-30 and 2026-10-07"):
        lowest_for_two(quick(shop(), DRESSER), later)


# ---- honest states ---------------------------------------------------------------------------------


def test_no_gut_price_is_said_and_costs_certainty():
    made = plan(shop(), replace(DRESSER, gut_price=None))
    assert any(n.startswith("No gut price for this piece") for n in made.notes)
    assert made.alternatives["what"].iloc[1] == "hold the usual sale price, $300"


def test_under_five_sales_the_plan_works_from_the_gut_price_and_says_so():
    made = quick(shop(prices=False), DRESSER)
    assert made.usual_price == 340.0
    assert any("works from your gut price, $340" in n for n in made.notes)


def test_under_five_sales_without_a_gut_price_it_asks_for_one():
    with pytest.raises(BadQuestion, match=r"too few sales.*Give it a gut_price"):
        quick(shop(prices=False), Piece(furniture_type="desk"))


def test_under_five_sales_a_listed_piece_without_a_gut_price_goes_by_its_ask():
    log = pd.DataFrame({"date": [pd.Timestamp(2026, 8, 1)], "piece": ["A-2"]})
    made = quick(shop(prices=False, advice_log=log), replace(LISTED, gut_price=None))
    assert any("works from today's ask, $420" in n for n in made.notes)


def test_the_first_ask_stands_in_for_the_gut_price_only_before_any_advice():
    asked = replace(LISTED, gut_price=None)
    log = pd.DataFrame({"date": [pd.Timestamp(2026, 8, 1)], "piece": ["A-2"]})
    late = pd.DataFrame({"date": [pd.Timestamp(2026, 9, 1)], "piece": ["A-2"]})
    assert any("stands in for it" in n for n in quick(shop(), asked).notes)
    assert any("stands in for it" in n for n in quick(shop(advice_log=late), asked).notes)
    assert any("No gut price" in n for n in quick(shop(advice_log=log), asked).notes)


def test_first_price_at_the_cap_is_said():
    made = quick(shop(pace=KnownPace(sensitivity=1.2, cap=0.25)), DRESSER)
    assert made.first_price_at_cap
    assert any("You may be under-asking" in n for n in made.notes)
    assert not quick(shop(), DRESSER).first_price_at_cap


def test_salvage_now_is_said():
    own = shop(settings=replace(SHOP, holding_cost_per_week=25.0), pace=KnownPace(level=-6.0))
    made = quick(own, DRESSER)
    assert made.take_salvage_now
    assert made.expected_net == made.salvage == 105.0
    assert made.expected_days == 0.0
    assert made.ends_on == AS_OF
    assert len(made.table) == 1
    assert made.table["asking_price"].iloc[0] >= made.floor
    assert any("Take the salvage value, about $105, now" in n for n in made.notes)
    assert "let it go" not in str(made)


def test_least_cash_is_a_floor_and_its_price_is_shown():
    slow = KnownPace(level=-3.0)
    own = shop(settings=replace(SHOP, least_cash=300.0), pace=slow)
    made = plan(own, DRESSER)
    free = plan(shop(pace=slow), DRESSER)
    assert made.floor == 308.0
    assert (made.table["asking_price"] >= 308).all()
    assert (made.table["lowest_offer"] >= 308).all()
    assert made.least_cash_cost == pytest.approx(free.expected_net - made.expected_net)
    assert made.least_cash_cost > 1
    assert any("Your least cash of $300 sets the floor" in n for n in made.notes)


def test_what_the_selling_time_says_of_itself_is_passed_on():
    said = ("No asking price on record ever changed.",)
    assert said[0] in plan(shop(pace=KnownPace(notes=said)), DRESSER).notes


@pytest.mark.parametrize("status", ["sold", "withdrawn"])
def test_a_piece_gone_is_refused_but_not_on_a_day_before(status):
    flips = pd.DataFrame(
        {
            "piece": ["A-2"],
            "line": [2],
            "status": [status],
            "sold_on": [pd.NaT],
            "withdrawn_on": [pd.NaT],
        }
    )
    flips[f"{status}_on" if status == "withdrawn" else "sold_on"] = pd.Timestamp(2026, 9, 12)
    with pytest.raises(BadQuestion, match=f"A-2 was {status} on 12 Sep 2026"):
        quick(shop(flips=flips), LISTED)
    assert quick(shop(flips=flips), LISTED, as_of=date(2026, 9, 1)).ask_now == 420.0


def test_with_nothing_to_salvage_no_ask_is_zero_and_the_what_ifs_still_differ():
    made = plan(shop_with(salvage_share=0.0, delivery_cost=0.0, holding_cost_per_week=0.0), DRESSER)
    assert made.floor == 0.0
    assert made.table["asking_price"].min() >= 10
    what = made.what_ifs["what_if"].tolist()
    assert "salvage brings $60, not $0" in what
    assert "a week of waiting costs $6, not $0" in what
    assert len(set(what)) == len(what) == 6


def test_a_floor_above_all_experience_is_said_and_is_no_cap():
    made = quick(shop_with(least_cash=2000.0), DRESSER)
    assert not made.first_price_at_cap
    assert any("above the highest your records support" in n for n in made.notes)


def test_horizons_of_the_what_ifs_lie_ahead_of_a_piece_long_listed():
    old = replace(LISTED, listed_on=AS_OF - timedelta(days=7 * 17))
    what = plan(shop(), old).what_ifs["what_if"].tolist()
    assert "salvage after 19 weeks, not 20" in what
    assert "salvage after 22 weeks, not 20" in what


def test_beside_a_plan_beyond_what_was_tried_stands_the_best_one_within_it():
    tight = KnownPace(tried=0.05)
    bold = plan(shop(pace=tight), DRESSER)
    row = bold.alternatives[bold.alternatives["what"].str.startswith("stay within")]
    assert len(row) == 1
    most = float(np.exp(tight.hazard("dresser", bold.usual_price, 340.0).log_anchor + 0.05))
    assert row["first_price"].item() <= most < bold.table["asking_price"].iloc[0]
    assert 0 <= row["gain"].item() < bold.expected_net
    assert any("more for its worth than nearly all you have asked" in n for n in bold.notes)
    tame = plan(shop(pace=KnownPace(tried=2.0)), DRESSER)
    assert not tame.alternatives["what"].str.startswith("stay within").any()
    assert not any("nearly all you have asked" in n for n in tame.notes)


def test_a_plan_that_must_hurry_says_why():
    late = replace(LISTED, listed_on=date(2026, 5, 30), asking_price=520.0)
    made = plan(shop(), late)
    assert any("20 weeks from its listing" in n for n in made.notes)
    assert not any("weeks from its listing" in n for n in plan(shop(), LISTED).notes)


def test_a_piece_that_sits_or_came_down_is_not_called_asked_too_little():
    cheap = replace(LISTED, listed_on=date(2026, 9, 20), asking_price=200.0)
    assert any("asked too little" in n for n in plan(shop(), cheap).notes)
    sits = replace(cheap, listed_on=date(2026, 8, 1))
    assert not any("asked too little" in n for n in plan(shop(), sits).notes)
    events = [("2026-09-25", "A-2", "asking_price", 190)]
    assert not any("asked too little" in n for n in plan(shop(events=events), cheap).notes)


def test_without_a_sale_with_its_days_the_dates_are_called_a_plain_rule(tmp_path):
    rows = ["type,asking,sale price,own price,listed on,sold on"]
    rows += [f"desk,{200 + 10 * n},{190 + 10 * n},{200 + 10 * n},," for n in range(6)]
    (tmp_path / "flips.csv").write_text("\n".join(rows))
    undated = fit_all(read_records(tmp_path, as_of=AS_OF))
    made = plan(undated, Piece(furniture_type="desk", gut_price=230.0), alternatives=False)
    assert made.notes[0].startswith("Take these dates as a plain rule")
    assert "none of your 6 sales has both the day" in made.notes[0]
    (tmp_path / "flips.csv").write_text(
        "\n".join([*rows, "desk,240,230,235,2026-05-01,2026-06-01"])
    )
    dated = fit_all(read_records(tmp_path, as_of=AS_OF))
    made = plan(dated, Piece(furniture_type="desk", gut_price=230.0), alternatives=False)
    assert not any("plain rule" in note for note in made.notes)
