"""Rows of a record that are no pieces: totals, the headings again, headings between the rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from fleetlib.records.files.headings import Headings
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.counts import split_count
from fleetlib.records.parsing.vocabulary import known_words, look_up
from fleetlib.records.schema.columns import COLUMN

# column, value, reason, remedy
Judged = tuple[str, str, str, str]

_MONTHS = (
    "january february march april may june july august september october november december"
    " jan feb mar apr jun jul aug sep sept oct nov dec"
)
TOTALS = re.compile(
    r"(?:(?:grand|sub|year|yearly|annual|monthly|month|weekly|week|season|spring|summer|autumn|fall|winter|overall"
    rf"|running|all|so far|sales|{_MONTHS.replace(' ', '|')}|(?:19|20)\d\d|q[1-4])\.?[ -]?){{0,3}}"
    r"(?:totals?|totaux|totaal|totalt|totale|sum|summe|summa|suma|gesamt|somme|average|avg|mean|median"
    r"|(?:net |gross )?profits?)\b"
    r"(?:[ \t]*(?:for[ \t]+)?[\w.:=$€£, -]{0,24})?[ \t]*:?"
    r"|(?:q[1-4]|[1-4](?:st|nd|rd|th)|first|second|third|fourth|last)[ -]?(?:qtr|quarter)\.?"
    r"(?:[ \t]+(?:19|20)\d\d)?[ \t]*:?"
    r"|(?:(?:year|month|quarter|season)[ -]to[ -]date|[ymq]\.?t\.?d\.?)\b(?:[ \t]+[\w.:=$€£, -]{0,24})?[ \t]*:?",
    re.IGNORECASE,
)
_TOTAL_HINTS = (
    "date", "td", "t.d", "qtr",
    "quarter", "tota", "sum", "gesamt", "somme", "average", "avg", "mean", "median", "profit",
)  # fmt: skip
_STATES = "sold|unsold|listed|in work|in progress|for sale|on hand|inventory|stock|kept"
_SECTION = re.compile(
    rf"(?:[-=_*#~.+ \t]*(?:year[ \t]+)?(?:19|20)\d\d[-=_*#~.+ \t]*|q[1-4]\b.{{0,20}}"
    rf"|(?:{_MONTHS.replace(' ', '|')})\.?(?:[ \t]+(?:19|20)\d\d)?"
    rf"|(?:{_STATES})[ \t]*:?(?:[ \t]+(?:in[ \t]+)?(?:19|20)\d\d)?)[ \t]*:?",
    re.IGNORECASE,
)
_SECTION_HINTS = tuple(_MONTHS.split()[12:]) + tuple(_STATES.split("|"))
_NUMBERED = re.compile(r"\n[-=_*#~.+ \t]*(?:(?:year[ \t]+)?(?:19|20)\d\d|q[1-4])")


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
                found.setdefault(i, ("", first, _HEADING, "Nothing to do."))
        open_rows &= ~here
        if not open_rows.any():
            break
    _remarks(found, columns, headings, rows, own)
    for name in ("piece", "furniture_type"):  # wherever in the row they stand
        if name in headings.known:
            column = columns[headings.known[name][0]]
            _totals(found, columns, headings, column, np.ones(rows, dtype=bool), own)
    return found


_HEADING, _REMARK = "a heading between the rows, not a piece", "a heading or a remark, not a piece"
_YEAR = re.compile(r"(?<!\d)((?:19|20)\d\d)(?!\d)")


def _remarks(
    found: dict[int, Judged],
    columns: list[TextColumn],
    headings: Headings,
    rows: int,
    own: Mapping[str, str],
) -> None:
    """Add the rows with one cell alone, which names no kind of piece, in a record whose rows hold several; and those
    that hold the sum of the amounts above them and have a word for totals where the kind stands: any other name there
    is a piece's, and is asked about if it is not known."""
    filled = np.zeros(rows, dtype=int)
    for column in columns:
        blank = [k for k, t in enumerate(column.texts) if not t.strip()]
        filled += ~np.isin(column.codes, blank)
    kinds = columns[headings.known["furniture_type"][0]]
    strange = [k for k, t in enumerate(kinds.texts) if t.strip() and _is_strange(t, own)]
    blank = [k for k, t in enumerate(kinds.texts) if not t.strip()]
    pieces = filled[~np.isin(kinds.codes, [*strange, *blank])]
    if not len(pieces) or np.median(pieces) < _SEVERAL:
        return
    for i in np.flatnonzero(np.isin(kinds.codes, strange)).tolist():
        said = kinds.cell(i).strip()
        if i in found:
            continue
        if filled[i] == 1:
            found[i] = ("", said, _REMARK, "If it is a piece, write what it is, such as dresser.")
        elif _of_totals(said) and _sums(columns, headings, i, found):
            found[i] = (
                "",
                said,
                "the sum of the rows above, not a piece",
                "Nothing to do; totals are worked out.",
            )


_SEVERAL = 2
_SUMMED = (
    "total totals subtotal totaux totaal totalt totale sum sums summe summa suma gesamt insgesamt somme average avg"
    " mean median profit profits sales takings all altogether everything together overall grand sub net gross sold"
    " paid spent earned made so far for of in the my our this last first second third fourth half to until till now"
    " up and date day week month quarter season year spring summer autumn fall winter"
)
_OF_TOTALS = frozenset(
    [*_SUMMED.split(), *_MONTHS.split()]
)  # a cell of these and numbers names no piece


def _is_strange(text: str, own: Mapping[str, str]) -> bool:
    """Names no kind of piece, is near none, and none was said to be meant."""
    word = look_up("furniture_type", split_count(text)[0].strip() or text.strip(), own)
    known = word.value in known_words("furniture_type") or word.value in own.values()
    return not (known or word.question or word.suggestion)


def _of_totals(text: str) -> bool:
    return all(w in _OF_TOTALS for w in re.findall(r"[^\W\d_]+", text.casefold()))


def _sums(
    columns: list[TextColumn], headings: Headings, row: int, out: Mapping[int, Judged]
) -> bool:
    """Whether a cell of money in `row` is the sum of two or more above it, back to a row that is no piece, or to the
    first; and the row bears no day."""
    known = {n: p for n, (p, _) in headings.known.items() if n in COLUMN}
    if any(COLUMN[n].kind == "date" and columns[p].cell(row).strip() for n, p in known.items()):
        return False
    first = max((i for i in out if i < row), default=-1) + 1
    for place in (p for n, p in known.items() if COLUMN[n].kind == "money"):
        total = _bare(columns[place].cell(row))
        for begin in {first, 0} if total else ():
            above = [_bare(columns[place].cell(i)) for i in range(begin, row) if i not in out]
            parts = [a for a in above if a]
            if len(parts) >= _SEVERAL and abs(sum(parts) - total) < 0.005:
                return True
    return False


def _bare(text: str) -> float:
    """A plain amount, 0 where the cell is none."""
    body = re.sub(r"[$€£\s]", "", text)
    body = re.sub(r",(?=\d{3}(?!\d))", "", body)
    return float(body) if re.fullmatch(r"\d+(?:\.\d+)?", body) else 0.0


def years_said(table: TextTable, out: Mapping[int, Judged]) -> np.ndarray:
    """For each row the year of the heading it stands under, of its sheet or of a line above the headings, else 0."""
    made = np.zeros(len(table.lines), dtype=int)
    titles, step = (table.sheets.titles, table.sheets.step) if table.sheets else ((), 1)
    above = [int(m[1]) for line in table.above if len(line) < _SHORT and (m := _YEAR.search(line))]
    made += above[-1] if len(set(above)) == 1 and not titles else 0
    for k, title in enumerate(titles):
        if named := _YEAR.search(title):
            made[table.lines // step == k] = int(named[1])
    under = years_of_headings(table, out)[0]
    return np.where(under, under, made)


def years_of_headings(
    table: TextTable, out: Mapping[int, Judged]
) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """For each row the year of the heading between the rows that it stands under, 0 for none, and whether that heading
    speaks of sales; and those headings as typed."""
    years, sold = np.zeros((2, len(table.lines)), dtype=int)
    step = table.sheets.step if table.sheets else len(table.lines) + int(table.lines.max(initial=0))
    said: list[str] = []
    at = [i for i in sorted(out) if out[i][2] in (_HEADING, _REMARK) and _YEAR.search(out[i][1])]
    for i in at:
        below = (np.arange(len(years)) >= i) & (table.lines // step == table.lines[i] // step)
        years[below] = int(_YEAR.findall(out[i][1])[0])
        sold[below] = bool(re.search(r"\bsold\b", out[i][1], re.IGNORECASE))
        said.append(out[i][1])
    return years, sold > 0, said


_SHORT = 30  # letters: a longer line above the headings may speak of any year


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
