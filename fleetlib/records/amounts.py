"""Typed amounts -> numbers: money, sizes, hours, counts, years and grades.

Each reader takes the different texts of one column at once, because what a comma or a point means is
settled by the whole column. It returns one `Cell` a text. A text with two possible meanings is refused,
never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

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

# `$` is shared by many currencies; the settings name the one meant.
_SIGNS: dict[str, frozenset[str]] = {
    "$": frozenset(["USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD", "ARS", "CLP", "COP", "TWD"]),
    "€": frozenset({"EUR"}),
    "£": frozenset({"GBP"}),
    "¥": frozenset({"JPY", "CNY"}),
    "₹": frozenset({"INR"}),
    "kr": frozenset({"SEK", "NOK", "DKK", "ISK"}),
    "r$": frozenset({"BRL"}),
    "us$": frozenset({"USD"}),
    "c$": frozenset({"CAD"}),
    "ca$": frozenset({"CAD"}),
    "a$": frozenset({"AUD"}),
    "au$": frozenset({"AUD"}),
    "nz$": frozenset({"NZD"}),
    "zł": frozenset({"PLN"}),
    "fr.": frozenset({"CHF"}),
    "dollars": frozenset(["USD", "CAD", "AUD", "NZD"]),
    "bucks": frozenset(["USD", "CAD", "AUD", "NZD"]),
    "euro": frozenset({"EUR"}),
    "euros": frozenset({"EUR"}),
    "pounds": frozenset({"GBP"}),
}
_CODES = frozenset(
    [
        "usd",
        "cad",
        "aud",
        "nzd",
        "mxn",
        "eur",
        "gbp",
        "jpy",
        "cny",
        "chf",
        "sek",
        "nok",
        "dkk",
        "isk",
        "pln",
        "czk",
        "huf",
        "inr",
        "brl",
        "zar",
        "kwd",
        "bhd",
        "omr",
    ]
)
# Where a plain space groups thousands; a no-break space does everywhere (CLDR's number patterns).
_SPACED = frozenset({"EUR", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "ZAR"})
_THREE_PLACES = frozenset({"KWD", "BHD", "OMR", "TND", "JOD", "IQD", "LYD"})  # ISO 4217 minor units

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


class Cell(NamedTuple):
    """What one text was read as.

    `value` None is missing. `why` says how the text was understood, or why it could not be, and is ""
    for a blank; `refused` is True for a text that holds something that could not be read.
    """

    value: float | str | None
    why: str = ""
    refused: bool = False


BLANK = Cell(None)


def plain(text: str) -> str:
    """`text` with look-alike spaces, quotes, dashes and fractions made plain, small letters, no edges."""
    swapped = text if text.isascii() else text.translate(_SWAPS)
    return " ".join(swapped.split()).casefold()


def is_missing_word(text: str) -> bool:
    """True for a word that stands for "nothing here": n/a, tbd, ?, -, pending and the like."""
    return plain(text) in MISSING_WORDS


_NO_BREAK = re.compile(r"(?<=\d)[\u00a0\u202f\u2009](?=\d{3}(?!\d))")
Shape = Literal["whole", "point", "comma", "point3", "comma3", "bad"]
_DIGITS = re.compile(r"\d+(?:[ ,.']\d+)*")


def number_shape(text: str) -> tuple[Shape, float]:
    """How an unsigned number is written, and its value (as a decimal for the two undecided shapes).

    "point3" and "comma3" are one to three digits, one mark, three digits: `1.234` is 1.234 to one
    person and 1234 to another.

    >>> number_shape("1.234,50"), number_shape("1,150"), number_shape("12,34,567.89")
    (('comma', 1234.5), ('comma3', 1.15), ('point', 1234567.89))
    """
    if not text.isascii():
        return "bad", 0.0
    if text.isdigit():
        return "whole", float(text)
    if re.fullmatch(r"[.,]\d+", text):
        return ("point" if text[0] == "." else "comma"), float("0." + text[1:])
    if re.fullmatch(r"\d+\.", text):
        return "whole", float(text[:-1])
    if not _DIGITS.fullmatch(text):
        return "bad", 0.0
    parts = re.split(r"[ ,.']", text)
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


def decimal_marks(bodies: Iterable[str]) -> set[str]:
    """The decimal marks that some number of a column settles: a subset of {".", ","}.

    A lone mark before other than three digits is decimal; two marks in one number say both; a mark
    that occurs twice in a number groups thousands, so the other one is decimal.
    """
    found: set[str] = set()
    for body in bodies:
        for piece in _DIGITS.findall(body):
            shape, _ = number_shape(piece)
            if shape in ("point", "comma"):
                found.add("." if shape == "point" else ",")
            elif shape == "whole" and piece.count(",") > 1:
                found.add(".")
            elif shape == "whole" and piece.count(".") > 1:
                found.add(",")
    return found


def _settle(text: str, marks: set[str], *, three_is: str, spaced: bool) -> float | str:
    """The value of an unsigned number, or the sentence that says why it has none.

    `three_is` says what one mark before three digits means where the column does not settle it:
    "thousands" (money has no third place) or "unclear"; `spaced` whether a space groups thousands.
    """
    shape, value = number_shape(text)
    if shape == "bad":
        return "is not one number"
    if shape != "whole" or " " not in text or text.count(" ") > 1 or spaced or "," in marks:
        if shape in ("whole", "point", "comma"):
            return value
    else:
        return f"could be {value:g} or two amounts"
    mark, other = (".", ",") if shape == "point3" else (",", ".")
    thousands = float(text.replace(mark, ""))
    if mark in marks:
        return f"could be {value:g} or {thousands:g}: elsewhere in this column {_name(mark)} is the decimal mark"
    if other in marks or three_is == "thousands":
        return thousands
    return f"could be {value:g} or {thousands:g}"


def _name(mark: str) -> str:
    return "the point" if mark == "." else "the comma"


# ---- money --------------------------------------------------------------------------------------------

_TAILS = re.compile(
    r"[ ,(]*(?:\(?(?:o\.?b\.?o\.?|or best offer|or nearest offer|o\.?n\.?o\.?|firm|neg|negotiable|cash)\)?)[ .]*$"
)
_ABOUT = re.compile(
    r"^(?:~|(?:about|approximately|approx\.?|circa|ca\.?|around|roughly)(?=[ \d$€£])) ?"
)
_FREE = frozenset(
    {"free", "gift", "gifted", "for free", "free!", "nothing", "no charge", "$0", "curb"}
)
_SEVERAL = re.compile(r"\d ?(?:-|/|to|or|and|&|\+|x|\*|@|plus|then) ?[^\d]{0,3}\d")
_TRAIL_CODE = re.compile(r"[a-z]{3}$|^[a-z]{3}(?=[ \d.,-])")


def read_money(
    texts: Sequence[str], *, currency: str = "USD", marks: Iterable[str] = ()
) -> list[Cell]:
    """Amounts of money in `currency`, rounded to the cent.

    Read: signs and codes of the shop's own currency, both decimal conventions, "free" (0), "325 obo",
    "1,200 firm", "~300", "(50.00)" and "50-" as negatives. Refused: ranges, sums, "2 x 45", "1.2k",
    another currency. `marks` are decimal marks that other cells of the column have settled already.
    """
    bodies = [_money_body(plain(_NO_BREAK.sub("'", t)), currency) for t in texts]
    settled = decimal_marks(b[0] for b in bodies if b[1] != "refused") | set(marks)
    three = "unclear" if currency in _THREE_PLACES else "thousands"
    places = 3 if currency in _THREE_PLACES else 2
    spaced = currency in _SPACED
    return [
        _money(t, b, settled, three, places, spaced) for t, b in zip(texts, bodies, strict=True)
    ]


def _money_body(text: str, currency: str) -> tuple[str, str, bool]:
    """The bare number, what was taken off or why it is refused, and whether it is negative."""
    if text in MISSING_WORDS or not text:
        return "", "missing", False
    if text in _FREE:
        return "0", "free, so 0", False
    body, said = text, []
    shorter = _TAILS.sub("", body)
    if shorter != body:
        said.append(f'"{body[len(shorter) :].strip(" ,()")}" taken off')
        body = shorter
    shorter = _ABOUT.sub("", body)
    if shorter != body:
        said.append("an approximate amount, taken as written")
        body = shorter
    body = re.sub(r"(?<=\d)[.,]-+(?=\D*$)", "", body)  # 45,- is 45 in several countries
    negative = False
    if body.startswith("(") and body.endswith(")"):
        body, negative = body[1:-1].strip(), True
    for sign in sorted(_SIGNS, key=len, reverse=True):
        if sign in body:
            if currency not in _SIGNS[sign]:
                return body, "refused", False
            body = body.replace(sign, " ", 1).strip()
            break
    code = _TRAIL_CODE.search(body)
    if code and code.group() in _CODES:
        if code.group().upper() != currency:
            return body, "refused", False
        body = body.replace(code.group(), " ", 1).strip()
    if body.startswith("-") or body.endswith("-"):
        body, negative = body.strip("- "), not negative
    return body.lstrip("+ ").strip(), "; ".join(said), negative


def _money(
    text: str, body: tuple[str, str, bool], marks: set[str], three: str, places: int, spaced: bool
) -> Cell:
    number, said, negative = body
    if said == "missing":
        return Cell(None, "a word for nothing here" if text.strip() else "")
    if said == "refused":
        return Cell(None, "is in another currency than the settings say", True)
    found = _settle(number, marks, three_is=three, spaced=spaced)
    if isinstance(found, str):
        if re.search(r"\d ?k\b", number):
            found = 'uses "k"; write the amount out in full'
        elif _SEVERAL.search(number) or len(re.findall(r"\d+(?:[.,]\d+)*", number)) > 1:
            found = "is not one amount" if found == "is not one number" else found
        elif found == "is not one number":
            found = "is not an amount of money"
        return Cell(None, found, True)
    value = round(-found if negative else found, places)
    if value == 0:
        value = 0.0
    return Cell(value, said or "an amount of money")


# ---- mixed numbers -----------------------------------------------------------------------------------

NUMBER = r"\d+(?:[.,]\d+)?"
MIXED = rf"(?:{NUMBER}|\d+[ -]\d+/[1-9]\d*|\d+/[1-9]\d*)"


def mixed_number(text: str) -> float:
    """A whole, decimal or mixed number: 20, 20.5, 20,5, 1/2, 20 1/2, 20-1/2."""
    whole, fraction = 0.0, text
    parts = re.split(r"[ -]", text)
    if len(parts) == 2:
        whole, fraction = float(parts[0]), parts[1]
    if "/" in fraction:
        top, bottom = fraction.split("/")
        return whole + float(top) / float(bottom)
    return float(fraction.replace(",", "."))


# ---- hours --------------------------------------------------------------------------------------------

_H = r"(?:h|hr|hrs|hour|hours)\.?"
_M = r"(?:m|min|mins|minute|minutes)\.?"
_HM = re.compile(rf"(?P<h>{MIXED}) ?{_H}(?: ?(?:and|,|&)? ?(?P<m>\d+) ?(?:{_M})?)?")
_MIN = re.compile(rf"(?P<m>{NUMBER}) ?{_M}")
_CLOCK = re.compile(r"(?P<h>\d{1,4}):(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?")
_BARE = re.compile(MIXED)


def read_hours(texts: Sequence[str], *, unit: str = "hours") -> list[Cell]:
    """Hours of work: `9`, `9,5`, `2 1/2`, `3h 30m`, `3:30`, `90 min`, `2 hrs`; a bare number is in `unit`."""
    return [_hours(t, unit) for t in texts]


def _hours(text: str, unit: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    about = _ABOUT.sub("", body)
    said = "" if about == body else ", approximate"
    body = about
    clock = _CLOCK.fullmatch(body)
    if clock:
        seconds = int(clock["s"] or 0)
        value = int(clock["h"]) + int(clock["m"]) / 60 + seconds / 3600
        return Cell(round(value, 4), "hours and minutes" + said)
    minutes = _MIN.fullmatch(body)
    if minutes:
        return Cell(round(mixed_number(minutes["m"]) / 60, 4), "minutes turned into hours" + said)
    both = _HM.fullmatch(body)
    if both:
        extra = int(both["m"]) / 60 if both["m"] else 0.0
        return Cell(round(mixed_number(both["h"]) + extra, 4), "hours" + said)
    if _BARE.fullmatch(body):
        value = mixed_number(body)
        if unit == "minutes":
            return Cell(round(value / 60, 4), "minutes turned into hours" + said)
        return Cell(round(value, 4), "hours" + said)
    several = len(re.findall(r"\d+", body)) > 1
    return Cell(None, "is not one time" if several else "is not a number of hours", True)


# ---- sizes --------------------------------------------------------------------------------------------

_FEET = re.compile(
    rf"(?P<ft>{MIXED}) ?(?:'(?!')|ft\.?|feet|foot) ?-?(?: ?(?P<inch>{MIXED}) ?(?:\"|''|in\.?|inch|inches)?)?"
)
ONE_SIZE = re.compile(
    rf"(?P<n>{MIXED}) ?(?P<unit>\"|''|in\.?|inch|inches|cm\.?|mm|m|centimet(?:er|re)s?)?"
)
_PER_INCH = {"in": 1.0, "cm": 1 / 2.54, "mm": 1 / 25.4, "m": 100 / 2.54, "ft": 12.0}  # 2.54 exactly


def read_sizes(texts: Sequence[str], *, unit: str = "in") -> list[Cell]:
    """Lengths in inches, to a hundredth; a bare number is in `unit` ("in", "cm", "mm", "m" or "ft")."""
    return [_size(t, unit) for t in texts]


def _size(text: str, unit: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    feet = _FEET.fullmatch(body)
    if feet:
        inches = 12 * mixed_number(feet["ft"]) + (
            mixed_number(feet["inch"]) if feet["inch"] else 0.0
        )
        return Cell(round(inches, 2), "feet and inches, in inches")
    one = ONE_SIZE.fullmatch(body)
    if not one:
        several = len(re.findall(r"\d+", body)) > 1
        return Cell(None, "is not one size" if several else "is not a size", True)
    named = unit_named(one["unit"])
    used = named or unit
    value = round(mixed_number(one["n"]) * _PER_INCH[used], 2)
    if used != "in":
        return Cell(value, f"{used} turned into inches")
    return Cell(value, "a fraction" if "/" in one["n"] else "a size in inches")


def unit_named(typed: str | None) -> str:
    """The unit that a typed one stands for, or \"\"."""
    if not typed:
        return ""
    if typed.startswith(("in", '"', "''")):
        return "in"
    return "cm" if typed.startswith("c") else typed
