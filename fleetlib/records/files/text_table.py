"""TextTable: the rows below a heading line as text, whatever kind of file they came from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from fleetlib.base.errors import BadRecords
from fleetlib.records.files.csv_records import MOST_COLUMNS
from fleetlib.records.files.headings import headings_named
from fleetlib.records.files.splitting import Broken
from fleetlib.records.files.text_columns import TextColumn


class RowTexts:
    """The text of each row as it stood in the file; `release` lets go of the file's text."""

    def __init__(self, text: str, starts: np.ndarray, ends: np.ndarray) -> None:
        self._text, self._starts, self._ends = text, starts, ends

    def __call__(self, row: int) -> str:
        return self._text[self._starts[row] : self._ends[row]].rstrip("\r\n")

    def release(self) -> None:
        """Let go of the text, when no more rows will be asked for."""
        self._text = ""


class Hidden(NamedTuple):
    """A cell that held characters that cannot be seen: its line, its place, how it was (made visible) and is now."""

    line: int
    place: int
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class SheetLines:
    """The sheets of one record by their names: the lines of each further one are counted on from the next `step`."""

    titles: tuple[str, ...]
    step: int

    def said(self, line: int) -> str:
        """A line as the person finds it: `5 of "2025"`, on the first sheet the line alone."""
        sheet, own = divmod(line, self.step)
        return f'{own} of "{self.titles[sheet]}"' if 0 < sheet < len(self.titles) else str(line)

    def in_words(self, text: str) -> str:
        """`text` with every line of the record said so; those of a file of the kit's own stay."""
        return _LINES.sub(
            lambda m: m[1] + re.sub(r"\d+", lambda n: self.said(int(n[0])), m[2]), text
        )


_LINES = re.compile(r"(?<!\.csv )\b(lines? )(\d+(?:(?:, (?:line )?| and )\d+)*)", re.IGNORECASE)


@dataclass(frozen=True, eq=False, slots=True)
class TextTable:
    """The rows below the heading line, as text.

    `columns` holds one TextColumn a heading, `lines` the line (row of a workbook) where each row begins;
    `text_of(i)` is a row as it stood. `above` are the lines above the headings, `hidden` the cells out of which
    characters that cannot be seen were taken; `others` the sheets of the workbook that look like a record too,
    and whether they share columns with this one;
    `sheets` says of a record on several sheets which line is where; `signs` how many numbers a workbook shows with
    which sign of money.
    """

    name: str
    headings: list[str]
    columns: list[TextColumn] = field(repr=False)
    lines: np.ndarray = field(repr=False)
    text_of: RowTexts = field(repr=False)
    broken: list[Broken]
    above: list[str]
    notes: list[str]
    epoch_1904: bool = False
    hidden: list[Hidden] = field(default_factory=list)
    others: Mapping[str, bool] = field(default_factory=dict)
    sheets: SheetLines | None = None
    signs: Mapping[str, int] = field(default_factory=dict)


def refuse_rows_above(above: list[list[str]], headings: list[str], name: str) -> None:
    """Refuse, with BadRecords, a line taken for the headings that has whole rows above it: the headings are damaged.

    A title or a date above the headings fills few cells; three lines that fill half as many as the headings are rows.
    """
    rows = [r for r in above if 2 * _filled(r) >= _filled(headings) > 2]
    if len(rows) >= _ROWS:
        raise BadRecords(no_headings(above, name))


_ROWS = 3


def _filled(cells: list[str]) -> int:
    return sum(1 for c in cells if c.strip())


def shown_above(rows: list[list[str]]) -> list[str]:
    """The lines above the headings, a line each; those that begin with # only explain the file and are left out."""
    said = [" ".join(c.strip() for c in r if c.strip()) for r in rows]
    return [s for s in said if s and not s.startswith("# ")]


def no_headings(rows: list[list[str]], name: str) -> str:
    """The sentence for a file without a recognisable heading line; it shows the line that comes nearest."""
    filled = [r for r in rows if any(c.strip() for c in r)]
    nearest = max(filled, key=lambda r: len(headings_named(r[:MOST_COLUMNS])), default=[])
    found = ", ".join(c.strip() for c in nearest if c.strip())[:160]
    said = f"The line that comes nearest is: {found}." if found else "It holds no cells."
    return (
        f"{name}: no line of headings was found that has a column for the kind of piece "
        f'(a heading such as "furniture_type" or "type"). {said}'
    )
