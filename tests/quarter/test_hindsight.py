"""Saved advice held against what happened, on a shop whose models are given."""

import json
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.settings import Settings
from fleetlib.quarter.hindsight import hindsight
from fleetlib.records.listing_history import AskSteps, real_asks
from fleetlib.records.saved_plan import saved_plan
from fleetlib.selling.hazard import Hazard
from tests.histories import events_of, flips_of
from tests.true_records import records_of, shop_of

AS_OF = date(2026, 9, 30)
Q2 = {"start": date(2026, 4, 1), "end": date(2026, 6, 30)}
Q3 = {"start": date(2026, 7, 1), "end": date(2026, 9, 30)}
PLAN = [
    {"from_date": "2026-07-03", "asking_price": 400, "chance_sold": 0.4, "lowest_offer": 280},
    {"from_date": "2026-07-31", "asking_price": 350, "chance_sold": 0.65, "lowest_offer": 250},
    {"from_date": "2026-08-28", "asking_price": 300, "chance_sold": 0.9, "by_date": "2026-10-30"},
]


@dataclass(frozen=True)
class _Selling:
    """The worked piece of the planner: usual price 300, elasticity 4."""

    draws: tuple = ()
    notes: tuple = ()
    caution: float = 0.0

    def hazard(self, furniture_type, usual_price, gut_price=None, **_):
        return Hazard(-1.7, 4.0, 0.0, -0.15, float(np.log(usual_price)), 0.18, 0.94)


def _fits(rows, events=(), log=()):
    lines = [
        {
            "date": on,
            "piece": piece,
            "plan": json.dumps(plan),
            "low": 250.0,
            "high": 420.0,
            "level": 0.8,
        }
        for on, piece, plan in log
    ]
    frame = pd.DataFrame(lines, columns=["date", "piece", "plan", "low", "high", "level"])
    records = records_of(
        flips_of(rows),
        events=events_of(list(events)),
        advice_log=frame.assign(date=pd.to_datetime(frame["date"])).astype({"piece": "str"}),
        settings=Settings(),
        as_of=AS_OF,
    )
    return shop_of(records, selling=_Selling())


def _row(**more):
    base = {"piece": "A", "furniture_type": "desk", "gut_price": 300, "listed_on": "2026-07-03"}
    return base | {"asking_price": 400} | more


def _ask(day, amount, piece="A"):
    return {"on": day, "piece": piece, "event": "asking_price", "amount": amount, "note": ""}


LOGGED = [("2026-07-03", "A", PLAN)]


def test_markdowns_on_their_days_cost_nothing():
    events = [_ask("2026-07-31", 350), _ask("2026-08-28", 300)]
    made = hindsight(_fits([_row()], events, LOGGED), **Q3)
    assert list(made.markdowns["says"]) == ["on time", "on time"]
    assert made.cost == 0


def test_a_late_markdown_is_named_with_its_days_and_costs_money():
    events = [_ask("2026-08-21", 350), _ask("2026-08-28", 300)]
    made = hindsight(_fits([_row()], events, LOGGED), **Q3)
    first = made.markdowns.iloc[0]
    assert (first["says"], first["days_late"], first["asked_price"]) == ("late", 21, 400)
    assert made.cost > 0
    assert "1 late" in " ".join(made.sentences())


def test_a_markdown_never_taken_costs_more_than_a_late_one():
    late = hindsight(
        _fits([_row()], [_ask("2026-08-21", 350), _ask("2026-08-28", 300)], LOGGED), **Q3
    )
    never = hindsight(_fits([_row()], [], LOGGED), **Q3)
    assert list(never.markdowns["says"]) == ["never", "never"]
    assert never.cost > late.cost
    assert never.table["outcome"][0] == "unsold"
    assert pd.isna(never.table["inside"][0])


def test_the_cost_is_the_worth_of_the_plan_less_the_worth_of_holding_then_following():
    from fleetlib.plan.case import case_for
    from fleetlib.records.piece import piece_from_row

    fits = _fits([_row()], [], LOGGED)
    case = case_for(fits, piece_from_row(fits.records.flips.iloc[0]), date(2026, 7, 3))
    begins = case.dates[:-1]
    plan = AskSteps((date(2026, 7, 3), date(2026, 7, 31), date(2026, 8, 28)), (400, 350, 300))
    planned = np.array([plan.on(d) for d in begins])
    held = np.where([d <= date(2026, 9, 30) for d in begins], 400.0, planned)
    by_hand = case.worth(planned).expected_net - case.worth(held).expected_net
    assert hindsight(fits, **Q3).cost == pytest.approx(by_hand)


def test_costs_of_successive_periods_add_up():
    fits = _fits([_row()], [], LOGGED)
    halves = [(date(2026, 7, 1), date(2026, 8, 14)), (date(2026, 8, 15), date(2026, 9, 30))]
    parts = [hindsight(fits, start=a, end=b).cost for a, b in halves]
    assert min(parts) > 0
    assert sum(parts) == pytest.approx(hindsight(fits, **Q3).cost)


def test_an_ask_already_under_the_plan_does_not_go_back_up():
    from fleetlib.plan.case import case_for
    from fleetlib.records.piece import piece_from_row

    fits = _fits([_row()], [_ask("2026-07-20", 330)], LOGGED)
    case = case_for(fits, piece_from_row(fits.records.flips.iloc[0]), date(2026, 7, 3))
    begins = case.dates[:-1]
    plan = AskSteps((date(2026, 7, 3), date(2026, 7, 31), date(2026, 8, 28)), (400, 350, 300))
    real = AskSteps((date(2026, 7, 3), date(2026, 7, 20)), (400, 330))
    august = {"start": date(2026, 8, 1), "end": date(2026, 9, 30)}
    kept = [real.on(d) if d < august["start"] else min(330, plan.on(d)) for d in begins]
    left = [real.on(d) if d <= august["end"] else min(330, plan.on(d)) for d in begins]
    by_hand = case.worth(np.array(kept)).expected_net - case.worth(np.array(left)).expected_net
    made = hindsight(fits, **august)
    assert list(made.markdowns["says"]) == ["never"]
    assert made.cost == pytest.approx(by_hand)
    assert made.cost > 0


def test_advice_of_the_last_week_is_too_soon_to_grade():
    rows = [
        {"piece": "A-1", "listed_on": "2026-07-03", "asking_price": 400.0},
        {"piece": "A-2", "listed_on": "2026-09-28", "asking_price": 400.0},
    ]
    log = [("2026-07-03", "A-1", PLAN), ("2026-09-27", "A-2", PLAN)]
    graded = hindsight(_fits(rows, log=log), **Q3)
    assert graded.table["piece"].tolist() == ["A-1"]
    assert any("1 piece was first advised on or listed in the last week" in n for n in graded.notes)
    alone = hindsight(_fits(rows[1:], log=log[1:]), **Q3)
    assert "-0%" not in str(alone)
    assert alone.table.empty


def test_no_time_gone_is_a_chance_of_plain_nothing():
    plan = saved_plan(json.dumps(PLAN), horizon_end=date(2026, 12, 1))
    assert f"{plan.chance_by(date(2026, 7, 3), start=date(2026, 7, 3)):.0%}" == "0%"


def test_a_piece_sold_before_its_markdown_did_not_need_it():
    made = hindsight(_fits([_row(sold_on="2026-07-20", sale_price=380)], [], LOGGED), **Q3)
    assert list(made.markdowns["says"]) == ["not needed", "not needed"]
    assert made.cost == 0
    assert (made.sold, made.table["inside"][0]) == (1, 1)
    # on 18 days, 3 to 20 July, an unsold piece sells within the 28 days of the first step with chance .4
    daily = 1 - 0.6 ** (1 / 28)
    assert made.expected_sold == pytest.approx(18 * daily)
    assert made.table["chance_sold"][0] == pytest.approx(1 - (1 - daily) ** 18)


def test_only_the_days_from_the_periods_start_are_graded():
    august = {"start": date(2026, 8, 1), "end": date(2026, 9, 30)}
    events = [_ask("2026-07-31", 350)]
    made = hindsight(_fits([_row(sold_on="2026-08-09", sale_price=340)], events, LOGGED), **august)
    daily = 1 - (0.35 / 0.6) ** (1 / 28)
    assert made.expected_sold == pytest.approx(9 * daily)


def test_a_withdrawn_piece_counts_until_the_day_before_it_left():
    made = hindsight(_fits([_row(withdrawn_on="2026-07-20")], [], LOGGED), **Q3)
    assert (made.table["days"][0], made.sold) == (17, 0)


def test_days_at_another_ask_or_off_the_market_are_not_graded():
    high = hindsight(_fits([_row(sold_on="2026-08-20", sale_price=390)], [], LOGGED), **Q3)
    assert (high.table["days"][0], high.sold) == (28, 0)
    events = [
        {"on": "2026-07-11", "piece": "A", "event": "paused", "amount": None, "note": ""},
        {"on": "2026-07-21", "piece": "A", "event": "relisted", "amount": None, "note": ""},
    ]
    away = hindsight(_fits([_row(sold_on="2026-07-28", sale_price=390)], events, LOGGED), **Q3)
    assert (away.table["days"][0], away.sold) == (16, 1)


def test_the_doubt_of_the_chances_is_shared_by_all_pieces():
    plan = [{"from_date": "2026-07-03", "asking_price": 400, "by_date": "2026-12-03",
             "chance_sold": 0.6, "chance_low": 0.5, "chance_high": 0.7}]  # fmt: skip
    names = [f"A-{i}" for i in range(4)]
    rows = [_row(piece=n) for n in names]
    made = hindsight(_fits(rows, [], [("2026-07-03", n, plan) for n in names]), **Q3)
    off = np.log(np.log(0.3) / np.log(0.5)) / 2.5632
    luck = made.table["variance"].sum()
    gone = 4 * (1 - 0.4 ** (90 / 153))  # of four pieces in 90 of the 153 days
    assert made.spread == pytest.approx(np.sqrt(luck + (gone * off) ** 2), rel=1e-3)
    assert luck == pytest.approx(gone, rel=0.01)


def test_a_markdown_planned_anew_before_it_was_late_counts_once():
    again = [
        {"from_date": "2026-08-03", "asking_price": 400, "chance_sold": 0.2},
        {"from_date": "2026-08-10", "asking_price": 350, "chance_sold": 0.8},
    ]
    log = [*LOGGED, ("2026-08-03", "A", again)]
    made = hindsight(_fits([_row()], [_ask("2026-08-10", 350)], log), **Q3)
    assert made.markdowns["says"].tolist() == ["on time"]
    late = [{**again[0], "from_date": "2026-08-20"}, {**again[1], "from_date": "2026-08-27"}]
    log = [*LOGGED, ("2026-08-20", "A", late)]
    made = hindsight(_fits([_row()], [_ask("2026-08-27", 350)], log), **Q3)
    assert made.markdowns["says"].tolist() == ["late"]


_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(15)


def _calibrated_plan(rate, aged, saved):
    """Steps of four weeks whose chances are right on average over the doubt (.2), given `aged` days gone unsold."""

    def unsold(days, off=None):
        rates = rate * np.exp(0.2 * _NODES if off is None else np.array([off]))
        weights = _WEIGHTS / _WEIGHTS.sum() if off is None else np.ones(1)
        return float(weights @ np.exp(-rates * days))

    steps = []
    for k in range(1, 11):
        by = {"chance_sold": None, "chance_low": -0.2563, "chance_high": 0.2563}
        told = {c: 1 - unsold(aged + 28 * k, o) / unsold(aged, o) for c, o in by.items()}
        steps.append(
            {
                "from_date": f"{(saved + pd.Timedelta(days=28 * (k - 1))).date()}",
                "asking_price": 400,
                **told,
            }
        )
    return [*steps[:-1], steps[-1] | {"by_date": f"{(saved + pd.Timedelta(days=280)).date()}"}]


def _calibrated_z(rng, advised):
    """z of one shop whose 12 pieces sell just as their plans say, but for a doubt shared by all of them."""
    shared = np.exp(0.2 * rng.standard_normal())
    rows, log = [], []
    for i in range(12):
        listed = pd.Timestamp("2026-05-01") + pd.Timedelta(days=int(rng.integers(0, 110)))
        aged = int(rng.integers(0, 40)) if advised == "any day" else 0
        rate = -np.log1p(-rng.uniform(0.05, 0.25)) / 7
        sells, away = int(rng.exponential(1 / (rate * shared))), int(rng.integers(20, 200))
        row = {"piece": f"A-{i}", "listed_on": listed, "asking_price": 400.0}
        left = listed + pd.Timedelta(days=min(sells, away))
        if left <= pd.Timestamp(AS_OF):
            row |= (
                {"sold_on": left, "sale_price": 380.0} if sells < away else {"withdrawn_on": left}
            )
        rows.append(row)
        saved = listed + pd.Timedelta(days=aged)
        if aged <= min(sells, away) and saved <= pd.Timestamp(AS_OF):
            log.append((f"{saved.date()}", f"A-{i}", _calibrated_plan(rate, aged, saved)))
    return hindsight(_fits(rows, [], log), **Q3).z


@pytest.mark.slow
def test_plans_that_keep_their_word_are_graded_so_whatever_the_day_of_advice():
    # mean z within .15 over 200 shops (standard error .07); in four runs of 200 it was -.20, .10, -.18, -.01.
    rng = np.random.default_rng(3)
    z = np.array([_calibrated_z(rng, ("the day of listing", "any day")[i % 2]) for i in range(200)])
    assert abs(z.mean()) < 0.15
    assert 0.8 < z.std() < 1.2


def test_a_sale_outside_the_range_then_given_counts_against_it():
    made = hindsight(_fits([_row(sold_on="2026-07-20", sale_price=430)], [], LOGGED), **Q3)
    assert made.table["inside"][0] == 0
    assert "0 of 1 piece sold inside the range" in " ".join(made.sentences())


def test_a_markdown_due_this_week_is_neither_late_nor_missed():
    made = hindsight(
        _fits([_row()], [_ask("2026-07-31", 350)], LOGGED),
        start=date(2026, 7, 1),
        end=date(2026, 8, 30),
    )
    assert list(made.markdowns["says"]) == ["on time", "due now"]


def test_a_plan_made_before_the_listing_runs_from_the_day_it_was_listed():
    row = _row(listed_on="2026-07-17")
    made = hindsight(_fits([row], [_ask("2026-08-14", 350)], LOGGED), **Q3)
    assert made.markdowns["planned_on"].dt.strftime("%m-%d").tolist() == ["08-14", "09-11"]
    assert list(made.markdowns["says"]) == ["on time", "never"]


def test_a_later_plan_takes_the_place_of_the_first():
    later = [
        {"from_date": "2026-08-14", "asking_price": 400, "chance_sold": 0.5},
        {"from_date": "2026-09-11", "asking_price": 320, "chance_sold": 0.8},
    ]
    log = [*LOGGED, ("2026-08-14", "A", later)]
    made = hindsight(_fits([_row()], [_ask("2026-09-11", 320)], log), **Q3)
    says = dict(zip(made.markdowns["planned_price"], made.markdowns["says"], strict=True))
    assert says == {350: "late", 320: "on time"}
    assert len(made.table) == 1


def test_without_dated_prices_nobody_is_blamed():
    made = hindsight(_fits([_row(last_asking_price=300)], [], LOGGED), **Q3)
    assert made.markdowns.empty
    assert np.isnan(made.table["cost"][0])
    assert made.cost == 0
    assert "no dated asking prices" in made.notes[0]


def test_advice_on_a_piece_gone_before_or_listed_after_says_nothing_here():
    made = hindsight(_fits([_row()], [], LOGGED), **Q2)
    assert made.table.empty
    assert "nothing to hold against" in made.sentences()[0]
    assert "nothing to hold against" in str(hindsight(_fits([_row()]), **Q3))


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", "null", "[1]", '[{"from_date": "soon"}]', "=1+1", None]
)
def test_a_plan_that_cannot_be_read_is_left_out_and_never_guessed(text):
    assert saved_plan(text, horizon_end=AS_OF) is None


def test_prices_in_the_past_are_read_from_dated_events():
    row = flips_of([_row(last_asking_price=300)]).iloc[0]
    asked = real_asks(row, events_of([_ask("2026-08-01", 350, "a"), _ask("2026-09-01", 300)]))
    assert asked == AskSteps(
        (date(2026, 7, 3), date(2026, 8, 1), date(2026, 9, 1)), (400, 350, 300)
    )
    assert asked.on(date(2026, 8, 31)) == 350
    assert asked.on(date(2026, 1, 1)) == 400


def test_names_from_the_records_are_text_in_the_page():
    log = [("2026-07-03", "<script>x</script>", PLAN)]
    made = hindsight(_fits([_row(piece="<script>x</script>")], [], log), **Q3)
    assert len(made.table) == 1
    assert "<script>x" not in made._repr_html_()
