"""What to write down first: which entry that is not on record would narrow the answer most."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from fleetlib.base.level import USUAL_LEVEL
from fleetlib.price.fit import PriceFit
from fleetlib.price.own_price import counting_own_price, own_pricing
from fleetlib.price.priors import usual_sizes
from fleetlib.records.piece import Piece

_LEAST = 0.03  # of the range's width; less is not worth a sentence
_WORDS = {"wood": "its wood", "finish": "its finish"}


def narrowing(fit: PriceFit, piece: Piece) -> dict[str, float]:
    """By entry that `piece` lacks, how much narrower (a share of its log width) the range is expected to become.

    Each is tried with a usual value: the kind's usual size, the shop's most usual word, an own price where such an
    owner usually puts it.
    """
    spread = fit.distribution(piece)
    pricing = own_pricing(fit)
    now = _width(spread.interval(USUAL_LEVEL))
    if piece.gut_price:
        now = _width(counting_own_price(fit, spread, piece.gut_price).interval(USUAL_LEVEL))
    found = {}
    for words, entries in _lacking(fit, piece).items():
        fuller = fit.distribution(replace(piece, **entries))
        ends = fuller.interval(USUAL_LEVEL)
        if piece.gut_price:
            ends = counting_own_price(fit, fuller, piece.gut_price).interval(USUAL_LEVEL)
        found[words] = 1 - _width(ends) / now
    if not piece.gut_price:
        usual = spread.mid * (1 + pricing.usual_excess)
        ends = counting_own_price(fit, spread, usual).interval(USUAL_LEVEL)
        found["your own price, before you look at any answer"] = 1 - _width(ends) / now
    return found


def first_entry_sentence(fit: PriceFit, piece: Piece) -> str:
    """The entry most worth writing down, in words; empty where none would narrow the range by much."""
    found = narrowing(fit, piece)
    if not found:
        return ""
    best = max(found, key=lambda words: found[words])
    if found[best] < _LEAST:
        return ""
    return f"what to write down first: {best}; it should make this range about {100 * found[best]:.0f}% narrower"


def _lacking(fit: PriceFit, piece: Piece) -> dict[str, dict[str, Any]]:
    lacking: dict[str, dict[str, Any]] = {}
    sizes = usual_sizes(piece.furniture_type)
    names = ("width_in", "depth_in", "height_in")
    if sizes and not all(getattr(piece, name) for name in names):
        own = {name: getattr(piece, name) or size for name, size in zip(names, sizes, strict=True)}
        lacking["its width, depth and height"] = own
    for factor in fit.regressor.coding.factors:
        if factor.name in _WORDS and not getattr(piece, factor.name) and len(factor.levels):
            word = factor.levels[int(np.argmax(factor.counts))]
            lacking[_WORDS[factor.name]] = {factor.name: word}
    return lacking


def _width(ends: tuple[float, float]) -> float:
    return float(np.log(ends[1] / ends[0]))
