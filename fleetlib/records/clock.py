"""A clock that runs years behind the records is asked about: it would leave out most of what is written down."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import pandas as pd

from fleetlib.base.errors import BadRecords
from fleetlib.records.parsing.dates import read_dates

_FAR = timedelta(
    days=366
)  # a slip of the pen is one day in the wrong year; a clock is behind for every day
_ENOUGH = 3  # so many days that far ahead are no slips of the pen
_AFTER = "lies after"  # how a day that was not used for that reason is spoken of


def ask_about_the_clock(
    today: date, flips: pd.DataFrame, changes: pd.DataFrame, *side_files: pd.DataFrame
) -> None:
    """Raise BadRecords where the machine's day lies over a year before days that were left out for lying ahead.

    They are those of `changes` (was, why) and of the rows set aside in `side_files` (value, reason): three of them,
    or all the days there are.
    """
    ahead = list(changes.loc[changes["why"].str.contains(_AFTER, regex=False), "was"])
    for aside in side_files:
        told = zip(aside["reason"].tolist(), aside["value"].tolist(), strict=True)
        ahead += [value for reason, value in told if _AFTER in reason]
    far = sorted(day for day in _days(ahead, today) if day > today + _FAR)
    if not far:
        return
    dates = flips.select_dtypes("datetime64[ns]")
    if len(far) < _ENOUGH and dates.notna().to_numpy().any():
        return
    newest = far[-min(_ENOUGH, len(far))]
    raise BadRecords(
        f"Is it {today} today? This machine's clock says so, but the records go on to {newest}, and all that lies "
        f"ahead would be left out. Put the clock right; or, to look at that day on purpose, write as_of = {today} into "
        "settings.toml."
    )


def _days(texts: Iterable[str], today: date) -> list[date]:
    cells = read_dates(sorted(set(texts)), day_first=None, as_of=today).cells
    return [date.fromisoformat(str(c.value)) for c in cells if c.value is not None]
