"""What reading a shop folder found: what was read, changed and set aside, each with its line and remedy."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.base.errors import CannotSave
from fleetlib.base.kit import is_kit_demo
from fleetlib.base.measured import length
from fleetlib.base.noted import coded
from fleetlib.base.said import pieces_said
from fleetlib.base.saving import write_own
from fleetlib.records.asked.answers import cell_text
from fleetlib.records.asked.cells import RIGHT
from fleetlib.records.asked.question import Question, at_once, code, column_in_words
from fleetlib.records.cleaning.changes import is_left_out, left_out
from fleetlib.records.cleaning.clean import write_flips
from fleetlib.records.cleaning.columns import WHERE_IT_STANDS
from fleetlib.records.files.safe_csv import to_csv
from fleetlib.records.folder import Records, other_record
from fleetlib.records.parsing.parsed import frame_of
from fleetlib.shown.sheet import Notes, Paste, Points, Said, Sheet, Shown, Table

_MOST_ROWS = 40
ASKED_FIRST = "What fleetlib needs to know (what costs the answers most comes first)"


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class CheckReport(Shown):
    """The check of one folder. `to_answer`: what the person is asked, the costliest first, and `command` the line
    that appends an answer; `set_aside`: rows that are out; `left_out`: cells that became missing;
    `asked`: values kept that look odd; `reworded`: how many cells were read otherwise than typed, by column
    and reason, with an example; `headings`: what the person's own headings were read as."""

    said: str
    set_aside: pd.DataFrame = field(repr=False)
    left_out: pd.DataFrame = field(repr=False)
    asked: pd.DataFrame = field(repr=False)
    reworded: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...]
    to_answer: tuple[Question, ...] = field(repr=False, default=())
    command: str = "fleetlib check"
    headings: str = ""

    @property
    def table(self) -> pd.DataFrame:
        """The rows set aside."""
        return self.set_aside

    def sheet(self) -> Sheet:
        """What was read, what is asked, what was set aside, left out, kept in doubt or read otherwise, and notes."""
        asked = Points(
            tuple(
                (q.said, (*offers(number, q), f"Until then {q.meanwhile}."))
                for number, q in enumerate(self.to_answer[: at_once(self.to_answer)])
            ),
            ASKED_FIRST,
            numbered=True,
        )
        tables = (
            ("Rows set aside (they count for nothing until mended)", self.set_aside),
            ("Cells left out (the row stays)", self.left_out),
            ("Kept, but is it right?", self.asked),
            ("Read otherwise than typed", self.reworded),
        )
        return Sheet(
            "Your records",
            (
                Said((*self.said.split("\n"), *filter(None, [self.headings]))),
                asked,
                *self._how(),
                *(_first_rows(title, frame) for title, frame in tables),
                Notes(self.notes, "Notes"),
            ),
        )

    def _how(self) -> tuple[Said | Paste, ...]:
        if not self.to_answer:
            return ()
        first, more = self.to_answer[0], len(self.to_answer) - at_once(self.to_answer)
        later = (
            f"... and {more} more, of less weight, once these are answered. " if more > 0 else ""
        )
        codes = "1a" if len(self.to_answer) == 1 else "1a 2a"
        own = ", or a word of your own as 1=WORD" if first.free else ""
        return (
            Said((f"{later}To answer, several at once{own}:",)),
            Paste(f'{self.command} --answer "{codes}"'),
        )


def _first_rows(title: str, frame: pd.DataFrame) -> Table:
    more = f" (the first {_MOST_ROWS} of {len(frame)}; --save writes them all)"
    return Table(frame.head(_MOST_ROWS), title + (more if len(frame) > _MOST_ROWS else ""))


def check_report(records: Records) -> CheckReport:
    """What reading `records` found, as one page."""
    changes, aside = records.changes, records.set_aside
    asked = set(coded(records.notes, "asked"))
    out = is_left_out(changes)
    left = left_out(changes[out])[["line", "column", "was", "why"]].rename(columns={"was": "typed"})
    return CheckReport(
        said=_said(records),
        set_aside=_rows_aside(records, aside),
        left_out=_by_sheet(left.reset_index(drop=True), records),
        asked=_by_sheet(_not_in_the_list(records), records),
        reworded=_reworded(_in_own_unit(changes[~out], records.settings.length_unit)),
        notes=tuple(n for n in records.notes if n not in asked),
        to_answer=records.to_answer,
        headings=_as_read(records.headings) if records.rows_in else other_record(records.folder),
        command="fleetlib check"
        if is_kit_demo(records.folder)
        else f"fleetlib check {_quoted(str(records.given or records.folder))}",
    )


def _not_in_the_list(records: Records) -> pd.DataFrame:
    """What looks odd and is not asked about among the questions to answer."""
    listed = {q.text for q in records.to_answer if q.options[0].meaning == RIGHT}
    rows = records.questions
    cells = zip(*(rows[c].tolist() for c in ("piece", "column", "value")), strict=True)
    left = np.array([cell_text(*cell) not in listed for cell in cells], dtype=bool)
    return rows.loc[left, ["line", "column", "value", "question"]]


def offers(number: int, question: Question) -> list[str]:
    """The answers of the question with this number (from 0), each behind its code."""
    said = [f"{code(number, i)}  {o.shown}" for i, o in enumerate(question.options)]
    return [*said, f"{number + 1}=...  {question.free}"] if question.free else said


def _quoted(folder: str) -> str:
    return f'"{folder}"' if " " in folder else folder


def _as_read(headings: Sequence[tuple[str, str]]) -> str:
    """Which heading of the person's was read as what, in one sentence."""
    read = ", ".join(f'"{typed}" as {column_in_words(column)}' for typed, column in headings)
    return f"Your headings were read so: {read}." if read else ""


def _said(records: Records) -> str:
    kept = records.rows_in - len(records.set_aside)
    more = len(records.flips) - kept
    beside = f" With what events.csv tells, {pieces_said(len(records.flips))}." if more else ""
    counts = records.flips["status"].value_counts()
    by = ", ".join(
        f"{counts[s]} {s}" for s in ("sold", "listed", "in work", "withdrawn") if s in counts
    )
    return (
        f"{records.name}: {records.rows_in} rows read, {kept} kept, {len(records.set_aside)} set aside.{beside}\n"
        f"As of {records.as_of}: {by or 'no pieces yet'}; {len(records.events)} events, "
        f"{len(records.supplies)} supplies."
    )


def _by_sheet(table: pd.DataFrame, records: Records) -> pd.DataFrame:
    """The table with its lines as the person finds them, where the record is on several sheets."""
    sheets = records.sheets
    return table if sheets is None else table.assign(line=table["line"].map(sheets.said))


def _rows_aside(records: Records, aside: pd.DataFrame) -> pd.DataFrame:
    """One line a reason: where, why, what to do; rows of the same fault share a line."""
    other = records.other_set_aside
    lines = [f"line {n}" for n in _by_sheet(aside, records)["line"].tolist()]
    lines += [f"{f} line {n}" for f, n in zip(other["file"], other["line"], strict=True)]
    whys, remedies = ([*aside[c].tolist(), *other[c].tolist()] for c in ("reason", "remedy"))
    found: dict[tuple[str, str], list[str]] = {}
    for why, remedy, line in zip(whys, remedies, lines, strict=True):
        found.setdefault((why, remedy), []).append(line)
    rows = [(_places(places), *judged) for judged, places in found.items()]
    return frame_of(rows, ["where", "why", "what to do"])


def _places(places: Sequence[str]) -> str:
    """`line 3, line 9 and 12 more`."""
    more = f" and {len(places) - _MOST_PLACES} more" if len(places) > _MOST_PLACES else ""
    return ", ".join(places[:_MOST_PLACES]) + more


_MOST_PLACES = 4


def _in_own_unit(changes: pd.DataFrame, unit: str) -> pd.DataFrame:
    """The changes with sizes as a shop that measures in `unit` says them."""
    if unit != "cm":
        return changes
    changes = changes[~changes["why"].eq("cm turned into inches")]  # it is shown as it was typed
    sized = changes["why"].str.contains(" inches", regex=False)
    now = changes["now"].where(~sized, changes["now"].map(_in_cm))
    why = changes["why"].str.replace(r"\b(in|into) inches", r"\1 cm", regex=True)
    return changes.assign(now=now, why=why)


def _in_cm(inches: str) -> str:
    return re.sub(r"\d+(?:\.\d+)?", lambda n: length(float(n[0]), "cm"), inches)


def _reworded(changes: pd.DataFrame) -> pd.DataFrame:
    """One line a kind of reading: in which columns, how many cells, and the first of them."""
    if not len(changes):
        return pd.DataFrame(columns=["how", "cells", "columns", "for example"])
    whys, names, was, now = (changes[c].tolist() for c in ("why", "column", "was", "now"))
    said = {why: _how(why) for why in dict.fromkeys(whys)}
    hows = [said[why] for why in whys]
    cells = Counter(hows)
    columns: dict[str, list[str]] = {how: [] for how in cells}
    for how, column in dict.fromkeys(zip(hows, names, strict=True)):
        columns[how].append(column)
    first = dict(zip(reversed(hows), reversed(range(len(hows))), strict=True))
    examples = {how: {_example(was[i], now[i]): None} for how, i in first.items()}
    for i, how in enumerate(hows):
        if how in _EACH_SHOWN and len(examples[how]) < _MOST_WORDS:
            examples[how][_example(was[i], now[i])] = None
    order = sorted(cells, key=lambda how: (-cells[how], how))
    made = [(h, cells[h], ", ".join(columns[h]), "; ".join(examples[h])) for h in order]
    return frame_of(made, ["how", "cells", "columns", "for example"], {"cells": "int64"})


def _how(why: str) -> str:
    """Why a cell was read so, without what differs from cell to cell."""
    how = re.sub("^(another word) for .*", r"\1", why)
    how = re.sub(r"^\d+ (logged in events.csv)", r"\1", how)
    return re.sub("^lot .*, bought for .*", "the price of a lot, split", how)


def _example(was: str, now: str) -> str:
    shown = re.sub(r"\s+", " ", was)
    return f'"{shown}" is {now or "taken out"}' if was else f"blank is {now}"


_EACH_SHOWN = ("another word", WHERE_IT_STANDS)  # each may be one too many
_MOST_WORDS = 12


def save_check(records: Records, folder: str | Path) -> list[Path]:
    """Write what was read to `folder` as CSV: pieces.csv, set_aside.csv, changes.csv, questions.csv.

    pieces.csv reads back as the same pieces; every table is safe to open in a spreadsheet. Returns the
    files written. Raises CannotSave, before anything is written, for the shop's own folder and where a file of
    that name is there which this did not write, or which was changed since; and where one cannot be written.
    """
    place = Path(folder)
    if place.resolve() == records.folder.resolve():
        raise CannotSave(
            f"{place} is the shop's own folder. Name another, so that the two do not mix."
        )
    files = {
        "pieces.csv": write_flips(records.flips),
        "set_aside.csv": to_csv(records.set_aside),
        "changes.csv": to_csv(records.changes),
        "questions.csv": to_csv(records.questions),
    }
    if len(records.other_set_aside):
        files["other_set_aside.csv"] = to_csv(records.other_set_aside)
    return write_own(place, files)
