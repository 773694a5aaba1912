"""The days on which a plan may come down: the owner's weekday, from today to the horizon."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from fleetlib.base.settings import WEEKDAYS, Settings
from fleetlib.records.listing import ListedSoFar

LAST_WEEKS = 4  # what a piece past its horizon still gets


def periods(
    as_of: date, so_far: ListedSoFar | None, settings: Settings
) -> tuple[np.ndarray, tuple[date, ...], bool]:
    """Days on the market at the edges of the plan's periods, the same as dates, and whether it overran."""
    gone = 0 if so_far is None else so_far.days
    end = 7 * settings.horizon_weeks - gone
    past = end < 1
    if past:
        end = 7 * LAST_WEEKS
    ahead = (WEEKDAYS.index(settings.markdown_weekday) - as_of.weekday()) % 7 or 7
    days = [0, *range(ahead, end, 7), end]
    return (
        np.array(days, dtype=float) + gone,
        tuple(as_of + timedelta(days=d) for d in days),
        past,
    )
