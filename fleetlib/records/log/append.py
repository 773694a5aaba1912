"""Appending to events.csv and advice_log.csv: whole or not at all, never rewritten; an undo is an event."""

from __future__ import annotations

import csv
import io
import json
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from fleetlib.base.errors import BadQuestion, CannotSave, MissingRecords
from fleetlib.base.saving import write_whole
from fleetlib.base.settings import read_settings
from fleetlib.records.files.reading import decode
from fleetlib.records.files.safe_csv import guarded
from fleetlib.records.log.side_files import (
    ADVICE_COLUMNS,
    EVENT_COLUMNS,
    EVENTS,
    NEED_AMOUNT,
    read_events,
)
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.vocabulary import word_key


def append_event(
    folder: str | Path,
    *,
    on: date,
    piece: str,
    event: str,
    amount: float | None = None,
    note: str = "",
) -> Path:
    """Append one event to the folder's events.csv; returns the file.

    Raises BadQuestion for an event that cannot be, CannotSave where the file cannot take it.
    """
    kind = word_key(event).replace(" ", "_")
    if kind not in EVENTS:
        raise BadQuestion(f'"{event}" is no event. Use one of: {", ".join(EVENTS)}.')
    name = " ".join(str(piece).split())
    if not name and kind != "undo":
        raise BadQuestion(f"An event of {kind} needs the name of a piece.")
    if amount is None and (kind in NEED_AMOUNT or kind == "sold"):
        raise BadQuestion(f"An event of {kind} needs an amount: {EVENTS[kind]}.")
    if amount is not None and not (math.isfinite(amount) and amount >= 0):
        raise BadQuestion(f"The amount of {kind} is {amount}; it must be 0 or more.")
    if kind in ("sold", "asking_price") and amount == 0:
        raise BadQuestion(f"The amount of {kind} is 0; a piece given away is withdrawn.")
    row = {
        "on": _iso(on),
        "piece": name,
        "event": kind,
        "amount": shown(None if amount is None else float(amount)),
        "note": str(note).strip(),
    }
    return _append(Path(folder) / "events.csv", EVENT_COLUMNS, row)


def undo_last(folder: str | Path, *, on: date | None = None) -> str:
    """Take back the last event that still stands, by appending an undo; returns what was undone, in words.

    Raises BadQuestion when no event is left to undo.
    """
    path = Path(folder) / "events.csv"
    if not path.is_file():
        raise BadQuestion("There is nothing to undo: no events are recorded yet.")
    kept = Path(folder) / "settings.toml"
    settings = read_settings(kept if kept.is_file() else None)
    latest = date(max(on or date.today(), date.today()).year + 1, 12, 31)
    events = read_events(path, settings=settings, as_of=latest).rows
    if not len(events):
        raise BadQuestion("There is nothing left to undo.")
    last = events.iloc[int(events["line"].to_numpy().argmax())]
    amount = "" if pd.isna(last["amount"]) else f" {shown(float(last['amount']))}"
    said = f"{last['event']}{amount} of {last['piece']} on {last['on'].date()}"
    append_event(
        folder, on=on or date.today(), piece=str(last["piece"]), event="undo", note=f"undoes {said}"
    )
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
    return _append(Path(folder) / "advice_log.csv", ADVICE_COLUMNS, row)


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


def _append(path: Path, columns: Sequence[str], row: Mapping[str, str]) -> Path:
    """One row at the end of `path`, under the headings and separator the file has; a new file gets ours."""
    if not path.parent.is_dir():
        raise MissingRecords(f"There is no folder at {path.parent}.")
    if not path.exists() or path.stat().st_size == 0:
        head = _line(list(columns), ",")
        return write_whole(path, head + _line([row[c] for c in columns], ","))
    headings, mark, newline = _existing(path, columns)
    cells = [row.get(h, "") for h in headings]
    data = (newline + _line(cells, mark)).encode("utf-8")
    before = path.stat().st_size
    try:
        with path.open("ab") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as problem:
        _cut_back(path, before)
        raise CannotSave(f"{path} cannot be written: {problem.strerror}.") from problem
    return path


def _cut_back(path: Path, size: int) -> None:
    try:
        os.truncate(path, size)
    except OSError as problem:
        raise CannotSave(f"{path} was written only in part; delete its last line.") from problem


def _line(cells: list[str], mark: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator="\n").writerow([_guard(c) for c in cells])
    return out.getvalue()


def _guard(cell: str) -> str:
    try:
        float(cell)
    except ValueError:
        return guarded(cell)
    return cell


def _existing(path: Path, columns: Sequence[str]) -> tuple[list[str], str, str]:
    """The headings (by our names), separator and a line break where the last line lacks one."""
    try:
        data = path.read_bytes()
    except OSError as problem:
        raise CannotSave(f"{path} cannot be read: {problem.strerror}.") from problem
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:100]:
        raise CannotSave(
            f'{path.name} was saved as UTF-16. Save it again as "CSV UTF-8", then it can grow.'
        )
    text, _ = decode(data, name=path.name)
    head = next((ln for ln in text.splitlines() if ln.strip()), "")
    mark = max((",", ";", "\t", "|"), key=head.count)
    headings = [word_key(h.strip('"')).replace(" ", "_") for h in head.split(mark)]
    absent = [c for c in columns if c not in headings]
    if absent:
        raise CannotSave(
            f"{path.name} has no column {', '.join(absent)}, so nothing can be added. Its first line must be: "
            f"{','.join(columns)}"
        )
    return headings, mark, "" if data.endswith((b"\n", b"\r")) else "\n"
