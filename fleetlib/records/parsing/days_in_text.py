"""The days that a remark names, as `came back 10/14 wobbly` or `listed 2 Sept` do."""

from __future__ import annotations

import re
from datetime import date

from fleetlib.records.parsing.dates import MONTHS, read_dates
from fleetlib.records.parsing.near_days import day_in, has_no_year
from fleetlib.records.parsing.numbers import plain

_ND = r"(?:st|nd|rd|th)?"
A_DAY = (
    r"(?<![\d/.-])(?:\d{4}-\d\d-\d\d|\d\d?[/.-]\d\d?(?:[/.-](?:\d{4}|\d\d))?"
    rf"|\d\d?{_ND} (?:{MONTHS})\b\.?(?:,? \d{{4}})?|(?:{MONTHS})\b\.? \d\d?{_ND}(?:,? \d{{4}})?)(?![\d/-])"
)  # one day, with or without its year, in text made plain
_A_DAY = re.compile(A_DAY)


def days_in_text(
    text: str, *, since: date | None, date_order: str | None, as_of: date
) -> list[date]:
    """The days in `text` from `since` to `as_of`, the first first; of a day in either order those that can be.

    One without a year is the first such day from `since` on, and none where that is not known.
    """
    orders = (date_order,) if date_order else ("month first", "day first")
    found: set[date] = set()
    for match in _A_DAY.finditer(plain(text)):
        for order in orders:
            day = _day(match.group(), order, since, as_of)
            if day and day <= as_of and (since is None or day >= since):
                found.add(day)
    return sorted(found)


def _day(typed: str, order: str, since: date | None, as_of: date) -> date | None:
    if has_no_year(typed):
        years = [since.year, since.year + 1] if since else []
        days = [day_in(typed, str(y), order=order, as_of=as_of) for y in years]
        return next((d for d in days if d and since and d >= since), None)
    cell = read_dates([typed], day_first=order == "day first", as_of=as_of).cells[0]
    return None if cell.value is None or cell.refused else date.fromisoformat(str(cell.value))
