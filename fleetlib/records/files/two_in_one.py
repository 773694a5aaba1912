"""Columns that hold two things a cell, `210 3/22` or `maple, painted white`, as two columns."""

from __future__ import annotations

import re
from collections.abc import Callable

from fleetlib.records.files.headings import SIZE, match_heading
from fleetlib.records.files.text_columns import column_of
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.vocabulary import known_words, look_up, word_key
from fleetlib.records.schema.columns import SIZES

_DAY = r"(?P<day>\d{1,2}[/.-]\d{1,2}(?:[/.-]\d{2}(?:\d{2})?)?)"
_AMOUNT = (
    r"(?P<amount>[$\u00a3\u20ac]?\d[\d.,]*(?: ?[$\u00a3\u20ac]| (?:cash|for both|each|for all))?)"
)
_BOTH = (re.compile(rf"{_AMOUNT},? (?:on )?{_DAY}"), re.compile(rf"{_DAY},? (?:for )?{_AMOUNT}"))
_ONE_DAY = re.compile(_DAY)
_WOOD_AND_FINISH = re.compile(
    r"\W*(?:wood|timber)\W+(?:and )?(?:finish|treatment)\W*", re.IGNORECASE
)
_AS_TWO = {
    "sold_on": ("sold for", "sold on"), "sale_price": ("sold for", "sold on"),
    "listed_on": ("asking price", "listed on"), "asking_price": ("asking price", "listed on"),
    "bought_on": ("bought for", "bought on"), "buy_price": ("bought for", "bought on"),
}  # fmt: skip
_SIDE = r"\d{1,3}(?:\.\d+)?(?:\"|in|cm)? ?[wdhl]?"
_NEXT = rf"(?: ?[x\u00d7] ?| ){_SIDE}"
_BOX = re.compile(rf"(?<![\w.])({_SIDE}{_NEXT}{_NEXT})(?![\w.])", re.IGNORECASE)
_SIZED = (SIZE, *SIZES)
_SOME = 0.3
_LIKE = 0.6  # the share of the filled cells that must hold both; our own, no source


WOOD_AND_FINISH = "wood and finish"  # what a heading may be answered to mean


def split_columns(table: TextTable, told: Callable[[str], str]) -> None:
    """Put two columns in place of each that holds amounts and days, woods and finishes, or kinds and sizes; noted.

    `told` is what a heading was answered to mean, "" for none.
    """
    for place, heading in enumerate(list(table.headings)):
        texts = [" ".join(t.split()) for t in table.columns[place].texts]
        said = word_key(told(heading))
        if said == WOOD_AND_FINISH or (_WOOD_AND_FINISH.fullmatch(heading) and not said):
            _put(table, place, ("wood", "finish"), [_wood_and_finish(t) for t in texts])
            continue
        meant = match_heading(heading)
        names = _AS_TWO.get(meant.column) if meant else None
        filled = [t for t in texts if t]
        boxed = sum(bool(_box_in(t)) for t in filled)
        if meant and meant.column == "furniture_type" and boxed > _SOME * len(filled):
            if not any(m and m.column in _SIZED for m in map(match_heading, table.headings)):
                _put(table, place, (heading, "size"), [_kind_and_size(t) for t in texts])
            continue
        both = sum(any(p.fullmatch(t.casefold()) for p in _BOTH) for t in filled)
        if names and filled and both >= _LIKE * len(filled):
            _put(table, place, names, [_amount_and_day(t) for t in texts])


def _put(
    table: TextTable, place: int, names: tuple[str, str], parts: list[tuple[str, str]]
) -> None:
    cells, typed = table.columns[place], table.headings[place].strip()
    first, second = ([part[k] for part in parts] for k in (0, 1))
    table.headings[place] = names[0]
    table.headings.append(names[1])
    codes = cells.codes.tolist()
    table.columns[place] = column_of([first[c] if c >= 0 else "" for c in codes])
    table.columns.append(column_of([second[c] if c >= 0 else "" for c in codes]))
    table.notes.append(
        f'"{typed}" holds two things in a cell, so it was read as {names[0]} and {names[1]}.'
    )


def _amount_and_day(text: str) -> tuple[str, str]:
    found = next((m for p in _BOTH if (m := p.fullmatch(text.casefold()))), None)
    if found:
        return found["amount"], found["day"]
    return ("", text) if _ONE_DAY.fullmatch(text) else (text, "")


def _box_in(text: str) -> str:
    """The three outside measures that stand in `text`; "" where there are none or several."""
    found = _BOX.findall(text)
    return found[0] if len(found) == 1 and re.search(r"[xwdh\u00d7]", found[0].casefold()) else ""


def _kind_and_size(text: str) -> tuple[str, str]:
    size = _box_in(text)
    return (" ".join(text.replace(size, " ").split()), size) if size else (text, "")


def _wood_and_finish(text: str) -> tuple[str, str]:
    """`maple, painted white`: what stands before the first comma is the wood; a cell of one part is what it names."""
    first, comma, rest = text.partition(",")
    if comma:
        return first.strip(), rest.strip()
    finish = look_up("finish", text).value in known_words("finish")
    return ("", text) if finish and word_key(text) else (text, "")
