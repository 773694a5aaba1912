"""The days on which a plan may come down: the owner's weekday, from today to the horizon."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from fleetlib.base.settings import WEEKDAYS, Settings
from fleetlib.records.listing_history import ListedSoFar

LAST_WEEKS = 4  # what a piece past its weeks gets at the least to come down


def periods(
    as_of: date, so_far: ListedSoFar | None, settings: Settings, *, last_weeks: int = LAST_WEEKS
) -> tuple[np.ndarray, tuple[date, ...], bool]:
    """Days on the market at the edges of the plan's periods, the same as dates, and whether it overran.

    The end is the horizon, counted from the listing. Past that it is the next of the days `last_weeks` apart that
    follow it, also counted from the listing: every day until then has the same one.
    """
    gone = 0 if so_far is None else so_far.days
    end = 7 * settings.horizon_weeks - gone
    past = end < 1
    if past:
        end = 7 * last_weeks + end % (-7 * last_weeks)
    ahead = (WEEKDAYS.index(settings.markdown_weekday) - as_of.weekday()) % 7 or 7
    days = [0, *range(ahead, end, 7), end]
    return (
        np.array(days, dtype=float) + gone,
        tuple(as_of + timedelta(days=d) for d in days),
        past,
    )


def weeks_to_come_down(
    so_far: ListedSoFar | None, settings: Settings, *, floor: float, deepest_cut: float
) -> int:
    """Weeks that a piece past its horizon gets: time to reach the floor in markdowns no deeper than `deepest_cut`.

    Counted from the ask in force on the day its weeks were over, so that it is the same on every later day. At least
    4 weeks and at most another horizon.
    """
    if so_far is None:
        return LAST_WEEKS
    over = 7 * settings.horizon_weeks
    ask = so_far.asks[int(np.searchsorted(so_far.since, over, side="right")) - 1]
    steps = np.ceil(np.log(max(ask / max(floor, 1e-9), 1.0)) / -np.log1p(-deepest_cut))
    weeks = settings.weeks_between_markdowns * int(steps)
    return max(min(weeks, settings.horizon_weeks), LAST_WEEKS)
