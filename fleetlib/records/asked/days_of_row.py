"""Days without a year told by the other days of their row: bought 8 Nov 25, listed Dec 6, sold Jan 10.

Of the years in which such a day follows the last known day before it, or precedes the first one after it, the nearest
is meant where it is within NEAR days; the next one would be over a year off. Our own bound, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

import numpy as np

from fleetlib.records.parsing.dates import SETTLED
from fleetlib.records.parsing.near_days import day_in, has_no_year, month_and_year, month_or_day

NEAR = 200  # days between two days of one row
OR_A_YEAR = "is a day, or a month with its year"
WHY = "the year of the other days of its row"
STAGE = {"bought_on": 0, "listed_on": 1, "sold_on": 2, "withdrawn_on": 2}


def settle_days_of_rows(
    values: dict[str, np.ndarray],
    refused: dict[str, dict[int, tuple[str, str]]],
    orders: Mapping[str, str],
    as_of: date,
) -> list[tuple[int, str, str, str]]:
    """Put days without a year into `values` where a known day of their row leaves one year, and take them out of
    `refused`; `orders` says of each column whether the day or the month is first, where that is known.

    Returns row, column, what was typed and the day of each.
    """
    done = []
    elsewhere = any(month_and_year(t) for c in STAGE for t, _ in refused.get(c, {}).values())
    for column in (*STAGE, *reversed(STAGE)):  # what is found tells the next, then back
        for i, (typed, why) in list(refused.get(column, {}).items()):
            if not has_no_year(typed) or why.startswith("could be "):
                continue
            if elsewhere and month_or_day(typed):
                refused[column][i] = (typed, OR_A_YEAR)
                continue
            day = _in_row(values, i, column, typed, orders.get(column, ""))
            if day and day <= as_of:
                values[column] = values[column].copy()
                values[column][i] = np.datetime64(day, "ns")
                del refused[column][i]
                done.append((i, column, typed, str(day)))
    return done


def crosses(values: Mapping[str, np.ndarray], i: int, column: str) -> bool:
    """Whether the day of `column` in row `i` is out of order with the others of its row."""
    day = next(_known(values, i, [column]), None)
    return day is not None and off_the_others(values, i, column, day) is None


def off_the_others(values: Mapping[str, np.ndarray], i: int, column: str, day: date) -> int | None:
    """How many days `day` in `column` is off the nearest other day of row `i`; None where it is out of order with
    them."""
    stage = STAGE[column]
    before = list(_known(values, i, [c for c in STAGE if STAGE[c] < stage]))
    after = list(_known(values, i, [c for c in STAGE if STAGE[c] > stage]))
    if any(d > day for d in before) or any(d < day for d in after):
        return None
    return min((abs((d - day).days) for d in [*before, *after]), default=0)


def _in_row(
    values: Mapping[str, np.ndarray], i: int, column: str, typed: str, order: str
) -> date | None:
    """The one day that `typed` is, by the known days of row `i` that come before and after."""
    fits = [d for d, off in _fitting(values, i, column, typed, [order]) if off <= NEAR]
    return fits[0] if len(fits) == 1 else None


def likely_days(
    values: Mapping[str, np.ndarray], i: int, column: str, typed: str, as_of: date
) -> list[date]:
    """The days until `as_of` that `typed`, without a year, may be by the other days of row `i`, the nearest first; by
    the last three years where it has none."""
    found = _fitting(values, i, column, typed, SETTLED) or [
        (d, (as_of - d).days)
        for k in range(3)
        for o in SETTLED
        if (d := day_in(typed, str(as_of.year - k), order=o, as_of=as_of))
    ]
    return [*dict.fromkeys(d for d, _ in sorted(found, key=lambda f: f[1]) if d <= as_of)]


def _fitting(
    values: Mapping[str, np.ndarray], i: int, column: str, typed: str, orders: Sequence[str]
) -> list[tuple[date, int]]:
    """The days of three years that `typed` may be between the known days of row `i`, and how far from them each is."""
    stage = STAGE[column]
    before = max(_known(values, i, [c for c in STAGE if STAGE[c] < stage]), default=None)
    after = min(_known(values, i, [c for c in STAGE if STAGE[c] > stage]), default=None)
    near = before or after
    if near is None:
        return []
    tried = (
        day_in(typed, str(near.year + k), order=o, as_of=date.max)
        for k in (-1, 0, 1)
        for o in orders
    )
    return [
        (d, abs((d - near).days))
        for d in tried
        if d and (not before or d >= before) and (not after or d <= after)
    ]


def _known(values: Mapping[str, np.ndarray], i: int, columns: list[str]) -> Iterator[date]:
    for column in columns:
        if column in values and not np.isnat(values[column][i]):
            yield date.fromisoformat(str(values[column][i])[:10])
