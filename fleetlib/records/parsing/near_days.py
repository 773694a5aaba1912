"""Days told by the rest of their column: without a year, with the year first in two digits, or years off.

The reaches are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

import numpy as np

from fleetlib.records.parsing.dates import MONTH_NUMBER, MONTH_YEAR, MONTHS, MONTHS_THERE, tidy
from fleetlib.records.parsing.numbers import Cell, plain
from fleetlib.records.parsing.once import once

NEAR, AGREE, FAR = (
    100,
    365,
    2900,
)  # days: like its neighbours; neighbours alike; eight years off both
_OLDEST = 15  # years: what a record is taken to reach back
_YEAR_FIRST = re.compile(r"(\d\d)([-/.])(\d\d)\2(\d\d)")
_SHORT = re.compile(r"\d{1,2}([-/.])\d{1,2}\1\d\d")
_ISO = re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}.*")
_TWO = re.compile(r"(\d{1,2})[-/.](\d{1,2})\.?")
_NAMED = re.compile(
    rf"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[., ]+)?(?:the )?"
    rf"(?:(\d{{1,2}})(?:st|nd|rd|th|er|\.)?(?: (?:of|de|di))?[ ./-]*({MONTHS})\.?"
    rf"|(?!(?:{MONTHS_THERE})\.?[ ./'-]*\d\d$)({MONTHS})\.?[ ./-]*(\d{{1,2}})(st|nd|rd|th)?\.?)"
)


def year_first(texts: Sequence[str], cells: Sequence[Cell], *, as_of: date) -> list[Cell]:
    """`cells` with 26-03-04 read as the year, month and day where nothing else fits the column.

    It is read so where every short date of the column allows it and one of them allows nothing else, or others
    are written 2026-03-04. One that is read over eight years ago but would be recent so is asked about.
    """
    bodies = [plain(t) for t in texts]
    short = [i for i, b in enumerate(bodies) if _SHORT.fullmatch(b)]
    found = {i: m for i in short if (m := _YEAR_FIRST.fullmatch(bodies[i]))}
    days = {i: _day(2000 + int(m[1]), int(m[3]), int(m[4])) for i, m in found.items()}
    made = list(cells)
    if (
        not short
        or len(found) < len(short)
        or any(d is None or not _believed(d, as_of) for d in days.values())
    ):
        return made
    others = [
        [_day(2000 + int(m[4]), *p) for p in ((int(m[1]), int(m[3])), (int(m[3]), int(m[1])))]
        for m in found.values()
    ]
    only = any(not any(d is not None and _believed(d, as_of) for d in pair) for pair in others)
    if only or any(_ISO.fullmatch(b) for b in bodies):
        for i, day in days.items():
            made[i] = Cell(str(day), "the year first")
        return made
    for i, day in days.items():
        value = made[i].value
        if (
            value
            and day
            and (as_of - date.fromisoformat(str(value))).days > FAR > 4 * (as_of - day).days
        ):
            made[i] = Cell(None, f"could be {value} or {day}", True)
    return made


_SIX = re.compile(r"\d{6}")


def by_near_days(
    texts: Sequence[str], codes: np.ndarray, cells: Sequence[Cell], *, order: str, as_of: date
) -> list[Cell]:
    """`cells` with days without a year read where the rows above and below leave one, and days that lie over eight
    years off both neighbours, which agree within a year, asked about."""
    made = list(cells)
    known = [
        None if c.value is None else date.fromisoformat(str(c.value)).toordinal() for c in cells
    ]
    days = [known[k] for k in codes.tolist()]
    above, below = _nearest(days), _nearest(days[::-1])[::-1]
    for k, cell in enumerate(cells):
        if not cell.refused:
            continue
        body = tidy(plain(texts[k]))
        six, pair = _SIX.fullmatch(body), _month_day(body, order)
        if not (six or pair):
            continue
        near = [[d for d in (above[i], below[i]) if d] for i in np.flatnonzero(codes == k).tolist()]
        if six:
            found = {_six_digits(body, n, as_of) for n in near}
            if len(found) == 1 and (day := found.pop()):
                made[k] = Cell(day.isoformat(), "six digits, the day near the rows around it")
        elif pair:
            years = {_year_of(pair, n, as_of) for n in near}
            if len(years) == 1 and (year := years.pop()):
                day = date(year, pair.month, pair.day)
                made[k] = Cell(day.isoformat(), AROUND)
    for k, a, b, own in zip(codes.tolist(), above, below, days, strict=True):
        if a and b and own and abs(a - b) <= AGREE and min(abs(own - a), abs(own - b)) >= FAR:
            years_off = round(min(abs(own - a), abs(own - b)) / 365.25)
            made[k] = Cell(None, f"is about {years_off} years off the rows around it", True)
    return made


def _nearest(days: Sequence[int | None]) -> list[int | None]:
    """For each row the last known day before it."""
    found: list[int | None] = []
    last = None
    for day in days:
        found.append(last)
        last = day or last
    return found


AROUND = "the year of the rows around it"  # why a day without a year was read so
LATEST = "latest"  # the year in which a day is the latest it can be


@once
def has_no_year(text: str) -> bool:
    """Whether a text is a day and a month and no more."""
    body = tidy(plain(text))
    return bool(_TWO.fullmatch(body) or _NAMED.fullmatch(body))


@once
def month_and_year(text: str) -> tuple[int, int] | None:
    """The month and the year of `Juni 25`: two figures behind a month's name of a language that writes the day before
    the month; None for any other text."""
    found = MONTH_YEAR.fullmatch(tidy(plain(text)))
    return (MONTH_NUMBER[found[1]], 2000 + int(found[2])) if found else None


def month_or_day(text: str) -> tuple[int, int] | None:
    """The month and the year that `April 25` may be beside such as `Juni 25`, where it is no day; None for any other
    text."""
    body = tidy(plain(text))
    named = _NAMED.fullmatch(body)
    if not named or named[1] or named[5] or len(named[4]) < 2:
        return None
    return MONTH_NUMBER[named[3]], 2000 + int(named[4])


def day_in(text: str, year: str, *, order: str, as_of: date) -> date | None:
    """The day that a text without a year is in `year` (or LATEST); None where it is none, or not before `as_of`."""
    of = _month_day(tidy(plain(text)), order)
    if of is None:
        return None
    years = [as_of.year, as_of.year - 1] if year == LATEST else [int(year)]
    days = (_day(y, of.month, of.day) for y in years)
    return next((d for d in days if d and d <= as_of), None)


def day_from(text: str, start: date, *, order: str, as_of: date, step: int = 1) -> date | None:
    """The first day from `start` on that a text without a year can be, or (step -1) the last one until then; None where
    that is none, or not before `as_of`."""
    tried = (day_in(text, str(start.year + k * step), order=order, as_of=as_of) for k in (0, 1))
    return next((d for d in tried if d and (d >= start if step > 0 else d <= start)), None)


def is_open(text: str) -> bool:
    """Whether a day without a year could be either of two, as 3/8 is."""
    two = _TWO.fullmatch(tidy(plain(text)))
    pair = sorted(int(n) for n in two.groups()) if two else [0, 0]
    return 0 < pair[0] < pair[1] <= 12


def order_of_bare(texts: Sequence[str]) -> str:
    """The order that days without a year settle among themselves, as 25/1 does; "" where none or both are shown."""
    found = [m for t in texts if (m := _TWO.fullmatch(tidy(plain(t))))]
    said = {"day first" for m in found if int(m[1]) > 12 >= int(m[2])}
    said |= {"month first" for m in found if int(m[2]) > 12 >= int(m[1])}
    return said.pop() if len(said) == 1 else ""


class _MonthDay(NamedTuple):
    """A month and a number; `sure` where the number can be no year: it stands first, or is written as 26th."""

    month: int
    day: int
    sure: bool


def _month_day(body: str, order: str) -> _MonthDay | None:
    two, named = _TWO.fullmatch(body), _NAMED.fullmatch(body)
    if named:
        month = named[2] or named[3]
        number = MONTH_NUMBER[month]
        return _MonthDay(number, int(named[1] or named[4]), bool(named[1] or named[5]))
    if not two:
        return None
    first, second = int(two[1]), int(two[2])
    if first > 12 or (order == "day first" and second <= 12):
        return _MonthDay(second, first, sure=True)
    month_first = second > 12 or order == "month first" or first == second
    return _MonthDay(first, second, sure=False) if month_first else None


def _year_of(of: _MonthDay, near: Sequence[int], as_of: date) -> int | None:
    """The one year in which the day is near its neighbours; None where the number may itself be the year of a month
    near them."""
    if not near or (not of.sure and _may_be_year(of.month, of.day, near)):
        return None
    fits = []
    for year in range(as_of.year - _OLDEST, as_of.year + 1):
        found = _day(year, of.month, of.day)
        if found and found <= as_of and all(abs(found.toordinal() - n) <= NEAR for n in near):
            fits.append(year)
    return fits[0] if len(fits) == 1 else None


def _may_be_year(month: int, number: int, near: Sequence[int]) -> bool:
    """Whether `1/26` may be January 2026: some day of that month is near all the neighbours."""
    first = _day(2000 + number, month, 1)
    return first is not None and all(-NEAR - 31 <= n - first.toordinal() <= NEAR + 31 for n in near)


def _six_digits(body: str, near: Sequence[int], as_of: date) -> date | None:
    """The one day near its neighbours that six digits can be: year, month, day in any of the usual orders."""
    a, b, c = int(body[:2]), int(body[2:4]), int(body[4:])
    days = {_day(2000 + a, b, c), _day(2000 + c, a, b), _day(2000 + c, b, a)} - {None}
    fits = [
        d for d in days if d and d <= as_of and all(abs(d.toordinal() - n) <= NEAR for n in near)
    ]
    return fits[0] if near and len(fits) == 1 else None


def _believed(day: date, as_of: date) -> bool:
    return as_of.year - _OLDEST <= day.year and day <= as_of


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
