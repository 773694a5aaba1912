"""A line logged to a shop folder, and inbox.txt: lines typed on a phone, offered for logging one by one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path

import pandas as pd

from fleetlib.base.errors import BadQuestion, BadRecords, CannotSave, FleetError
from fleetlib.base.kit import is_kit_demo
from fleetlib.base.opening import content_of, is_there
from fleetlib.base.saving import locked
from fleetlib.records.asked.names_for_unnamed import made_before
from fleetlib.records.files.reading import decode
from fleetlib.records.folder import Records
from fleetlib.records.log.append import append_event, append_rows, standing_events
from fleetlib.records.log.cells import details, read_cells
from fleetlib.records.log.grammar import INBOX, Entry, Supply, read_line
from fleetlib.records.log.regroup import parts_of
from fleetlib.records.log.side_files import SUPPLY_COLUMNS
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.numbers import shown


@dataclass(frozen=True, slots=True)
class InboxLine:
    """One line of inbox.txt: its number, text, the entry it says, or why it says none."""

    line: int
    text: str
    entry: Entry | Supply | None
    why: str = ""


def understood(records: Records, line: str, *, today: date | None = None) -> Entry | Supply:
    """The entry that `line` says about this shop; nothing is written.

    Raises BadQuestion for a line with something missing, or about a piece that is not on record.
    """
    spaced = [str(n) for n in records.flips["piece"].dropna() if " " in str(n)]
    entry = read_line(
        line, today=today or records.as_of, currency=records.settings.currency, names=spaced
    )
    if isinstance(entry, Supply):
        return entry
    for column, why in misread(records, details(entry.note)).items():
        raise BadQuestion(f"{column} {why}. Write it otherwise, or leave it out.")
    names = {str(n).casefold(): str(n) for n in records.flips["piece"].dropna()}
    known = names.get(entry.piece.casefold())
    if entry.event == "bought":
        if known and (records.logged["piece"].str.casefold() == known.casefold()).any():
            raise BadQuestion(
                f"There is a piece called {known} already. Give this one another name."
            )
        return entry
    if entry.event in ("split", "joined"):
        told, _ = parts_of(entry.event, entry.note)
        old, new = ([entry.piece], told) if entry.event == "split" else (told, [entry.piece])
        taken = [n for n in new if n.casefold() in names]
        if taken:
            raise BadQuestion(f"There is a piece called {taken[0]} already. Choose another name.")
        missing = [n for n in old if n.casefold() not in names]
        if missing:
            raise BadQuestion(f'There is no piece called "{missing[0]}" on record.')
        return entry
    known = known or _called_before(records, entry.piece)
    if known is None:
        raise BadQuestion(
            f'There is no piece called "{entry.piece}" on record. Log it first: bought {entry.piece} for 80 '
            "furniture_type=dresser"
        )
    if entry.event in ("returned", "refund") and not _was_sold(records, known, entry.on):
        raise BadQuestion(
            f"{known} has no sale on record up to {entry.on}, so nothing can have come back. Log the sale first."
        )
    records.logged_as(known)  # refused where it cannot be told from another
    return Entry(entry.on, known, entry.event, entry.amount, entry.note)


def _called_before(records: Records, name: str) -> str | None:
    """What the piece is called now that could have been called `name` before."""
    before = made_before(records.flips, [name], {})
    return next((now for now, _ in before.values()), None)


def _was_sold(records: Records, name: str, day: date) -> bool:
    """True where a sale of the piece `name` is known on `day` or before."""
    key, on = name.casefold(), str(day)
    flips, log = records.flips, records.logged
    row = flips[flips["piece"].str.casefold() == key]
    typed = row["status"].eq("sold") & ~(row["sold_on"] > on)
    told = log["piece"].str.casefold().eq(key) & log["event"].eq("sold") & (log["on"] <= on)
    return bool(typed.any() or told.any())


def misread(records: Records, cells: Mapping[str, str]) -> dict[str, str]:
    """What is wrong with each of the `cells` (text by column) that could not be read; {} where all can."""
    _, wrong = read_cells({0: cells} if cells else {}, records.settings, records.as_of)
    return {c: f'is "{cells[c]}", which {why}' for c, why in wrong.get(0, {}).items()}


def next_name(records: Records) -> str:
    """A name for the next piece: the last number of the names in use, and one more; "" where none ends in one.

    Of several ways of numbering, the one of the last row that was read.
    """
    for name in reversed(records.flips["piece"].dropna().astype(str).tolist()):
        if found := re.fullmatch(r"(.*?)(\d{1,6})", name):
            head, width = found[1], len(found[2])
            same = re.compile(rf"{re.escape(head)}(\d{{1,6}})")
            used = [m[1] for m in map(same.fullmatch, records.flips["piece"].astype(str)) if m]
            return f"{head}{max(map(int, used)) + 1:0{width}d}"
    return ""


def log_entry(records: Records, entry: Entry | Supply) -> Path:
    """Append `entry` to the folder's events.csv, or supplies.csv. Raises CannotSave for the kit's own demo."""
    if is_kit_demo(records.folder):
        raise CannotSave(
            "Nothing is logged to the invented demo shop. Make a shop of your own with: fleetlib start FOLDER"
        )
    if isinstance(entry, Supply):
        row = {
            "bought_on": entry.on.isoformat(),
            "item": entry.item,
            "cost": shown(entry.cost),
            "shared_by": entry.shared_by,
        }
        return append_rows(records.folder / "supplies.csv", SUPPLY_COLUMNS, [row])
    with locked(records.folder):  # another window may have logged since this one looked
        if why_not := _logged_already(entry, standing_events(records.folder)):
            raise BadQuestion(why_not)
        return append_event(
            records.folder,
            on=entry.on,
            piece=records.logged_as(entry.piece),
            event=entry.event,
            amount=entry.amount,
            note=entry.note,
        )


def _logged_already(entry: Entry, standing: pd.DataFrame) -> str:
    """Why `entry` is not logged a second time: its piece was bought before, its line of inbox.txt was taken."""
    if entry.event == "bought":
        bought = standing.loc[standing["event"] == "bought", "piece"].astype(str)
        if (bought.str.casefold() == entry.piece.casefold()).any():
            return f"There is a piece called {entry.piece} already. Give this one another name."
    own = {word for word in entry.note.split("; ") if word.startswith(INBOX)}
    if own and any(own & set(str(note).split("; ")) for note in standing["note"].dropna()):
        return "This line of inbox.txt was logged in another window; nothing was written."
    return ""


def today_of(records: Records) -> date:
    """The day that a line without a day is about."""
    return records.settings.as_of or date.today()


def inbox(records: Records, *, after: int = 0) -> list[InboxLine]:
    """The lines of inbox.txt below line `after` that were not logged yet; [] without the file, which is never
    written to.

    A line that is a day and nothing else, such as `2026-09-28`, says when the lines below it were typed.
    """
    path = records.folder / "inbox.txt"
    if not is_there(path, refusal=BadRecords):
        return []
    done = {
        word
        for note in (*records.logged["note"].dropna(), *records.supplies["item"].dropna())
        for word in str(note).split("; ")
        if word.startswith(INBOX)
    }
    seen: dict[str, int] = {}
    found: list[InboxLine] = []
    typed_on: date | None = None
    for number, text in enumerate(_lines(path), 1):
        if not text.strip():
            continue
        if day := _only_a_day(records, text):
            typed_on = day
            continue
        key = " ".join(text.split())
        seen[key] = seen.get(key, 0) + 1
        if number <= after or _mark(key, seen[key]) in done:
            continue
        try:
            entry = understood(records, text, today=typed_on)
        except FleetError as refusal:
            found.append(InboxLine(number, text.strip(), None, str(refusal)))
        else:
            mark = _mark(key, seen[key])
            if isinstance(entry, Supply):
                noted: Entry | Supply = replace(entry, item=f"{entry.item}; {mark}")
            else:
                noted = replace(entry, note=f"{entry.note}; {mark}" if entry.note else mark)
            found.append(InboxLine(number, text.strip(), noted))
    return found


def _lines(path: Path) -> list[str]:
    return decode(content_of(path, most=_MOST_BYTES), name=path.name).text.splitlines()


_MOST_BYTES = 1_000_000  # of inbox.txt; a line a day for a lifetime is less


def _only_a_day(records: Records, text: str) -> date | None:
    """The day, where the line is a day and nothing else."""
    first = records.settings.date_order == "day first" if records.settings.date_order else None
    cell = read_dates([text], day_first=first, as_of=records.as_of).cells[0]
    return None if cell.refused or cell.value is None else date.fromisoformat(str(cell.value))


def _mark(text: str, nth: int) -> str:
    """What the note of a logged line ends with: the same line typed twice is two entries."""
    return f"{INBOX}{sha256(f'{nth} {text}'.encode()).hexdigest()[:8]}"
