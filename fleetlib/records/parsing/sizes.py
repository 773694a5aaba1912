"""Typed sizes -> inches: one measure a cell, or all three outside measures in one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetlib.records.columns import COLUMN, SIZES
from fleetlib.records.parsing.amounts import ONE_SIZE, read_sizes, unit_named
from fleetlib.records.parsing.numbers import MISSING_WORDS, MIXED, Cell, plain, shown

_LETTERS = {
    "w": "width_in", "wide": "width_in", "width": "width_in", "l": "width_in", "long": "width_in",
    "length": "width_in", "d": "depth_in", "deep": "depth_in", "depth": "depth_in", "h": "height_in",
    "high": "height_in", "height": "height_in", "tall": "height_in",
}  # fmt: skip


_BARE = re.compile(MIXED)
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
    parts: dict[str, tuple[float, str] | None] = {}
    known = parts.get
    put_w, put_d, put_h = (made.sides[side].append for side in order)
    w, d, h = (order.index(side) for side in SIZES)
    in_order = (w, d, h) == (0, 1, 2)
    for text in texts:
        pieces = text.split(" x ")
        if len(pieces) == 3:
            first, second, third = pieces
            found = [known(first), known(second), known(third)]
            if None in found:
                for piece in pieces:
                    if piece not in parts:
                        parts[piece] = _plain_part(piece, unit)
                found = [known(piece) for piece in pieces]
            if None not in found:
                (x, said_x), (y, said_y), (z, said_z) = found  # type: ignore[misc]
                put_w(x)
                put_d(y)
                put_h(z)
                said = [said_x, said_y, said_z]
                if not in_order:
                    said = [said[w], said[d], said[h]]
                made.shown.append(" x ".join(said))
                made.why.append(_SPLIT)
                continue
        _put_odd(made, _split(text, unit, order))
    return made


def _plain_part(piece: str, unit: str) -> tuple[float, str] | None:
    """The value and text of a part that is a bare number and a believable size, else None."""
    if not _BARE.fullmatch(piece):
        return None
    value = read_sizes([piece], unit=unit)[0].value
    if not isinstance(value, float) or not COLUMN[SIZES[0]].believes(value):
        return None
    return value, shown(value)


def _put(made: SplitSizes, sides: Sequence[float], said: str, why: str) -> None:
    for side, value in zip(SIZES, sides, strict=True):
        made.sides[side].append(value)
    made.shown.append(said)
    made.why.append(why or _SPLIT)


def _put_odd(made: SplitSizes, found: dict[str, Cell] | str | None) -> None:
    if not isinstance(found, dict):
        nothing = (np.nan, np.nan, np.nan)
        _put(made, nothing, "", f"left out: {found}" if found else "a word for nothing here")
        return
    values, wrong = [], ""
    for side in SIZES:
        value = found[side].value
        if value is not None and not COLUMN[side].believes(float(value)):
            wrong = wrong or f"left out: {shown(value)} in is no size"
            value = None
        values.append(np.nan if value is None else float(value))
    said = " x ".join(shown(v) or "?" for v in values)
    _put(made, values, "" if said == "? x ? x ?" else said, wrong)


def _split(text: str, unit: str, order: Sequence[str]) -> dict[str, Cell] | str | None:
    """A cell for each side; None for a blank, or the sentence that says what is wrong."""
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return None
    pieces = [
        p.strip()
        for p in re.split(r" ?(?:x|\*|by|;|, (?=(?:[wdhl][a-z]*[ .:]*)?\d)) ?", body)
        if p.strip()
    ]
    if len(pieces) != 3:
        return f"holds {len(pieces)} measure{'s' * (len(pieces) != 1)}, not width x depth x height"
    bare, named = _sides(pieces)
    if named and (len(named) != 3 or len(set(named)) != 3):
        return "names its sides only in part"
    last = ONE_SIZE.fullmatch(bare[-1])
    tail = unit_named(last["unit"]) if last else ""
    whole = tail and not any(_has_unit(b) for b in bare[:-1])
    cells = read_sizes(bare, unit=tail if whole else unit)
    wrong = next((c for c in cells if c.refused), None)
    if wrong:
        return f"cannot be split: a part {wrong.why}"
    return dict(zip(named or order, cells, strict=True))


def _sides(pieces: list[str]) -> tuple[list[str], list[str]]:
    """The parts without their side letters, and the sides that were named."""
    bare, named = [], []
    for piece in pieces:
        match = re.fullmatch(r"(?:([a-z]+)[ :.]*)?.*?[ .]*?([a-z]+)?[. ]*", piece)
        front, back = match.groups() if match else (None, None)
        if front in _LETTERS:
            named.append(_LETTERS[front])
            bare.append(piece[len(front) :].strip(" :."))
        elif back in _LETTERS:
            named.append(_LETTERS[back])
            bare.append(piece.rstrip(". ")[: -len(back)].strip())
        else:
            bare.append(piece)
    return bare, named


def _has_unit(text: str) -> bool:
    one = ONE_SIZE.fullmatch(text)
    return not one or bool(one["unit"])
