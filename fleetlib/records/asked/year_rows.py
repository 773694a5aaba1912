"""Years written between the rows, `2025` or `--- 2026 ---`: the days without a year beneath take them; where that puts
the days of a piece out of order, one question for all such rows. Without them a list in order tells its years."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

import numpy as np

from fleetlib.records.asked.answers import Answers, key_of
from fleetlib.records.asked.list_in_order import (
    BY_COLUMN,
    LIST,
    Day,
    ListInOrder,
    Rows,
    about_list,
    bare_of,
    lists_in_order,
    note_of,
)
from fleetlib.records.asked.question import Option, Question, column_in_words, weight
from fleetlib.records.files.headings import Headings
from fleetlib.records.files.not_pieces import Judged, years_of_headings, years_said
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.dates import SETTLED, DateColumn, read_dates
from fleetlib.records.parsing.near_days import (
    day_from,
    day_in,
    has_no_year,
    is_open,
    order_of_bare,
)
from fleetlib.records.parsing.vocabulary import word_key

_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")
ROWS = "rows between"  # what the answer is filed under, as a year
FIRST, LAST = "first", "last"  # the day of a row that is of the year above it


@dataclass(frozen=True, eq=False, slots=True)
class UnderYears:
    """For columns of days the year of each row's day, 0 where none is said; `crossed`: rows whose days contradict their
    year, with what stands in them; `notes`: what was read; `of_list`: whether the rows make a list in order, `asked`
    where that begins is asked, and `settled` where it was answered; `either`: whether day or month may be first."""

    years: Mapping[str, np.ndarray] = field(default_factory=dict)
    crossed: Mapping[int, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    of_list: bool = False
    asked: Question | None = None
    either: bool = False

    @property
    def settled(self) -> bool:
        """Whether it was answered where the list begins, so that the days left are asked about one by one."""
        return self.of_list and self.asked is None

    def asked_with(self, others: Sequence[Question]) -> list[Question]:
        """The question of the list instead of one a column; where the order of day and month is asked about, that one
        first, as the list may run otherwise by it."""
        waits = self.either and any(q.about == "date order" for q in others)
        own = [self.asked] if self.asked and not waits else []
        return [*(q for q in others if q.about != "year"), *own]

    def of_column(self, name: str, of_row: np.ndarray | None) -> np.ndarray:
        """The year of each row for the days of `name`; `of_row` where no year between the rows says one."""
        said = self.years.get(name, np.zeros(0, dtype=int))
        if of_row is None or not len(of_row):
            return said
        base = of_row.copy()
        base[list(self.crossed)] = 0
        return np.where(said, said, base) if len(said) else base


NO_YEARS = UnderYears()


def under_years(
    table: TextTable,
    headings: Headings,
    out: Mapping[int, Judged],
    answers: Answers,
    order: tuple[bool | None, date],
) -> UnderYears:
    """What the years between the rows of `table` say of its days; `order`: whether the day is first where that is
    known, and the day that nothing may lie after."""
    of_row, by_sale, said = years_of_headings(table, out)
    places = {c: headings.known[c][0] for c in _DAYS if c in headings.known}
    if not places:
        return NO_YEARS
    day_first, as_of = order
    texts = {c: table.columns[p] for c, p in places.items()}
    read = {c: read_dates(t.texts, day_first=day_first, as_of=as_of) for c, t in texts.items()}
    orders = {c: r.order or order_of_bare(texts[c].texts) for c, r in read.items()}
    shown = {o for o in orders.values() if o}
    known = shown.pop() if len(shown) == 1 else ""
    if not of_row.any():
        if day_first is not None:
            known = SETTLED[not day_first]
        orders = {c: o if o in SETTLED else known for c, o in orders.items()}
        title = set(years_said(table, out).tolist())
        columns = _Columns(texts, read, orders, title.pop() if len(title) == 1 else 0)
        return _under_list(table.lines, columns, out, answers, as_of)
    years = {c: np.zeros(len(of_row), dtype=int) for c in places}
    crossed: dict[int, str] = {}
    chosen = word_key(answers.of("year", ROWS))
    for i in np.flatnonzero(of_row).tolist():
        cells = {c: t.cell(i).strip() for c, t in texts.items()}
        bare = [(c, t, orders[c] or known) for c, t in cells.items() if has_no_year(t)]
        if not bare or i in out:
            continue
        year = int(of_row[i])
        if _fits(bare, year, as_of):
            found = {c: year for c, _, _ in bare}
        else:
            found = _run_on(bare, year, LAST if by_sale[i] else chosen, as_of)
        if not found:
            crossed[i] = ", ".join(f"{column_in_words(c)} {t}" for c, t, _ in bare)
        for c, y in found.items():
            years[c][i] = y
    many = sum(int((y > 0).sum()) for y in years.values())
    typed = ", ".join(f'"{s}"' for s in dict.fromkeys(said))
    told = f"{many} days without a year were read as of the year that they stand under ({typed})."
    return UnderYears(years, crossed, (told,) if many else ())


class _Columns(NamedTuple):
    """The columns of days, what was read of each, the order of day and month, "" where nothing settles it, and the year
    of the title of the sheet, 0 for none."""

    texts: Mapping[str, TextColumn]
    read: Mapping[str, DateColumn]
    orders: Mapping[str, str]
    title: int

    def days(self, guess: str) -> dict[int, dict[str, Day]]:
        """By row the days of its columns, in the order `guess` where nothing settles it."""
        found: dict[int, dict[str, Day]] = {}
        for c, texts in self.texts.items():
            each: list[Day | None] = []
            for t, cell in zip(texts.texts, self.read[c].cells, strict=True):
                known = date.fromisoformat(str(cell.value)) if cell.value else None
                day = Day(known, " ".join(t.split()), self.orders[c] or guess)
                each.append(day if known or has_no_year(t) else None)
            for i, k in enumerate(texts.codes.tolist()):
                if (one := each[k]) is not None:
                    found.setdefault(i, {})[c] = one
        return dict(sorted(found.items()))


def _under_list(
    lines: np.ndarray, columns: _Columns, out: Container[int], answers: Answers, as_of: date
) -> UnderYears:
    """What the order of the rows says of their days, once it is answered where the list begins."""
    told = answers.years()
    if not any(
        has_no_year(t) for c in columns.texts if c not in told for t in columns.texts[c].texts
    ):
        return NO_YEARS
    read = [columns.days(o) for o in SETTLED]
    runs = [(r, d) for d in read for r in lists_in_order([*columns.texts], d, out)]
    said = {
        t: a.meaning
        for (about, t), a in answers.rows.items()
        if about == "year" and LIST in t and a.meaning
    }
    answered = [a for r, d in runs if (a := _answered(r, d, said))]
    if answered:
        how, run, days, begins = min(answered, key=lambda a: a[0])
        found = run.years(days, begins, as_of, told=True) if begins else None
        if not found:
            return NO_YEARS
        gone = _GONE.format("still counts") if how[1] == _BY_NEAR else ""
        own = [c for c in columns.texts if c not in told]
        return _read_so(run, found, days, lines, (own, gone))
    lost = (_GONE.format("counts no more"),) if said else ()
    sure = [b for b in runs if b[0].sure]
    asked = None
    if sure:
        run, days = min(sure, key=lambda b: b[0].cost)
        asked = about_list(run, days, lines.tolist(), as_of, columns.title)
    either = any(
        not columns.orders[c] and any(map(is_open, t.texts)) for c, t in columns.texts.items()
    )
    return UnderYears(notes=lost, of_list=bool(asked), asked=asked, either=either)


_BY_NEAR = 2
_GONE = "The day from which you said that your list begins is not in it now; your answer {}."


def _answered(
    run: ListInOrder, days: Rows, said: Mapping[str, str]
) -> tuple[tuple[int, ...], ListInOrder, Rows, int] | None:
    """How well an answer fits the list (the least best), the list, its days and the year in which it begins (0: it runs
    in no order); None where none is about a day of it, or one near its first."""
    for k in range(len(run.rows)):
        if meaning := said.get(key_of(run.filed(days, k))):
            begins = 0 if meaning == BY_COLUMN else int(meaning) - run.later[k]
            return (not run.sure, int(k > 0), *run.cost), run, days, begins
    near = (run.begins_near(days, t, y) for t, y in said.items() if run.sure and y.isdigit())
    begins = next((y for y in near if y), 0)
    return ((False, _BY_NEAR, *run.cost), run, days, begins) if begins else None


def _read_so(
    run: ListInOrder,
    found: Mapping[int, Mapping[str, date]],
    days: Rows,
    lines: np.ndarray,
    own: tuple[Sequence[str], str],
) -> UnderYears:
    """The years of the days that were found, and a note of them and of those left; `own`: the columns that it is for,
    and what else is to be said."""
    years = {c: np.zeros(len(lines), dtype=int) for c in own[0]}
    left = []
    for i, c in bare_of(days):
        if c in years and c in found.get(i, {}):
            years[c][i] = found[i][c].year
        elif c in years:
            left.append(f"line {lines[i]}: {days[i][c].typed}")
    many = sum(int((y > 0).sum()) for y in years.values())
    notes = (note_of(found, many, run.lead, left), *filter(None, [own[1]]))
    return UnderYears(years, notes=notes, of_list=True)


def _fits(bare: Sequence[tuple[str, str, str]], year: int, as_of: date) -> bool:
    """Whether the days of a row are all of `year` and follow each other, in some order of day and month."""
    for order in ("month first", "day first"):
        days = [_in(t, year, o or order, as_of) for _, t, o in bare]
        if None not in days and days == sorted(days, key=str):
            return True
    return False


def _in(text: str, year: int, order: str, as_of: date) -> date | None:
    return day_in(text, str(year), order=order, as_of=as_of)


def _run_on(
    bare: Sequence[tuple[str, str, str]], year: int, chosen: str, as_of: date
) -> dict[str, int]:
    """The years of a row's days where its first is of `year` and the others follow, or its last and they precede."""
    if chosen not in (FIRST, LAST):
        return {}
    found: dict[str, int] = {}
    before: date | None = None
    step = 1 if chosen == FIRST else -1
    for c, text, order in bare[::step]:
        before = (
            _in(text, year, order, as_of)
            if before is None
            else day_from(text, before, order=order, as_of=as_of, step=step)
        )
        if before is None:
            return {}
        found[c] = before.year
    return found


Refused = dict[str, dict[int, tuple[str, str]]]


def about_year_rows(
    refused: Refused, under: UnderYears, lines: np.ndarray, keep: np.ndarray, answers: Answers
) -> tuple[list[Question], Refused]:
    """One question on the rows whose days contradict the year above them, and the cells left to be asked one by one."""
    if not under.crossed or answers.of("year", ROWS):
        return [], refused
    taken = {
        (c, i)
        for c in _DAYS
        for i, (typed, _) in refused.get(c, {}).items()
        if i in under.crossed and keep[i] and has_no_year(typed)
    }
    rows = sorted({i for _, i in taken})
    if not rows:
        return [], refused
    left = {
        c: {i: t for i, t in cells.items() if (c, i) not in taken} for c, cells in refused.items()
    }
    shown = "; ".join(f"line {lines[i]}: {under.crossed[i]}" for i in rows[:2])
    asked = Question(
        "year",
        ROWS,
        f"In {len(rows)} row{'s' * (len(rows) > 1)} the days run over the end of the year they stand under ({shown}"
        f"{' ...' * (len(rows) > 2)}). Which day is of that year?",
        (
            Option("the first; what follows runs into the next year", FIRST),
            Option("the last; what comes before is of the year before", LAST),
            Option("ask one by one", "each"),
        ),
        "these days are left out",
        sum(weight(c) for c, _ in taken),
    )
    return [asked], left
