"""Events laid over the record: prices asked, hours and costs logged, sales and withdrawals.

What flips.csv says is never overwritten in silence. A blank is filled; a later asking price becomes the
last one; where both say different things, flips.csv is kept and both values are listed.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.noted import Noted
from fleetlib.records.cleaning.questions import LEAST_OF_ASK, MOST_OF_ASK
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.outcomes import outcome_said
from fleetlib.records.parsing.parsed import frame_of, plain_cells
from fleetlib.records.parsing.vocabulary import word_key
from fleetlib.records.schema.columns import LEFT_UNSOLD, STEPS, WITHDRAWN

_CENT = 0.005
_SAME_TIME = (
    0.05  # hours or money by which a typed total and the log may differ and still be the same
)
_NUMBERS = (
    "asking_price", "last_asking_price", "sale_price", "materials_cost", "other_costs", "hours",
    *(f"hours_{step}" for step in STEPS),
)  # fmt: skip
_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")


@dataclass(frozen=True, eq=False, slots=True)
class Laid:
    """`flips` with the events laid over, the changes this made, what contradicts, and notes.

    `away` holds, as events, the withdrawals that flips.csv has and a later relisting ended.
    """

    flips: pd.DataFrame = field(repr=False)
    changes: pd.DataFrame = field(repr=False)
    questions: pd.DataFrame = field(repr=False)
    notes: list[str]
    away: pd.DataFrame = field(repr=False)


class _Event(NamedTuple):
    on: pd.Timestamp
    event: str
    amount: float  # NaN: none
    note: str
    line: int


def lay_events(flips: pd.DataFrame, events: pd.DataFrame, *, listed: Collection[int] = ()) -> Laid:
    """Lay standing `events` over `flips` (derived columns are not touched: derive again after).

    `listed`: the lines of those that say a piece was listed.
    """
    work = _Laying(flips, listed)
    places: dict[str, list[int]] = {}
    for i, name in enumerate(work.names):
        places.setdefault(name.casefold(), []).append(i)
    for name, theirs in _by_piece(events).items():
        rows = places.get(name.casefold(), [])
        if len(rows) == 1:
            work.piece(rows[0], sorted(theirs, key=lambda e: e.on.value))
            continue
        why = "is no piece kept" if not rows else f"is the name of {len(rows)} pieces"
        said = ", ".join(str(e.line) for e in theirs[:6])
        work.notes.append(f'events.csv: "{name}" {why}; its events count for none (line {said}).')
    return work.result(flips)


def _by_piece(events: pd.DataFrame) -> dict[str, list[_Event]]:
    """The events of each piece, in the order of the file, under the name as it was first written."""
    found: dict[str, list[_Event]] = {}
    first: dict[str, str] = {}
    columns = (plain_cells(events[c]) for c in ("on", "piece", "event", "amount", "note", "line"))
    for on, piece, event, amount, note, line in zip(*columns, strict=True):
        name = first.setdefault(piece.casefold(), piece)
        much = np.nan if amount is None else float(amount)
        found.setdefault(name, []).append(_Event(on, event, much, note or "", line))
    return found


class _Laying:
    """The columns that events can change, as lists with None for missing, and what was done to them."""

    def __init__(self, flips: pd.DataFrame, listed: Collection[int] = ()) -> None:
        self.listed = listed
        self.names: list[str] = flips["piece"].tolist()
        self.lines: list[int] = flips["line"].tolist()
        self.cells: dict[str, list[Any]] = {
            c: plain_cells(flips[c]) for c in (*_NUMBERS, *_DAYS, "outcome")
        }
        self.changed: set[str] = set()
        self.changes: list[tuple[int, str, str, str, str]] = []
        self.questions: list[tuple[int, str, str, str, str]] = []
        self.away: list[tuple[pd.Timestamp, str, str, float, str, int]] = []
        self.notes: list[str] = []

    def piece(self, i: int, events: Sequence[_Event]) -> None:
        """All events of one piece, by day."""
        self._back_on_the_market(i, events)
        closed = (
            self.cells["sale_price"][i] is not None or self.cells["withdrawn_on"][i] is not None
        )
        worked = [e for e in events if e.event == "hours"]
        steps: dict[str, list[_Event]] = {}
        for e in worked:
            steps.setdefault(step_of(e.note), []).append(e)
        for step in STEPS if worked else ():
            self._more(i, f"hours_{step}", steps.get(step, []), closed)
        self._more(i, "hours", worked, closed)
        spent = [e for e in events if e.event == "cost"]
        self._more(i, "materials_cost", [e for e in spent if is_material(e.note)], closed)
        self._more(i, "other_costs", [e for e in spent if not is_material(e.note)], closed)
        asked = [e for e in events if e.event == "asking_price"]
        if asked:
            self._first_price(i, asked)
            self._last_price(i, asked[-1].amount, closed)
        ends = [e for e in events if e.event in ("sold", "withdrawn", "relisted")]
        if ends and ends[-1].event != "relisted":
            self._end(i, ends[-1])

    def _back_on_the_market(self, i: int, events: Sequence[_Event]) -> None:
        """A withdrawal that flips.csv has ends with a relisting on that day or later."""
        withdrawn = self.cells["withdrawn_on"][i]
        back = [e for e in events if e.event == "relisted" and withdrawn and e.on >= withdrawn]
        if back:
            why = f"relisted on {back[0].on.date()}, in events.csv"
            self._set(i, "withdrawn_on", None, why)
            if self.cells["outcome"][i] is not None:
                self._set(i, "outcome", None, why)
            if back[0].on > withdrawn:
                gone = (
                    withdrawn,
                    self.names[i],
                    "withdrawn",
                    np.nan,
                    "in flips.csv",
                    self.lines[i],
                )
                self.away.append(gone)

    def _more(self, i: int, column: str, events: Sequence[_Event], closed: bool) -> None:
        """Logged hours or money. They come on top of what flips.csv says, but the same amount counts once, and
        a row whose sale or withdrawal was typed into flips.csv has the last word."""
        if not events:
            return
        logged = round(sum(e.amount for e in events), 4)
        own = self.cells[column][i]
        if own is None:
            self._set(i, column, logged, f"{len(events)} logged in events.csv")
        elif abs(own - logged) < _SAME_TIME:
            return
        elif closed:
            self._differ(i, column, own, f"{shown(logged)} is logged in events.csv", "the log")
        else:
            why = f"{shown(own)} in flips.csv and {shown(logged)} logged in events.csv"
            self._set(i, column, round(own + logged, 4), why)
            if own > logged and column in ("hours", "materials_cost", "other_costs"):
                said = (
                    f"flips.csv says {shown(own)} and events.csv {shown(logged)} more; they were added up. If the "
                    f"{shown(own)} already holds what was logged, take it out of the cell."
                )
                self._ask(i, column, own, said)

    def _first_price(self, i: int, asked: Sequence[_Event]) -> None:
        first = asked[0]
        if self.cells["asking_price"][i] is None:
            self._set(i, "asking_price", first.amount, "the first price asked in events.csv")
            if self.cells["listed_on"][i] is None:
                why = "the day of the first price in events.csv"
                self._set(i, "listed_on", first.on, why)
        told = [e for e in asked if e.line in self.listed]
        if told and self.cells["listed_on"][i] is None:
            self._set(i, "listed_on", told[0].on, "listed, in events.csv")
        own, listed = self.cells["asking_price"][i], self.cells["listed_on"][i]
        same_day = [e for e in asked if e.on == listed]
        if same_day and abs(same_day[0].amount - own) > _CENT:
            said = f"events.csv has {shown(same_day[0].amount)} on the day it was listed"
            self._differ(i, "asking_price", own, said)
        if listed is not None and first.on < listed:
            self._differ(i, "listed_on", listed, f"events.csv has a price on {first.on.date()}")

    def _last_price(self, i: int, last: float, closed: bool) -> None:
        own = self.cells["last_asking_price"][i]
        if own is None:
            self._set(i, "last_asking_price", last, "the last price asked in events.csv")
        elif abs(own - last) > _CENT and closed:
            said = f"the last price in events.csv is {shown(last)}"
            self._differ(i, "last_asking_price", own, said)
        elif abs(own - last) > _CENT:
            self._set(i, "last_asking_price", last, "a later price asked in events.csv")

    def _end(self, i: int, end: _Event) -> None:
        """Sold or withdrawn."""
        column = "sold_on" if end.event == "sold" else "withdrawn_on"
        starts = [self.cells[c][i] for c in ("bought_on", "listed_on")]
        start = max((d for d in starts if d is not None), default=end.on)
        if end.on < start:
            said = (
                f"events.csv says {end.event} on {end.on.date()}, but it was bought or listed on {start.date()}; "
                f"the event was left out."
            )
            self._ask(i, column, end.on, said)
        elif end.event == "sold":
            self._sold(i, end)
        elif self.cells["sale_price"][i] is not None:
            price = self.cells["sale_price"][i]
            said = f"events.csv says it was withdrawn on {end.on.date()}"
            self._differ(i, "sale_price", price, said)
        else:
            self._day(i, "withdrawn_on", end.on)
            how = outcome_said(end.note.split(":")[0])
            if how in LEFT_UNSOLD and self.cells["outcome"][i] in (None, WITHDRAWN):
                self._set(i, "outcome", how, "in events.csv")

    def _sold(self, i: int, end: _Event) -> None:
        price, withdrawn = self.cells["sale_price"][i], self.cells["withdrawn_on"][i]
        has_amount = end.amount > 0
        if withdrawn is not None:
            said = (
                f"events.csv says it sold on {end.on.date()} for {shown(end.amount) or 'no amount'}"
            )
            self._differ(i, "withdrawn_on", withdrawn, said)
            return
        if price is None and not has_amount:
            said = f"events.csv says it sold on {end.on.date()} but not for how much; the event was left out."
            self._ask(i, "sale_price", None, said)
            return
        if price is None:
            self._set(i, "sale_price", end.amount, "sold, in events.csv")
            self._far_from_ask(i, end.amount)
        elif has_amount and abs(price - end.amount) > _CENT:
            self._differ(i, "sale_price", price, f"events.csv says {shown(end.amount)}")
        self._day(i, "sold_on", end.on)

    def _far_from_ask(self, i: int, amount: float) -> None:
        asked = self.cells["last_asking_price"][i] or self.cells["asking_price"][i]
        if asked and not LEAST_OF_ASK <= amount / asked <= MOST_OF_ASK:
            said = (
                f"events.csv says it sold for {shown(amount)}, with {shown(asked)} asked; is that right? If not, undo "
                "the entry and log it again."
            )
            self._ask(i, "sale_price", amount, said)

    def _day(self, i: int, column: str, day: pd.Timestamp) -> None:
        own = self.cells[column][i]
        if own is None:
            self._set(i, column, day, "in events.csv")
        elif own != day:
            self._differ(i, column, own, f"events.csv says {day.date()}")

    def _set(self, i: int, column: str, value: Any, why: str) -> None:
        was, now = _as_text(self.cells[column][i]), _as_text(value)
        self.changes.append((self.lines[i], column, was, now, why))
        self.cells[column][i] = value
        self.changed.add(column)

    def _differ(self, i: int, column: str, own: Any, said: str, other: str = "the event") -> None:
        """List a contradiction: what flips.csv says, what events.csv says, and which was kept."""
        mend = f" Empty the cell in flips.csv to use {other}, or undo the event."
        self._ask(
            i, column, own, f"flips.csv says {_as_text(own)}, {said}; flips.csv was kept.{mend}"
        )

    def _ask(self, i: int, column: str, value: Any, question: str) -> None:
        row = (self.lines[i], self.names[i], column, _as_text(value), question)
        self.questions.append(row)
        self.notes.append(Noted(f"{self.names[i]}: {column}: {question}", "asked"))

    def result(self, flips: pd.DataFrame) -> Laid:
        """Everything laid, as frames."""
        made = flips.copy(deep=False)
        for column in self.changed:
            cells = self.cells[column]
            if column in _DAYS:
                made[column] = pd.Series(cells, index=made.index, dtype="datetime64[ns]")
            elif column == "outcome":
                made[column] = pd.Series(cells, index=made.index, dtype=made[column].dtype)
            else:
                made[column] = np.array([np.nan if v is None else v for v in cells], dtype=float)
        changes = frame_of(self.changes, ["line", "column", "was", "now", "why"])
        asked = frame_of(self.questions, ["line", "piece", "column", "value", "question"])
        away = pd.DataFrame(self.away, columns=["on", "piece", "event", "amount", "note", "line"])
        return Laid(made, changes, asked, self.notes, away)


def _as_text(value: Any) -> str:
    return value.date().isoformat() if isinstance(value, pd.Timestamp) else shown(value)


_STEP_WORDS = {
    "clean": ("clean", "cleaning", "wash", "washing"),
    "repair": ("repair", "repairing", "repairs", "fix", "fixing", "glue", "gluing"),
    "sand": ("sand", "sanding", "strip", "stripping"),
    "finish": ("finish", "finishing", "paint", "painting", "stain", "staining", "oil", "oiling", "wax", "waxing"),
    "sell": ("sell", "selling", "photos", "photo", "listing", "delivery", "delivering"),
}  # fmt: skip
_STEP_OF = {w: step for step, words in _STEP_WORDS.items() for w in words}
assert {*_STEP_WORDS} == {*STEPS}


@once
def step_of(note: str) -> str:
    """The step (clean, repair, sand, finish, sell) that the first word of an hours note names, or ""."""
    first = word_key(note).split(" ")[0]
    return _STEP_OF.get(first, "")


@once
def is_material(note: str) -> bool:
    """True where the note of a cost names materials or just a step of the work; else it is an other cost."""
    if word_key(note) in STEPS:
        return True
    words = set(word_key(note).split())
    return bool(
        words
        & {
            "material", "materials", "supplies", "paint", "oil", "wax", "stain", "varnish", "lacquer", "hardware",
            "pulls", "knobs", "hinges", "sandpaper", "primer",
        }
    )  # fmt: skip
