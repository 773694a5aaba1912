"""Appending to the kit's own files: row after row under one lock, whole or not at all; an undo is an event."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from fleetlib.base.errors import BadQuestion, CannotSave, MissingRecords
from fleetlib.base.opening import content_of, is_there
from fleetlib.base.saving import add_bytes, locked, write_whole
from fleetlib.base.settings import settings_in
from fleetlib.base.unseen import named
from fleetlib.records.files.reading import (
    MOST_BYTES,
    decode,
    first_line,
    in_our_form,
    torn,
)
from fleetlib.records.files.safe_csv import csv_cells
from fleetlib.records.files.splitting import BROKE_OFF
from fleetlib.records.log.format_number import HEADING, refuse_newer
from fleetlib.records.log.side_files import (
    ADVICE_COLUMNS,
    EVENT_COLUMNS,
    EVENTS,
    NEED_AMOUNT,
    no_events,
    read_events,
)
from fleetlib.records.log.undo import entry_in_words, undoing
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.vocabulary import word_key


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One event to be logged: the day, the piece, the event's word, an amount and a note where it has them."""

    on: date
    piece: str
    event: str
    amount: float | None = None
    note: str = ""


def append_event(  # noqa: PLR0913 - the cells of one row
    folder: str | Path,
    *,
    on: date,
    piece: str,
    event: str,
    amount: float | None = None,
    note: str = "",
    as_of: date | None = None,
) -> Path:
    """Append one event to the folder's events.csv; returns the file. As `append_events`."""
    return append_events(
        folder, [Entry(on=on, piece=piece, event=event, amount=amount, note=note)], as_of=as_of
    )


def append_events(
    folder: str | Path, entries: Sequence[Entry], *, as_of: date | None = None
) -> Path:
    """Append the entries to the folder's events.csv by one write: all of them or none; returns the file.

    `as_of` (None: the settings', then today) is the day no entry may lie after, since it would not be counted.
    Raises BadQuestion for an event that cannot be, CannotSave where the file cannot take it.
    """
    latest = as_of or settings_in(folder).as_of or date.today()
    rows = [_row(entry, latest) for entry in entries]
    return append_rows(Path(folder) / "events.csv", EVENT_COLUMNS, rows)


def _row(entry: Entry, latest: date) -> dict[str, str]:
    """The cells of an entry. Raises BadQuestion for one that cannot be."""
    kind = word_key(entry.event).replace(" ", "_")
    amount = entry.amount
    if kind not in EVENTS:
        raise BadQuestion(f'"{entry.event}" is no event. Use one of: {", ".join(EVENTS)}.')
    name = " ".join(str(entry.piece).split())
    if not name and kind != "undo":
        raise BadQuestion(f"An event of {kind} needs the name of a piece.")
    if amount is None and (kind in NEED_AMOUNT or kind == "sold"):
        raise BadQuestion(f"An event of {kind} needs an amount: {EVENTS[kind]}.")
    if amount is not None and not (math.isfinite(amount) and amount >= 0):
        raise BadQuestion(f"The amount of {kind} is {amount}; it must be 0 or more.")
    if kind in ("sold", "asking_price") and amount == 0:
        raise BadQuestion(f"The amount of {kind} is 0; a piece given away is withdrawn.")
    day = _iso(entry.on)
    if day > latest.isoformat() and kind != "undo":
        raise BadQuestion(
            f"{day} lies after {latest}, the day this shop is worked out for, so the entry would not count. "
            "Nothing was logged; put the day right."
        )
    return {
        "on": day,
        "piece": name,
        "event": kind,
        "amount": shown(None if amount is None else float(amount)),
        "note": str(entry.note).strip(),
    }


def standing_events(folder: str | Path) -> pd.DataFrame:
    """The events of the folder that stand, as they are logged at this moment; who adds to them holds the lock.

    Days up to a year ahead are in: what was logged for a day to come is there all the same.
    """
    path = Path(folder) / "events.csv"
    if not is_there(path):
        return no_events()
    ahead = date(date.today().year + 1, 12, 31)
    return read_events(path, settings=settings_in(folder), as_of=ahead).rows


def undo_last(
    folder: str | Path, *, on: date | None = None, entry: Mapping[str, Any] | None = None
) -> str:
    """Take back the last event that still stands, by an undo that names it; returns what was undone, in words.

    With `entry` (a row of the read events: on, piece, event, amount, line) that one is taken back, and refused
    where it does not stand any more. Raises BadQuestion when no event is left to undo.
    """
    path = Path(folder) / "events.csv"
    with locked(_own_folder(path)):
        if not is_there(path):
            raise BadQuestion("There is nothing to undo: no events are recorded yet.")
        events = standing_events(folder)
        if not len(events):
            raise BadQuestion("There is nothing left to undo.")
        line = int(events["line"].max() if entry is None else entry["line"])
        there = events[events["line"] == line]
        said = entry_in_words(there.iloc[0]) if len(there) else ""
        if entry is not None and entry_in_words(entry).casefold() != said.casefold():
            raise BadQuestion(
                f"{entry_in_words(entry)} was taken back already; nothing was logged."
            )
        row = {
            "on": _iso(on or date.today()),
            "piece": str(there.iloc[0]["piece"]),
            "event": "undo",
            "amount": "",
            "note": undoing(there.iloc[0]),
        }
        append_rows(path, EVENT_COLUMNS, [row])
    return said


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedAdvice:
    """One piece of advice as it is logged: the estimate, the owner's own price, and the plan.

    `plan` is a table of dated steps: mappings such as {"from_date": ..., "asking_price": ..., ...}.
    """

    on: date
    piece: str
    low: float | None = None
    mid: float | None = None
    high: float | None = None
    level: float | None = None
    days_listed: float | None = None
    gut_price: float | None = None
    asking_price: float | None = None
    floor: float | None = None
    expected_net: float | None = None
    expected_days: float | None = None
    plan: Sequence[Mapping[str, Any]] = field(default=())


def append_advice(folder: str | Path, advice: SavedAdvice) -> Path:
    """Append saved advice to the folder's advice_log.csv; returns the file. The plan is one cell of JSON."""
    name = " ".join(advice.piece.split())
    if not name:
        raise BadQuestion("Saved advice needs the name of a piece.")
    row = {"date": _iso(advice.on), "piece": name}
    for column in ADVICE_COLUMNS[2:-1]:
        value = getattr(advice, column)
        row[column] = shown(None if value is None else round(float(value), 4))
    steps = [{str(k): _json(v) for k, v in step.items()} for step in advice.plan]
    row["plan"] = json.dumps(steps, separators=(",", ":"), ensure_ascii=False)
    return append_rows(Path(folder) / "advice_log.csv", ADVICE_COLUMNS, [row])


def _json(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()[:10]
    if isinstance(value, str) or value is None:
        return value
    number = float(value)
    if not math.isfinite(number):
        return None
    return int(number) if number.is_integer() else round(number, 4)


def _iso(on: date) -> str:
    if not isinstance(on, date):
        raise BadQuestion(f"The day is {on!r}; give a date such as date(2026, 9, 30).")
    return on.isoformat()[:10]


def append_rows(path: Path, columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> Path:
    """The rows (text by our column) at the end of one of the kit's own csv files, by one write; returns the file.

    They go under the headings and the separator the file has, wherever its columns were moved to; a new file gets
    `columns` in our form. A file that a spreadsheet saved in another encoding or with other line ends is first
    written anew, whole, in UTF-8. A last line that was never finished stays known as broken. Whoever looks before
    appending holds `locked(path.parent)` round both.

    Raises MissingRecords without the folder, BadQuestion for characters that cannot be seen, CannotSave where
    the file cannot take it; then nothing was written.
    """
    for row in rows:
        for column, text in row.items():
            if named(text):
                raise BadQuestion(
                    f"The {column} holds a character that cannot be seen ({named(text)}). Type it again; nothing was "
                    "logged."
                )
    with locked(_own_folder(path)):
        if not is_there(path) or not _bytes_of(path).strip(b"\xef\xbb\xbf\r\n\t "):
            lines = [csv_cells([*columns, HEADING])]
            lines += [csv_cells([*(row[c] for c in columns), ""]) for row in rows]
            return write_whole(path, "".join(lines), replace=path.exists())
        headings, mark, finish = _existing(path, columns)
        lines = [csv_cells([row.get(h, "") for h in headings], mark=mark) for row in rows]
        add_bytes(path, (finish + "".join(lines)).encode("utf-8"))
    return path


def _own_folder(path: Path) -> Path:
    if not path.parent.is_dir():
        raise MissingRecords(f"There is no folder at {path.parent}.")
    return path.parent


def _bytes_of(path: Path) -> bytes:
    return content_of(path, most=MOST_BYTES, refusal=CannotSave)


def _existing(path: Path, columns: Sequence[str]) -> tuple[list[str], str, str]:
    """The headings (by our names), the separator, and what the last line lacks. The file is put into our
    encoding and line ends first, where a spreadsheet has left it in others."""
    data = _bytes_of(path)
    text = decode(data, name=path.name).text
    head, mark = first_line(text)
    refuse_newer(path, head)
    headings = [_our_name(h, columns) for h in head]
    absent = [c for c in columns if c not in headings]
    if absent:
        raise CannotSave(
            f"{path.name} has no column {', '.join(absent)}, so nothing can be added. Its first line must be: "
            f"{','.join(columns)}"
        )
    if not in_our_form(data):
        write_whole(path, text)
    if text.endswith("\n"):
        return headings, mark, ""
    missing = torn(text, mark, len(headings))
    if missing is None:
        return headings, mark, "\n"
    open_quote, cells = missing
    return headings, mark, ('"' if open_quote else "") + mark * (cells + 1) + BROKE_OFF + "\n"


def _our_name(heading: str, columns: Sequence[str]) -> str:
    name = word_key(heading).replace(" ", "_")
    return name if name in columns else heading
