"""Typed sizes -> inches: one measure a cell, or all three outside measures in one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fleetlib.records.parsing.amounts import ONE_SIZE, read_sizes, unit_named
from fleetlib.records.parsing.numbers import LEFT_OUT, MISSING_WORDS, MIXED, Cell, plain, shown
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
        _put_odd(made, _split(text, unit, tuple(order)))
    return made


def _put(made: SplitSizes, sides: Sequence[float], said: str, why: str) -> None:
    for side, value in zip(SIZES, sides, strict=True):
        made.sides[side].append(value)
    made.shown.append(said)
    made.why.append(why or _SPLIT)


def _put_odd(made: SplitSizes, found: Mapping[str, Cell] | str | None) -> None:
    if found is None or isinstance(found, str):
        nothing = (np.nan, np.nan, np.nan)
        _put(made, nothing, "", f"{LEFT_OUT}{found}" if found else "a word for nothing here")
        return
    values, wrong = [], ""
    for side in SIZES:
        value = found[side].value
        if value is not None and not COLUMN[side].believes(float(value)):
            wrong = wrong or f"{LEFT_OUT}{shown(value)} in is no size"
            value = None
        values.append(np.nan if value is None else float(value))
    said = " x ".join(shown(v) or "?" for v in values)
    _put(made, values, "" if said == "? x ? x ?" else said, wrong)


@lru_cache(maxsize=8192)  # a column is tried in several units and orders, then read
def _split(text: str, unit: str, order: Sequence[str]) -> Mapping[str, Cell] | str | None:  # noqa: C901 - one branch for each way to write a size
    """A cell for each side; None for a blank, or the sentence that says what is wrong."""
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return None
    written = _ORDER_SAID.search(body)
    if written:
        sides = [_LETTERS[c] for c in re.findall(r"[wdh]", written.group())]
        order, body = sides, body.replace(written.group(), "").strip()
    body = _AROUND.sub("", _AROUND.sub("", body)).strip()
    if body.startswith("(") and body.endswith(")"):
        body = body[1:-1].strip()
    body = _COUNTED.sub("", _BESIDE.sub("", body)).strip(" ,")
    if _CROSSED.search(body):
        body = _DECIMAL_COMMA.sub(".", body)
    pieces = _of_round([p.strip() for p in _BETWEEN.split(body) if p.strip()])
    if len(pieces) == 1:
        pieces = _of_round(_undivided(body))
    bare, named = _sides(pieces)
    if "l" in _letters_of(pieces) and "w" in _letters_of(pieces) and "d" not in _letters_of(pieces):
        named = [_LENGTHWISE[n] for n in _letters_of(pieces)]  # length x width x height
    if len(set(named)) != len(named):
        return "names one side twice"
    if len(named) != len(pieces):
        left = [side for side in order if side not in named]
        if len(pieces) != 3 or len(named) > 2:
            many = f"holds {len(pieces)} measure{'s' * (len(pieces) != 1)}"
            return f"{many}, not width x depth x height"
        rest = iter(left)
        letters = _letters_of(pieces)
        # a letter at its usual place ("36 x 18 x 30h") settles the others; at another it leaves them open
        if any(c and _LETTERS[c] != side for c, side in zip(letters, order, strict=True)):
            return "names its sides only in part"
        named = [_LETTERS[c] if c else next(rest) for c in letters]
    if not bare:
        return "holds no measure"
    last = ONE_SIZE.fullmatch(bare[-1])
    tail = unit_named(last["unit"]) if last else ""
    whole = tail and not any(_has_unit(b) for b in bare[:-1])
    cells = read_sizes(bare, unit=tail if whole else unit)
    wrong = next((c for c in cells if c.refused), None)
    if wrong:
        return f"cannot be split: a part {wrong.why}"
    return {side: Cell(None) for side in SIZES} | dict(zip(named, cells, strict=True))


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
    rest = re.sub(r"\band\b", "", _NAMED_PARTS.sub("", body)).strip(" ,;")
    return parts if parts and not rest else [body]


def _letters_of(pieces: list[str]) -> list[str]:
    """For each part the first letter of the side it names (tall is h), or ""."""
    found = []
    for piece in pieces:
        words = [w for w in re.findall(r"[a-z]+", piece) if w in _LETTERS]
        letter = words[0][0] if words else ""
        found.append("h" if letter == "t" else letter)
    return found


def _sides(pieces: list[str]) -> tuple[list[str], list[str]]:
    """The parts without their side letters, and the sides that were named."""
    bare, named = [], []
    for piece in pieces:
        match = re.fullmatch(r"(?:([a-z]+)[ :=.]*)?.*?[ .]*?([a-z]+)?[. ]*", piece)
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
