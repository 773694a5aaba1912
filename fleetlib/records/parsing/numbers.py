"""How people write numbers, and words that mean there is none.

What a comma or a point means is settled by the whole column, so the helpers here look at one number and
at what the others of its column have settled. A text with two possible meanings is refused, never guessed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable
from typing import Literal, NamedTuple

from fleetlib.records.parsing.once import once

MISSING_WORDS = frozenset(
    [
        "-",
        "--",
        "---",
        "–",
        "—",
        "?",
        "??",
        "???",
        ".",
        "..",
        "...",
        "/",
        "n/a",
        "dunno",
        "no idea",
        "idk",
        "don't know",
        "dont know",
        "na",
        "n.a.",
        "n.a",
        "#n/a",
        "n/k",
        "nk",
        "tbd",
        "tba",
        "tbc",
        "t.b.d.",
        "pending",
        "unknown",
        "none",
        "null",
        "nan",
        "nil",
        "blank",
        "unsold",
        "not",
        "yet",
        "notyet",
        "no",
        "x",
        "xx",
        "not",
        "sold",
    ]
) | {"not sold", "not yet", "not listed", "don't know", "dont know", "not sure", "to be decided"}

_FRACTIONS = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
    "⅙": "1/6", "⅚": "5/6", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
}  # fmt: skip
_SWAPS = {ord(k): " " + v for k, v in _FRACTIONS.items()} | {
    ord(k): v
    for k, v in {
        "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2007": " ", "\u3000": " ", "\t": " ", "\n": " ", "\r": " ",
        "’": "'", "‘": "'", "′": "'", "´": "'", "”": '"', "“": '"', "″": '"', "−": "-", "–": "-", "—": "-",
        "‐": "-", "‑": "-", "×": "x", "✕": "x", "⁄": "/", "\ufeff": "", "\u200b": "",
    }.items()
}  # fmt: skip

LEFT_OUT = "left out: "  # how the list of changes begins where a cell could not be used


class Cell(NamedTuple):
    """What one text was read as.

    `value` None is missing. `why` says how the text was understood, or why it could not be, and is ""
    for a blank; `refused` is True for a text that holds something that could not be read.
    """

    value: float | str | None
    why: str = ""
    refused: bool = False


@once
def plain(text: str) -> str:
    """`text` with look-alike spaces, quotes, dashes and fractions made plain, small letters, no edges."""
    swapped = text if text.isascii() else text.translate(_SWAPS)
    return " ".join(swapped.split()).casefold()


def is_missing_word(text: str) -> bool:
    """True for a word that stands for "nothing here": n/a, tbd, ?, -, pending and the like."""
    return plain(text) in MISSING_WORDS


MOST = 1e12  # no amount, time or size of ours is larger; beyond, a number may not even be finite
TOO_LARGE = "is larger than any amount can be"
CLEAR_MAJORITY = 9  # so many times the other settles a column of both kinds
Shape = Literal["whole", "point", "comma", "point3", "comma3", "bad"]
_DIGITS = re.compile(r"\d+(?:[ ,.']\d+)*")
_MARK = re.compile(r"[ ,.']")
_MARK_FIRST, _MARK_LAST = re.compile(r"[.,]\d+"), re.compile(r"\d+\.")


@once
def number_shape(text: str) -> tuple[Shape, float]:
    """How an unsigned number is written, and its value (as a decimal for the two undecided shapes).

    "point3" and "comma3" are one to three digits, one mark, three digits: `1.234` is 1.234 to one
    person and 1234 to another.

    >>> number_shape("1.234,50"), number_shape("1,150"), number_shape("12,34,567.89")
    (('comma', 1234.5), ('comma3', 1.15), ('point', 1234567.89))
    """
    shape, value = _shape(text)
    return ("bad", 0.0) if value > MOST else (shape, value)


def _shape(text: str) -> tuple[Shape, float]:
    if not text.isascii():
        return "bad", 0.0
    if text.isdigit():
        return "whole", float(text)
    head, point, tail = text.partition(".")
    if point and head.isdigit() and tail.isdigit():  # most numbers that are not whole
        return _one_mark([head, tail], point)
    if _MARK_FIRST.fullmatch(text):
        return ("point" if text[0] == "." else "comma"), float("0." + text[1:])
    if _MARK_LAST.fullmatch(text):
        return "whole", float(text[:-1])
    if not _DIGITS.fullmatch(text):
        return "bad", 0.0
    parts = _MARK.split(text)
    marks = [c for c in text if not c.isdigit()]
    last = marks[-1]
    if len(marks) == 1:
        return _one_mark(parts, last)
    if len(set(marks)) == 1:
        return ("whole", float("".join(parts))) if _grouped(parts) else ("bad", 0.0)
    if len(set(marks[:-1])) == 1 and last in ",." and marks[0] != last and _grouped(parts[:-1]):
        return ("point" if last == "." else "comma"), float("".join(parts[:-1]) + "." + parts[-1])
    return "bad", 0.0


def _one_mark(parts: list[str], mark: str) -> tuple[Shape, float]:
    head, tail = parts
    if mark in " '":
        return ("whole", float(head + tail)) if _grouped(parts) else ("bad", 0.0)
    value = float(f"{head}.{tail}")
    if len(tail) == 3 and len(head) <= 3 and not head.startswith("0"):
        return ("point3" if mark == "." else "comma3"), value
    return ("point" if mark == "." else "comma"), value


def _grouped(parts: list[str]) -> bool:
    """Groups of three, or of two with a last one of three as written in India."""
    head, *rest = parts
    if not 1 <= len(head) <= 3 or head.startswith("0") or not rest or len(rest[-1]) != 3:
        return False
    middle = {len(p) for p in rest[:-1]}
    return middle <= {3} or (middle <= {2} and len(head) <= 2)


class Convention(NamedTuple):
    """What the amounts of a column have settled.

    `marks` are the marks that are decimal ("." or "," or, where a column is mixed, both); `odd` is the one
    that a few amounts use against nine tenths of the others; `three_is` says what one mark before three
    digits means where nothing settles it ("thousands", as money has no third place, or "unclear"); `spaced`
    is the largest amount in which a plain space groups thousands, 0 where it groups none.
    """

    marks: frozenset[str]
    odd: str
    three_is: str
    spaced: float


def convention(
    bodies: Iterable[str], *, known: Iterable[str] = (), three_is: str, spaced: float
) -> Convention:
    """The convention of a column from its bare numbers; `known` are marks settled elsewhere in it.

    A lone mark before other than three digits is decimal; two marks in one number say both; a mark that
    occurs twice in a number groups thousands, so the other one is decimal.
    """
    count = dict.fromkeys(known, 1)
    for body, n in Counter(bodies).items():
        for piece in () if body.isdigit() else _DIGITS.findall(body):
            mark = _decimal_mark(piece)
            if mark:
                count[mark] = count.get(mark, 0) + n
    few, many = sorted(count, key=lambda m: count[m]) if len(count) == 2 else ("", "")
    if few and count[few] * CLEAR_MAJORITY <= count[many]:
        return Convention(frozenset(many), few, three_is, spaced)
    return Convention(frozenset(count), "", three_is, spaced)


def spaces_group(bodies: Collection[str], *, fewest: int = 2) -> float:
    """The largest amount in which a space groups thousands, 0 where the column does not show that it does: `1 200`
    beside 950 and `1 400`.

    `fewest` are written so, none holds two numbers otherwise, and most are as one number of the size of the rest.
    """
    spaced = {b for b in bodies if " " in b and _DIGITS.fullmatch(b)}
    values = [_shape(b) for b in spaced]
    if len(spaced) < max(fewest, 1) or any(shape == "bad" for shape, _ in values):
        return 0.0
    rest = [float(b) for b in bodies if b.isdigit() and len(b) < _LONGEST]
    most = max(rest, default=_THOUSANDS) * _LIKE_THE_REST
    within = sum(value <= most for _, value in values)
    return most if within >= CLEAR_MAJORITY * (len(values) - within) else 0.0


_LONGEST = 7  # digits of an amount that others are held against
_THOUSANDS, _LIKE_THE_REST = 1000.0, 20.0  # our own, no source


def _decimal_mark(piece: str) -> str:
    """The decimal mark that one number settles, or ""."""
    shape, _ = number_shape(piece)
    if shape in ("point", "comma"):
        return "." if shape == "point" else ","
    if shape == "whole" and piece.count(",") > 1:
        return "."
    return "," if shape == "whole" and piece.count(".") > 1 else ""


def settle(text: str, column: Convention) -> float | str:
    """The value of an unsigned number in its column, or the sentence that says why it has none."""
    shape, value = number_shape(text)
    if shape == "bad":
        return TOO_LARGE if _shape(text)[1] > MOST else "is not one number"
    if column.odd and _decimal_mark(text) == column.odd:
        return f"uses {_name(column.odd)} as the decimal mark, unlike the rest of the column"
    if (
        shape == "whole"
        and text.count(" ") == 1
        and value > column.spaced
        and "," not in column.marks
    ):
        return f"could be {value:g} or two amounts"
    if shape in ("whole", "point", "comma"):
        return value
    mark, other = (".", ",") if shape == "point3" else (",", ".")
    thousands = float(text.replace(mark, ""))
    if mark in column.marks:
        return f"could be {value:g} or {thousands:g}: elsewhere in this column {_name(mark)} is the decimal mark"
    if other in column.marks or column.three_is == "thousands":
        return thousands
    return f"could be {value:g} or {thousands:g}"


def _name(mark: str) -> str:
    return "the point" if mark == "." else "the comma"


NUMBER = r"\d+(?:[.,]\d+)?"
MIXED = rf"(?:{NUMBER}|\d+[ -]\d+/[1-9]\d*|\d+/[1-9]\d*)"


_PARTED = re.compile(r"[ -]")


def mixed_number(text: str) -> float:
    """A whole, decimal or mixed number: 20, 20.5, 20,5, 1/2, 20 1/2, 20-1/2."""
    whole, fraction = 0.0, text
    parts = _PARTED.split(text)
    if len(parts) == 2:
        whole, fraction = float(parts[0]), parts[1]
    if "/" in fraction:
        top, bottom = fraction.split("/")
        return whole + float(top) / float(bottom)
    return float(fraction.replace(",", "."))


def within_measure(cell: Cell) -> Cell:
    """`cell`, or a refusal where its number is beyond any measure (MOST), or none."""
    if isinstance(cell.value, float | int) and not abs(cell.value) <= MOST:
        return Cell(None, TOO_LARGE, True)
    return cell


def shown(value: object) -> str:
    """A cleaned value as it is written in a file: whole numbers without a point, days as ISO."""
    if value is None:
        return ""
    if isinstance(value, float):  # numpy's float64 is one
        if value != value:
            return ""
        return str(int(value)) if value.is_integer() else repr(float(value))
    return str(value)
