"""Months typed where a day belongs: "March", "mid May", "Jan 2025". One question for all that stand under one year."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

import numpy as np

from fleetlib.records.asked.answers import Answers
from fleetlib.records.asked.question import NOTHING, Option, Question, column_in_words, weight
from fleetlib.records.parsing.dates import MONTH_NUMBER, MONTHS, tidy
from fleetlib.records.parsing.near_days import month_and_year
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.vocabulary import word_key

Refused = dict[str, dict[int, tuple[str, str]]]
EACH = "each"  # the answer that they are to be asked about one by one
_LEFT = ("sold_on", "withdrawn_on")
_COLUMNS = (*_LEFT, "listed_on", "bought_on")  # the later known first
_PART = {
    "early": 5,
    "beginning of": 5,
    "start of": 5,
    "mid": 15,
    "middle of": 15,
    "late": 25,
    "end of": 25,
    "first week of": 4,
    "second week of": 11,
    "third week of": 18,
    "last week of": 27,
}
_MONTH = re.compile(
    rf"(?:the )?(?:({'|'.join(_PART)})[ -]*)?(?:in )?({MONTHS})\.?(?:[ ,'-]+((?:19|20)\d\d))?"
)
_NEAR = r"(?:about|around|abt\.?|approx\.?|ca\.?|circa|sometime(?: in)?|at|~) ?"
_TWO = re.compile(rf"({MONTHS})\.? ?(?:/|-|to|or|and) ?({MONTHS})\.?(?:[ ,'-]+((?:19|20)\d\d))?")
_FEAST = re.compile(r"(easter|christmas|xmas)(?:[ ,'-]+((?:19|20)\d\d))?")
_MIDDLE = 15
_EASTER = 0  # the month of a day that moves with the year


def day_of_month(text: str) -> str:
    """The day that a month with its year stands for, as 2026-04-15 for "April 2026"; "" for any other text."""
    month = month_said(text)
    return (_day(month, str(month.year)) or "") if month and month.year else ""


def bare_day_of_month(text: str) -> str:
    """The day that a month without its year stands for, as "27 July" for "last week of July"; "" for any other
    text."""
    month = month_said(text)
    if not month or month.year or month.month == _EASTER:
        return ""
    return f"{month.day} {date(2000, month.month, 1):%B}"


class Month(NamedTuple):
    """A month (or _EASTER), the day that its part stands for, and the year typed with it, 0 for none."""

    month: int
    day: int
    year: int


def month_said(text: str) -> Month | None:
    """The month that a text names without a day, None where it says anything else."""
    body = re.sub(rf"^{_NEAR}", "", tidy(plain(text)))
    if of_year := month_and_year(body):
        return Month(of_year[0], _MIDDLE, of_year[1])
    if feast := _FEAST.fullmatch(body):
        month, day = (_EASTER, 0) if feast[1] == "easter" else (12, 25)
        return Month(month, day, int(feast[2] or 0))
    two = _TWO.fullmatch(body)
    if (
        two and MONTH_NUMBER[two[2]] == MONTH_NUMBER[two[1]] % 12 + 1 != 1
    ):  # June/July: where they meet
        return Month(MONTH_NUMBER[two[2]], 1, int(two[3] or 0))
    found = _MONTH.fullmatch(body)
    if not found:
        return None
    return Month(MONTH_NUMBER[found[2]], _PART.get(found[1] or "", _MIDDLE), int(found[3] or 0))


def settle_months(
    values: dict[str, np.ndarray],
    refused: Refused,
    years: np.ndarray,
    answers: Answers,
    as_of: date,
) -> list[tuple[int, str, str, str]]:
    """Put the days that were answered of months into `values`, and take them out of `refused`.

    `years` is the year each row stands under, 0 for none. A day that would lie after `as_of`, or out of order with
    another of its row, stays to be asked about. Returns row, column, what was typed and the day ("" for not known).
    """
    days: dict[tuple[str, int], str] = {}
    for column, i, _, month in _months(refused):
        day = _day(month, answers.of("months", _text(years[i])))
        if day is not None:
            days[column, i] = day
    done = []
    for (column, i), day in days.items():
        typed = refused[column][i][0]
        # A sale in an earlier month than the listing: of which year is one of them?
        crossed = column in _LEFT and days.get(("listed_on", i), "")[:7] > day[:7]
        if day and (crossed or not _in_order(values, column, i, day, as_of)):
            why = "is not one day, and its middle is out of order with the other days of its row"
            refused[column][i] = (typed, why)
            continue
        if day:
            values[column] = values[column].copy()
            values[column][i] = np.datetime64(day, "ns")
        del refused[column][i]
        done.append((i, column, typed, day))
    return done


def about_months(
    refused: Refused,
    years: np.ndarray,
    lines: np.ndarray,
    keep: np.ndarray,
    answers: Answers,
    as_of: date,
) -> tuple[list[Question], Refused]:
    """One question a year that months stand under, and the cells that are left to be asked about one by one.

    One month alone is left to its own question.
    """
    groups: dict[str, list[tuple[str, int, str]]] = {}
    for column, i, typed, _ in _months(refused):
        if keep[i] and not answers.of("months", _text(years[i])):
            groups.setdefault(_text(years[i]), []).append((column, i, typed))
    groups = {year: cells for year, cells in groups.items() if len(cells) > 1}
    taken = {(c, i) for cells in groups.values() for c, i, _ in cells}
    left = {
        c: {i: t for i, t in cells.items() if (c, i) not in taken} for c, cells in refused.items()
    }
    return [_question(year, cells, lines, as_of) for year, cells in groups.items()], left


def _question(
    year: str, cells: list[tuple[str, int, str]], lines: np.ndarray, as_of: date
) -> Question:
    names = " and ".join(dict.fromkeys(column_in_words(c) for c, _, _ in cells))
    shown = ", ".join(f"line {lines[i]}: {typed}" for _, i, typed in cells[:3]) + " ..." * (
        len(cells) > 3
    )
    under = f" under {year}" if year else ""
    said = [month.year for _, _, typed in cells if (month := month_said(typed))]
    likely = [year] if year else [str(as_of.year - k) for k in range(3)]
    if all(said):
        likely = [str(max(said))]
    return Question(
        "months",
        year,
        f"{len(cells)} cells of {names}{under} name a month and no day ({shown}). Which day is near enough?",
        (
            *(
                Option(f"the middle of the month{of} (early: the 5th, late: the 25th)", y)
                for y, of in ((y, "" if all(said) else f" in {y}") for y in likely)
            ),
            Option("ask one by one", EACH),
            Option("not known: leave them out", NOTHING),
        ),
        "these days are left out",
        sum(weight(c) for c, _, _ in cells),
        "another year, such as 2021",
    )


def _months(
    refused: Mapping[str, Mapping[int, tuple[str, str]]],
) -> Iterator[tuple[str, int, str, Month]]:
    for column in _COLUMNS:
        for i, (typed, _) in refused.get(column, {}).items():
            if month := month_said(typed):
                yield column, i, typed, month


def _day(month: Month, said: str) -> str | None:
    """The day of a month by what was answered: "" for not known, None where it is to be asked about."""
    if not said or word_key(said) == EACH:
        return None
    if word_key(said) == NOTHING:
        return ""
    year = month.year or int(said)
    if month.month == _EASTER:
        return str(easter_sunday(year))
    return f"{year}-{month.month:02}-{month.day:02}"


def easter_sunday(year: int) -> date:
    """Easter Sunday of a year of the Gregorian calendar, by the algorithm published anonymously in Nature of 20 April
    1876 (as remembered; tested against dateutil)."""
    a, (b, c) = year % 19, divmod(year, 100)
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    m = (32 + 2 * e + 2 * i - h - k) % 7
    n = (a + 11 * h + 22 * m) // 451
    month, day = divmod(h + m - 7 * n + 114, 31)
    return date(year, month, day + 1)


def _text(year: int) -> str:
    return str(year) if year else ""


def _in_order(values: dict[str, np.ndarray], column: str, i: int, day: str, as_of: date) -> bool:
    """Whether `day` is past and in order with the known days of its row; a sale is later than its listing."""
    this = np.datetime64(day, "ns")
    before = (
        ("bought_on",)
        if column == "listed_on"
        else ("bought_on", "listed_on") * (column != "bought_on")
    )
    after = {
        "listed_on": ("sold_on", "withdrawn_on"),
        "bought_on": ("listed_on", "sold_on", "withdrawn_on"),
    }
    known = [values[c][i] for c in before], [values[c][i] for c in after.get(column, ())]
    strict = column == "listed_on"
    return (
        day <= as_of.isoformat()
        and all(np.isnat(d) or d <= this for d in known[0])
        and all(np.isnat(d) or (this < d if strict else this <= d) for d in known[1])
    )
