"""Columns that hold two things a cell, `210 3/22` or `maple, painted white`, as two columns."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from fleetlib.base.currencies import MEANT_BY
from fleetlib.records.files.headings import SIZE, match_heading
from fleetlib.records.files.text_columns import column_of
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.amounts import read_prices
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.near_days import has_no_year
from fleetlib.records.parsing.vocabulary import known_words, look_up, word_key
from fleetlib.records.schema.columns import SIZES

_ON, _FOR = re.compile(r"^(?:on|the) ", re.IGNORECASE), re.compile(r"^for ", re.IGNORECASE)
_BESIDE = re.compile(r" (?:cash|for both|for all)$", re.IGNORECASE)
_MAY_BE_BOTH = re.compile(r"[^ ] [^ ].*\d|\d.* [^ ]")
_LONGEST = 40  # letters of an amount and a day
_STEP = re.compile(r" ?(?:[,;]|->|\u2192|\bthen\b|\bnow\b) ?")
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
_ROUND = re.compile(  # a width across and a height
    rf"(?<![\w.])({_SIDE}(?:\"|in|cm)? ?(?:across|dia(?:m(?:eter)?)?\.?),?(?: x| by| and)? ?{_SIDE} ?(?:tall|high)?)\b",
    re.IGNORECASE,
)
_NAMED = r"\d{1,3}(?:\.\d+)?(?:\"|in|cm)? ?(?:wide|deep|tall|high|long)"
_IN_WORDS = re.compile(
    rf"(?<![\w.])({_NAMED}(?:(?:,| x| by| and)? {_NAMED}){{1,2}})\b", re.IGNORECASE
)
_SIZED = (SIZE, *SIZES)
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
        meant = match_heading(said or heading)
        names = _AS_TWO.get(meant.column) if meant else None
        filled = [t for t in texts if t]
        if meant and meant.column == "furniture_type" and any(map(_box_in, filled)):
            if not any(m and m.column in _SIZED for m in map(match_heading, table.headings)):
                as_typed = table.columns[place].texts
                _put(table, place, (heading, "size"), [_kind_and_size(t) for t in as_typed])
            continue
        if (
            names
            and filled
            and sum(amount_and_day(t) is not None for t in filled) >= _LIKE * len(filled)
        ):
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
    """The two parts of a cell, one of them blank where it holds the other alone; `320 15/3, 280 12/4` came down."""
    found = amount_and_day(text)
    if found:
        return found
    steps = [amount_and_day(p) for p in _STEP.split(text)]
    if len(steps) > 1 and (first := steps[0]) and (last := steps[-1]) and all(steps):
        return f"{first[0]} now {last[0]}", first[1]
    return ("", text) if _is_day(text) else (text, "")


def amount_and_day(text: str) -> tuple[str, str] | None:
    """The amount and the day of a cell such as `210 3/22`, `$95 on 3 May` or `11 Jan 2025 for 40`; else None."""
    if len(text) > _LONGEST or not _MAY_BE_BOTH.search(text) or _is_day(text):
        return None
    words = text.split(" ")
    for k in range(1, len(words)):
        left, right = " ".join(words[:k]).rstrip(",;:"), " ".join(words[k:])
        for amount, day in ((left, _ON.sub("", right)), (_FOR.sub("", right), left)):
            if _is_amount(amount) and _is_day(day):
                return amount, day
    return None


def _is_day(text: str) -> bool:
    """Whether a text is a day in any spelling that days are read in, with a year or without."""
    if not any(map(str.isdigit, text)) or text.isdigit():
        return False
    found = read_dates([text], as_of=_ANY_DAY)
    return bool(found.cells[0].value or found.asked or has_no_year(text))


def _is_amount(text: str) -> bool:
    """Whether a text is one amount, in whatever money."""
    body = _BESIDE.sub("", text.casefold())
    money = next((min(codes) for sign, codes in MEANT_BY.items() if sign in body), "USD")
    return read_prices([body], currency=money)[0].cell.value is not None


_ANY_DAY = date(2026, 1, 1)  # settles the century of a year in two digits, which is not used here


def _box_in(text: str) -> str:
    """The outside measures that stand in `text`, all three or two by their names; "" for none or several."""
    named = [m for p in (_ROUND, _IN_WORDS) for m in p.findall(text)]
    if len(named) == 1:
        return str(named[0])
    found = _BOX.findall(text)
    return found[0] if len(found) == 1 and re.search(r"[xwdh\u00d7]", found[0].casefold()) else ""


def _kind_and_size(text: str) -> tuple[str, str]:
    size = _box_in(" ".join(text.split()))
    rest = " ".join(" ".join(text.split()).replace(size, " ").split())
    return _EMPTY.sub("", rest) if size else text, size


_EMPTY = re.compile(r" ?,(?= ?(?:,|$))| (?=,)")  # a comma that stood beside the size


def _wood_and_finish(text: str) -> tuple[str, str]:
    """`maple, painted white`: what stands before the first comma is the wood; a cell of one part is what it names."""
    first, comma, rest = text.partition(",")
    if comma:
        return first.strip(), rest.strip()
    finish = look_up("finish", text).value in known_words("finish")
    return ("", text) if finish and word_key(text) else (text, "")
