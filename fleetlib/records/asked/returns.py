"""Pieces that came back from their buyer: since when each is up again is asked once, and what was answered.

The sale itself stands as one that ended (`log/came_back.py`). Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answers, cell_text, key_of
from fleetlib.records.asked.cells import RIGHT, called, read_answer
from fleetlib.records.asked.names_for_unnamed import could_be, names_here
from fleetlib.records.asked.question import Option, Question, weight
from fleetlib.records.asked.remarks_of_money import second_sale, second_sale_answered
from fleetlib.records.parsing.days_in_text import days_in_text
from fleetlib.records.parsing.outcomes import ON_HAND, SOLD
from fleetlib.records.schema.columns import CAME_BACK, LEFT_UNSOLD

NOT_UP = "not up again"  # the answer that the piece is here, but not for sale again yet
UP_SINCE = "the day it was up again as 2026-10-04; or kept, given away or scrapped"
_NO_DAY = pd.NaT


class Return(NamedTuple):
    """What is known of a piece that came back; NaT for a day that is not known.

    back_on: the day it came back; again_on: the day from which it is up for sale again; up: whether it is; left: how
    it left since (one of LEFT_UNSOLD) or ""; answered: what was answered of it; resold: the price
    and the day of the sale since, which stands.
    """

    back_on: pd.Timestamp | Any = _NO_DAY
    again_on: pd.Timestamp | Any = _NO_DAY
    up: bool = True
    left: str = ""
    answered: str = ""
    resold: tuple[float, Any] | None = None


def days_told(note: object, since: object, settings: Settings, as_of: date) -> list[date]:
    """The days from `since` (missing: not known) on that a note may name; see days_in_text."""
    if not isinstance(note, str):
        return []
    start = None if pd.isna(since) else date.fromisoformat(str(since)[:10])  # type: ignore[call-overload]
    return days_in_text(note, since=start, date_order=settings.date_order, as_of=as_of)


def return_options(days: Sequence[date]) -> tuple[Option, ...]:
    """The answers on a piece that came back, the days its note may name first."""
    known = tuple(Option(f"yes, since it came back on {day_said(d)}", str(d)) for d in days[:2])
    up = Option("it is up for sale again, since when is not known", ON_HAND)
    not_up = Option("it is here, but not up for sale again", NOT_UP)
    return (*known, not_up, up) if known else (up, not_up)


def is_a_return(meaning: str, settings: Settings, as_of: date) -> bool:
    """Whether an answer says that the piece came back: one of `return_options`, or a day."""
    return (
        meaning in (ON_HAND, NOT_UP, CAME_BACK)
        or _answered_day(meaning, settings, as_of) is not None
    )


def _answered_day(meaning: str, settings: Settings, as_of: date) -> pd.Timestamp | None:
    if not any(c.isdigit() for c in meaning):
        return None
    day = read_answer("sold_on", meaning, settings=settings, as_of=as_of)
    return None if day is None else pd.Timestamp(day)


def settle_returns(
    values: dict[str, np.ndarray], answers: Answers, settings: Settings, as_of: date
) -> dict[int, Return]:
    """What is known of each row that came back, by row; a sale that was answered to stand becomes one in `values`."""
    rows = np.flatnonzero(values["outcome"] == CAME_BACK).tolist()
    told = answers.cells() if rows else {}
    own, here = settings.words.get("furniture_type", {}), names_here(values["piece"])
    found: dict[int, Return] = {}
    for i in rows:
        row = {c: v[i] for c, v in values.items()}
        meaning = _answer(row, told, own, here)
        if meaning in (SOLD, RIGHT):
            values["outcome"] = values["outcome"].copy()
            values["outcome"][i] = None
        else:
            found[i] = _return(row, meaning, settings, as_of)
    return found


def _answer(
    row: Mapping[str, Any],
    told: Mapping[tuple[str, str, str], str],
    own: Mapping[str, str],
    here: frozenset[str],
) -> str:
    """What was answered about the return of a row, under its state or its note; "" for nothing."""
    filed = [("outcome", key_of(CAME_BACK)), ("notes", key_of(str(row["notes"])))]
    said = {(p, c): m for (p, c, t), m in told.items() if (c, t) in filed}
    if not said:
        return ""
    names = [str(row["piece"]).casefold(), *could_be(row, own, here)]
    return next((said[n, c] for c, _ in filed for n in names if (n, c) in said), "")


def _return(row: Mapping[str, Any], meaning: str, settings: Settings, as_of: date) -> Return:
    sold_on = row["sold_on"]
    days = days_told(row["notes"], sold_on, settings, as_of)
    back = pd.Timestamp(days[0]) if len(days) == 1 else _NO_DAY
    second = second_sale_answered(meaning)
    if second:
        on = pd.Timestamp(second[1])
        before = [d for d in days if not pd.Timestamp(d) >= on]
        back = pd.Timestamp(before[0]) if len(before) == 1 else _NO_DAY
        return Return(back, up=False, answered=meaning, resold=(second[0], on))
    again = _answered_day(meaning, settings, as_of)
    if again is not None and (pd.isna(sold_on) or again >= sold_on):
        return Return(back if back <= again else again, again, answered=meaning)
    if meaning in LEFT_UNSOLD:
        return Return(back, up=False, left=meaning, answered=meaning)
    return Return(back, up=meaning != NOT_UP, answered=meaning)


def about_returns(
    flips: pd.DataFrame, known: Mapping[int, Return], settings: Settings, as_of: date
) -> Iterator[Question]:
    """One question a piece that is said to have come back: is it up again, and since when? `known` by line."""
    back = flips["outcome"].eq(CAME_BACK)
    for row in flips[back].to_dict("records") if back.any() else ():
        piece, note, sold_on = str(row["piece"]), row["notes"], row["sold_on"]
        said = known[int(row["line"])].answered
        early = _answered_day(said, settings, as_of)
        early = early if early is not None and pd.notna(sold_on) and early < sold_on else None
        if said and early is None:
            continue
        on = "" if pd.isna(sold_on) else f" on {day_said(sold_on)}"
        paid = (
            ""
            if pd.isna(row["sale_price"])
            else f" for {format_money(row['sale_price'], settings.currency)}"
        )
        sold = f" sold{on}{paid} and" if on or paid else ""
        noted = f' (note: "{note}")' if isinstance(note, str) else ""
        wrong = (
            f" You answered {day_said(early)}, which is before it sold."
            if early is not None
            else ""
        )
        who = called(piece, row["furniture_type"])
        yield Question(
            "cell",
            cell_text(piece, "outcome", CAME_BACK),
            f"Line {row['line']}, {who},{sold} came back{noted}.{wrong} Is it up "
            "for sale again, and since when?",
            (
                *second_sale(row, settings, as_of),
                *return_options(days_told(note, sold_on, settings, as_of)),
                Option("it did not come back: it stayed sold", SOLD),
            ),
            "it is on hand, and how long it has been up again is not known; the sale counts for prices and for the "
            "time to sell, its money as given back",
            weight("outcome"),
            UP_SINCE,
        )


def still_asked(
    questions: Sequence[Question], events: pd.DataFrame, listed: Collection[int]
) -> list[Question]:
    """`questions` without those on a return that the log has told of since.

    `events` as laid by `live`, so a return in them is `relisted` and the sale that ended none; `listed` as in SideFile.
    """
    told = events["event"].isin(["relisted", "sold", "withdrawn"]) | events["line"].isin(listed)
    names = set(events.loc[told, "piece"].astype(str).str.casefold())
    texts = {key_of(cell_text(name, "outcome", CAME_BACK)) for name in names}
    return [q for q in questions if not (q.about == "cell" and key_of(q.text) in texts)]
