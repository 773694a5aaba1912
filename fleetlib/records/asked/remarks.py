"""Remarks that tell of what the row does not: a piece given away, kept, scrapped or back, and money.

A remark is never acted on: it is asked about once, and the answer is what counts. Cuts of a price that several notes
tell of plainly are one question. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answers, cell_text, key_of
from fleetlib.records.asked.cells import BECAME, RIGHT, called, read_answer
from fleetlib.records.asked.months import EACH
from fleetlib.records.asked.names_for_unnamed import could_be, names_here
from fleetlib.records.asked.question import NOTHING, Option, Question, weight
from fleetlib.records.asked.remarks_of_money import (
    Told,
    cuts_told,
    second_sale_answered,
    told_of,
)
from fleetlib.records.asked.returns import NOT_UP, UP_SINCE, days_told, is_a_return, return_options
from fleetlib.records.parsing.amounts import read_money
from fleetlib.records.parsing.counts import count_added_up
from fleetlib.records.parsing.numbers import plain, shown
from fleetlib.records.parsing.outcomes import (
    ON_HAND,
    SOLD_AGAIN,
    listing_told,
    present_said,
    remark_said,
)
from fleetlib.records.schema.columns import CAME_BACK, GIVEN_AWAY, LEFT_UNSOLD

_FILLED = (
    "notes",
    "asking_price",
    "last_asking_price",
    "delivery_charged",
    "listed_on",
    "pieces_in_lot",
)  # the columns that an answer about a note may fill
_OF_THE_ROW = [
    *("line", "piece", "status", "furniture_type", "notes", "sold_on", "bought_on", "listed_on"),
    *("asking_price", "last_asking_price", "sale_price", "delivery_charged", "pieces_in_lot"),
]
CUTS = "price came down"  # what all notes that tell of a cut are filed under
_MOST_SHOWN = 4
A_DAY_AS = "the day as 2026-10-04"


def about_remarks(
    flips: pd.DataFrame,
    answers: Answers,
    settings: Settings,
    as_of: date,
    *,
    came_back: Collection[int] = (),
) -> Iterator[Question]:
    """One question a row whose remark seems to tell of something else than the row; one on all plain cuts.

    `came_back`: the lines of the pieces of which a return is on record.
    """
    told = answers.cells()
    cuts: list[tuple[Question, str]] = []
    noted = flips["notes"].notna() & ~flips["status"].eq("withdrawn")
    for row in flips.loc[noted, _OF_THE_ROW].to_dict("records"):
        for column, said, options, free in _told(row, settings, as_of):
            piece, note = str(row["piece"]), str(row["notes"])
            if (piece.casefold(), column, key_of(note)) in told:
                continue
            if (piece.casefold(), "outcome", key_of(CAME_BACK)) in told and free:
                continue  # its return was asked about and answered under its state
            since = days_told(note, row["sold_on"], settings, as_of)
            if free == UP_SINCE and row["line"] in came_back and not since:
                continue  # it tells of the return on record, before the sale that stands
            is_said = "is sold" if row["status"] == "sold" else "is on hand"
            who = called(piece, row["furniture_type"])
            counts = f", counts as {is_said[3:]}," if column == "notes" else f", {is_said},"
            asked = Question(
                "cell",
                cell_text(piece, column, note),
                f'Line {row["line"]}, {who}{counts} and its note says "{note}". {said}',
                options,
                f"it counts as {is_said[3:]}"
                if column == "notes"
                else "the note counts for nothing",
                weight("outcome" if column == "notes" else column)
                * (1 if is_said == "is on hand" else 0.5),
                free,
            )
            if column == "last_asking_price":
                cuts.append((asked, f"line {row['line']}: {options[0].meaning}"))
            else:
                yield asked
    yield from _about_cuts(cuts, answers)


def _told(row: Mapping[Any, Any], settings: Settings, as_of: date) -> Iterator[Told]:
    """What the note of a row may tell that the row does not."""
    note, sold = str(row["notes"]), row["status"] == "sold"
    said = remark_said(note)
    if said is None and pd.isna(row["sale_price"]) and present_said(note):
        said = GIVEN_AWAY
    money = list(told_of(row, settings, as_of))
    back = said == ON_HAND and (sold or _listed_before(row, settings, as_of))
    if said in LEFT_UNSOLD or back:
        stands = Option(
            f"nothing of that: it is {'sold' if sold else 'on hand'}, as the row says", RIGHT
        )
        asked, free = "What became of it?", ""
        options: tuple[Option, ...] = (Option(BECAME[said or ""], said or ""),)
        if said == ON_HAND:
            asked, free = "Did it come back, and is it up for sale again?", UP_SINCE
            options = return_options(days_told(note, _since(row), settings, as_of))
        again = next((m.options[:-1] for m in money if m.column == "notes"), ())
        first = again or ((stands,) if SOLD_AGAIN.search(plain(note)) and sold else ())
        yield Told(
            "notes",
            asked,
            tuple(dict.fromkeys((*first, *(() if again else options), stands, *options))),
            free,
        )
        money = [m for m in money if m.column != "notes" and said not in LEFT_UNSOLD]
    yield from money
    yield from _pieces_told(row)
    when = "" if pd.notna(row["listed_on"]) else listing_told(note)
    if when and not said:
        since = pd.NaT if pd.isna(row["bought_on"]) else row["bought_on"]
        days = days_told(when, since, settings, as_of)
        known = tuple(Option(f"yes, on {day_said(d)}", str(d)) for d in days[:2])
        none = Option("no, or on a day not known", RIGHT)
        yield Told("listed_on", "Is that the day it was listed?", (*known, none), A_DAY_AS)


def _since(row: Mapping[Any, Any]) -> Any:
    """The day from which on a piece may have come back: that of its sale, else that of its listing."""
    return row["listed_on"] if pd.isna(row["sold_on"]) else row["sold_on"]


def _listed_before(row: Mapping[Any, Any], settings: Settings, as_of: date) -> bool:
    """Whether a piece on hand that came back stands as listed since before that, as far as its note tells."""
    if row["status"] != "listed" or pd.isna(row["listed_on"]):
        return False
    note = str(row["notes"])
    named = days_told(note, pd.NaT, settings, as_of)
    return not named or bool(days_told(note, row["listed_on"], settings, as_of))


def _pieces_told(row: Mapping[Any, Any]) -> Iterator[Told]:
    """How many pieces a row is, where a note names two sorts of them and nothing else says it."""
    count = count_added_up(str(row["notes"])) if pd.isna(row["pieces_in_lot"]) else None
    if count and row["furniture_type"] in _IN_SETS:
        all_of_them = Option(f"{count:g} pieces in all", shown(count))
        none = Option("none of that: one piece", RIGHT)
        yield Told("pieces_in_lot", "How many pieces is it?", (all_of_them, none), "how many")


_IN_SETS = ("chair", "stool", "bench", "side table", "nightstand")  # what is sold as several


def _about_cuts(cuts: list[tuple[Question, str]], answers: Answers) -> list[Question]:
    """The questions on cuts: those with one price are asked about at once, unless that was answered."""
    said = answers.of("remarks", CUTS)
    plain_ones = [(q, told) for q, told in cuts if len(q.options) == 2]
    if len(plain_ones) < 2 or said:
        return [] if said and said != EACH else [q for q, _ in cuts]
    shown_first = ", ".join(told for _, told in plain_ones[:_MOST_SHOWN])
    more = f" and {len(plain_ones) - _MOST_SHOWN} more" if len(plain_ones) > _MOST_SHOWN else ""
    together = Question(
        "remarks",
        CUTS,
        f"{len(plain_ones)} notes tell of a price that came down ({shown_first}{more}). "
        "Are these the last prices you asked?",
        (
            Option("yes, each of them", "read"),
            Option("ask one by one", EACH),
            Option("no: leave notes alone", NOTHING),
        ),
        "these notes count for nothing",
        sum(q.cost for q, _ in plain_ones),
    )
    return [together, *(q for q, _ in cuts if len(q.options) > 2)]


def settle_remarks(
    values: dict[str, np.ndarray], answers: Answers, settings: Settings, as_of: date
) -> list[tuple[int, str, str, str]]:
    """Put what was answered about remarks into `values`; row, column, what stood there and stands there now of each."""
    told = {k: said for k, said in answers.cells().items() if k[1] in _FILLED}
    own, here = settings.words.get("furniture_type", {}), names_here(values["piece"])
    done: list[tuple[int, str, str, str]] = []
    all_cuts = answers.of("remarks", CUTS) == "read"
    notes = [key_of(str(n)) for n in values["notes"]] if told or all_cuts else []
    for (piece, column, note), state in told.items():
        for i in [k for k, n in enumerate(notes) if n == note]:
            row = {c: v[i] for c, v in values.items()}
            if piece == str(row["piece"]).casefold() or piece in could_be(row, own, here):
                done += _put(values, i, _now(row, column, state, settings, as_of))
    for i in np.flatnonzero(~pd.isna(values["notes"])).tolist() if all_cuts else ():
        row = {c: v[i] for c, v in values.items()}
        cuts = cuts_told(row, settings)
        if (
            len(cuts) == 1
            and (str(row["piece"]).casefold(), "last_asking_price", notes[i]) not in told
        ):
            done += _put(values, i, {"last_asking_price": float(cuts[0])})
    return done


def _now(
    row: Mapping[str, Any], column: str, said: str, settings: Settings, as_of: date
) -> dict[str, object]:
    """What the cells of a row become by what was answered about its remark."""
    if column == "notes" and _on_hand(row) and is_a_return(said, settings, as_of):
        return _up_anew(said, settings, as_of)
    if column == "notes":
        back = remark_said(str(row["notes"])) == ON_HAND
        if back and (said in LEFT_UNSOLD or is_a_return(said, settings, as_of)):
            return {"outcome": CAME_BACK}
        second = second_sale_answered(said)
        if second:
            return {"outcome": CAME_BACK}  # the sale of the row ended; see `settle_returns`
        return _left(row, said) if said in LEFT_UNSOLD else {}
    if column == "listed_on":
        day = read_answer(column, said, settings=settings, as_of=as_of)
        ends = [d for d in (row["sold_on"], row["withdrawn_on"]) if not np.isnat(d)]
        late = day is None or any(day > d for d in ends)
        return {} if late or day < row["bought_on"] else {column: day}
    amount = read_money([said.removesuffix(" within")], currency=settings.currency)[0].value
    if amount is None:
        return {}
    now: dict[str, object] = {column: float(amount)}
    if column == "asking_price":  # what stood there was asked later
        now["last_asking_price"] = row[column]
    if said.endswith(" within"):
        now["sale_price"] = row["sale_price"] - float(amount)
    return now


def _on_hand(row: Mapping[str, Any]) -> bool:
    """Whether nothing in the row tells of a sale or of another end."""
    return bool(row["outcome"] is None and np.isnat(row["sold_on"]) and np.isnan(row["sale_price"]))


def _up_anew(said: str, settings: Settings, as_of: date) -> dict[str, object]:
    """A piece on hand that came back is on the market since the day that was answered, or is not listed now."""
    if said == NOT_UP:
        return dict.fromkeys(("asking_price", "last_asking_price"), np.nan) | _NOT_LISTED
    if not any(c.isdigit() for c in said):
        return {**_NOT_LISTED}
    return {"listed_on": read_answer("listed_on", said, settings=settings, as_of=as_of)}


_NOT_LISTED: dict[str, object] = {"listed_on": np.datetime64("NaT", "ns")}


def _left(row: Mapping[str, Any], state: str) -> dict[str, object]:
    """The row is no sale: it left on its day of sale."""
    now: dict[str, object] = {"sale_price": np.nan, "sold_on": np.datetime64("NaT", "ns")}
    now["outcome"] = state
    if np.isnat(row["withdrawn_on"]):
        now["withdrawn_on"] = row["sold_on"]
    return now


def _put(
    values: dict[str, np.ndarray], i: int, now: Mapping[str, object]
) -> list[tuple[int, str, str, str]]:
    """Put the cells `now` into row i of `values`; what was changed."""
    done = []
    for column, value in now.items():
        was, told = _text(values[column][i]), _text(value)
        if was != told:
            values[column] = values[column].copy()
            values[column][i] = value
            done.append((i, column, was, told))
    return done


def _text(value: object) -> str:
    if value is None or value != value:  # missing
        return ""
    if isinstance(value, np.datetime64):
        return "" if np.isnat(value) else str(value)[:10]
    return shown(float(value)) if isinstance(value, float) else str(value)
