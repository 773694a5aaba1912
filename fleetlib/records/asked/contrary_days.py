"""Days of one row that contradict each other: one of them is a slip, which is asked about; until then it is set aside.

The likeliest slips are the old year early in a new one, day and month in each other's place, another year, another
month. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date

import numpy as np

from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answers, cell_text
from fleetlib.records.asked.cells import HOW, RIGHT, called, read_answer
from fleetlib.records.asked.days_of_row import NEAR, STAGE, crosses, off_the_others
from fleetlib.records.asked.names_for_unnamed import could_be, names_here
from fleetlib.records.asked.question import (
    NOTHING,
    Option,
    Question,
    column_in_words,
    column_options,
    weight,
)
from fleetlib.records.parsing.vocabulary import word_key

_MOST = 2  # slips offered


def about_contrary(
    values: Mapping[str, np.ndarray],
    lines: np.ndarray,
    aside: Collection[int],
    answers: Answers,
    as_of: date,
) -> Iterator[Question]:
    """One question a row among those set `aside`: which day it was, of the one that a likely slip puts in order or
    else the last; a day that was said to be right is asked about no more, and the next one is."""
    right = {cell for cell, said in answers.cells().items() if word_key(said) == RIGHT}
    for i in sorted(aside):
        piece, days = str(values["piece"][i]), _days(values, i)
        out = [
            c
            for c in days
            if crosses(values, i, c) and (piece.casefold(), c, str(days[c])) not in right
        ]
        if not out:
            continue
        mends = {c: _mends(values, i, c, days[c], as_of) for c in reversed(out)}
        column = min(mends, key=lambda c, m=mends: m[c][:1] or [(_NO_SLIP, 0, days[c])])  # type: ignore[misc]
        name, was = column_in_words(column), day_said(days[column])
        others = " and ".join(
            f"{column_in_words(c)} is {day_said(d)}" for c, d in days.items() if c != column
        )
        yield Question(
            "cell",
            cell_text(piece, column, str(days[column])),
            f"Line {lines[i]}, {called(piece, values['furniture_type'][i])}: {name} is {was}, but {others}. What "
            f"is {column_options([column])[0].shown}?",
            (
                *(Option(day_said(d), str(d)) for *_, d in mends[column][:_MOST]),
                Option(f"{was} is right: another day of the row is wrong", RIGHT),
                Option("not known: leave the day out", NOTHING),
            ),
            "the row is set aside",
            weight("furniture_type") + weight(column),
            HOW["date"],
        )


_OLD_YEAR, _TURNED, _BY_YEAR, _BY_MONTH, _NO_SLIP = range(5)
_EARLY = 3  # months of a new year in which the old one is written; our own, no source


def _mends(
    values: Mapping[str, np.ndarray], i: int, column: str, typed: date, as_of: date
) -> list[tuple[int, int, date]]:
    """The days that one slip makes of the day `typed` and that are in order with the others of row `i`: the slip, how
    far it is off them, and the day; the likeliest first."""
    old = _OLD_YEAR if typed.month <= _EARLY else _BY_YEAR
    years = ((old, typed.year + 1), (_BY_YEAR, typed.year - 1))
    tried = [(slip, (year, typed.month, typed.day)) for slip, year in years]
    tried.append((_TURNED, (typed.year, typed.day, typed.month)))
    months = (typed.year * 12 + typed.month - 1 + k for k in (1, -1))
    tried += [(_BY_MONTH, (m // 12, m % 12 + 1, typed.day)) for m in months]
    found = []
    for slip, (year, month, day_of_month) in tried:
        try:
            day = date(year, month, day_of_month)
        except ValueError:
            continue
        off = off_the_others(values, i, column, day)
        if off is not None and off <= NEAR and day <= as_of:
            found.append((slip, off, day))
    return sorted(found)


def settle_contrary(
    values: dict[str, np.ndarray], answers: Answers, *, settings: Settings, as_of: date
) -> list[tuple[int, str, str, str]]:
    """Put what was answered about days out of order into `values`; row, column, the day and the answer of each."""
    own, here = settings.words.get("furniture_type", {}), names_here(values["piece"])
    done: list[tuple[int, str, str, str]] = []
    for (piece, column, typed), meaning in answers.cells().items():
        if column not in STAGE or word_key(meaning) == RIGHT:
            continue
        said = read_answer(column, meaning, settings=settings, as_of=as_of) if meaning else None
        for i in np.flatnonzero(np.datetime_as_string(values[column], "D") == typed).tolist():
            row = {c: v[i] for c, v in values.items()}
            named = piece == str(row["piece"]).casefold() or piece in could_be(row, own, here)
            if named and crosses(values, i, column) and (said is not None or not meaning):
                values[column] = values[column].copy()
                values[column][i] = np.datetime64("NaT") if said is None else said
                done.append((i, column, typed, meaning))
    return done


def _days(values: Mapping[str, np.ndarray], i: int) -> dict[str, date]:
    """The days that row `i` has, by their column, the earliest of a piece's life first."""
    known = {c: values[c][i] for c in STAGE}
    return {c: date.fromisoformat(str(d)[:10]) for c, d in known.items() if not np.isnat(d)}
