"""Typed amounts -> numbers: money, hours and sizes.

Each reader takes the different texts of one column at once and returns one `Cell` a text.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from fleetlib.base.currencies import CURRENCIES, MEANT_BY, known_as
from fleetlib.base.measured import CM_IN_AN_INCH
from fleetlib.records.parsing.counts import in_words
from fleetlib.records.parsing.numbers import (
    MISSING_WORDS,
    MIXED,
    NUMBER,
    Cell,
    Convention,
    convention,
    mixed_number,
    plain,
    settle,
    shown,
    spaces_group,
    within_measure,
)
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.phrases import BARE, SIGNED, Phrase, phrase_of, without_doubt
from fleetlib.records.schema.columns import COLUMN

_SIGN_BEHIND = re.compile(r"^\s*\d{1,3}(?: \d{3})+ ?[$€£]\s*$")  # where it stands, spaces group
_NO_BREAK = re.compile(r"(?<=\d)[\u00a0\u202f\u2009](?=\d{3}(?!\d))")
_FREE = frozenset(
    {
        "free",
        "gift",
        "gifted",
        "for free",
        "gratis",
        "gratuit",
        "umsonst",
        "nothing",
        "nowt",
        "zero",
        "found",
        "found it",
        "no charge",
        "$0",
        "curb",
        "curbside",
        "roadside",
        "trash pick",
        "inherited",
        "had it",
        "had it already",
        "already had it",
        "geschenkt",
    }
)
_FOUND = re.compile(r"[,;(/]| - | (?:from|at|on|by) ")
_FIGURE = re.compile(r"\d")
_FIGURES = re.compile(r"\d+(?:[.,]\d+)*")
_WHOLE = re.compile(r"\d+")
_SEVERAL = re.compile(r"\d ?(?:-|/|to|or|and|&|\+|x|\*|@|plus|then) ?[^\d]{0,3}\d")
_TRAIL_CODE = re.compile(r"[a-z]{3}$|^[a-z]{3}(?=[ \d.,-])")


class Price(NamedTuple):
    """One typed amount of money, and what stood beside it.

    `before` is what was asked before it, `charge` what was paid for delivery on top, `count` the number of
    pieces named; `each` says that `cell` is the price of one piece of the row's lot, `asked` that it was only asked.
    """

    cell: Cell
    before: float | None = None
    charge: float | None = None
    count: float | None = None  # type: ignore[assignment]
    each: bool = False
    asked: bool = False


def read_money(texts: Sequence[str], *, currency: str = "USD") -> list[Cell]:
    """Amounts of money in `currency`, rounded to the cent: the cells of `read_prices`, one reading each.

    A price of one piece ("120 each") is refused here, as the number of pieces is not known.
    """
    found = read_prices(texts, currency=currency)
    cells = [Cell(None, FOR_EACH, True) if f.each and f.cell.value else f.cell for f in found]
    return [
        Cell(None, ONLY_ASKED, True) if f.asked else c for f, c in zip(found, cells, strict=True)
    ]


ONLY_ASKED = "is what was asked"
FOR_EACH = "is the price of one piece; fill in how many pieces there were"


def read_prices(
    texts: Sequence[str], *, currency: str = "USD", marks: Iterable[str] = ()
) -> list[Price]:
    """Amounts of money in `currency`, with what was written around them (`phrases.phrase_of`).

    Read: signs and codes of the shop's own currency, both decimal conventions, "free" (0), "1.2k", "4 x 45",
    "300 -> 260", "90 + 20 delivery", "(50.00)" and "50-" as negatives. Refused: ranges, sums of unlike things,
    another currency. `marks` are decimal marks that other cells of the column have settled already.
    """
    count = Counter(texts)
    taken = {t: _taken_apart(t, currency) for t in count}
    numbers: Counter[str] = Counter()  # as often as they stand there
    for text, (_, bodies) in taken.items():
        for number, said, _ in bodies:
            if number and said != "refused":
                numbers[number] += count[text]
    three_places = known_as(currency).places == 3
    column = convention(
        numbers,
        known=marks,
        three_is="unclear" if three_places else "thousands",
        spaced=math.inf
        if known_as(currency).spaced
        else spaces_group(numbers, fewest=1 if any(map(_SIGN_BEHIND.search, count)) else 2),
    )
    places = 3 if three_places else 2
    found = {
        text: _priced(phrase, [_money(b, column, places) for b in bodies], places, text)
        for text, (phrase, bodies) in taken.items()
    }
    return [found[t] for t in texts]


class _Body(NamedTuple):
    """One amount as text: the bare number, what was taken off or why it is refused, and whether it is negative."""

    number: str
    said: str = ""
    negative: bool = False


_BLANK = _Body("", "blank")


@once
def _taken_apart(text: str, currency: str) -> tuple[Phrase, tuple[_Body, ...]]:
    """What was written around an amount, and its parts: the amount, the one before, the charge, what came off."""
    if BARE.fullmatch(text):
        return Phrase(text), (_Body(text), _BLANK, _BLANK, _BLANK)
    bare, day = _without_day(text)
    phrase = phrase_of(plain(_NO_BREAK.sub("'", bare)))
    if day:
        phrase = replace(phrase, said="; ".join(filter(None, (phrase.said, day))))
    return phrase, tuple(_money_body(p, currency) for p in phrase.parts)


_DAY_BEHIND = re.compile(
    r"(.*\d[^()]{0,4}?) ?\((?![123]/[234]\))((?:0?[1-9]|[12]\d|3[01])(?:/(?:0?[1-9]|[12]\d|3[01])(?:/(?:20)?\d\d)?"
    r"|\.(?:0?[1-9]|1[0-2])\.(?:(?:20)?\d\d)?))\)"
)  # (1/2) may be a half


def _without_day(text: str) -> tuple[str, str]:
    """An amount without the day in brackets behind it, 130 (12/7), and what was left out."""
    found = _DAY_BEHIND.fullmatch(text.strip())
    if not found or (found[2].count("/") == 1 and min(map(int, found[2].split("/"))) > _MONTHS):
        return text, ""
    return found[1], f"{found[2]} is the day of it"


_MONTHS = 12


def _priced(phrase: Phrase, cells: list[Cell], places: int, text: str) -> Price:
    amount, before, charge, less = cells
    if amount.value is None:
        nothing = amount if amount.why or not text.strip() else Cell(None, _NOT_MONEY, True)
        return Price(nothing, None if before.value is None else float(before.value))
    if any(c.refused for c in cells):
        return Price(Cell(None, "is not one amount", True))
    value = float(amount.value) * phrase.times - float(less.value or 0)
    if less.value and value <= 0:
        return Price(Cell(None, "is not one amount", True))
    said = [s for s in (phrase.said, amount.why if amount.why != _PLAIN_MONEY else "") if s]
    if phrase.times > 1:
        said.append(f"{phrase.times:g} pieces at {shown(amount.value)}")
    if before.value is not None:
        said.append(f"{shown(before.value)} is what was asked before")
    if charge.value is not None:
        said.append(f"{shown(charge.value)} is the delivery charge")
    elif less.value is not None:
        said.append(f"{shown(less.value)} came off")
    return Price(
        Cell(round(value, places), "; ".join(said) or _PLAIN_MONEY),
        None if before.value is None else float(before.value),
        None if charge.value is None else float(charge.value),
        phrase.count,
        phrase.each,
        phrase.only_asked,
    )


_PLAIN_MONEY, _NOT_MONEY = "an amount of money", "is not an amount of money"


def _in_words(text: str) -> tuple[str, str] | None:
    """An amount without a figure, free among them, and what was understood; None for any other text."""
    said, *beside = _FOUND.split(text, maxsplit=1)  # free, skip: where it was found
    if said.rstrip("!. ") in _FREE and not _FIGURE.search(" ".join(beside)):
        return "0", "free, so 0"
    named = in_words(text)
    return (f"{named[0]:g}", "an amount in words") if named and named[1] else None


_NOTHING = Cell(None)


def _money_body(text: str, currency: str) -> _Body:
    if not text:
        return _BLANK
    if BARE.fullmatch(text):
        return _Body(text)
    if SIGNED.fullmatch(text) and text != "$0":  # that is free
        mine = currency in MEANT_BY[text[0]]
        return _Body(text[1:]) if mine else _Body(text, "refused")
    if text in MISSING_WORDS:
        return _Body("", "missing")
    if named := _in_words(text):
        return _Body(*named)
    body = _NO_CENTS.sub("", text)
    negative = False
    if body.startswith("(") and body.endswith(")"):
        body, negative = body[1:-1].strip(), True
    amount = _without_money(body, currency)
    if amount is None:
        return _Body(body, "refused")
    if amount.startswith("-") or amount.endswith("-"):
        amount, negative = amount.strip("- "), not negative
    return _Body(amount.lstrip("+ ").strip(), "", negative)


def _without_money(body: str, currency: str) -> str | None:
    """An amount without the sign or the code of its money; None where that is another one than `currency`."""
    for sign in _LONGEST_FIRST:
        if sign in body:
            if currency not in MEANT_BY[sign]:
                return None
            body = body.replace(sign, " ", 1).strip()
            break
    code = _TRAIL_CODE.search(body)
    if code and code.group().upper() in CURRENCIES:
        return (
            body.replace(code.group(), " ", 1).strip() if code.group().upper() == currency else None
        )
    return body


_NO_CENTS = re.compile(r"(?<=\d)[.,:]-+(?=\D*$)")  # 45,- and 45:- are 45 in several countries
_LONGEST_FIRST = sorted(MEANT_BY, key=len, reverse=True)


def _money(body: _Body, column: Convention, places: int) -> Cell:
    if body is _BLANK:
        return _NOTHING
    number, said, negative = body
    if said == "missing":
        return Cell(None, "a word for nothing here")
    if said == "refused":
        return Cell(None, "is in another currency than the settings say", True)
    found = settle(number, column)
    if isinstance(found, str):
        if _SEVERAL.search(number) or len(_FIGURES.findall(number)) > 1:
            found = "is not one amount" if found == "is not one number" else found
        elif found == "is not one number":
            found = _NOT_MONEY
        return Cell(None, found, True)
    value = round(-found if negative else found, places)
    if value == 0:
        value = 0.0
    return Cell(value, said or _PLAIN_MONEY)


# ---- hours --------------------------------------------------------------------------------------------

_HOUR = r"(?:hrs?|hours?|std|stunden?|heures?|ore|horas?|uur|uren|timmar)"
_H = rf"(?:man ?)?(?:h|{_HOUR})\.?"
_M = r"(?:m|min|mins|minute|minutes|')\.?"
_HM = re.compile(
    rf"(?P<h>{MIXED}) ?{_H}(?: ?(?:and|,|&)? ?(?P<m>\d+) ?(?:{_M})?(?: ?(?P<s>\d+) ?s(?:ec|ecs)?\.?)?)?"
)
_MIN = re.compile(rf"(?P<m>{NUMBER}) ?{_M}")
_CLOCK = re.compile(r"(?P<h>\d{1,4}):(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?")
_BARE = re.compile(MIXED)
_HALF = re.compile(rf"(\d+) ?(?:and|&) ?(?:a half|1/2)( ?{_H})?")
_TIME_WORDS = re.compile(r"^(?:total:?|so far:?) (?=\d)|(?<=[\w.]) (?:so far|of work)$")
_OR_MORE = re.compile(rf"(?<=\d) ?\+(?= ?(?:{_H})?$)")  # 15+: fifteen at the least
_PART = rf"{MIXED} ?(?:{_H}|{_M})?|\d{{1,2}}:[0-5]\d"
_SUM = re.compile(rf"(?:{_PART})(?: ?\+ ?(?:{_PART}))+")
_TWO_TIMES = re.compile(r"[1-9]\d*/[1-9]\d*")  # 8/9: eight or nine, or a fraction
_DAYS = re.compile(r"\b(?:days?|weekends?|evenings?|mornings?|afternoons?|nights?|weeks?)\b")


_THREE = re.compile(r"^[1-9]\d{0,2}[.,]\d{3}\b")  # 2.400 minutes, 1,524 mm


def read_hours(texts: Sequence[str], *, unit: str = "hours") -> list[Cell]:
    """Hours of work: `9`, `9,5`, `2 1/2`, `3h 30m`, `3:30`, `90 min`, `2 hrs`, `3 + 4`; a bare number is in `unit`."""
    return [_hours(t, unit) for t in texts]


def is_bare_number(text: str) -> bool:
    """True for a number without a unit, doubt taken off: what stands for hours or minutes is not said."""
    body, _ = without_doubt(plain(text))
    return bool(_BARE.fullmatch(body))


@once
def _hours(text: str, unit: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    about, _ = without_doubt(body)
    about = _OR_MORE.sub("", about)
    about = _TIME_WORDS.sub("", about)
    said = ", approximate" if about != body else ""
    half = _HALF.fullmatch(about)
    return within_measure(_one_time(f"{half[1]} 1/2" if half else about, unit, said))


def _one_time(body: str, unit: str, said: str) -> Cell:  # noqa: C901 - one branch for each way to write a time
    clock = _CLOCK.fullmatch(body)
    if clock:
        seconds = int(clock["s"] or 0)
        value = int(clock["h"]) + int(clock["m"]) / 60 + seconds / 3600
        return Cell(round(value, 4), "hours and minutes" + said)
    if "+" in body and _SUM.fullmatch(body):
        parts = [_one_time(p.strip(), unit, "") for p in body.split("+")]
        if all(p.value is not None for p in parts):
            total = sum(float(p.value or 0) for p in parts)
            return Cell(round(total, 4), "hours added up" + said)
    minutes = _MIN.fullmatch(body)
    bare = _BARE.fullmatch(body)
    if (minutes or (bare and unit == "minutes")) and _THREE.search(body):
        return Cell(None, "could be thousands of minutes or a decimal", True)
    if minutes:
        return Cell(round(mixed_number(minutes["m"]) / 60, 4), "minutes turned into hours" + said)
    both = _HM.fullmatch(body)
    if both:
        extra = float(both["m"] or 0) / 60 + float(both["s"] or 0) / 3600
        return Cell(round(mixed_number(both["h"]) + extra, 4), "hours" + said)
    if bare and _TWO_TIMES.fullmatch(body) and mixed_number(body) not in (0.25, 0.5, 0.75):
        return Cell(None, "could be two numbers or a fraction", True)
    if bare:
        value = mixed_number(body)
        if unit == "minutes":
            return Cell(round(value / 60, 4), "minutes turned into hours" + said)
        return Cell(round(value, 4), "hours" + said)
    if _DAYS.search(body):
        return Cell(None, "does not say how many hours; write one number of hours", True)
    several = len(_WHOLE.findall(body)) > 1
    return Cell(
        None,
        "is not one time; write one number of hours" if several else "is not a number of hours",
        True,
    )


_ABOUT = r"(?:(?:took|about|approx\.?|around|roughly|spent|ca\.?|in|~) ?)*"
_NO_MORE = r"(?! ?(?:away|drive|from)\b)"  # hours of the road
_HOURS_NAMED = (
    r"(?<!\d to )(?<!\d or )(?<!\d - )(?<!\d and )"
    rf"(?<![\d/.x*-])({MIXED} ?{_HOUR}\b\.?(?:,? (?:and )?\d+ ?min(?:ute)?s?\b)?|\d+ ?min(?:ute)?s?\b"
    rf"|{MIXED} ?h(?:[0-5]\d)?(?!\w)){_NO_MORE}"
)
_WORKED = re.compile(
    rf"[,; -]*[(\[] ?{_ABOUT}{_HOURS_NAMED}[^()\[\]\d]*[)\]]"
    rf"|[,;(-]* ?{_ABOUT}{_HOURS_NAMED}"
    r"(?: (?:of )?(?:work|labou?r|total|in total|in all|all in|so far|for (?:both|all|the \w+)))*\)?"
)
_BY_H = re.compile(rf"{MIXED} ?h")
_MOST_BY_H = 12  # "12h" is hours, "30h" may be a height in inches; our own, no source
_A_SIDE = re.compile(
    r"\d ?(?:x|\*|by|w|d|l|\"|'|in|inch(?:es)?|cm|mm|wide|deep|long|tall|across)(?![a-z])"
)


def worked_in(text: str) -> tuple[str, float | None]:
    """A text without the hours of work that it names among other words ("oak dresser, 8 hrs"), and those hours; the
    text as it is, and None, where it names none or several. A lone h after more than twelve, or beside a measure, may
    be a height."""
    body = plain(text)
    found = [m[1] or m[2] for m in _WORKED.finditer(body)]
    hours = read_hours(found)[0].value if len(found) == 1 else None
    if not isinstance(hours, float) or not COLUMN["hours"].believes(hours):
        return text, None
    if _BY_H.fullmatch(found[0]) and (hours > _MOST_BY_H or _A_SIDE.search(body)):
        return text, None
    return " ".join(_WORKED.sub(" ", body).split()).strip(" ,;-"), hours


_MAYBE_WORKED = re.compile(
    rf"(?<![\d/.x*])\d[\d.,/ -]*(?:(?:to|or|and) \d[\d.,/]*)? ?\+?(?:{_HOUR}\b|h(?![\w])){_NO_MORE}"
)


def maybe_worked(text: str) -> str:
    """The part of a text that may name hours of work and does not settle them: `3-4 hrs`, `30h`; "" for none."""
    if not _FIGURE.search(text) or worked_in(text)[1] is not None:
        return ""
    body = plain(text)
    found = [m for m in _MAYBE_WORKED.finditer(body) if not m.group().endswith("h")]
    if not found and not _A_SIDE.search(body):
        found = [*_MAYBE_WORKED.finditer(body)]
    return body[found[0].start() : found[-1].end()] if found else ""


# ---- sizes --------------------------------------------------------------------------------------------

_FEET = re.compile(
    rf"(?P<ft>{MIXED}) ?(?:'(?!')|ft\.?|feet|foot) ?-?(?: ?(?P<inch>{MIXED}) ?(?:\"|''|in\.?|inch|inches)?)?"
)
ONE_SIZE = re.compile(
    rf"(?P<n>{MIXED}) ?(?P<unit>\"|''|in\.?|inch|inches|cm\.?|mm|m|centimet(?:er|re)s?)?"
)
_AROUND = re.compile(r"^~ ?|[?]+$")
_PER_INCH = {
    "in": 1.0, "cm": 1 / CM_IN_AN_INCH, "mm": 1 / (10 * CM_IN_AN_INCH), "m": 100 / CM_IN_AN_INCH, "ft": 12.0
}  # fmt: skip


def read_sizes(texts: Sequence[str], *, unit: str = "in") -> list[Cell]:
    """Lengths in inches, to a hundredth; a bare number is in `unit` ("in", "cm", "mm", "m" or "ft")."""
    return [_size(t, unit) for t in texts]


@once
def _size(text: str, unit: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    body = _AROUND.sub("", body).strip()
    feet = _FEET.fullmatch(body)
    if feet:
        inches = 12 * mixed_number(feet["ft"]) + (
            mixed_number(feet["inch"]) if feet["inch"] else 0.0
        )
        return within_measure(Cell(round(inches, 2), "feet and inches, in inches"))
    one = ONE_SIZE.fullmatch(body)
    if not one:
        several = len(_WHOLE.findall(body)) > 1
        return Cell(None, "is not one size" if several else "is not a size", True)
    named = unit_named(one["unit"])
    used = named or unit
    if used == "mm" and _THREE.search(one["n"]):
        return Cell(None, "could be thousands or a decimal", True)
    value = round(mixed_number(one["n"]) * _PER_INCH[used], 2)
    why = "a fraction" if "/" in one["n"] else "a size in inches"
    return within_measure(Cell(value, why if used == "in" else f"{used} turned into inches"))


def unit_named(typed: str | None) -> str:
    """The unit that a typed one stands for, or \"\"."""
    if not typed:
        return ""
    if typed.startswith(("in", '"', "''")):
        return "in"
    return "cm" if typed.startswith("c") else typed
