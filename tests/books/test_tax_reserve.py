"""The planning figure for taxes: the owner's own rate, dates with source, never a bill."""

import re
from datetime import date, timedelta

import pandas as pd
import pytest

from fleetlib.base.settings import Settings
from fleetlib.books.tax_reserve import (
    DUE_DATES,
    NOT_TAX_PERIODS,
    WORDING,
    reserve,
    reserve_for,
)
from tests.histories import flips_of
from tests.true_records import records_of

Q3 = {"start": date(2026, 7, 1), "end": date(2026, 9, 30)}


def test_the_figure_is_the_owners_share_of_the_profit():
    made = reserve(2345.67, share=0.25, **Q3)
    assert made.amount == 586.42
    assert "Keep about $586 aside" in made.sentence()
    assert "tax year 2026" in made.sentence()


@pytest.mark.parametrize("profit", [0.0, -310.0])
def test_no_profit_means_nothing_to_keep_aside(profit):
    made = reserve(profit, share=0.3, **Q3)
    assert made.amount == 0
    assert "Nothing to keep aside" in made.sentence()


def test_without_a_share_no_figure_is_made_up():
    made = reserve(1000.0, share=0.0, **Q3)
    assert made.amount == 0
    assert "name no share" in made.sentence()


def test_a_loss_earlier_in_the_year_makes_the_figure_smaller():
    made = reserve(1000.0, share=0.25, before=-400.0, **Q3)
    assert made.amount == 150
    assert "less $400 lost earlier in the year" in made.sentence()
    swallowed = reserve(300.0, share=0.25, before=-400.0, **Q3)
    assert swallowed.amount == 0
    assert "does not yet make up for the $400 lost" in swallowed.sentence()


def test_a_loss_says_what_of_the_earlier_figures_is_not_needed():
    made = reserve(-400.0, share=0.25, before=1000.0, **Q3)
    assert made.amount == 0
    assert "$100 of what you kept aside earlier in the year is not needed" in made.sentence()


def test_supplies_and_scrapped_pieces_are_counted_and_what_was_kept_is_not():
    rows = [
        {"piece": "A", "bought_on": "2026-02-01", "buy_price": 500, "sold_on": "2026-03-01", "sale_price": 300},
        {"piece": "B", "bought_on": "2026-07-01", "buy_price": 100, "sold_on": "2026-08-01", "sale_price": 900},
        {"piece": "C", "bought_on": "2026-07-02", "buy_price": 60, "withdrawn_on": "2026-08-01", "outcome": "scrapped"},
        {"piece": "D", "bought_on": "2026-07-02", "buy_price": 70, "withdrawn_on": "2026-08-01", "outcome": "kept"},
    ]  # fmt: skip
    bought = pd.DataFrame(
        {"bought_on": pd.to_datetime(["2026-07-09"]), "item": ["rags"], "cost": [40.0]}
    )
    records = records_of(
        flips_of(rows),
        supplies=bought.assign(shared_by="hours"),
        settings=Settings(reserve_share=0.25, delivery_cost=0.0),
    )
    made = reserve_for(records, **Q3)
    assert made.profit == 800 - 40 - 60
    assert made.before == -200
    assert made.amount == 125
    assert made.made_of == (
        "Profit here is $800 from the pieces sold less $40 for supplies and tools and $60 for scrapped pieces."
    )


def _moved(day: date, holidays: set[date]) -> date:
    while day.weekday() >= 5 or day in holidays:
        day += timedelta(days=1)
    return day


def _monday(year: int, month: int, nth: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(7 - first.weekday()) % 7 + 7 * (nth - 1))


@pytest.mark.parametrize("year", DUE_DATES)
def test_due_dates_follow_the_weekday_rule(year):
    # 26 USC 7503; Emancipation Day (16 April, District of Columbia, kept on the nearest weekday) and the
    # third Monday of January (5 USC 6103) are the legal holidays that can fall on these days.
    emancipation = date(year, 4, 16)
    kept = emancipation + timedelta(days={5: -1, 6: 1}.get(emancipation.weekday(), 0))
    holidays = {kept, _monday(year + 1, 1, 3)}
    asked = (date(year, 4, 15), date(year, 6, 15), date(year, 9, 15), date(year + 1, 1, 15))
    assert DUE_DATES[year].days == tuple(_moved(d, holidays) for d in asked)


def test_due_dates_of_2026_are_the_published_ones():
    # IRS, Form 1040-ES for 2026: April 15, June 15, September 15, January 15, 2027.
    assert DUE_DATES[2026].days == (
        date(2026, 4, 15),
        date(2026, 6, 15),
        date(2026, 9, 15),
        date(2027, 1, 15),
    )
    assert "1040-ES for 2026" in DUE_DATES[2026].source


def test_calendar_quarters_are_said_not_to_be_tax_periods():
    made = reserve(1000.0, share=0.2, **Q3)
    assert NOT_TAX_PERIODS in made.notes


@pytest.mark.parametrize("currency", ["USD", "EUR"])
@pytest.mark.parametrize("profit", [900.0, -900.0])
@pytest.mark.parametrize("share", [0.0, 0.3])
def test_nobody_is_told_what_they_owe(currency, profit, share):
    made = reserve(profit, share=share, currency=currency, **Q3)
    for text in (str(made), made._repr_html_()):
        assert not re.search(r"\bowe|\btax due\b|must pay", text, re.I)
    assert made.notes[-1] == WORDING


def test_outside_dollars_no_us_dates_are_printed():
    made = reserve(1000.0, share=0.2, currency="EUR", **Q3)
    assert made.due == ()
    assert "Apr" not in str(made)


def test_a_year_without_listed_dates_is_said_and_not_guessed():
    made = reserve(1000.0, share=0.2, start=date(2031, 1, 1), end=date(2031, 3, 31))
    assert made.due == ()
    assert "No US dates are listed here for 2031" in str(made)
