"""A list that runs in order of its days, none of which has a year: where it begins is asked once for all columns.

The list goes by the column of days that runs so, upwards or downwards, within the fewest years; every other day of a
row is the first such day from there on, or the last one before. A row far out of order is left to be asked about by
itself. The bounds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from fleetlib.base.said import day_said
from fleetlib.records.asked.question import Option, Question, column_in_words, weight
from fleetlib.records.parsing.near_days import day_from, day_in

LIST = "the list from"  # what the answer is filed under, as a year
BY_COLUMN, NEAR = (
    "each",
    "near",
)  # the answers that it runs in no order, and that all is of the rows around it
_BACK = 60  # days: no further back, a day is out of order; further back the next year has begun
_NEAR = 100  # days: so near the first day that is no more, another is the first of the same list
_YEAR, _LEAP = 365, 2000
_FEWEST, _A_YEAR, _STRAYS = 4, 4, 10  # days; days in each year that begins; one in ten out of order


class Day(NamedTuple):
    """A cell of a column of days: the day it says, or what was typed if that has no year, and the order to read it."""

    known: date | None
    typed: str
    order: str

    def of(self, year: int, until: date = date.max) -> date | None:
        """The day in `year`, or the one it says."""
        return self.known or day_in(self.typed, str(year), order=self.order, as_of=until)

    def after(self, start: date, step: int, until: date) -> date | None:
        """The first such day from `start` on (step 1), or the last one until then (-1); the one it says."""
        return self.known or day_from(self.typed, start, order=self.order, as_of=until, step=step)


Rows = Mapping[int, Mapping[str, Day]]  # by row, the days of its columns from the first to the last


@dataclass(frozen=True, eq=False, slots=True)
class ListInOrder:
    """`lead`: the column it goes by; `rows` in order of time, and how many years after the first each is; `strays`: how
    many stand a little out of order, and are of the year of the rows around them, or far, and are none of `rows`;
    `sure`: whether so few do, and each year has so many days, that it is one without being said to be."""

    lead: str
    rows: Sequence[int]
    later: Sequence[int]
    strays: int = 0
    sure: bool = True

    @property
    def cost(self) -> tuple[int, int]:
        """How badly it runs: the years it takes, and what is out of order."""
        return self.later[-1], self.strays

    def filed(self, days: Rows, place: int = 0) -> str:
        """What the year in which it begins is filed under: its first day as typed, so that it holds for no other; or
        the day at `place`, which was its first before rows were put in."""
        first = days[self.rows[place]][self.lead]
        return f"{LIST} {first.known or first.typed}"

    def begins_near(self, days: Rows, text: str, year: str) -> int:
        """The year in which it begins where the day that `year` was filed under is no more: the one in which its first
        day is near that; 0 where none is."""
        first = days[self.rows[0]][self.lead]
        gone = first._replace(known=None, typed=text.removeprefix(LIST)).of(int(year))
        tried = [first.of(int(year) + k) for k in (-1, 0, 1)] if gone else []
        return next((d.year for d in tried if d and gone and abs((d - gone).days) <= _NEAR), 0)

    def years(
        self, days: Rows, begins: int, until: date, *, told: bool = False
    ) -> dict[int, dict[str, date]] | None:
        """By row the days of its columns if the list begins in `begins`; None where one would lie after `until`.

        A day that would be about a year from the one before it in its row is left out; None, too, where more than one
        in ten of the days with a year contradicts it. Where it was `told`, only what does not fit is left out.
        """
        found: dict[int, dict[str, date]] = {}
        against = late = 0
        for i, later in zip(self.rows, self.later, strict=True):
            first = days[i][self.lead].of(begins + later)
            if first is None or first > until:
                late += 1
                continue
            found[i] = {self.lead: first}
            names = list(days[i])
            place = names.index(self.lead)
            for step, others in ((1, names[place + 1 :]), (-1, names[:place][::-1])):
                last = first
                for name in others:
                    day = days[i][name].after(last, step, date.max)
                    ahead = step * (day - last).days if day else -1
                    if day is None or not 0 <= ahead <= _YEAR - _BACK:
                        against += days[i][name].known is not None
                    elif day > until:
                        late += 1
                    else:
                        found[i][name] = last = day
        return found if told or (not late and against * _STRAYS <= len(found)) else None


def lists_in_order(
    columns: Sequence[str], days: Rows, out: Container[int]
) -> Iterator[ListInOrder]:
    """The lists that the days of the rows make by each of `columns`, upwards and downwards."""
    for name in columns:
        rows = [i for i in days if name in days[i] and i not in out]
        if sum(days[i][name].known is None for i in rows) >= _FEWEST:
            yield from (r for way in (1, -1) if (r := _ordered(name, rows[::way], days)))


def _ordered(name: str, rows: Sequence[int], days: Rows) -> ListInOrder | None:
    """The rows as a list; None where one is no day. A row after which the next goes on from the one before it, and that
    far from both, is none of it."""
    at = [
        d.known.replace(year=_LEAP) if d.known else d.of(_LEAP)
        for d in (days[i][name] for i in rows)
    ]
    on = [d.timetuple().tm_yday for d in at if d]
    if len(on) < len(rows):
        return None
    kept: list[int] = []
    later: list[int] = []
    strays = year = 0
    top = on[0]
    for k, (i, day) in enumerate(zip(rows, on, strict=True)):
        ahead = day - top
        one, two = [*on[k + 1 : k + 3], 0, 0][
            :2
        ]  # a new last row says nothing of the one before it
        aside = kept and one >= top and (ahead < -_BACK or day - _BACK > one <= two)
        astray = -_BACK <= ahead < 0 or ahead > _YEAR - _BACK
        strays += bool(aside or astray)
        if aside:
            continue
        if not astray:
            year += ahead < 0
            top = day
        kept.append(i)
        later.append(year - (astray and ahead > 0))
    begun = {
        d.known.year - n for i, n in zip(kept, later, strict=True) if (d := days[i][name]).known
    }
    few = strays * _STRAYS <= len(rows) and year * _A_YEAR <= len(rows) and len(begun) < 2
    return ListInOrder(name, kept, later, strays, few)


def about_list(
    run: ListInOrder, days: Rows, lines: Sequence[int], as_of: date, title: int = 0
) -> Question | None:
    """The question in which year the list begins, that of its `title` (0: none) first, else the newest that ends by
    `as_of`; None where none does."""
    first, last = (days[run.rows[k]][run.lead] for k in (0, -1))
    tried = [first.known.year] if first.known else range(as_of.year, as_of.year - _OLDEST, -1)
    begins = sorted((y for y in tried if run.years(days, y, as_of)), key=lambda y: y != title)
    begins = begins[:_MOST]
    if not begins:
        return None
    ends = run.later[-1]
    turn = next((k for k, n in enumerate(run.later) if n), 1)  # where the year changes

    def said(year: int) -> str:
        a, b = first.of(year) or as_of, last.of(year + ends) or as_of
        return f"{a:%B %Y} to {b:%B %Y}"

    shown = ", ".join(
        f"line {lines[run.rows[k]]}: {days[run.rows[k]][run.lead].typed}"
        for k in sorted({0, turn, len(run.rows) - 1})
    )
    return Question(
        "year",
        run.filed(days),
        f"Your list runs in order of {column_in_words(run.lead)}, and its days have no year ({shown}). From when to "
        "when does it run? Every other day of a row is then the nearest such day that keeps its row in order.",
        (
            *(Option(f"from {said(y)}", str(y)) for y in begins),
            Option("it does not run in order: ask of each column", BY_COLUMN),
        ),
        "these days are left out, but for those that something else tells",
        sum(weight(c) for i in run.rows for c, d in days[i].items() if d.known is None),
        "the year in which it begins, such as 2021",
    )


_OLDEST, _MOST = 15, 4


def note_of(
    found: Mapping[int, Mapping[str, date]], many: int, lead: str, left: Sequence[str]
) -> str:
    """What is said of the days that were read so, and of those `left` that do not fit."""
    ends = sorted(d[lead] for d in found.values())
    rest = f" and {len(left) - 3} more" if len(left) > 3 else ""
    asked = f" What does not fit was read by itself or is asked about: {', '.join(left[:3])}{rest}."
    return (
        f"{many} days without a year were read as of a list that runs by {column_in_words(lead)} from "
        f"{day_said(ends[0])} to {day_said(ends[-1])}, as you answered.{asked * bool(left)}"
    )


def bare_of(days: Rows) -> Iterator[tuple[int, str]]:
    """The row and the column of every day without a year."""
    for i, row in days.items():
        yield from ((i, c) for c, d in row.items() if d.known is None)
