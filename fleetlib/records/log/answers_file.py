"""answers.csv: what the person answered about their record, one row an answer (on, about, text, meaning).

The file is the kit's own, beside the record. A row may be edited or deleted like any other line of text; of two
rows on the same thing the later counts, and a blank meaning takes the earlier back. settings.toml wins over it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from types import MappingProxyType

from fleetlib.base.errors import BadRecords
from fleetlib.base.opening import is_there
from fleetlib.records.asked.answers import (
    ANSWER_COLUMNS,
    FILE,
    NO_ANSWERS,
    WHOLE,
    Answer,
    Answers,
    key_of,
    what_is_wrong,
)
from fleetlib.records.asked.question import Chosen
from fleetlib.records.files.reading import read_rows
from fleetlib.records.files.safe_csv import without_guard
from fleetlib.records.log.append import append_rows
from fleetlib.records.log.format_number import newer
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.vocabulary import word_key


def read_answers(folder: Path) -> Answers:
    """The answers in the folder's answers.csv; none where there is no such file. A row that is no answer is noted."""
    path = folder / FILE
    if not is_there(path, refusal=BadRecords) or path.stat().st_size == 0:
        return NO_ANSWERS
    found = read_rows(path, grows=True)
    if not found.rows:
        return Answers(notes=tuple(found.notes))
    head = [word_key(plain(c)) for c in found.rows[0]]
    absent = [c for c in ANSWER_COLUMNS[1:] if c not in head]
    if absent:
        said = f"{FILE}: there is no column {' or '.join(absent)}, so no answer in it counts. Its first line must be: "
        return Answers(notes=(said + ",".join(ANSWER_COLUMNS),))
    later = newer(FILE, found.rows[0])
    notes = [*found.notes, *([later] if later else [])]
    notes += [f"{FILE} line {b.line}: {b.reason}. {b.remedy}" for b in found.broken]
    rows: dict[tuple[str, str], Answer] = {}
    for cells, line in zip(found.rows[1:], found.lines[1:], strict=True):
        by = dict(zip(head, (without_guard(c).strip() for c in cells), strict=False))
        row = Answer(line=line, **{c: by.get(c, "") for c in ANSWER_COLUMNS})
        wrong = what_is_wrong(row)
        if wrong:
            notes.append(f"{FILE} line {line}: {wrong}")
            continue
        about = word_key(row.about)
        key = (about, "" if about in WHOLE else key_of(row.text))
        rows.pop(key, None)
        if row.meaning:
            rows[key] = row
    return Answers(MappingProxyType(rows), tuple(notes))


def keep_answers(folder: Path, chosen: Sequence[Chosen], *, on: date) -> Path:
    """Append what was chosen to the folder's answers.csv, all of it or none; returns the file.

    Raises as `records.log.append.append_rows`.
    """
    rows = [
        {
            "on": on.isoformat(),
            "about": c.question.about,
            "text": c.question.filed or c.question.text,
            "meaning": c.meaning,
        }
        for c in chosen
    ]
    return append_rows(folder / FILE, ANSWER_COLUMNS, rows)
