"""Which quarter is reviewed when none is named."""

from __future__ import annotations

from datetime import date

import pandas as pd

from fleetlib.base.quarters import Quarter, quarter_of


def last_whole_quarter(as_of: date) -> Quarter:
    """The newest quarter that is over on `as_of`; its own last day counts as over.

    >>> str(last_whole_quarter(date(2026, 9, 30))), str(last_whole_quarter(date(2026, 9, 29)))
    ('2026-Q3', '2026-Q2')
    """
    holding = quarter_of(as_of)
    return holding if holding.end == as_of else holding.previous()


def quarter_to_review(flips: pd.DataFrame, as_of: date) -> Quarter:
    """The last whole quarter in which something sold; the present one where only that has a sale, and the last whole
    one where nothing sold on a known day."""
    last = last_whole_quarter(as_of)
    days = flips["sold_on"].dropna()
    whole = days[days <= pd.Timestamp(last.end)]
    if len(whole):
        return quarter_of(whole.max().date())
    return quarter_of(days.max().date()) if len(days) else last
