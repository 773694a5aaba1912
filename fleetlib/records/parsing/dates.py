"""Typed dates -> days. Whether the day or the month comes first is settled by the whole column.

A date that cannot be, one without a year and one that could be two days are never guessed: the cell is
missing and listed, and an undecided column is asked about.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from fleetlib.records.parsing.numbers import CLEAR_MAJORITY, MISSING_WORDS, Cell, plain
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.other_languages import MONTHS_ELSEWHERE

MONTH_NUMBER = {
    name: number
    for number, names in enumerate(
        (
            "jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july",
            "aug august", "sep sept september", "oct october", "nov november", "dec december",
        ),
        start=1,
    )
    for name in names.split()
} | MONTHS_ELSEWHERE  # fmt: skip
MONTHS = "|".join(sorted(MONTH_NUMBER, key=len, reverse=True))
MONTHS_THERE = "|".join(sorted(MONTHS_ELSEWHERE, key=len, reverse=True))
MONTH_YEAR = re.compile(rf"({MONTHS_THERE})\.?[ ./'-]*(\d\d)")  # the day stands before the month
_MONTH = f"(?P<mon>{MONTHS})" + r"\.?"
_OF = r"(?: (?:of|de|di|del)(?= ))?"  # 3rd of May, 3 de mayo de 2025
_ANY_MONTH = re.compile(rf"\b(?:{MONTHS})\b")
_TIME = r"(?:[t ,]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?[ap]m)?(?:z|[+-]\d\d:?\d\d)?)?"
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[., ]+")
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WEEKDAY_BEHIND = re.compile(rf"(?<=\d)[ ,]*\(?\b({'|'.join(_DAYS)})[a-z]*\.?\)?$")
_ISO = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){_TIME}")
_BASIC = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_SLASHED = re.compile(rf"(\d{{1,2}})([-/. ])(\d{{1,2}})\2(\d{{4}}|'?\d{{2}}){_TIME}")
_DAY_MONTH = re.compile(
    rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th|er)?{_OF}[-/. ]*{_MONTH}{_OF}[-/, ]*(?P<year>\d{{4}}|'?\d{{2}}){_TIME}"
)
_MONTH_DAY = re.compile(
    rf"{_MONTH}[-/. ]*(?P<day>\d{{1,2}})(?:st|nd|rd|th)?(?:[-/, ]+(?:of )?)(?P<year>\d{{4}}|'?\d{{2}}){_TIME}"
)
_YEAR_MONTH_DAY = re.compile(
    rf"(?P<year>\d{{4}})[-/., ]+{_MONTH}[-/., ]+(?P<day>\d{{1,2}})(?:st|nd|rd|th)?"
)
_SERIAL = re.compile(r"(\d{5})(?:\.\d+)?")
_NAMED = (_DAY_MONTH, _MONTH_DAY, _YEAR_MONTH_DAY)
_EPOCH = date(1899, 12, 30)  # the day 0 of the 1900 system for every day after 28 February 1900
_NO_DAY = "is not a day of the calendar"
_EARLIEST = date(1950, 1, 1)


@dataclass(frozen=True, slots=True)
class DateColumn:
    """The cells of one column of dates, and how it was settled.

    `order` is "day first", "month first" or "" (nothing settled it); `asked` holds the texts that would
    differ and so were left out; `contrary` those that the settings' order makes impossible; `odd` those that
    can only be the other order than the column's, and were read so.
    """

    cells: list[Cell]
    order: str
    asked: tuple[str, ...] = ()
    contrary: tuple[str, ...] = ()
    odd: tuple[str, ...] = ()


class _Slashed(NamedTuple):
    first: int
    second: int
    year: int
    mark: str
    weekday: int | None = None


def read_dates(
    texts: Sequence[str], *, day_first: bool | None = None, as_of: date, epoch_1904: bool = False
) -> DateColumn:
    """The different texts of one column as ISO days ("2026-03-04" in `Cell.value`).

    `day_first` settles dates like 03/04/26; None lets the column decide. `as_of` fixes the century of
    two-digit years: the latest year that is at most ten years after it. `epoch_1904` is for workbooks that count
    their days from 1904.
    """
    parsed = [_parse(t, as_of.year, epoch_1904) for t in _with_years(texts, as_of.year)]
    slashed = [p for p in parsed if isinstance(p, _Slashed)]
    orders, order = _orders(slashed, day_first)
    cells: list[Cell] = []
    asked: list[str] = []
    contrary: list[str] = []
    for text, found in zip(texts, parsed, strict=True):
        if not isinstance(found, _Slashed):
            cells.append(found)
            continue
        cell, problem = _decide(found, orders.get(found.mark), forced=day_first is not None)
        cells.append(cell)
        if problem == "asked":
            asked.append(text)
        elif problem == "contrary":
            contrary.append(text)
    odd = [
        text
        for text, found in zip(texts, parsed, strict=True)
        if isinstance(found, _Slashed) and day_first is None and _is_odd(found, orders)
    ]
    return DateColumn(cells, order, tuple(asked), tuple(contrary), tuple(odd))


_YEAR_BEHIND = re.compile(r"(\d{1,2}/\d{1,2}) ?- ?(\d\d)")


def _with_years(texts: Sequence[str], this_year: int) -> list[str]:
    """`texts` with 14/3-25 as 14/3/25 where a column has several such, or one that no month begins, all of
    years that have been: a day and its year, and no two days."""
    bodies = enumerate(map(plain, texts))
    found = {k: m for k, b in bodies if "/" in b and (m := _YEAR_BEHIND.fullmatch(b))}
    recent = all(
        _century(m[2], this_year) in range(this_year - 15, this_year + 1) for m in found.values()
    )
    if not recent or not (
        len(found) >= _SEVERAL or any(int(m[1].split("/")[0]) > 12 for m in found.values())
    ):
        return list(texts)
    return [f"{found[k][1]}/{found[k][2]}" if k in found else t for k, t in enumerate(texts)]


_SEVERAL = 2


def _orders(
    slashed: Sequence[_Slashed], day_first: bool | None
) -> tuple[dict[str, bool | None], str]:
    """For each mark (/ . - space) whether the day is first, None where undecided; and the column's order.

    A column of both orders is settled by nine tenths of the dates that say one, or else mark by mark.
    """
    marks = {s.mark for s in slashed}
    if day_first is not None:
        return dict.fromkeys(marks, day_first), _ORDER[day_first]
    whole = _evidence(slashed)
    if whole is not None or not any(_says(s) is not None for s in slashed):
        return dict.fromkeys(marks, whole), "" if whole is None else _ORDER[whole]
    by_mark = {m: _evidence([s for s in slashed if s.mark == m]) for m in marks}
    return by_mark, "both orders"


_ORDER = {True: "day first", False: "month first"}
SETTLED = tuple(_ORDER.values())


def _says(found: _Slashed) -> bool | None:
    if found.first > 12 >= found.second:
        return True
    if found.second > 12 >= found.first:
        return False
    return None


def _is_odd(found: _Slashed, orders: dict[str, bool | None]) -> bool:
    own, column = _says(found), orders.get(found.mark)
    return own is not None and column is not None and own != column


def _evidence(slashed: Sequence[_Slashed]) -> bool | None:
    said = [_says(s) for s in slashed]
    day, month = said.count(True), said.count(False)
    if day + month and day >= CLEAR_MAJORITY * month:
        return True
    return False if day + month and month >= CLEAR_MAJORITY * day else None


def _decide(found: _Slashed, day_first: bool | None, *, forced: bool) -> tuple[Cell, str]:
    own = _says(found)
    if forced and own is not None and own != day_first:
        order = "day first" if day_first else "month first"
        return Cell(None, f"cannot be read {order}, as you asked for", True), "contrary"
    use = day_first if own is None else own
    if use is None and found.first == found.second:
        use = True
    if use is None:
        as_month = _iso(found.year, found.first, found.second)
        as_day = _iso(found.year, found.second, found.first)
        sentence = f"could be {as_month.value} or {as_day.value}"
        return Cell(None, sentence, True), "asked"
    day, month = (found.first, found.second) if use else (found.second, found.first)
    cell = _iso(found.year, month, day)
    if found.weekday is not None and isinstance(named := _on(cell, found.weekday), Cell):
        cell = named
    return (cell if cell.refused else Cell(cell.value, "day first" if use else "month first")), ""


@once
def _parse(text: str, this_year: int, epoch_1904: bool) -> Cell | _Slashed:
    if len(text) == 10 and text[4] == "-" == text[7] and text.isascii():
        return _iso_text(text)
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    body = tidy(body)
    if behind := _WEEKDAY_BEHIND.search(body):
        return _on(_parse(body[: behind.start()], this_year, epoch_1904), _DAYS.index(behind[1]))
    slashed = _SLASHED.fullmatch(body)
    if slashed:
        first, mark, second, year = slashed.groups()
        return _slashed(int(first), int(second), _century(year, this_year), mark)
    body = _WEEKDAY.sub("", body)
    iso = _ISO.fullmatch(body)
    if iso:
        return _iso(*(int(g) for g in iso.groups()))
    basic = _BASIC.fullmatch(body)
    if basic:
        return _iso(*(int(g) for g in basic.groups()), why="a date without marks")
    slashed = _SLASHED.fullmatch(body)  # again, without the day of the week
    if slashed:
        first, mark, second, year = slashed.groups()
        return _slashed(int(first), int(second), _century(year, this_year), mark)
    named = next(filter(None, (p.fullmatch(body) for p in _NAMED)), None)
    if named:
        year = _century(named["year"], this_year)
        return _iso(year, MONTH_NUMBER[named["mon"]], int(named["day"]), why="a date in words")
    serial = _SERIAL.fullmatch(body)
    if serial and 18_000 <= int(serial[1]) <= 80_000:
        days = int(serial[1]) + (1462 if epoch_1904 else 0)
        day = _EPOCH + timedelta(days=days)
        return Cell(day.isoformat(), "a spreadsheet's day number")
    return Cell(None, _what_is_wrong(body), True)


_DOUBT = re.compile(
    r"^(?:~|(?:on|listed|sold|around|about|approx\.?|ca\.?|circa)(?: on)? (?=[a-z]*\.? ?\d)) ?"
    r"|[ ,]*(?:\?+|i think|maybe)$"
)


def _on(found: Cell | _Slashed, weekday: int) -> Cell | _Slashed:
    """What was read, with the day of the week that stands behind it: another one than the day's is a contradiction."""
    if isinstance(found, _Slashed):
        return found._replace(weekday=weekday)
    if found.value is None or date.fromisoformat(str(found.value)).weekday() == weekday:
        return found
    return Cell(None, f"is no {_DAYS[weekday].capitalize()}", True)


_PART_OF_DAY = re.compile(r"(?<=\d)[ ,]+(?:[ap]m|morning|afternoon|evening|night|noon)$")
_HOUR = re.compile(r"(?<=\d)[ ,]+(?:(?:@|at) ?)?\d{1,2}(?::\d\d)? ?[ap]m$")
_SLASH = re.compile(r"(?<=\d) ?[/\\] ?(?=\d)")
_YEAR_APART = re.compile(r"^(\d{1,2}/\d{1,2})(?: | ?- ?)(?=\d{4}$)")  # 14/3 2025


@once
def tidy(body: str) -> str:
    """`body` without doubt, an hour of the day, and spaces around its marks."""
    body = _PART_OF_DAY.sub("", body)
    body = _HOUR.sub("", _DOUBT.sub("", _DOUBT.sub("", body)))
    return _YEAR_APART.sub(r"\1/", _SLASH.sub("/", body).strip())


def _slashed(first: int, second: int, year: int, mark: str) -> Cell | _Slashed:
    if _is_day(year, first, second) or _is_day(year, second, first):
        return _Slashed(first, second, year, mark)
    return Cell(None, _NO_DAY, True)


def _is_day(year: int, month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= day <= monthrange(max(year, 1), month)[1]


def _what_is_wrong(body: str) -> str:
    if MONTH_YEAR.fullmatch(body):
        return "is a month with its year, not a day"
    has_month = _ANY_MONTH.search(body) is not None
    if re.fullmatch(r"\d{1,2}[-/. ]\d{1,2}[-/.]?", body) or (
        has_month and not re.search(r"\d{4}", body)
    ):
        return "has no year"
    if has_month:
        return "is not one day"
    return "is not a date"


def _century(typed: str, this_year: int) -> int:
    if len(typed) == 4:
        return int(typed)
    year = this_year // 100 * 100 + int(typed[-2:])
    return year if year <= this_year + 10 else year - 100  # 27 typed in 2026 is a slip, not 1927


def _iso_text(body: str) -> Cell:
    """The usual case, a day already as 2026-03-04."""
    try:
        found = date.fromisoformat(body)
    except ValueError:
        match = _ISO.fullmatch(body)
        return (
            _iso(*(int(g) for g in match.groups())) if match else Cell(None, "is not a date", True)
        )
    if found < _EARLIEST:
        return Cell(None, f"is before {_EARLIEST.year}", True)
    return Cell(body, "a date")


def _iso(year: int, month: int, day: int, *, why: str = "a date") -> Cell:
    try:
        found = date(year, month, day)
    except ValueError:
        return Cell(None, _NO_DAY, True)
    if found < _EARLIEST:
        return Cell(None, f"is before {_EARLIEST.year}", True)
    return Cell(found.isoformat(), why)
