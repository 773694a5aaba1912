"""Years written between the rows, `2025` or `--- 2026 ---`: the days without a year beneath take them; where that puts
the days of a piece out of order, one question for all such rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from fleetlib.records.asked.answers import Answers
from fleetlib.records.asked.question import Option, Question, column_in_words, weight
from fleetlib.records.files.headings import Headings
from fleetlib.records.files.not_pieces import Judged, years_of_headings
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.near_days import day_in, has_no_year, order_of_bare
from fleetlib.records.parsing.vocabulary import word_key

_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")
ROWS = "rows between"  # what the answer is filed under, as a year
FIRST, LAST = "first", "last"  # the day of a row that is of the year above it


@dataclass(frozen=True, eq=False, slots=True)
class UnderYears:
    """For columns of days the year of each row's day, 0 where none is said; `crossed`: rows whose days contradict their
    year, with what stands in them; `notes`: what was read."""

    years: Mapping[str, np.ndarray] = field(default_factory=dict)
    crossed: Mapping[int, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

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
    if not of_row.any() or not places:
        return NO_YEARS
    day_first, as_of = order
    texts = {c: table.columns[p] for c, p in places.items()}
    orders = {
        c: read_dates(t.texts, day_first=day_first, as_of=as_of).order or order_of_bare(t.texts)
        for c, t in texts.items()
    }
    shown = {o for o in orders.values() if o}
    known = shown.pop() if len(shown) == 1 else ""
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
        tried = [year] if before is None else [before.year, before.year + step]
        days = [d for y in tried if (d := _in(text, y, order, as_of))]
        fits = [d for d in days if before is None or (d >= before if step > 0 else d <= before)]
        if not fits:
            return {}
        before = fits[0]
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
