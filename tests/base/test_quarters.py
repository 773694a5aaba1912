"""Calendar quarters."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.base.errors import BadQuestion
from fleetlib.base.quarters import Quarter, quarter_of, read_quarter


@pytest.mark.parametrize("text", ["2026-Q3", "2026q3", " Q3 2026", "q3-2026", "2026-3", "2026 3"])
def test_a_quarter_is_read_however_it_is_written(text):
    assert read_quarter(text) == Quarter(2026, 3)


@pytest.mark.parametrize("text", ["2026-Q5", "26-Q3", "summer", "", "2026-Q", "2026-Q33"])
def test_what_is_no_quarter_is_refused_with_its_text(text):
    with pytest.raises(BadQuestion, match=f'"{text}" is not a quarter'):
        read_quarter(text)


def test_the_third_quarter_runs_from_july_to_september():
    third = Quarter(2026, 3)
    assert (third.start, third.end) == (date(2026, 7, 1), date(2026, 9, 30))
    assert str(third) == "2026-Q3"
    assert third.year_before() == Quarter(2025, 3)


@given(st.dates(date(1950, 1, 1), date(2900, 1, 1)))
def test_every_day_is_in_one_quarter_and_quarters_leave_no_gap(day):
    holding = quarter_of(day)
    assert holding.start <= day <= holding.end
    assert holding.end + timedelta(days=1) == holding.next().start
    assert holding.previous().next() == holding
    assert read_quarter(str(holding)) == holding
