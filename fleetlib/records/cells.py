"""The cells of every column, read by the column's kind; each different text is read once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.records import amounts
from fleetlib.records.amounts import Cell
from fleetlib.records.columns import COLUMN, SIZES, Column
from fleetlib.records.dates import read_dates
from fleetlib.records.headings import SIZE, Heading, Headings
from fleetlib.records.reading import TextTable
from fleetlib.records.safe_csv import without_guard
from fleetlib.records.words import read_types, read_words
from fleetlib.settings import Settings


@dataclass(frozen=True, eq=False, slots=True)
class Cleaned:
    """The cleaned values of each column, the changes, notes, and the texts of cells that were refused.

    `refused` maps a column to the rows (positions) whose cell could not be read, with the reason.
    """

    values: dict[str, np.ndarray]
    changes: pd.DataFrame
    notes: list[str]
    refused: dict[str, dict[int, str]]
    raw: dict[str, list[str]] = field(default_factory=dict)


@dataclass(eq=False, slots=True)
class _Changes:
    """Gathers changes column by column, whole arrays at a time."""

    lines: np.ndarray
    parts: list[pd.DataFrame] = field(default_factory=list)

    def add(
        self, column: str, rows: np.ndarray, was: np.ndarray, now: np.ndarray, why: np.ndarray
    ) -> None:
        if len(rows):
            self.parts.append(
                pd.DataFrame(
                    {
                        "line": self.lines[rows],
                        "column": pd.Series([column] * len(rows), dtype="str"),
                        "was": pd.Series(was, dtype="str"),
                        "now": pd.Series(now, dtype="str"),
                        "why": pd.Series(why, dtype="str"),
                    }
                )
            )

    def frame(self) -> pd.DataFrame:
        """All changes by line."""
        if not self.parts:
            empty = {c: pd.Series([], dtype="str") for c in ("column", "was", "now", "why")}
            return pd.DataFrame({"line": pd.Series([], dtype="int64"), **empty})
        return pd.concat(self.parts).sort_values("line", kind="stable").reset_index(drop=True)


def clean_columns(
    table: TextTable,
    headings: Headings,
    *,
    day_first: bool | None,
    settings: Settings,
    as_of: date,
) -> Cleaned:
    """Read every column of `table`; rows are not judged here."""
    reader = _Reader(table, headings, day_first, settings, as_of)
    for name, (place, heading) in headings.known.items():
        if name == SIZE:
            continue
        reader.column(COLUMN[name], table.columns[place], heading)
    if SIZE in headings.known:
        reader.size(*headings.known[SIZE])
    for name, place in headings.extras.items():
        reader.extra(name, table.columns[place])
    reader.fill()
    return Cleaned(reader.values, reader.changes.frame(), reader.notes, reader.refused, reader.raw)


class _Reader:
    """Goes through the columns of one table, gathering values, changes, notes and refusals."""

    def __init__(
        self,
        table: TextTable,
        headings: Headings,
        day_first: bool | None,
        settings: Settings,
        as_of: date,
    ) -> None:
        self.table, self.headings, self.settings, self.as_of = table, headings, settings, as_of
        self.day_first = day_first
        self.lines = np.asarray(table.lines, dtype=np.int64)
        self.values: dict[str, np.ndarray] = {}
        self.changes = _Changes(self.lines)
        self.notes: list[str] = []
        self.refused: dict[str, dict[int, str]] = {}
        self.raw: dict[str, list[str]] = {}

    def column(self, column: Column, texts: list[str], heading: Heading) -> None:
        """Read one canonical column."""
        self.raw[column.name] = texts
        codes, unique = _factorize(texts)
        cells = self._cells(column, unique, heading, codes)
        if column.is_number:
            cells = [_in_bounds(c, column) for c in cells]
        elif column.kind == "date":
            cells = [self._not_after(c) for c in cells]
        self._store(column, codes, unique, cells)

    def _cells(
        self, column: Column, unique: list[str], heading: Heading, codes: np.ndarray
    ) -> list[Cell]:
        match column.kind:
            case "money":
                if heading.currency and heading.currency != self.settings.currency:
                    self.notes.append(
                        f"The heading of {column.name} says {heading.currency}, the settings say "
                        f"{self.settings.currency}; set currency in settings.toml if that is wrong."
                    )
                return amounts.read_money(unique, currency=self.settings.currency)
            case "size":
                return amounts.read_sizes(unique, unit=heading.unit or self.settings.length_unit)
            case "hours":
                return amounts.read_hours(unique, unit=heading.unit or "hours")
            case "count":
                return amounts.read_counts(unique)
            case "year":
                return amounts.read_years(unique)
            case "grade":
                return amounts.read_grades(unique)
            case "date":
                return self._dates(column, unique, codes)
            case "word" if column.name == "furniture_type":
                return self._types(unique, codes)
            case "word":
                return self._words(column, unique, codes)
            case "name":
                return [_name(t) for t in unique]
            case _:
                return [Cell(t.strip() or None) for t in map(without_guard, unique)]

    def _dates(self, column: Column, unique: list[str], codes: np.ndarray) -> list[Cell]:
        found = read_dates(
            unique,
            day_first=self.day_first,
            as_of=self.as_of,
            epoch_1904=self.table.epoch_1904,
        )
        if found.asked:
            where = self._where(found.asked, unique, codes)
            self.notes.append(
                f"{column.name}: nothing settles whether the day or the month comes first ({where}), so these were "
                f'left out. Say date_order = "day first" or "month first" in settings.toml, or day_first=True or False.'
            )
        if found.contrary:
            where = self._where(found.contrary, unique, codes)
            order = "day first" if self.day_first else "month first"
            self.notes.append(
                f"{column.name}: read {order} as you asked for, which these cannot be ({where}); they were left out."
            )
        return found.cells

    def _where(self, texts: Sequence[str], unique: list[str], codes: np.ndarray) -> str:
        """`line 4: 03/04/26, line 7: ...`, at most six."""
        wanted = {unique.index(t) for t in texts}
        rows = [i for i, c in enumerate(codes) if c in wanted]
        shown = [f"line {self.lines[i]}: {unique[codes[i]].strip()}" for i in rows[:6]]
        more = f" and {len(rows) - 6} more" if len(rows) > 6 else ""
        return ", ".join(shown) + more

    def _types(self, unique: list[str], codes: np.ndarray) -> list[Cell]:
        found = read_types([without_guard(t) for t in unique], self.settings)
        self._note_words("furniture_type", unique, codes, found.questions, found.suggestions)
        counts = np.array([np.nan if c is None else c for c in found.counts])
        self.values["_type_count"] = counts[codes] if len(unique) else np.empty(0)
        return found.cells

    def _words(self, column: Column, unique: list[str], codes: np.ndarray) -> list[Cell]:
        found = read_words(column.name, [without_guard(t) for t in unique], self.settings)
        self._note_words(column.name, unique, codes, found.questions, found.suggestions)
        if column.name == "wood" and any(found.constructions):
            made = np.array(found.constructions, dtype=object)
            self.values["_wood_construction"] = made[codes]
        return found.cells

    def _note_words(
        self,
        column: str,
        unique: list[str],
        codes: np.ndarray,
        questions: Sequence[str],
        suggestions: Sequence[str],
    ) -> None:
        for question in dict.fromkeys(q for q in questions if q):
            texts = [t for t, q in zip(unique, questions, strict=True) if q == question]
            self.notes.append(f"{column}: {question} ({self._where(texts, unique, codes)}).")
        for text, near in zip(unique, suggestions, strict=True):
            if near:
                self.notes.append(
                    f'{column}: "{text.strip()}" is kept as typed; did you mean "{near}"? '
                    f"({self._where([text], unique, codes)})"
                )

    def _store(
        self, column: Column, codes: np.ndarray, unique: list[str], cells: list[Cell]
    ) -> None:
        if column.is_number:
            by_code = np.array([np.nan if c.value is None else c.value for c in cells], dtype=float)
        elif column.kind == "date":
            by_code = np.array([c.value or "NaT" for c in cells], dtype="datetime64[ns]")
        else:
            by_code = np.array([c.value for c in cells] or [None], dtype=object)
        self.values[column.name] = by_code[codes] if len(codes) else by_code[:0]
        if not unique:
            return
        was = [t.strip() for t in unique]
        now = [shown(c.value) for c in cells]
        listed = np.array([a != b for a, b in zip(was, now, strict=True)])
        why = [f"left out: {c.why}" if c.refused else c.why or "spaces" for c in cells]
        rows = np.flatnonzero(listed[codes])
        if len(rows):
            of = codes[rows]
            self.changes.add(column.name, rows, _take(was, of), _take(now, of), _take(why, of))
        bad = np.array([c.refused for c in cells])
        rows = np.flatnonzero(bad[codes])
        if len(rows):
            self.refused[column.name] = {int(i): cells[codes[i]].why for i in rows}
            typed = sum(1 for c in codes if was[c])
            if len(rows) * 2 > typed and len(rows) > 2:
                self.notes.append(
                    f"{column.name}: {len(rows)} of {typed} cells could not be read as "
                    f"{_KIND_NAMES.get(column.kind, 'such')}; is the heading right?"
                )

    def _not_after(self, cell: Cell) -> Cell:
        if cell.value is not None and str(cell.value) > self.as_of.isoformat():
            return Cell(None, f"lies after {self.as_of.isoformat()}, the day of the answer", True)
        return cell

    def extra(self, name: str, texts: list[str]) -> None:
        """Carry one of the person's own columns along as typed."""
        codes, unique = _factorize(texts)
        kept = np.array(
            [without_guard(t) if t.strip() else None for t in unique] or [None], dtype=object
        )
        self.values[name] = kept[codes] if len(codes) else kept[:0]
        guards = np.array([t.strip() != "" and k != t for t, k in zip(unique, kept, strict=False)])
        rows = np.flatnonzero(guards[codes]) if len(codes) else np.empty(0, dtype=int)
        why = np.full(
            len(rows), "an apostrophe that keeps a spreadsheet from calculating", dtype=object
        )
        self.changes.add(name, rows, _take(unique, codes[rows]), kept[codes[rows]], why)

    def size(self, place: int, heading: Heading) -> None:
        """Split one column of all three measures into width, depth and height where those are blank."""
        texts = self.table.columns[place]
        self.raw[SIZE] = texts
        codes, unique = _factorize(texts)
        order = heading.order or SIZES
        unit = heading.unit or self.settings.length_unit
        found = [amounts.split_size(t, unit=unit, order=order) for t in unique]
        n = len(codes)
        was = [t.strip() for t in unique]
        now, why = [], []
        for one in found:
            if isinstance(one, dict):
                cells = {k: _in_bounds(c, COLUMN[k]) for k, c in one.items()}
                one.update(cells)
                now.append(" x ".join(shown(cells[s].value) or "?" for s in SIZES))
                refused = [c.why for c in cells.values() if c.refused]
                why.append(
                    f"left out: a part {refused[0]}"
                    if refused
                    else "width x depth x height, in inches"
                )
            else:
                now.append("")
                why.append(f"left out: {one}" if one else "a word for nothing here")
        for side in SIZES:
            cells_of = [o[side].value if isinstance(o, dict) else None for o in found]
            by_code = np.array([np.nan if v is None else v for v in cells_of], dtype=float)
            new = by_code[codes] if n else np.empty(0)
            own = self.values.get(side)
            self.values[side] = new if own is None else np.where(np.isnan(own), new, own)
        listed = np.array([a != b for a, b in zip(was, now, strict=True)], dtype=bool)
        rows = np.flatnonzero(listed[codes]) if n else np.empty(0, dtype=int)
        of = codes[rows]
        self.changes.add(SIZE, rows, _take(was, of), _take(now, of), _take(why, of))
        if not heading.order and any(isinstance(o, dict) for o in found):
            self.notes.append(
                f'"{self.table.headings[place]}" was read as width x depth x height, in this order. '
                f'If yours is another, say so in the heading: "{self.table.headings[place]} (HxWxD)".'
            )

    def fill(self) -> None:
        """Values a row says elsewhere: the count in the type, construction in the wood, steps in the hours."""
        self._fill_count()
        self._fill_construction()
        self._fill_hours()
        self._fill_names()

    def _fill_count(self) -> None:
        said = self.values.pop("_type_count", None)
        if said is None or not len(said):
            return
        own = self.values.get("pieces_in_lot", np.full(len(said), np.nan))
        rows = np.flatnonzero(~np.isnan(said) & np.isnan(own))
        differ = np.flatnonzero(~np.isnan(said) & ~np.isnan(own) & (said != own))
        self.values["pieces_in_lot"] = np.where(np.isnan(own), said, own)
        self._filled("pieces_in_lot", rows, said, "the count named in the type")
        for i in differ:
            self.notes.append(
                f"line {self.lines[i]}: the type says {said[i]:g} pieces, pieces_in_lot says {own[i]:g}; "
                f"pieces_in_lot was kept."
            )

    def _fill_construction(self) -> None:
        said = self.values.pop("_wood_construction", None)
        if said is None:
            return
        own = self.values.get("construction", np.full(len(said), None, dtype=object))
        named = np.array([s is not None for s in said])
        blank = np.array([o is None for o in own])
        self.values["construction"] = np.where(blank, said, own)
        rows = np.flatnonzero(named & blank)
        self._filled("construction", rows, said, "named in the wood")
        for i in np.flatnonzero(named & ~blank & (said != own)):
            self.notes.append(
                f"line {self.lines[i]}: the wood says {said[i]}, construction says {own[i]}; construction was kept."
            )

    def _fill_hours(self) -> None:
        steps = [n for n in self.values if n.startswith("hours_")]
        if not steps:
            return
        parts = np.column_stack([self.values[s] for s in steps])
        any_step = ~np.isnan(parts).all(axis=1)
        total = np.round(np.nansum(parts, axis=1), 4)
        own = self.values.get("hours", np.full(len(total), np.nan))
        rows = np.flatnonzero(any_step & np.isnan(own))
        self.values["hours"] = np.where(any_step & np.isnan(own), total, own)
        self._filled("hours", rows, total, "the steps added up")
        differ = np.flatnonzero(any_step & (np.abs(total - own) > 0.05))
        if len(differ):
            shown_lines = ", ".join(
                f"line {self.lines[i]}: {own[i]:g} against {total[i]:g}" for i in differ[:6]
            )
            self.notes.append(
                f"hours: in {len(differ)} row(s) the steps do not add up to the hours ({shown_lines}); "
                f"the hours were kept."
            )

    def _filled(self, column: str, rows: np.ndarray, values: np.ndarray, why: str) -> None:
        now = [shown(values[i]) for i in rows]
        blank = np.full(len(rows), "", dtype=object)
        self.changes.add(
            column, rows, blank, np.array(now, dtype=object), np.full(len(rows), why, dtype=object)
        )

    def _fill_names(self) -> None:
        own = self.values.get("piece", np.full(len(self.lines), None, dtype=object))
        taken = set(own)
        made = own.copy()
        for i in np.flatnonzero([o is None for o in own]):
            name = f"line {self.lines[i]}"
            while name in taken:
                name += " again"
            taken.add(name)
            made[i] = name
        self.values["piece"] = made
        self.values["_named"] = np.array([o is not None for o in own], dtype=bool)


_KIND_NAMES = {
    "money": "amounts of money", "size": "sizes", "hours": "hours", "date": "dates", "count": "counts",
    "year": "years", "grade": "grades",
}  # fmt: skip


def _factorize(texts: list[str]) -> tuple[np.ndarray, list[str]]:
    array = np.empty(len(texts), dtype=object)
    array[:] = texts
    codes, unique = pd.factorize(array)
    return codes, list(unique)


def _take(texts: list[str], of: np.ndarray) -> np.ndarray:
    array = np.empty(len(texts), dtype=object)
    array[:] = texts
    return array[of]


def _name(text: str) -> Cell:
    kept = " ".join(without_guard(text).split())
    return Cell(kept or None)


def _in_bounds(cell: Cell, column: Column) -> Cell:
    if cell.value is None:
        return cell
    value = float(cell.value)
    if value < 0 and column.kind == "money":
        return Cell(None, "is negative", True)
    if column.low is not None and not column.low <= value <= (column.high or np.inf):
        unit = "" if column.kind in ("money", "grade", "year") else f" {column.unit}"
        return Cell(None, f"is outside {column.low:g} to {column.high:,.0f}{unit}", True)
    return cell


def shown(value: object) -> str:
    """A cleaned value as it is written in a file: whole numbers without a point, days as ISO."""
    if value is None:
        return ""
    if isinstance(value, float | np.floating):
        if value != value:
            return ""
        return str(int(value)) if float(value).is_integer() else repr(float(value))
    return str(value)


Read = Callable[[Sequence[str]], list[Cell]]
