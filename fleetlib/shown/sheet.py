"""A sheet: what an answer says, part by part, stated once and shown as text, HTML or Markdown.

A result has a method `sheet()`; `as_text`, `as_html` and `as_markdown` show any sheet.
"""

from __future__ import annotations

from typing import NamedTuple

import pandas as pd

from fleetlib.shown import html_blocks


class Facts(NamedTuple):
    """Name and value pairs, a line each."""

    pairs: tuple[tuple[str, str], ...]


class Table(NamedTuple):
    """A table as printed (amounts are text already), with its caption.

    most: so many rows are enough in a terminal, 0 for all; narrow: so are these columns, () for all.
    """

    frame: pd.DataFrame
    caption: str = ""
    most: int = 0
    narrow: tuple[str, ...] = ()


class Notes(NamedTuple):
    """Sentences, a dash each, under a heading of their own where they have one."""

    notes: tuple[str, ...]
    heading: str = ""


class Points(NamedTuple):
    """Points, each with lines of its own below it, under a heading; numbered, or a dash each. Lines are not broken
    where they are `typed`: they are commands."""

    points: tuple[tuple[str, tuple[str, ...]], ...]
    heading: str = ""
    numbered: bool = False
    typed: bool = False


class Said(NamedTuple):
    """Lines said plainly, such as a verdict."""

    lines: tuple[str, ...]


class Paste(NamedTuple):
    """Text to copy as it stands: its lines are never broken."""

    text: str


class Sheet(NamedTuple):
    """The parts of one answer under its heading; a part may be a sheet itself.

    folded: on a screen, what the sheet is folded away under until it is asked for.
    """

    heading: str
    parts: tuple[Part, ...]
    folded: str = ""


Part = Facts | Table | Notes | Points | Said | Paste | Sheet


def as_text(sheet: Sheet) -> str:
    """The sheet in plain text, as wide as fits (`html_blocks.use_width`); parts without content are left out."""
    top = html_blocks.fill(sheet.heading) if sheet.heading else ""
    return "\n\n".join(t for t in (top, *map(_part_text, sheet.parts)) if t)


def _part_text(part: Part) -> str:
    match part:
        case Facts(pairs):
            return "\n".join(html_blocks.fill(f"{name}: {value}") for name, value in pairs)
        case Table():
            return _table_text(part)
        case Notes(notes, heading):
            said = html_blocks.text_notes(notes)
            return f"{html_blocks.fill(heading)}\n\n{said}" if heading and said else said
        case Points():
            return _points_text(part)
        case Said(lines):
            return "\n".join(html_blocks.fill(line) for line in lines)
        case Paste(text):
            return text
        case Sheet():
            return as_text(part)


def _points_text(part: Points) -> str:
    lines = [html_blocks.fill(part.heading)] if part.heading and part.points else []
    for number, (point, below) in enumerate(part.points, 1):
        if part.numbered:
            lines.append(html_blocks.fill(f"{number}. {point}", indent=2))
        else:
            lines.append(html_blocks.text_notes([point]))
        indent = 6 if part.numbered else 2
        lines += [
            " " * indent + line if part.typed else html_blocks.fill(line, indent=indent)
            for line in below
        ]
    return "\n".join(lines)


def _table_text(part: Table) -> str:
    if not len(part.frame):
        return ""
    shown = part.frame[list(part.narrow)] if part.narrow else part.frame
    table = html_blocks.text_table(shown.head(part.most) if part.most else shown)
    if part.most and len(shown) > part.most:
        table += f"\n... and {len(shown) - part.most} more"
    return f"{html_blocks.fill(part.caption)}\n\n{table}" if part.caption else table


def as_html(sheet: Sheet) -> str:
    """The sheet as one block of HTML, everything escaped; folded sheets open on a click."""
    inside: list[str] = []
    blocks: list[str] = []
    for part in sheet.parts:
        if isinstance(part, Sheet):
            blocks.append(as_html(part))
        else:
            inside.append(_part_html(part, below=int(bool(sheet.heading))))
    whole = html_blocks.wrap(*inside, heading=sheet.heading) + "".join(blocks)
    return html_blocks.folded_html(sheet.folded, whole) if sheet.folded else whole


def _part_html(part: Facts | Table | Notes | Points | Said | Paste, *, below: int) -> str:
    """`below`: how many levels its headings stand under the sheet's own place: 1 where that has a heading, else 0."""
    match part:
        case Facts(pairs):
            return html_blocks.facts_html(pairs) if pairs else ""
        case Table(frame, caption, _, _):
            return html_blocks.table_html(frame, caption=caption) if len(frame) else ""
        case Notes(notes, heading):
            top = html_blocks.heading_html(heading, below=below) if heading and notes else ""
            return top + html_blocks.notes_html(notes)
        case Points(points, heading, numbered, typed):
            top = html_blocks.heading_html(heading, below=below) if heading and points else ""
            return top + html_blocks.points_html(points, numbered=numbered, typed=typed)
        case Said(lines):
            return "".join(f"<p>{html_blocks.escape(line)}</p>" for line in lines)
        case Paste(text):
            return html_blocks.paste_html(text) if text else ""


def as_markdown(sheet: Sheet, *, level: int = 1) -> str:
    """The sheet as Markdown (CommonMark with GitHub's tables), for a mail, a chat or a notebook's text cell."""
    top = f"{'#' * level} {_inline(sheet.heading)}" if sheet.heading else ""
    parts = (_part_markdown(part, level) for part in sheet.parts)
    return "\n\n".join(t for t in (top, *parts) if t)


def _part_markdown(part: Part, level: int) -> str:
    match part:
        case Facts(pairs):
            return "\n".join(f"- **{_inline(name)}**: {_inline(value)}" for name, value in pairs)
        case Table(frame, caption, _, _):
            return _table_markdown(frame, caption)
        case Notes(notes, heading):
            said = "\n".join(f"- {_inline(html_blocks.as_sentence(n))}" for n in notes)
            return _under(heading, said, level)
        case Points(points, heading, numbered, _):
            mark = "1." if numbered else "-"
            indent = " " * (len(mark) + 1)
            said = "\n".join(
                "\n".join([f"{mark} {_inline(p)}", *(f"{indent}- {_inline(b)}" for b in below)])
                for p, below in points
            )
            return _under(heading, said, level)
        case Said(lines):
            return "\n\n".join(_inline(line) for line in lines)
        case Paste(text):
            return "  \n".join(_inline(line) for line in text.splitlines())
        case Sheet():
            return as_markdown(part, level=min(level + 1, 6))


def _under(heading: str, said: str, level: int) -> str:
    top = f"{'#' * min(level + 1, 6)} {_inline(heading)}\n\n" if heading and said else ""
    return top + said


def _table_markdown(frame: pd.DataFrame, caption: str) -> str:
    if not len(frame):
        return ""
    right = [html_blocks.is_numeric(frame.iloc[:, j]) for j in range(frame.shape[1])]
    rows = [[_inline(str(n)) for n in frame.columns], ["---:" if r else "---" for r in right]]
    rows += [
        [_inline(html_blocks.cell_text(v)) for v in row]
        for row in frame.itertuples(index=False, name=None)
    ]
    said = f"**{_inline(caption)}**\n\n" if caption else ""
    return said + "\n".join(f"| {' | '.join(row)} |" for row in rows)


_MARKS = str.maketrans({c: f"\\{c}" for c in "\\`*_[]<>|#~$&"})


def _inline(text: str) -> str:
    """Text of the records as text of Markdown: no mark in it counts, no line breaks it."""
    return " ".join(text.translate(_MARKS).split())


class Shown:
    """A result that says itself by its `sheet`: in a terminal, in a notebook, as Markdown, and in one line."""

    __slots__ = ()

    def sheet(self) -> Sheet:
        """What it says, part by part."""
        raise NotImplementedError

    def markdown(self) -> str:
        """The same as Markdown, to paste into a mail or a notebook."""
        return as_markdown(self.sheet())

    def __str__(self) -> str:
        return as_text(self.sheet())

    def _repr_html_(self) -> str:
        return as_html(self.sheet())

    def __repr__(self) -> str:
        first = self.sheet().heading or str(self).split("\n", 1)[0]
        return f"{type(self).__name__}({first!r})"
