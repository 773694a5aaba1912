"""The files beside the record: events.csv, supplies.csv and advice_log.csv, read row by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import itemgetter
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadRecords
from fleetlib.base.settings import Settings
from fleetlib.records.files.reading import Rows, read_rows
from fleetlib.records.files.safe_csv import without_guard
from fleetlib.records.log.format_number import newer
from fleetlib.records.log.undo import standing_entries, worded
from fleetlib.records.parsing.amounts import read_hours, read_money
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.parsed import frame_of
from fleetlib.records.parsing.vocabulary import word_key

EVENT_COLUMNS = ("on", "piece", "event", "amount", "note")
SUPPLY_COLUMNS = ("bought_on", "item", "cost", "shared_by")
ADVICE_COLUMNS = (
    "date", "piece", "low", "mid", "high", "level", "days_listed", "gut_price", "asking_price", "floor",
    "expected_net", "expected_days", "plan",
)  # fmt: skip
EVENTS: Mapping[str, str] = {
    "bought": "bought for this amount; the note says what it is, as furniture_type=dresser; wood=oak",
    "listed": "on the market from this day on, at this price",
    "asking_price": "the price asked from this day on",
    "offer": "an offer of this amount",
    "enquiry": "somebody asked about it",
    "hours": "hands-on hours; the note names the step",
    "cost": "money spent on it; the note says what for",
    "finished": "the work is done",
    "paused": "off the market for a while",
    "relisted": "back on the market",
    "sold": "sold for this amount",
    "withdrawn": "kept, given away or scrapped",
    "photographed": "its pictures are taken",
    "off_market": "off the market for a while",
    "back_on_market": "back on the market",
    "offer_refused": "an offer was refused",
    "offer_countered": "an offer was answered with this price",
    "offer_accepted": "an offer of this amount was accepted; the sale is an entry of its own",
    "deposit": "money taken to hold it, part of the price",
    "backed_out": "the buyer backed out; the amount is what you kept of their money",
    "returned": "it came back; the amount is what you gave back, or the whole price",
    "refund": "part of the price given back, the piece stays sold",
    "touch_up": "hands-on hours after the sale",
    "timer_started": "the timer was started; the note says the step and when",
    "timer_stopped": "the timer was stopped without logging hours",
    "kept": "kept for yourself",
    "given_away": "given away",
    "scrapped": "scrapped",
    "split": "divided; the note begins as: into A-1a, A-1b (equal shares) or: into A-1a, A-1b by 60, 40",
    "joined": "made of several pieces; the note begins as: of A-1, A-2",
    "undo": "takes an earlier entry back",
}
NEED_AMOUNT = (
    "asking_price", "offer", "hours", "cost", "bought", "listed", "offer_countered", "deposit", "refund",
    "touch_up",
)  # fmt: skip
# Newer event words, and the word of the first format that each is read as, so that the rest knows only those.
SAME_EVENT: Mapping[str, str] = {
    "listed": "asking_price",
    "off_market": "paused",
    "back_on_market": "relisted",
    "touch_up": "hours",
    "kept": "withdrawn",
    "given_away": "withdrawn",
    "scrapped": "withdrawn",
}
SHARES = ("hours", "pieces", "none")
_SAME = {
    "on": ("date", "day", "when"),
    "date": ("on", "day"),
    "event": ("what", "what happened", "kind"),
    "amount": ("price", "value", "hours or money"),
    "note": ("notes", "comment", "step"),
    "bought_on": ("bought on", "bought", "date", "on"),
    "item": ("what", "supply", "supplies"),
    "cost": ("price", "paid", "amount"),
    "shared_by": ("shared by", "share", "share by"),
    "piece": ("piece name", "id", "name"),
}
_ASIDE = ("file", "line", "column", "value", "reason", "remedy", "text")


@dataclass(frozen=True, eq=False, slots=True)
class SideFile:
    """One side file: the rows read, those set aside (file, line, column, value, reason, remedy, text), notes.

    `listed`: the lines of the entries that say a piece was listed, read as a price asked like any other.
    """

    rows: pd.DataFrame = field(repr=False)
    set_aside: pd.DataFrame = field(repr=False)
    notes: list[str]
    listed: frozenset[int] = frozenset()


@dataclass(eq=False, slots=True)
class _Raw:
    """The cells of a side file by column, as text without guards, and what was set aside so far."""

    name: str
    cells: dict[str, list[str]]
    lines: list[int]
    texts: list[str]
    notes: list[str]
    aside: list[tuple[object, ...]] = field(default_factory=list)
    bad: set[int] = field(default_factory=set)

    def put_aside(self, i: int, column: str, reason: str, remedy: str) -> None:
        if i not in self.bad:
            self.bad.add(i)
            value = self.cells[column][i].strip() if column else ""
            said = f'{column} is "{value}", which {reason}' if value else reason
            self.aside.append(
                (self.name, self.lines[i], column, value, said, remedy, self.texts[i])
            )

    def frame(self) -> pd.DataFrame:
        return frame_of(sorted(self.aside, key=itemgetter(1)), _ASIDE)


def _read(path: Path, columns: Sequence[str], needed: Sequence[str]) -> _Raw:
    """The cells of a side file under our column names. Raises BadRecords without the needed headings."""
    rows = read_rows(path, grows=columns is not SUPPLY_COLUMNS)
    if not rows.rows:
        return _Raw(path.name, {c: [] for c in columns}, [], [], rows.notes)
    head = [word_key(plain(c)) for c in rows.rows[0]]
    places = {c: _place(c, head) for c in columns}
    absent = [c for c in needed if places[c] is None]
    if absent:
        raise BadRecords(
            f"{path.name}: there is no column {' or '.join(absent)}. Its first line must be: {','.join(columns)}"
        )
    body = rows.rows[1:]
    cells = {
        c: [""] * len(body) if at is None else [r[at] if at < len(r) else "" for r in body]
        for c, at in places.items()
    }
    for c, texts in cells.items():
        cells[c] = [without_guard(t) if "'" in t else t for t in texts]
    raw = _Raw(path.name, cells, rows.lines[1:], rows.texts[1:], rows.notes)
    raw.notes += [
        *filter(None, [newer(path.name, rows.rows[0])]),
        *_unread(path.name, rows, places),
    ]
    for b in rows.broken:
        raw.aside.append((path.name, b.line, "", b.value, b.reason, b.remedy, b.text))
    for i, row in enumerate(body):
        if len(row) > len(head) and any(c.strip() for c in row[len(head) :]):
            raw.put_aside(i, "", "it has more cells than headings", "Put quotes round the note.")
    return raw


def _unread(name: str, rows: Rows, places: Mapping[str, int | None]) -> Iterator[str]:
    """What to say of the columns that hold something and are none of ours, or one of ours a second time."""
    for at, heading in enumerate(rows.rows[0]):
        if at in places.values():
            continue
        held = [
            line
            for r, line in zip(rows.rows[1:], rows.lines[1:], strict=True)
            if any(c.strip() for c in r[at : at + 1])
        ]
        if held:
            called = f'under "{heading.strip()}"' if heading.strip() else "under no heading"
            yield f"{name}: what stands {called} was not read (line {held[0]}); its columns are {', '.join(places)}."


def _place(column: str, head: list[str]) -> int | None:
    for name in (column, *_SAME.get(column, ())):
        if word_key(name) in head:
            return head.index(word_key(name))
    return None


def _days(
    raw: _Raw, column: str, settings: Settings, as_of: date, any_day: Sequence[int] = ()
) -> np.ndarray:
    """The days of a column; rows whose day cannot be read or lies after `as_of` are put aside, save `any_day`."""
    first = settings.date_order == "day first" if settings.date_order else None
    found = read_dates(raw.cells[column], day_first=first, as_of=as_of)
    last = as_of.isoformat()
    for i, cell in enumerate(found.cells):
        if cell.refused:
            raw.put_aside(i, column, cell.why, "Write the day as 2026-09-30.")
        elif cell.value is not None and str(cell.value) > last and i not in any_day:
            raw.put_aside(
                i,
                column,
                f"lies after {as_of}, the day of the answer",
                "Put the day right, or wait.",
            )
    return np.array([c.value or "NaT" for c in found.cells], dtype="datetime64[ns]")


def _text(values: Sequence[str]) -> pd.Series:
    return pd.Series([v.strip() or None for v in values], dtype="str")


def read_events(path: Path, *, settings: Settings, as_of: date) -> SideFile:
    """events.csv: on, piece, event, amount, note, line; events that were undone are taken out.

    An undo takes back the entry that its note names (`undoes sold 450 of A-113 on 2026-09-30 (line 12)`): the one
    on that line, or where a spreadsheet has moved it, the last above that is worded so. An undo without such a
    note takes back the last event above it that still stands: that piece's, or any piece's when it names none.
    """
    raw = _read(path, EVENT_COLUMNS, ("on", "piece", "event"))
    kinds = [word_key(e).replace(" ", "_") for e in raw.cells["event"]]
    undos = [
        i for i, k in enumerate(kinds) if k == "undo"
    ]  # a slip taken back never was, whatever the day
    days = _days(raw, "on", settings, as_of, undos)
    money = read_money(raw.cells["amount"], currency=settings.currency)
    hours = read_hours(raw.cells["amount"])
    no_day = np.isnat(days).tolist()
    amounts = [np.nan] * len(kinds)
    for i, kind in enumerate(kinds):
        if kind not in EVENTS:
            raw.put_aside(
                i,
                "event",
                "is no event we know",
                "It was kept and changes nothing; a newer fleetlib may have written it. "
                f"Use one of: {', '.join(EVENTS)}.",
            )
        elif no_day[i] and i not in raw.bad:
            raw.put_aside(i, "on", "the day is missing", "Write the day as 2026-09-30.")
        elif not raw.cells["piece"][i].strip() and kind != "undo":
            raw.put_aside(i, "piece", "the piece is not named", "Write the piece's name.")
        cell = hours[i] if kind in ("hours", "touch_up") else money[i]
        if cell.refused:
            raw.put_aside(i, "amount", cell.why, "Write one amount.")
        elif cell.value is None and kind in NEED_AMOUNT:
            raw.put_aside(i, "amount", f"an event of {kind} needs an amount", "Write the amount.")
        elif cell.value is not None and float(cell.value) < 0:
            raw.put_aside(i, "amount", "is negative", "Write an amount of 0 or more.")
        elif cell.value is not None:
            amounts[i] = float(cell.value)
    good = [i for i in range(len(kinds)) if i not in raw.bad]
    events = [SAME_EVENT.get(kind, kind) for kind in kinds]
    entries = zip(events, amounts, raw.cells["piece"], days, strict=True)
    words = [worded(*one) for one in entries] if undos else []
    standing, notes = standing_entries(
        good, words, kinds=kinds, cells=raw.cells, lines=raw.lines, name=raw.name
    )
    frame = pd.DataFrame(
        {
            "on": days[standing],
            "piece": _text([" ".join(raw.cells["piece"][i].split()) for i in standing]),
            "event": pd.Series([events[i] for i in standing], dtype="str"),
            "amount": np.array([amounts[i] for i in standing], dtype=float),
            "note": _text([_worded(kinds[i], raw.cells["note"][i]) for i in standing]),
            "line": np.array([raw.lines[i] for i in standing], dtype="int64"),
        }
    )
    listed = frozenset(raw.lines[i] for i in standing if kinds[i] == "listed")
    return SideFile(frame, raw.frame(), [*raw.notes, *notes], listed)


def _worded(kind: str, note: str) -> str:
    """The note of an event, led by the word it was written with where another word stands for it."""
    if kind not in SAME_EVENT or kind == "listed":
        return note
    word = kind.replace("_", " ") if kind != "touch_up" else "touch-up"
    return f"{word}: {note.strip()}" if note.strip() else word


def read_supplies(path: Path, *, settings: Settings, as_of: date) -> SideFile:
    """supplies.csv: bought_on, item, cost, shared_by ("hours", "pieces" or "none"; blank is "hours"), line."""
    raw = _read(path, SUPPLY_COLUMNS, ("item", "cost"))
    days = _days(raw, "bought_on", settings, as_of)
    money = read_money(raw.cells["cost"], currency=settings.currency)
    cost = np.full(len(money), np.nan)
    shares = []
    for i, cell in enumerate(money):
        share = word_key(raw.cells["shared_by"][i]) or "hours"
        share = {"piece": "pieces", "hour": "hours", "nothing": "none", "": "hours"}.get(
            share, share
        )
        shares.append(share)
        if cell.refused:
            raw.put_aside(i, "cost", cell.why, "Write one amount.")
        elif cell.value is None:
            raw.put_aside(i, "cost", "the cost is missing", "Write what it cost.")
        elif float(cell.value) < 0:
            raw.put_aside(i, "cost", "is negative", "Write an amount of 0 or more.")
        elif share not in SHARES:
            raw.put_aside(i, "shared_by", "is no way to share", f"Use one of: {', '.join(SHARES)}.")
        else:
            cost[i] = float(cell.value)
    good = [i for i in range(len(money)) if i not in raw.bad]
    frame = pd.DataFrame(
        {
            "bought_on": days[good],
            "item": _text([raw.cells["item"][i] for i in good]),
            "cost": cost[good],
            "shared_by": pd.Series([shares[i] for i in good], dtype="str"),
            "line": np.array([raw.lines[i] for i in good], dtype="int64"),
        }
    )
    return SideFile(frame, raw.frame(), raw.notes)


def read_advice_log(path: Path, *, settings: Settings, as_of: date) -> SideFile:
    """advice_log.csv: the advice that was saved; money and days as numbers, `plan` as JSON text, line."""
    raw = _read(path, ADVICE_COLUMNS, ("date", "piece"))
    days = _days(raw, "date", settings, as_of)
    numbers: dict[str, np.ndarray] = {}
    for column in ADVICE_COLUMNS[2:-1]:
        values = np.full(len(days), np.nan)
        for i, text in enumerate(raw.cells[column]):
            try:
                values[i] = float(text) if text.strip() else np.nan
            except ValueError:
                raw.put_aside(i, column, "is not a number", "Leave the log as it was written.")
        numbers[column] = values
    for i in range(len(days)):
        if np.isnat(days[i]):
            raw.put_aside(i, "date", "the day is missing", "Leave the log as it was written.")
        elif not raw.cells["piece"][i].strip():
            raw.put_aside(i, "piece", "the piece is not named", "Leave the log as it was written.")
    good = [i for i in range(len(days)) if i not in raw.bad]
    frame = pd.DataFrame(
        {
            "date": days[good],
            "piece": _text([raw.cells["piece"][i] for i in good]),
            **{c: v[good] for c, v in numbers.items()},
            "plan": _text([raw.cells["plan"][i] for i in good]),
            "line": np.array([raw.lines[i] for i in good], dtype="int64"),
        }
    )
    return SideFile(frame, raw.frame(), raw.notes)


def empty(columns: Sequence[str], *, days: Sequence[str], numbers: Sequence[str]) -> pd.DataFrame:
    """A side file that is not there: no rows, the same columns and types."""
    kinds = {
        c: "datetime64[ns]" if c in days else "float64" if c in numbers else "str" for c in columns
    }
    return frame_of([], [*columns, "line"], kinds)


def no_events() -> pd.DataFrame:
    """Events where there is no events.csv."""
    return empty(EVENT_COLUMNS, days=("on",), numbers=("amount",))


def no_supplies() -> pd.DataFrame:
    """Supplies where there is no supplies.csv."""
    return empty(SUPPLY_COLUMNS, days=("bought_on",), numbers=("cost",))


def no_advice() -> pd.DataFrame:
    """The log where no advice was saved."""
    return empty(ADVICE_COLUMNS, days=("date",), numbers=ADVICE_COLUMNS[2:-1])
