"""Typed sizes -> inches: one measure a cell, or all three outside measures in one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fleetlib.records.parsing.amounts import ONE_SIZE, read_sizes, unit_named
from fleetlib.records.parsing.numbers import LEFT_OUT, MISSING_WORDS, MIXED, plain, shown
from fleetlib.records.parsing.once import once
from fleetlib.records.schema.columns import COLUMN, SIZES

_LETTERS = {
    "w": "width_in", "wide": "width_in", "width": "width_in", "l": "width_in", "long": "width_in",
    "length": "width_in", "d": "depth_in", "deep": "depth_in", "depth": "depth_in", "h": "height_in",
    "high": "height_in", "height": "height_in", "tall": "height_in",
}  # fmt: skip


_SPLIT = "width x depth x height, in inches"


@dataclass(frozen=True, eq=False, slots=True)
class SplitSizes:
    """One entry a text: the three sides in inches (NaN: missing), what is shown for them, and why."""

    sides: dict[str, list[float]]
    shown: list[str]
    why: list[str]


def split_sizes(texts: Sequence[str], *, unit: str, order: Sequence[str] = SIZES) -> SplitSizes:
    """Cells that hold all three outside measures, `60 x 18 x 34`.

    Letters in a cell (`60"W x 18"D x 34"H`) decide which is which, otherwise `order` does; a unit behind the
    last number holds for all, a bare number is in `unit`.
    """
    made = SplitSizes({s: [] for s in SIZES}, [], [])
    for text in texts:
        values, why = _sides_of(text, unit, order)
        for side, value in zip(SIZES, values, strict=True):
            made.sides[side].append(value)
        said = " x ".join(shown(v) or "?" for v in values)
        made.shown.append("" if said == "? x ? x ?" else said)
        made.why.append(why)
    return made


def sides_in(texts: Sequence[str], *, unit: str, order: Sequence[str]) -> np.ndarray:
    """The three sides of each cell alone, as `split_sizes` takes them apart: a row a text, NaN for missing."""
    sides = [_sides_of(text, unit, order)[0] for text in texts]
    return np.array(sides, dtype=float).reshape(-1, len(SIZES))


def _sides_of(text: str, unit: str, order: Sequence[str]) -> tuple[list[float], str]:
    """The sides of a cell, NaN for one that is missing or no size, and why."""
    values, found = [np.nan] * len(SIZES), _measures(text)
    if not isinstance(found, _Measures):
        return values, f"{LEFT_OUT}{found}" if found else "a word for nothing here"
    named = _in_order(found, order) if found.letters else found.named
    if not named:
        return values, f"{LEFT_OUT}names its sides only in part"
    odd: dict[str, str] = {}
    for part, side in zip(found.bare, named, strict=True):
        value, refused, no_size = _side(part, found.unit or unit, side)
        if refused:
            return [np.nan] * len(SIZES), f"{LEFT_OUT}cannot be split: a part {refused}"
        values[_PLACE[side]] = value
        if no_size:
            odd[side] = no_size
    return values, next(filter(None, map(odd.get, SIZES)), "") if odd else _SPLIT


_PLACE = {side: k for k, side in enumerate(SIZES)}


@once
def _side(text: str, unit: str, side: str) -> tuple[float, str, str]:
    """One side, NaN for none, why its cell is refused, and what is said where it is no size."""
    cell = read_sizes([text], unit=unit)[0]
    if cell.value is None:
        return np.nan, cell.why if cell.refused else "", ""
    value = float(cell.value)
    if COLUMN[side].believes(value):
        return value, "", ""
    return np.nan, "", f"{LEFT_OUT}{shown(value)} in is no size"


def _in_order(found: _Measures, order: Sequence[str]) -> tuple[str, ...]:
    """The sides of measures that name them only in part. A letter at its usual place ("36 x 18 x 30h") settles the
    others; at another it leaves them open, and none is known."""
    order = found.order or order
    if not any(found.letters):
        return tuple(order)
    if any(c and _LETTERS[c] != side for c, side in zip(found.letters, order, strict=True)):
        return ()
    rest = iter([side for side in order if side not in found.named])
    return tuple(_LETTERS[c] if c else next(rest) for c in found.letters)


class _Measures(NamedTuple):
    """The measures of one cell, before it is known in which unit and order they are.

    `named` are the sides that are named; where these are not all, `letters` says which measures name one. `order` is
    the order that the cell says, `unit` the unit behind its last number that holds for all.
    """

    bare: tuple[str, ...]
    named: tuple[str, ...]
    letters: tuple[str, ...] = ()
    order: tuple[str, ...] = ()
    unit: str = ""


@once  # a column is tried in several units and orders, then read
def _measures(text: str) -> _Measures | str | None:
    """The measures of a cell; None for a blank, or the sentence that says what is wrong."""
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return None
    if alone := _NUMBERS.fullmatch(body):
        return _Measures(alone.groups(), (), ("", "", ""))
    order: tuple[str, ...] = ()
    if written := _ORDER_SAID.search(body):
        order = tuple(_LETTERS[c] for c in _ONE_SIDE.findall(written.group()))
        body = body.replace(written.group(), "").strip()
    pieces = _pieces(body)
    bare, named = _sides(pieces)
    letters = _letters_of(pieces)
    if "l" in letters and "w" in letters and "d" not in letters:
        # length x width x height, of which the third need not be named
        named = [_LENGTHWISE[n or "h"] for n in letters if n or len(letters) == len(SIZES)]
    if len(set(named)) != len(named):
        return "names one side twice"
    whole = len(named) == len(pieces)
    if not whole and (len(pieces) != 3 or len(named) > 2):
        return f"holds {len(pieces)} measure{'s' * (len(pieces) != 1)}, not width x depth x height"
    if not bare:
        return "holds no measure"
    last = ONE_SIZE.fullmatch(bare[-1])
    tail = unit_named(last["unit"]) if last else ""
    unit = tail if tail and not any(_has_unit(b) for b in bare[:-1]) else ""
    return _Measures(tuple(bare), tuple(named), () if whole else tuple(letters), order, unit)


def _pieces(body: str) -> list[str]:
    """The parts of a cell that are a measure each."""
    body = _AROUND.sub("", _AROUND.sub("", body)).strip()
    if body.startswith("(") and body.endswith(")"):
        body = body[1:-1].strip()
    body = _COUNTED.sub("", _BESIDE.sub("", body)).strip(" ,")
    if _CROSSED.search(body):
        body = _DECIMAL_COMMA.sub(".", body)
    pieces = _of_round([p.strip() for p in _BETWEEN.split(body) if p.strip()])
    return _of_round(_undivided(body)) if len(pieces) == 1 else pieces


_ONE_SIDE, _WORD, _AND = re.compile(r"[wdh]"), re.compile(r"[a-z]+"), re.compile(r"\band\b")
_ENDS = re.compile(r"(?:([a-z]+)[ :=.]*)?.*?[ .]*?([a-z]+)?[. ]*")
_N = r"([0-9]+(?:\.[0-9]+)?(?: [0-9]+/[1-9][0-9]*)?)"
_NUMBERS = re.compile(rf"{_N} ?x ?{_N} ?x ?{_N}")  # most sizes are three numbers and no more
_ORDER_SAID = re.compile(r"\(?\b[wdh] ?x ?[wdh] ?x ?[wdh]\b\)?:?")
_AROUND = re.compile(
    r"^(?:~|about|approx\.?|ca\.?|c\.|circa) ?(?=\d)|(?:[ ,]*(?:approx\.?|\(approx\)|ish)|[?!]+)$"
)
_BETWEEN = re.compile(
    r" ?(?:\bx(?=[ \dwdhl?])|(?<=[\d\"'wdhl.]) ?x ?(?=[\dwdhl?])|\*|\bby\b|;|, ?(?=[wdhl\d])) ?"
)
_BESIDE = re.compile(
    r"(?<=.)\([^)]*\)$|\b(?:each|ea|overall|closed|shut|biggest|largest)\b\.?"
)  # one reading is left
_COUNTED = re.compile(  # what is or is not counted: 46x21x34 w/o mirror
    r"(?<=[\d\"'a-z])[ ,;]+(?:w/o?|(?:with|without|no|not|plus|excl|incl|minus|sans|senza|ohne|mit|con)\b)[^\d]*$"
)
_CROSSED = re.compile(r"\d ?(?:x|\*|by) ?\d")
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d))")  # 1,20x0,60x0,75 m
_ACROSS = re.compile(r"\b(?:diam(?:eter)?|dia|rd|round|across)\b\.?|[øØ⌀]")
_LENGTHWISE = {"l": "width_in", "w": "depth_in", "h": "height_in"}
_SLASHED = re.compile(r"(\d{2,3})([/ -])(\d{2})\2(\d{2})")
_SIDE = r"(?:across|dia(?:m(?:eter)?)?|wide|width|w|long|length|l|deep|depth|d|high|height|tall|h)"
_NAMED_PARTS = re.compile(
    rf"{MIXED} ?(?:\"|''|in\.?|cm)? ?{_SIDE}\b\.?|\b{_SIDE}[ :=]*{MIXED}(?:\"|''| ?in\b| ?cm\b)?"
)


def _of_round(pieces: list[str]) -> list[str]:
    """`20 dia x 26`, a width across and a height, as the three sides that it has; other measures as they are."""
    across = [bool(_ACROSS.search(p)) for p in pieces]
    if len(pieces) != 2 or sum(across) != 1:
        return pieces
    high, wide = sorted(pieces, key=lambda p: bool(_ACROSS.search(p)))
    wide = _ACROSS.sub("", wide).strip(" .")
    return [f"{wide} w", f"{wide} d", high if _letters_of([high])[0] else f"{high} h"]


def _undivided(body: str) -> list[str]:
    """The measures of a cell without an x between them: `60/18/34`, `H30 W44 D20`, `60w 18d 34h`."""
    slashed = _SLASHED.fullmatch(body)
    if slashed:
        return [slashed[1], slashed[3], slashed[4]]
    parts = [m.group() for m in _NAMED_PARTS.finditer(body)]
    rest = _AND.sub("", _NAMED_PARTS.sub("", body)).strip(" ,;")
    return parts if parts and not rest else [body]


def _letters_of(pieces: list[str]) -> list[str]:
    """For each part the first letter of the side it names (tall is h), or ""."""
    found = []
    for piece in pieces:
        words = [w for w in _WORD.findall(piece) if w in _LETTERS]
        letter = words[0][0] if words else ""
        found.append("h" if letter == "t" else letter)
    return found


def _sides(pieces: list[str]) -> tuple[list[str], list[str]]:
    """The parts without their side letters, and the sides that were named."""
    bare, named = [], []
    for piece in pieces:
        match = _ENDS.fullmatch(piece)
        front, back = match.groups() if match else (None, None)
        if front in _LETTERS:
            named.append(_LETTERS[front])
            bare.append(piece[len(front) :].strip(" :=."))
        elif back in _LETTERS:
            named.append(_LETTERS[back])
            bare.append(piece.rstrip(". ")[: -len(back)].strip())
        else:
            bare.append(piece)
    return bare, named


def _has_unit(text: str) -> bool:
    one = ONE_SIZE.fullmatch(text)
    return not one or bool(one["unit"])
