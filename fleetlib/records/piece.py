"""Piece: one piece of furniture as a question is asked about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any

import pandas as pd

from fleetlib.base.errors import BadQuestion, UnknownPiece
from fleetlib.base.measured import length
from fleetlib.base.nearest import nearest
from fleetlib.records.asked.names_for_unnamed import made_before
from fleetlib.records.parsing.vocabulary import look_up, plural
from fleetlib.records.schema.columns import (
    ASKED_PRICES,
    CALLED,
    COLUMN,
    COLUMNS,
    INCHES_IN_A_CUBIC_FOOT,
)

# Words of the trade; where it is sold is the person's own word.
_WORD_FIELDS = tuple(c.name for c in COLUMNS if c.kind == "word" and c.name != "channel")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece: its kind, and whatever else is known. Sizes in inches, money in the shop's currency.

    Known words are kept in the kit's spelling ("Credenza" becomes "sideboard"); others stay as given.
    An asking or gut price of 0 says that none is known. Only `furniture_type` is needed. Raises BadQuestion for
    a value that cannot be.
    """

    furniture_type: str
    wood: str | None = None
    construction: str | None = None
    finish: str | None = None
    style: str | None = None
    pieces_in_lot: float | None = None
    width_in: float | None = None
    depth_in: float | None = None
    height_in: float | None = None
    year_made: float | None = None
    grade: float | None = None
    condition: str | None = None
    route: str | None = None
    bought_on: date | None = None
    buy_price: float | None = None
    bought_lot: str | None = None
    materials_cost: float | None = None
    other_costs: float | None = None
    hours: float | None = None
    gut_price: float | None = None
    listed_on: date | None = None
    asking_price: float | None = None
    last_asking_price: float | None = None
    channel: str | None = None
    piece: str | None = None
    notes: str | None = None
    called: str | None = (
        None  # the owner's own word for its kind, where that is another; no column of the record's
    )

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name != "called":
                object.__setattr__(self, field.name, _checked(field.name, value))

    @property
    def kind_said(self) -> str:
        """Its kind in the owner's own word where there is one."""
        return self.called or self.furniture_type

    @property
    def what(self) -> str:
        """What it is in a few words, as `in_words` says it."""
        return in_words(self.furniture_type, self.wood, self.pieces_in_lot, self.called)

    @property
    def size_cuft(self) -> float | None:
        """Width x depth x height in cubic feet, or None where one of them is missing."""
        if self.width_in is None or self.depth_in is None or self.height_in is None:
            return None
        return self.width_in * self.depth_in * self.height_in / INCHES_IN_A_CUBIC_FOOT

    @property
    def name(self) -> str:
        """What to call it in a sentence: its own name, else its wood and kind."""
        return self.piece or self.what

    def __str__(self) -> str:
        return self.said()

    def said(self, *, unit: str = "in") -> str:
        """What it is, its sides in `unit` ("in" or "cm") where all are known: `A-1: oak desk, oil, 48 x 24 x 30 in`."""
        said = with_what(self.piece, self.what, mark=": ") + (
            f", {self.finish}" if self.finish else ""
        )
        if self.width_in and self.depth_in and self.height_in:
            sides = (self.width_in, self.depth_in, self.height_in)
            measured = (length(v, unit) for v in sides)
            said += f", {' x '.join(measured)} {unit}"
        return said


def check_follows_columns() -> None:
    """Raises TypeError when `Piece` and the columns known before a sale are not the same."""
    wanted = {c.name for c in COLUMNS if c.of_piece}
    has = {f.name for f in fields(Piece)} - {"called"}
    if wanted != has:
        raise TypeError(
            f"Piece and columns.py differ in {', '.join(sorted(wanted ^ has))}: a column known before the sale "
            "is a field of Piece (records/piece.py); any other has of_piece=False."
        )


check_follows_columns()


def _checked(name: str, value: Any) -> Any:
    if value is None or value is pd.NaT or (isinstance(value, float) and value != value):
        if name == "furniture_type":
            raise BadQuestion('A piece needs its furniture_type, such as "dresser".')
        return None
    column = COLUMN[name]
    if column.kind == "date":
        return _day(name, value)
    if column.is_number:
        number = _number(name, value)
        return None if number == 0 and name in ASKED_PRICES else number
    text = " ".join(str(value).split()) if column.kind != "text" else str(value)
    if not text:
        return _checked(name, None)
    if name in _WORD_FIELDS:
        known = look_up(name, text)
        return known.value or text if not known.question else text.casefold()
    return text


def _day(name: str, value: Any) -> date:
    if isinstance(value, datetime):  # a Timestamp is one
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise BadQuestion(f'{name} is "{value}"; write the day as 2026-09-30.') from None


def _number(name: str, value: Any) -> float:
    column = COLUMN[name]
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise BadQuestion(f'{name} is "{value}"; it must be a number ({column.unit}).') from None
    if number != number:
        raise BadQuestion(f"{name} is not a number ({column.unit}).")
    low, high = column.low or 0.0, column.high or float("inf")
    if not low <= number <= high:
        raise BadQuestion(
            f"{name} is {number:g}; it must be from {low:g} to {high:,.0f} ({column.unit})."
        )
    return number


def piece_from_row(row: pd.Series | Mapping[str, Any]) -> Piece:
    """The Piece on a row of flips (a Series or a mapping); columns a Piece does not have are left out."""
    wanted = {f.name for f in fields(Piece)}
    known = {str(k): v for k, v in row.items() if str(k) in wanted}
    called = row.get(CALLED)
    return Piece(**known | {"called": called if isinstance(called, str) and called else None})


def piece_named(flips: pd.DataFrame, name: str) -> Piece:
    """The piece of `flips` called `name`, whatever the case; with no name the first one on hand.

    Raises UnknownPiece, naming the nearest ones, else what is on hand.
    """
    order = {"listed": 0, "in work": 1}
    on_hand = flips[flips["status"].isin(list(order))].sort_values(
        "status", key=lambda s: s.map(order), kind="stable"
    )
    if not name.strip() and len(on_hand):
        return piece_from_row(on_hand.iloc[0])
    rows = flips[flips["piece"].astype(str).str.casefold() == name.strip().casefold()]
    if len(rows):
        return piece_from_row(rows.iloc[0])
    for now, _ in made_before(flips, [name.strip()], {}).values():
        return piece_named(flips, now)
    near = nearest(name, [str(p) for p in flips["piece"]], most=3)
    held = [f"{row.piece} ({row.furniture_type})" for row in on_hand.head(6).itertuples()]
    if len(on_hand) > len(held):
        held.append(f"and {len(on_hand) - len(held)} more")
    hint = (
        f"Near to it: {', '.join(near)}." if near else f"On hand: {', '.join(held) or 'nothing'}."
    )
    raise UnknownPiece(f'There is no piece called "{name}" on record. {hint}')


def in_words(kind: object, wood: object, lot: float | None, called: object) -> str:
    """A piece of records in a few words: `oak desk`, `pair of oak nightstands`, `set of 4 beech chairs`.

    The owner's own word, `called`, may be of any language, so it is left as it is: `beech stoel (set of 4)`. A
    missing wood, lot or word may be None or not a number.
    """
    own = isinstance(called, str) and bool(called)
    several = lot is not None and lot >= 2
    said = str(called) if own else plural(str(kind)) if several else str(kind)
    known = isinstance(wood, str) and wood not in ("", "unknown")
    what = f"{wood} {said}".replace("_", " ") if known else said.replace("_", " ")
    if lot is None or not several:
        return what
    count = "pair" if lot == 2 else f"set of {lot:.0f}"
    return f"{what} ({count})" if own else f"{count} {'of ' * (lot == 2)}{what}"


def beside(name: object, what: str) -> str:
    """What a piece is, to be said beside its name; "" where the name says it already."""
    return "" if f" {what} ".casefold() in f" {name or ''} ".casefold() else what


def with_what(name: object, what: str, *, mark: str = ", ") -> str:
    """A piece by its name, if it has one, and what it is: `A-113, oak sideboard`, `oak desk of 4 Mar 2026`."""
    return mark.join(str(t) for t in (name, beside(name, what)) if t)


def said_once(shown: pd.DataFrame) -> pd.DataFrame:
    """A table with `piece` and `what`, its `what` blank where the name says it, and left out where all are."""
    what = [beside(n, w) for n, w in zip(shown["piece"], shown["what"], strict=True)]
    return shown.assign(what=what) if any(what) else shown.drop(columns="what")


def as_piece(flips: pd.DataFrame, asked: Piece | str) -> Piece:
    """The Piece meant by `asked`: itself, or the one of `flips` so called. Raises BadQuestion for anything else."""
    if isinstance(asked, Piece):
        return asked
    if isinstance(asked, str):
        return piece_named(flips, asked)
    raise BadQuestion(
        f"A piece is asked about by its name or as a Piece, not as {type(asked).__name__}: "
        'shop.plan("A-113"), or shop.plan(fl.Piece(furniture_type="desk", gut_price=240)).'
    )
