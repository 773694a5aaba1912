"""Rows of a record that are no pieces: totals, the headings again, headings between the rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from fleetlib.records.files.headings import Headings
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.parsing.vocabulary import known_words, look_up
from fleetlib.records.schema.columns import COLUMN

# column, value, reason, remedy
Judged = tuple[str, str, str, str]

TOTALS = re.compile(
    r"(?:(?:grand|sub|year|yearly|annual|monthly|month|overall|running|all)[ -]?)?"
    r"(?:totals?|sum|average|avg|mean|median)\b(?:[ \t]*(?:for[ \t]+)?[\w.: -]{0,20})?[ \t]*:?",
    re.IGNORECASE,
)
_TOTAL_HINTS = ("total", "sum", "average", "avg", "mean", "median")
_MONTHS = (
    "january february march april may june july august september october november december"
    " jan feb mar apr jun jul aug sep sept oct nov dec"
)
_STATES = "sold|unsold|listed|in work|in progress|for sale|on hand|inventory|stock|kept"
_SECTION = re.compile(
    rf"(?:(?:19|20)\d\d|q[1-4]\b.{{0,20}}|(?:{_MONTHS.replace(' ', '|')})\.?(?:[ \t]+(?:19|20)\d\d)?"
    rf"|(?:{_STATES})[ \t]*:?(?:[ \t]+(?:in[ \t]+)?(?:19|20)\d\d)?)[ \t]*:?",
    re.IGNORECASE,
)
_SECTION_HINTS = tuple(_MONTHS.split()[12:]) + tuple(_STATES.split("|"))
_NUMBERED = re.compile(r"\n[ \t]*(?:(?:19|20)\d\d|q[1-4])")


def no_flips(
    columns: list[TextColumn], headings: Headings, rows: int, own: Mapping[str, str]
) -> dict[int, Judged]:
    """The rows (by position) that are no pieces, with why.

    A line of totals begins with such a word, or has it for a name or kind, and names no kind of piece
    (`own` are the person's words for kinds); the headings again are a row in which half of the filled
    cells, and at least two, are headings of their own column; a heading between the rows is a year, month
    or state and nothing else.
    """
    found = _again(columns, headings, rows)
    open_rows = np.ones(rows, dtype=bool)
    for place, column in enumerate(columns):
        blank = [k for k, t in enumerate(column.texts) if not t.strip()]
        here = open_rows & ~np.isin(column.codes, blank)
        _totals(found, columns, headings, column, here, own)
        for i in np.flatnonzero(here & _matching(column, _SECTION, _SECTION_HINTS)).tolist():
            if not any(c.cell(i).strip() for c in columns[place + 1 :]):
                first = column.cell(i).strip()
                reason = "a heading between the rows, not a piece"
                found.setdefault(i, ("", first, reason, "Nothing to do."))
        open_rows &= ~here
        if not open_rows.any():
            break
    for name in ("piece", "furniture_type"):  # wherever in the row they stand
        if name in headings.known:
            column = columns[headings.known[name][0]]
            _totals(found, columns, headings, column, np.ones(rows, dtype=bool), own)
    return found


def _totals(
    found: dict[int, Judged],
    columns: list[TextColumn],
    headings: Headings,
    column: TextColumn,
    here: np.ndarray,
    own: Mapping[str, str],
) -> None:
    """Add the rows of `here` whose cell in `column` is a word for totals, unless they name a kind of piece."""
    types = columns[headings.known["furniture_type"][0]]
    for i in np.flatnonzero(here & _matching(column, TOTALS, _TOTAL_HINTS)).tolist():
        if not _is_kind(types.cell(i), own):
            done = "Nothing to do; totals are worked out."
            judged = ("", column.cell(i).strip(), "a line of totals, not a piece", done)
            found.setdefault(i, judged)


def _is_kind(text: str, own: Mapping[str, str]) -> bool:
    word = look_up("furniture_type", text.strip(), own)
    return word.value in known_words("furniture_type") or bool(word.question)


def _matching(column: TextColumn, pattern: re.Pattern[str], hints: Sequence[str]) -> np.ndarray:
    """Which rows hold a text that the pattern matches whole; the `hints` tell at once where none can."""
    joined = "\n".join(["", *column.texts]).casefold()
    hits = []
    if any(h in joined for h in hints) or (hints is _SECTION_HINTS and _NUMBERED.search(joined)):
        near = (k for k, t in enumerate(column.texts) if len(t) < 60)
        hits = [k for k in near if pattern.fullmatch(column.texts[k].strip())]
    return np.isin(column.codes, hits) if hits else np.zeros(len(column.codes), dtype=bool)


def _again(columns: list[TextColumn], headings: Headings, rows: int) -> dict[int, Judged]:
    """Rows that are headings again."""
    same = np.zeros(rows, dtype=np.int32)
    names: dict[int, tuple[str, ...]] = {p: (name,) for name, p in headings.extras.items()}
    for name, (place, _) in headings.known.items():
        others = COLUMN[name].headings if name in COLUMN else ()
        names[place] = (name, name.replace("_", " "), *others, headings.typed[place])
    for place, column in enumerate(columns):
        words = names.get(place, ())
        typed = {w for h in words for w in (h, h.lower(), h.upper(), h.title(), h.capitalize())}
        hits = [k for k, t in enumerate(column.texts) if t in typed and t]
        if hits:
            same += np.isin(column.codes, hits)
    found: dict[int, Judged] = {}
    for i in np.flatnonzero(same >= 2).tolist():
        filled = [c.cell(i).strip() for c in columns if c.cell(i).strip()]
        if same[i] * 2 >= len(filled):
            found[i] = ("", filled[0], "the headings again, not a piece", "Nothing to do.")
    return found
