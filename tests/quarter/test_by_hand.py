"""Small steps of the review worked by hand; all of them together take a second."""

import json
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.quarters import Quarter
from fleetlib.quarter import next_steps as steps
from fleetlib.quarter import types
from fleetlib.quarter.adherence import _in_force, _real_then_planned
from fleetlib.quarter.hindsight import _verdict
from fleetlib.records.listing_history import AskSteps
from tests.histories import flips_of
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece

FITS = SimpleNamespace(settings=SimpleNamespace(currency="USD"), hours=KnownHours(5.0))


def test_a_part_of_the_pieces_in_words():
    assert steps._part(1, 1, "sold") == "Your one sold piece has"
    assert steps._part(1, 9, "unfinished") == "1 of 9 unfinished pieces has"
    assert steps._part(2, 9, "unfinished") == "2 of 9 unfinished pieces have"


@pytest.mark.parametrize(
    ("z", "says"),
    [(1.7, "clearly more"), (-1.7, "clearly fewer"), (1.6, "within"), (-1.6, "within")],
)
def test_luck_alone_passes_the_line_one_time_in_ten(z, says):
    assert says in _verdict(z)


def order_of(*lines, full=False):
    columns = [
        "piece",
        "hours_left",
        "days_left",
        "gain",
        "per_hour",
        "per_place_week",
        "chance_first",
    ]
    return SimpleNamespace(
        table=pd.DataFrame(lines, columns=columns),
        full=full,
        rate="per_place_week" if full else "per_hour",
    )


def test_two_unfinished_pieces_are_enough_to_say_which_first(monkeypatch):
    two = (("A", 4.0, 14.0, 120.0, 30.0, 60.0, 0.9), ("B", 10.0, 28.0, 100.0, 10.0, 25.0, 0.1))
    monkeypatch.setattr(steps, "what_next", lambda fits: order_of(*two))
    assert steps._finish_first(FITS).worth == pytest.approx((30 - 100 / 10) * 4)
    monkeypatch.setattr(steps, "what_next", lambda fits: order_of(*two, full=True))
    assert steps._finish_first(FITS).worth == pytest.approx((60 - 100 / 4) * 2)
    monkeypatch.setattr(steps, "what_next", lambda fits: order_of(two[0]))
    assert steps._finish_first(FITS) is None


def test_two_types_are_enough_to_say_where_hours_pay():
    rows = [piece("desk", 300 + k, 4) for k in range(6)]
    rows += [piece("bench", 20 + k, 4) for k in range(6)]
    fits = fits_of(rows, selling=KnownSelling(), hours=KnownHours(4.0))
    step = steps._move_hours(fits, fits.records.flips)
    assert step.pieces["piece"].tolist() == [f"A-{k}" for k in range(7, 13)]
    assert step.what == "Put hours into desk pieces before bench ones."
    alone = fits_of(rows[:6], selling=KnownSelling(), hours=KnownHours(4.0))
    assert steps._move_hours(alone, alone.records.flips) is None


@pytest.mark.parametrize(("worth", "told"), [(1.0, 1), (0.99, 0)])
def test_a_step_worth_a_unit_of_money_is_told(worth, told, monkeypatch):
    step = steps.NextStep("Do it.", "It pays.", worth, pd.DataFrame())
    for name in ("_let_go", "_finish_first", "_move_hours", "_keep_to_dates", "_ask_more"):
        monkeypatch.setattr(steps, name, lambda *_: None)
    for name in ("_hours_missing", "_own_price_missing", "_costs_missing", "_vary_asks"):
        monkeypatch.setattr(steps, name, lambda *_: None)
    monkeypatch.setattr(steps, "_come_down", lambda *_: step)
    empty = pd.DataFrame()
    assert len(steps.next_steps(FITS, ageing=empty, past=None, sold=empty)) == told


def test_the_year_beside_a_quarter_is_its_last_365_days():
    days = ["2025-09-30", "2025-10-01", "2026-07-01", "2026-08-01", "2026-09-30"]
    rows = [piece("desk", 100, 5, sold_on=day, listed_on="2025-09-01") for day in days]
    made = types.pay_by_type(flips_of(rows), start=date(2026, 7, 1), end=date(2026, 9, 30))
    row = made.iloc[0]
    assert (row["sold"], row["year_sold"], row["per_hour"], row["says"]) == (3, 4, 20.0, "")


def test_where_a_type_has_few_sales_this_and_three_quarters_before_are_told(monkeypatch):
    asked = []

    def earlier(flips, *, only, borrow):
        asked.append(only)
        told = {"piece": ["A-1"], "sale_price": [110.0], "estimate": [100.0]}
        return pd.DataFrame(told)

    monkeypatch.setattr(types, "from_earlier_sales", earlier)
    fits = fits_of([piece("desk", 100, 5)])
    made = types.price_drift(fits, Quarter(2026, 3))
    assert asked == [Quarter(2026, 3), Quarter(2026, 2), Quarter(2026, 1), Quarter(2025, 4)]
    assert made["sales"].tolist() == [1, 1] and made["year_sales"].tolist() == [4, 4]
    assert made["year_drift"].tolist() == pytest.approx([0.1, 0.1])


def test_drift_and_its_range_by_the_t_table():
    logs = np.array([0.0, 0.1, 0.2])
    sales = pd.DataFrame({"sale_price": 100 * np.exp(logs), "estimate": 100.0})
    row = types._drift("desk", sales)
    reach = 4.302653 * 0.1 / np.sqrt(3)  # t of 2 degrees of freedom, 97.5%: 4.303 in any table
    assert row["drift"] == pytest.approx(np.expm1(0.1))
    assert row["low"] == pytest.approx(np.expm1(0.1 - reach))
    assert row["high"] == pytest.approx(np.expm1(0.1 + reach))


def test_of_the_plans_saved_before_the_last_counts_and_of_one_day_the_later():
    def plan_at(ask):
        return json.dumps(
            [
                {
                    "from_date": "2026-06-01",
                    "asking_price": ask,
                    "chance_sold": 0.5,
                    "by_date": "2026-08-30",
                }
            ]
        )

    days = ["2026-06-01", "2026-06-20", "2026-06-20", "2026-07-10", "2026-10-01"]
    log = pd.DataFrame(
        {"date": pd.to_datetime(days), "plan": [plan_at(a) for a in (400, 390, 380, 350, 300)]}
    )
    made = _in_force(log, date(2026, 6, 1), date(2026, 9, 30), date(2026, 7, 1), 12)
    assert [f.plan.asks.prices[0] for f in made] == [380, 350]
    assert [(f.since, f.until) for f in made] == [
        (date(2026, 6, 20), date(2026, 7, 9)),
        (date(2026, 7, 10), date(2026, 9, 30)),
    ]


def test_the_plan_takes_the_place_of_the_real_asks_on_its_day():
    begins = (date(2026, 7, 1), date(2026, 7, 8), date(2026, 7, 15))
    planned = AskSteps((date(2026, 7, 1), date(2026, 7, 8)), (400.0, 350.0))
    real = AskSteps((date(2026, 7, 1),), (400.0,))
    asks = _real_then_planned(begins, planned, real, date(2026, 7, 8))
    assert asks.tolist() == [400, 350, 350]


def test_asks_to_bring_down_need_bring_no_more_than_some_cents():
    ageing = pd.DataFrame(
        {
            "piece": ["A-1", "A-2"], "asking_price": [300.0, 300.0], "plan_price": [290.0, 290.0],
            "next_on": [pd.NaT, pd.NaT], "next_price": [np.nan, np.nan], "let_go": [False, False],
            "gain_over_holding": [0.5, 0.0],
        }
    )  # fmt: skip
    fits = SimpleNamespace(settings=SimpleNamespace(currency="USD"), as_of=date(2026, 9, 30))
    found = steps._come_down(fits, ageing)
    assert found.pieces["piece"].tolist() == ["A-1"] and found.worth == 0.5
    assert steps._come_down(fits, ageing.assign(gain_over_holding=0.0)) is None
