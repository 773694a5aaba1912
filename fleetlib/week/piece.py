"""One piece, one story: everything known of it in the order of the days, and what contradicts what."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from fleetlib.base.measured import with_unit
from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.records.asked.question import column_in_words
from fleetlib.records.folder import Records
from fleetlib.records.log.grammar import without_mark
from fleetlib.records.log.regroup import came_of
from fleetlib.records.parsing.parsed import shown
from fleetlib.records.piece import piece_named
from fleetlib.records.schema.columns import COLUMN, COLUMNS
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table
from fleetlib.week.which_command import others_answer

_DAYS = {
    "bought_on": ("bought", "buy_price"),
    "listed_on": ("listed", "asking_price"),
    "sold_on": ("sold", "sale_price"),
    "withdrawn_on": ("withdrawn", ""),
}
_WORD = {"asking_price": "asked", "paused": "off market", "relisted": "back on market"}
_TIMED = ("hours",)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class PieceStory(Shown):
    """The story of one piece. table: on, what, amount (money or hours, as text), note, from (the file).

    `known` holds the other cells (what, value); `contradictions` what the person is asked about.
    """

    piece: str
    status: str
    table: pd.DataFrame = field(repr=False)
    known: pd.DataFrame = field(repr=False)
    contradictions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def sheet(self) -> Sheet:
        """What happened, what else is known, and what contradicts what."""
        return Sheet(
            f"{self.piece} ({self.status})",
            (
                Table(self.table),
                Table(self.known),
                Notes(self.contradictions, "What to check"),
                Notes(self.notes),
            ),
        )


def story(records: Records, name: str) -> PieceStory:
    """The story of the piece called `name`. Raises UnknownPiece, naming the nearest ones."""
    key = name.strip().casefold()
    before, after = came_of(records.logged, key)
    at = records.flips["piece"].str.casefold() == key
    gone = bool(after) and not at.any()  # split or joined: its parts are the pieces now
    if not gone:
        name = str(piece_named(records.flips, name).piece)
        key = name.casefold()
        at = records.flips["piece"].str.casefold() == key
    row: Any = None if gone else records.flips[at].iloc[0]
    currency = records.settings.currency
    events = [e for one in (*before, key) for e in _rows(records.logged, one)]
    logged = {(e.event, e.on) for e in events}
    told = [
        (on, order, what, _money(amount, currency), "", records.name)
        for on, order, what, amount in ([] if gone else _days(records, row, key))
        if ("asking_price" if what == "listed" else what, on) not in logged  # told once
    ]
    for e in events:
        amount = ""
        if e.amount == e.amount:
            timed = e.event in _TIMED
            amount = (
                f"{e.amount:.2f} h"
                if timed
                else format_money(float(e.amount), currency, cents=True)
            )
        note = without_mark(e.note) if isinstance(e.note, str) else ""
        if str(e.piece).casefold() != key:
            note = "; ".join(t for t in (f"as {e.piece}", note) if t)
        what = _WORD.get(e.event, e.event.replace("_", " "))
        told.append((e.on, 10 + int(e.line), what, amount, note, f"events.csv line {e.line}"))
    for a in _rows(records.advice_log, key):
        money = "" if pd.isna(a.asking_price) else format_money(float(a.asking_price), currency)
        told.append((a.date, 10**9, "advice saved", money, "", f"advice_log.csv line {a.line}"))
    told.sort(key=lambda t: (pd.Timestamp.min if pd.isna(t[0]) else t[0], t[1]))
    table = pd.DataFrame(
        [(day_said(on) if pd.notna(on) else _NO_DAY, *rest) for on, _, *rest in told],
        columns=["on", "what", "amount", "note", "from"],
    )
    cells = [
        (column_in_words(c.name), _cell(c.name, row[c.name], records.settings.length_unit))
        for c in ([] if gone else COLUMNS)
        if c.kind != "date" and c.name != "piece" and pd.notna(row[c.name])
    ]
    asked = _rows(records.questions, key)
    notes = (
        [f"{int(at.sum())} rows have this name; this is the first."] if int(at.sum()) > 1 else []
    )
    notes.append(others_answer("piece", name))
    if gone:
        named = dict(
            zip(records.flips["piece"].str.casefold(), records.flips["piece"], strict=True)
        )
        notes = [f"It lives on as {', '.join(str(named.get(n, n)) for n in after)}."]
    return PieceStory(
        piece=name.strip() if gone else str(row["piece"]),
        status="split or joined" if gone else str(row["status"]),
        table=table,
        known=pd.DataFrame(cells, columns=["what", "value"]).astype("str"),
        contradictions=tuple(f"{q.column}: {q.question}" for q in asked),
        notes=tuple(notes),
    )


def _cell(column: str, value: Any, unit: str) -> str:
    """A cell as it is shown, a size in the shop's `unit`."""
    if COLUMN[column].kind == "size":
        return with_unit(float(value), unit)
    return str(value) if COLUMN[column].is_text else shown(float(value))


def _days(records: Records, row: Any, key: str) -> list[tuple[pd.Timestamp, int, str, float]]:
    """The days of the piece's row, and of its sales that ended: on, their order on one day, what, amount (money)."""
    ended = _rows(records.ended, key)
    back = {e.ended_on for e in ended}  # up again on that day
    found = []
    for one in (*_rows(records.past_sales, key), row):
        first = one.listed_on not in back
        for order, (column, (what, price)) in enumerate(_DAYS.items()):
            on = getattr(one, column)
            if pd.notna(on) and (first or what != "listed"):
                found.append((on, order, what, getattr(one, price) if price else float("nan")))
    for e in ended:
        known = pd.notna(e.sold_on) or pd.isna(e.ended_on)
        on, what = (e.sold_on, "sold") if known else (e.ended_on, f"sold, {_NO_DAY}")
        found.append((on, 2, what, e.sale_price))
    found += [(e.ended_on, 4, e.how.replace("_", " "), e.given_back) for e in ended]
    once = dict.fromkeys((*f[:3], float(f[3]) if pd.notna(f[3]) else _UNKNOWN) for f in found)
    priced = {f[:3] for f in once if f[3] is not _UNKNOWN}
    # The day of buying stands in each sale, and a sale may stand there with its price and without.
    return [f for f in once if f[3] is not _UNKNOWN or f[:3] not in priced]


_NO_DAY = "on a day not known"
_UNKNOWN = float("nan")  # one and the same, so that cells without an amount are alike


def _money(amount: float, currency: str) -> str:
    return "" if pd.isna(amount) else format_money(float(amount), currency, cents=True)


def _rows(table: pd.DataFrame, key: str) -> list[Any]:
    """The rows of `table` about the piece whose name is `key` in small letters."""
    if not len(table):
        return []
    mine = table["piece"].astype("str").str.casefold() == key
    return list(table[mine].itertuples(index=False))
