"""Pure HTML and plain-text building blocks. Everything is escaped; nothing carries an id or a time."""

from __future__ import annotations

import base64
import html
import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar

import pandas as pd

from fleetlib.base.said import day_said
from fleetlib.base.unseen import without_unseen

# Two class names in each rule, so that they also hold inside JupyterLab, which has rules of its own for
# tables and definition lists.
STYLE = """<style>
.fleet{font-family:system-ui,sans-serif;line-height:1.45;max-width:52rem}
.fleet.sheet table{border-collapse:collapse;margin:.5rem 0;width:auto}
.fleet.sheet caption{text-align:left;font-weight:600;padding:.25rem 0;width:max-content;max-width:30rem}
.fleet.sheet th,.fleet.sheet td{padding:.2rem .7rem .2rem 0;border-bottom:1px solid #8886;text-align:left;\
vertical-align:top;white-space:normal;max-width:none}
.fleet.sheet td.number,.fleet.sheet th.number{text-align:right;font-variant-numeric:tabular-nums}
.fleet.sheet dl{display:grid;grid-template-columns:max-content auto;gap:.15rem 1rem;margin:.5rem 0}
.fleet.sheet dt{font-weight:600;float:none;width:auto;margin:0}
.fleet.sheet dd{margin:0;float:none;width:auto}
.fleet.sheet ul.notes,.fleet.sheet ol.notes{margin:.5rem 0;padding-left:1.2rem}
.fleet.sheet ol.notes li{margin-bottom:.4rem}
.fleet.sheet .paste{white-space:pre-line;border:1px solid #8886;padding:.5rem .7rem;margin:.5rem 0;\
-webkit-user-select:all;user-select:all}
.fleet.sheet figure{margin:.75rem 0;background:#fff;color:#222}
.fleet.sheet figure img{max-width:100%;height:auto}
</style>"""
FITS_A_PHONE = 4  # columns; the rows of wider tables are stacked on a narrow screen
# Notebooks would read "$5 to $10" as a formula; these two class names (of MathJax) say that nothing here is.
_BLOCK = "fleet sheet mathjax_ignore tex2jax_ignore"


_heading = ContextVar("heading", default=3)  # what level a block's own heading has


@contextmanager
def alone_on_a_page() -> Iterator[None]:
    """Blocks made inside stand right under a page's title: headings follow it, wide tables stack on a phone."""
    before = _heading.set(2)
    try:
        yield
    finally:
        _heading.reset(before)


MOST_OF_A_NUMBER = 16  # letters that stand in one line of a narrow table
USUAL_WIDTH, LEAST_WIDTH, MOST_WIDTH = 80, 60, 160  # characters
_width = USUAL_WIDTH


def use_width(letters: int) -> int:
    """From now on text is at most `letters` wide, held between 60 and 160; the command line sets its terminal's.

    Returns the width that is used.
    """
    global _width
    _width = min(max(letters, LEAST_WIDTH), MOST_WIDTH)
    return _width


def fill(text: str, *, indent: int = 0) -> str:
    """`text` broken into lines that fit, each set in by `indent`."""
    lead = " " * indent
    return textwrap.fill(text, _width, initial_indent=lead, subsequent_indent=lead)


def escape(value: object) -> str:
    """`value` as text that is safe inside HTML, quotes included, without characters that cannot be seen."""
    return html.escape(without_unseen(str(value)), quote=True)


def wrap(*parts: str, heading: str = "") -> str:
    """One block of class `fleet` with its style, holding HTML `parts` that are already safe."""
    top = heading_html(heading) if heading else ""
    return f'{STYLE}<div class="{_BLOCK}">{top}{"".join(parts)}</div>'


def heading_html(words: str, *, below: int = 0) -> str:
    """A heading at the level of this block, or so many levels `below` it."""
    level = _heading.get() + below
    return f"<h{level}>{escape(words)}</h{level}>"


def table_html(frame: pd.DataFrame, *, caption: str = "", stacks: bool = False) -> str:
    """A table with scoped headers; numbers right-aligned, missing cells empty, text escaped.

    Format the numbers first: what is shown is `str` of each cell (whole floats without `.0`). With `stacks`
    each cell also carries its heading, so that a page's style can set the cells of a row one below the other.
    """
    stacks = stacks or (_heading.get() == 2 and frame.shape[1] > FITS_A_PHONE)
    labels = [f' data-label="{escape(n)}"' if stacks else "" for n in frame.columns]
    kinds = ["number" if is_numeric(frame.iloc[:, j]) else "" for j in range(frame.shape[1])]
    cls = [f' class="{k}"' if k else "" for k in kinds]
    head = "".join(
        f'<th scope="col"{c}>{escape(n)}</th>' for n, c in zip(frame.columns, cls, strict=True)
    )
    rows = []
    for row in frame.itertuples(index=False, name=None):
        cells = "".join(
            f"<td{c}{n}>{escape(cell_text(v))}</td>"
            for v, c, n in zip(row, cls, labels, strict=True)
        )
        rows.append(f"<tr>{cells}</tr>")
    label = f"<caption>{escape(caption)}</caption>" if caption else ""
    kind = ' class="stacks"' if stacks else ""
    return (
        f"<table{kind}>{label}<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )


def facts_html(pairs: Iterable[tuple[str, object]]) -> str:
    """Name and value pairs as a definition list."""
    return "<dl>" + "".join(f"<dt>{escape(k)}</dt><dd>{escape(v)}</dd>" for k, v in pairs) + "</dl>"


def paste_html(text: str) -> str:
    """Text to copy as it stands, in a frame of its own; one click or tap takes hold of all of it."""
    return f'<p class="paste">{escape(text)}</p>'


def notes_html(notes: Sequence[str]) -> str:
    """The notes as a bulleted list; nothing when there are none."""
    if not notes:
        return ""
    return (
        '<ul class="notes">'
        + "".join(f"<li>{escape(as_sentence(n))}</li>" for n in notes)
        + "</ul>"
    )


def points_html(
    points: Sequence[tuple[str, Sequence[str]]], *, numbered: bool = False, typed: bool = False
) -> str:
    """Points as a list, each with its lines below it, set as typed where they are; nothing when there are none."""
    if not points:
        return ""
    made = "".join(
        f"<li>{escape(as_sentence(point))}"
        + "".join(f"<br><code>{escape(b)}</code>" if typed else f"<br>{escape(b)}" for b in below)
        + "</li>"
        for point, below in points
    )
    kind = "ol" if numbered else "ul"
    return f'<{kind} class="notes">{made}</{kind}>'


def folded_html(title: str, content: str) -> str:
    """`content` (safe HTML) folded away under `title`; a click or the Enter key unfolds it."""
    style = "cursor:pointer;font-weight:600;min-height:44px;line-height:44px"
    return f'<details><summary style="{style}">{escape(title)}</summary>{content}</details>'


def figure_html(png: bytes, *, alt: str, instead: Iterable[tuple[str, bytes]] = ()) -> str:
    """A picture carried inside the page, with the text that says the same as the picture.

    `instead` holds other drawings of the same, each with the screen it is for (a media query); the first that
    fits is shown.
    """
    others = "".join(
        f'<source media="{escape(screen)}" srcset="{_data(other)}">' for screen, other in instead
    )
    shown = f'<img alt="{escape(alt)}" src="{_data(png)}">'
    return f"<figure>{f'<picture>{others}{shown}</picture>' if others else shown}</figure>"


def _data(png: bytes) -> str:
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")


def text_table(frame: pd.DataFrame, *, width: int | None = None) -> str:
    """The frame as columns of plain text, at most `width` characters wide; left out, as wide as fits (`use_width`).

    Columns that would overflow are wrapped inside themselves, the widest first, between words; only where that is
    not enough do columns stand closer, and then words are broken, never a number. Numbers are right-aligned.
    """
    if frame.shape[1] == 0:
        return ""
    names = [str(c) for c in frame.columns]
    cells = [[cell_text(v) for v in row] for row in frame.itertuples(index=False, name=None)]
    right = [is_numeric(frame.iloc[:, j]) for j in range(len(names))]
    wide, gap = _fitted(names, cells, right, _width if width is None else width)
    lines: list[str] = []
    for row in [names, *cells]:
        parts = [
            textwrap.wrap(c, w, break_long_words=True) or [""]
            for c, w in zip(row, wide, strict=True)
        ]
        for k in range(max(len(p) for p in parts)):
            shown = [p[k] if k < len(p) else "" for p in parts]
            line = (" " * gap).join(
                s.rjust(w) if r else s.ljust(w) for s, w, r in zip(shown, wide, right, strict=True)
            )
            lines.append(line.rstrip())
    return "\n".join(lines)


def _fitted(
    names: list[str], cells: list[list[str]], right: list[bool], width: int
) -> tuple[list[int], int]:
    """How wide each column is, and the gap between two of them, in a table at most `width` wide."""
    columns = [[row[j] for row in cells] for j in range(len(names))]
    whole = [max([1, *map(_longest, (n, *c))]) for n, c in zip(names, columns, strict=True)]
    for gap in (2, 1):
        wide = [max([1, len(n), *map(len, c)]) for n, c in zip(names, columns, strict=True)]
        room = width - gap * (len(names) - 1)
        for j, name in enumerate(names):  # a heading of several words breaks before any cell does
            if sum(wide) > room:
                needed = max([_longest(name), *map(len, columns[j])])
                wide[j] = max(1, needed, wide[j] - (sum(wide) - room))
        _shrink(wide, whole, room)
        if sum(wide) <= room:
            return wide, gap
    # a number beyond any measure is broken before words are, other numbers never
    told = [
        min(MOST_OF_A_NUMBER, max([1, *map(_longest, c)])) if r else w
        for c, r, w in zip(columns, right, whole, strict=True)
    ]
    _shrink(wide, told, room)
    _shrink(wide, [t if r else 6 for t, r in zip(told, right, strict=True)], room)
    return wide, 1


def _longest(text: str) -> int:
    """The letters of the longest part of `text` that no line break may fall into."""
    return max(map(len, re.split(r"[\t\n\x0b\x0c\r ]+|(?<=\w-)", text)))


def _shrink(wide: list[int], least: list[int], room: int) -> None:
    """Take letters from the widest column, and so on, until all fit `room`; none goes below its `least`."""
    while sum(wide) > room:
        spare = [w if w > few else 0 for w, few in zip(wide, least, strict=True)]
        if not max(spare):
            return
        wide[spare.index(max(spare))] -= 1


def as_sentence(note: str) -> str:
    """The note with a capital first and a stop last, where it has neither; a name (flips.csv) stays as it is."""
    shown = note.strip()
    if (shown and shown[-1].isalnum()) or shown.endswith((")", "%")):
        shown += "."
    first = shown.split(" ", 1)[0].rstrip(":,;.")
    return shown[:1].upper() + shown[1:] if first.isalpha() else shown


def text_notes(notes: Sequence[str]) -> str:
    """The notes as wrapped lines with a dash each."""
    wrapped = (
        textwrap.fill(as_sentence(n), _width, initial_indent="- ", subsequent_indent="  ")
        for n in notes
    )
    return "\n".join(wrapped)


def cell_text(value: object) -> str:
    """One cell as shown: missing is empty, whole floats lose their `.0`, dates `9 Oct 2026`."""
    if isinstance(value, str):
        return value
    if value is None or value is pd.NaT:
        return ""
    if isinstance(value, pd.Timestamp):
        return day_said(value)
    if isinstance(value, float):
        if value != value:
            return ""
        return f"{value:.0f}" if value.is_integer() else f"{value:.4g}"
    return str(value)


_AMOUNT = r"^\s*\*?[-+]?[^\w\s]?[\d,]+(\.\d+)?\s*([%]|[A-Z]{3})?$|^-?$"


def is_numeric(column: pd.Series) -> bool:
    """Numbers, or text that reads as amounts ("$1,150", "12%"), are aligned on the right."""
    if pd.api.types.is_bool_dtype(column):
        return False
    if pd.api.types.is_numeric_dtype(column):
        return True
    shown = column.dropna().astype(str)
    return bool(len(shown)) and bool(shown.str.match(_AMOUNT).all())
