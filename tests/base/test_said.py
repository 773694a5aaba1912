"""Shares, changes and days as they are said."""

from datetime import date

import pytest

from fleetlib.base.said import change, day_said, percent


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (1.0, "100%"),
        (1 - 2e-16, "100%"),
        (2e-16, "0%"),
        (0.996, ">99%"),
        (0.994, "99%"),
        (0.004, "<1%"),
        (0.0, "0%"),
        (-0.001, "0%"),
    ],
)
def test_a_share_short_of_certain_is_never_called_certain(share, said):
    assert percent(share) == said


@pytest.mark.parametrize(
    ("per_cent", "said"), [(36.2, "+36%"), (-1.6, "-2%"), (-0.4, "0%"), (0.4, "0%"), (0.0, "0%")]
)
def test_a_change_that_rounds_to_nothing_has_no_sign(per_cent, said):
    assert change(per_cent) == said


def test_a_day_is_said_in_one_way_whatever_the_language():
    day = date(2026, 10, 9)
    assert day_said(day) == "9 Oct 2026"
    assert day_said(day, year=False) == "9 Oct"
    assert day_said(day, weekday=True) == "Fri 9 Oct 2026"
