"""Typed headings -> columns: synonyms, units in the heading, and which line is the heading line."""

from __future__ import annotations

import re
from collections.abc import Container, Sequence
from dataclasses import dataclass
from functools import lru_cache

from fleetlib.base.currencies import CURRENCIES, SIGNS, currency_named
from fleetlib.records.files.safe_csv import without_guard
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.other_languages import HEADINGS, more
from fleetlib.records.parsing.vocabulary import known_words, look_up, word_key
from fleetlib.records.schema.columns import COLUMN, COLUMNS, DERIVED_NAMES, SIZE_HEADINGS, SIZES

SIZE = "size"  # the name of a column that holds all three outside measures

_UNITS = {
    "cm": "cm", "centimeters": "cm", "centimetres": "cm", "cms": "cm", "mm": "mm", "m": "m", "in": "in", "inch": "in",
    "inches": "in", "ins": "in", '"': "in", "ft": "ft", "feet": "ft", "min": "minutes", "mins": "minutes",
    "po": "in", "pouces": "in", "zoll": "in", "pulgadas": "in", "pollici": "in",  # from memory
    "minutes": "minutes", "h": "hours", "hrs": "hours", "hours": "hours", "hr": "hours",
}  # fmt: skip
_NO_HEADING = re.compile(
    r"\d{2}|\d[ .,:/]|^\W*$"
)  # what holds amounts or dates is looked at no further
_FILLER = frozenset(
    {"optional", "if known", "approx", "if any", "est", "date", "iso", "yyyy-mm-dd", "1-5"}
)
_NO_SIGNS = str.maketrans(dict.fromkeys(SIGNS, " "))
_BETWEEN = r" ?(?:[x\u00d7*/,&]|by) ?"
_SIDE = r"[^\W\d_]+"
_ORDER = re.compile(
    r"(?<![^\W\d_])[a-z]x[a-z]x[a-z](?![^\W\d_])"
    rf"|(?<![^\W\d_]){_SIDE}{_BETWEEN}{_SIDE}{_BETWEEN}{_SIDE}(?![^\W\d_])|[a-z]x[a-z]x[a-z]"
)
_IN_A_ROW = re.compile(
    r"(?<![^\W\d_])[WDHLBPT]{3}(?![^\W\d_])"
)  # WHD: capitals, or all of the heading
_SIDES = {"w": "width_in", "l": "width_in", "d": "depth_in", "h": "height_in"}
_ELSEWHERE = str.maketrans(
    "bpta", "wddh"
)  # the breadth, profondeur or profondit\u00e0, Tiefe, altezza


@dataclass(frozen=True, slots=True)
class Heading:
    """What one typed heading means: a column (or "size"), the unit and currency it names, the order of sides."""

    column: str
    unit: str = ""
    currency: str = ""
    order: tuple[str, ...] = ()


def _table() -> dict[str, str]:
    found: dict[str, str] = {}
    for column in COLUMNS:
        for heading in (column.name, *column.headings, *more(HEADINGS, column.name)):
            found[word_key(plain(heading))] = column.name
    return found | {word_key(h): SIZE for h in (*SIZE_HEADINGS, *more(HEADINGS, SIZE))}


_HEADINGS = _table()


@lru_cache(maxsize=4096)
def match_heading(text: str) -> Heading | None:
    """What `text` means as a heading, or None where it is none of ours.

    >>> match_heading("Width (cm)")
    Heading(column='width_in', unit='cm', currency='', order=())
    """
    outside, rest, marks = _beside(text)
    return _find(outside, rest, marks.unit, marks.currency, marks.order)


def marks_of(text: str, column: str) -> Heading:
    """A heading that was said to mean `column`, with the unit, currency and order that its words carry.

    >>> marks_of("B (cm)", "width_in")
    Heading(column='width_in', unit='cm', currency='', order=())
    """
    outside, _, marks = _beside(text)
    last = (word_key(outside).split() or [""])[-1]
    unit = marks.unit or _UNITS.get(last, "")
    return Heading(column, unit if _measures(column, unit) else "", marks.currency, marks.order)


def _measures(column: str, unit: str) -> bool:
    """Whether `column` is measured in `unit`: hours are no unit of a size."""
    if column != SIZE and column not in COLUMN:
        return False
    kind = "size" if column == SIZE else COLUMN[column].kind
    return kind == ("hours" if unit in ("hours", "minutes") else "size")


def _beside(text: str) -> tuple[str, list[str], Heading]:
    """A heading's words outside brackets, what is left of those inside, and the unit, currency and order found."""
    body = plain(_spelled(text)).rstrip("?").replace("#", " no ").replace("№", " no ")
    inside = [p.strip() for p in re.findall(r"[(\[]([^)\]]*)[)\]]", body)]
    outside = re.sub(r"[(\[][^)\]]*[)\]]", " ", body)
    order: tuple[str, ...] = ()
    written = _ORDER.search(body)
    if written and (order := _sides(written.group())):
        outside = outside.replace(written.group(), " ")
        inside = [p for p in (i.replace(written.group(), "").strip(" ,") for i in inside) if p]
    unit, currency, rest = "", "", []
    for part in inside:
        for token in re.split(r"[ ,;]+", part) if part not in _FILLER else []:
            if token in _UNITS:
                unit = _UNITS[token]
            elif (named := currency_named(token)) is not None:
                currency = named
            elif token:
                rest.append(token)
    return outside, rest, Heading("", unit, currency, order)


def _find(
    outside: str, rest: list[str], unit: str, currency: str, order: tuple[str, ...]
) -> Heading | None:
    key = word_key(outside.translate(_NO_SIGNS))
    keys = [word_key(" ".join([*rest, key])), word_key(" ".join([key, *rest]))] if rest else [key]
    for tried in keys:
        if tried in _HEADINGS:
            column = _HEADINGS[tried]
            return Heading(column, unit if _measures(column, unit) else "", currency, order)
        words = tried.split()
        if len(words) > 1 and " ".join(words[:-1]) in _HEADINGS:
            column = _HEADINGS[" ".join(words[:-1])]
            if words[-1] in _UNITS and _measures(column, _UNITS[words[-1]]):
                return Heading(column, _UNITS[words[-1]], currency, order)
            if (
                words[-1].upper() in CURRENCIES
                and column in COLUMN
                and COLUMN[column].kind in ("money", "date")
            ):
                return Heading(column, unit, words[-1].upper(), order)
    if order and (not key or key in _UNITS):
        return Heading(SIZE, unit or _UNITS.get(key, ""), currency, order)
    return None


def _spelled(text: str) -> str:
    """`WHD` as WxHxD, where the three letters are the three sides."""
    whole = text.strip().upper()
    written = _IN_A_ROW.search(whole if len(whole) == _THREE else text)
    if not written or not _sides("x".join(written.group().casefold())):
        return text
    text = whole if len(whole) == _THREE else text
    return text.replace(written.group(), "x".join(written.group()))


_THREE = 3


def _sides(written: str) -> tuple[str, ...]:
    """The three sides that are written in an order, by letters or by words of any language known; () where not all."""
    words = re.split(_BETWEEN, written) if "x" in written or len(written) > _THREE else []
    if len(words) != _THREE or any(len(w) == 0 for w in words):
        words = written.split("x")
    sides = [_side(w) for w in words]
    if sides.count("width_in") == 2 and "height_in" in sides:
        # length x width x height: the length runs along the front
        long = [bool(_LENGTH.fullmatch(w)) for w in words]
        if sum(long) == 1:
            sides = [
                "depth_in" if s == "width_in" and not far else s
                for s, far in zip(sides, long, strict=True)
            ]
    return tuple(sides) if set(sides) == set(SIZES) else ()


def _side(word: str) -> str:
    """The side that a letter or a word of an order names, "" for none."""
    if len(word) == 1:
        return _SIDES.get(word.translate(_ELSEWHERE), "")
    if _LENGTH.fullmatch(word):
        return "width_in"
    column = _HEADINGS.get(word_key(word), "")
    return column if column in SIZES else ""


_LENGTH = re.compile(r"l|length|long|longueur|l\u00e4nge|l\u00e4ngd|lengte|largo|lunghezza")


def headings_named(cells: Sequence[str]) -> set[str]:
    """The different columns that the cells of a line name."""
    likely = (c for c in cells if 0 < len(c) < 60 and not _NO_HEADING.search(c))
    return {h.column for h in map(match_heading, likely) if h}


def heading_score(cells: Sequence[str]) -> int:
    """How much a line looks like headings: the columns its cells name, and far more where one is the kind of piece.

    Without the kind it must name three columns, as a line of cells may name one or two by chance; else words alone,
    three or more and each another, score `WORDS_ALONE`: the last resort where no line names anything.
    """
    found = headings_named(cells)
    if "furniture_type" in found:
        return _WITH_KIND + len(found)
    if len(found) >= _FEWEST_NAMED:
        return WORDS_ALONE + len(found)
    filled = [word_key(c) for c in cells if c.strip()]
    several = len(filled) >= _FEWEST_NAMED and len(set(filled)) == len(filled)
    if not several or not all(map(_WORDS.fullmatch, filled)):
        return 0
    kinds = known_words("furniture_type")
    other = any(w in kinds or look_up("furniture_type", w).why for w in filled)
    return 0 if other else WORDS_ALONE


_WORDS = re.compile(r"[^\d]{1,40}")


_WITH_KIND, _FEWEST_NAMED, WORDS_ALONE = 1000, 3, 1


def header_row(rows: Sequence[Sequence[str]]) -> int | None:
    """The index of the heading line among the first rows of a file; None where there is none."""
    return first_headings([heading_score(r) for r in rows])


def first_headings(scores: Sequence[int]) -> int | None:
    """The index of the first score that comes near the highest: headings may stand again further down.

    Near is three quarters of the columns named, and the kind of piece where the highest names it.
    """
    best = max(scores, default=0)
    if not best:
        return None
    kind = _WITH_KIND if best >= _WITH_KIND else 0
    return next(
        i for i, s in enumerate(scores) if s >= kind and 4 * (s - kind) >= 3 * (best - kind)
    )


@dataclass(frozen=True, slots=True)
class Headings:
    """The columns of one file: which place holds what, and the names under which unknown ones are carried."""

    known: dict[str, tuple[int, Heading]]
    extras: dict[str, int]
    typed: tuple[str, ...]

    @property
    def in_own_words(self) -> tuple[tuple[str, str], ...]:
        """The headings that are not our own word for what they hold: as typed, and the column."""
        pairs = ((" ".join(self.typed[p].split()), name) for name, (p, _) in self.known.items())
        return tuple((t, n) for t, n in pairs if _words(t) != _words(n.removesuffix("_in")))

    @property
    def nameless(self) -> set[str]:
        """The carried columns over which nothing was typed."""
        return {name for name, place in self.extras.items() if not self.typed[place].strip()}


def _words(heading: str) -> list[str]:
    """The words of a heading in one order: `Hrs clean` is said as hours clean."""
    return sorted("hours" if w == "hrs" else w for w in word_key(heading).split())


def carried_name(text: str, place: int, taken: Container[str]) -> str:
    """The name under which a column of the person's own is carried along; `taken` are those in use."""
    name = " ".join(without_guard(text).split()) or f"column {place + 1}"
    if name in DERIVED_NAMES or name == "line":
        name += " (as typed)"
    plain_name, number = name, 2
    while name in taken or name in COLUMN:
        name = f"{plain_name} {number}"
        number += 1
    return name
