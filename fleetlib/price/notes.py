"""What to keep in mind about one estimate, in sentences, and where the owner's own idea stands in it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.measured import measured
from fleetlib.base.money import format_money
from fleetlib.base.said import a_or_an, change, count, day_said
from fleetlib.price.breaks import break_sentence, find_break
from fleetlib.price.features import WORDS
from fleetlib.price.fit import PriceDistribution, PriceFit, inside_when_refitted, share_to_expect
from fleetlib.price.priors import KINDS, OTHER_KIND, SOURCES
from fleetlib.records.piece import Piece

_FEW_OF_A_LEVEL = 3
_FEWEST_FOR_A_SHARE = 20  # below this many sales the share inside is a count, not a percentage
_FEWEST_FOR_A_COUNT = 5  # below this many even a count is no help
_NEARLY_ALL = 0.85
_RANGE_CHECKED = ("size_cuft", "width_in", "height_in", "pieces_in_lot", "year_made")
_SLOPES = {
    "size_cuft": "size moves the price",
    "days_listed": "days listed go with the price",
}


def piece_notes(
    fit: PriceFit, piece: Piece, columns: pd.DataFrame, *, unit: str = "in"
) -> tuple[str, ...]:
    """Everything worth knowing about this estimate, most telling first; measures in `unit`, "in" or "cm"."""
    row = columns.iloc[0]
    return (
        *level_notes(fit, row),
        *range_notes(fit, row, unit=unit),
        *missing_notes(fit, piece, row),
        *(slope_notes(fit) if len(fit.sales) >= _FEWEST_FOR_A_COUNT else ()),
        *fit.notes,
        *([break_sentence(found)] if (found := find_break(fit)) else []),
        *borrowed_notes(fit, columns),
        *([coverage_sentence(fit)] if len(fit.sales) >= _FEWEST_FOR_A_COUNT else []),
    )


def came_back_sentence(sale: Mapping[Any, Any], currency: str) -> str:
    """What to mind of a piece whose buyer brought it back, from the row of that sale."""
    paid = (
        "" if pd.isna(sale["sale_price"]) else f" for {format_money(sale['sale_price'], currency)}"
    )
    on = "" if pd.isna(sale["sold_on"]) else f" on {day_said(sale['sold_on'])}"
    noted = f' ("{sale["notes"]}")' if isinstance(sale["notes"], str) else ""
    return (
        f"it sold{paid}{on} and came back{noted}: that sale counts as one of yours; where what brought it back still "
        "shows, expect less"
    )


def borrowed_notes(fit: PriceFit, columns: pd.DataFrame) -> list[str]:
    """How much of the estimate is the owner's own and how much is believed of second-hand furniture in general."""
    if not fit.borrowed:
        return []
    sales, own = len(fit.sales), float(fit.regressor.settled(columns)[0])
    said = []
    if sales < _FEWEST_FOR_A_SHARE:
        kind = str(columns["furniture_type"].iloc[0])
        have = f"you have {count(sales, 'sale')}"
        said.append(
            f"partly from what second-hand furniture is asked in general ({SOURCES} public sources), since {have}: "
            + _place_of(kind, fit)
        )
    if sales == 0:
        said.append(
            "with no sale of yours yet this is a wide guess around your own prices, or what went into your pieces: "
            "it tells the order of size, no more"
        )
    elif own < _NEARLY_ALL:
        said.append(
            f"your own {_sales(sales)} settled {100 * own:.0f}% of what was in doubt about such a piece; the rest "
            "leans on what such pieces are asked in general (borrow = false in the settings leaves that out)"
        )
    return said


def _sales(count: int) -> str:
    return "one sale has" if count == 1 else f"{count} sales have"


def _place_of(kind: str, fit: PriceFit) -> str:
    """Where a kind stands against the kind sold most, in general."""
    sold = fit.sales["furniture_type"].dropna().astype(str)
    others = sold[sold != kind].value_counts()
    other = str(others.index[0]) if len(others) else "dresser"
    if kind == other:
        return f"there {a_or_an(kind)} {kind} is what the other kinds are set against"
    times = float(np.exp(KINDS.get(kind, OTHER_KIND).value - KINDS.get(other, OTHER_KIND).value))
    listed = "" if kind in KINDS else " (a kind not told apart there)"
    yours = " of yours" if len(others) else ""
    return f"there such {a_or_an(kind)} {kind}{listed} is asked {times:.1f} times {a_or_an(other)} {other}{yours}"


def level_notes(fit: PriceFit, row: pd.Series) -> list[str]:
    """Words never sold before, and words sold only a few times."""
    said = []
    for factor in fit.regressor.coding.factors:
        value = row[factor.name]
        if pd.isna(value):
            continue
        counts = dict(zip(factor.levels, factor.counts, strict=True))
        count = int(counts.get(str(value).strip(), 0))
        if not len(fit.sales):
            continue
        word = WORDS[factor.name]
        if count == 0:
            said.append(
                f"none of your sales has {word} {value}: the range is wider for it, and the price comes from "
                "the rest"
            )
        elif count <= _FEW_OF_A_LEVEL:
            verb = "sale has" if count == 1 else "sales have"
            said.append(f"only {count} {verb} {word} {value}; this leans on your other pieces")
    return said


def range_notes(fit: PriceFit, row: pd.Series, *, unit: str = "in") -> list[str]:
    """Measures beyond everything sold so far."""
    said = []
    for measure in fit.regressor.coding.measures:
        value = row[measure.name]
        if measure.name not in _RANGE_CHECKED or pd.isna(value) or np.isinf(measure.high):
            continue
        if measure.low < measure.high and not measure.low <= value <= measure.high:
            this, low, high = (
                measured(measure.name, float(v), unit) for v in (value, measure.low, measure.high)
            )
            said.append(
                f"{WORDS[measure.name]} {this} is outside your past sales ({low} to {high}): take this "
                "estimate with more care than its range says"
            )
    return said


def missing_notes(fit: PriceFit, piece: Piece, row: pd.Series) -> list[str]:
    """What is not stated about the piece though the model uses it."""
    names = [name for name, kind in fit.regressor.coding.blocks if kind in ("factor", "measure")]
    lacking = [WORDS[n] for n in names if pd.isna(row[n])]
    if not lacking:
        return []
    return [f"not stated: {', '.join(lacking)}; the range is wider for it"]


@lru_cache(maxsize=8)
def slope_notes(fit: PriceFit) -> tuple[str, ...]:
    """Slopes whose 95% interval holds zero: the records don't support them. The same for every piece."""
    effects = fit.regressor.effects(0.95).set_index("feature")
    said = []
    for name, words in _SLOPES.items():
        if name not in effects.index:
            continue
        slope = effects.loc[name]
        low, high = float(slope["low"]), float(slope["high"])  # type: ignore[arg-type]
        if low < 0 < high:
            said.append(
                f"your sales are no evidence that {words}: {slope['setting']} goes with {change(low, '')} to "
                f"{change(high)}"
            )
    return tuple(said)


def coverage_sentence(fit: PriceFit) -> str:
    """How the ranges did on the owner's own sales, a fifth of the dates left out and fitted again in turn."""
    inside, sales = inside_when_refitted(fit), len(fit.sales)
    told = "fell inside their 80% range, from the records alone, when priced from the sales of other times"
    if sales < _FEWEST_FOR_A_SHARE:
        return f"{inside} of your own {sales} sales {told}; so few say little about the next ones"
    coming = f"about {100 * share_to_expect(fit):.0f}% of the next ones should"
    return f"of your own {sales} sales, {100 * inside / sales:.0f}% {told}; {coming}"


def idea_sentence(
    fit: PriceFit,
    spread: PriceDistribution,
    counting: PriceDistribution,
    piece: Piece,
    *,
    factor: float,
    currency: str,
) -> str:
    """The share of such pieces that sell above the owner's own price, in words; "" without such a price.

    `spread`: from the records alone, before the owner's own adjustment `factor`; `counting`: with the own price.
    """
    if not piece.gut_price:
        return ""
    price = float(piece.gut_price)
    alone, share = spread.share_above(price / factor), counting.share_above(price)
    shown = format_money(price, currency)
    counted = one_in(alone)
    verb = "sells" if _FEWEST_TOLD <= alone < _ABOUT_HALF[1] else "sell"  # of one in some
    said = (
        f"Your own idea: from the records alone {counted} of such pieces {verb} above {shown}, counting your "
        f"price {one_in(share)}"
    )
    best = float(fit.sales["sale_price"].max()) if len(fit.sales) else np.inf
    if price > best:
        said += f"; nothing of yours has sold for more than {format_money(best, currency)} yet"
    return said + "."


_FEWEST_TOLD, _ABOUT_HALF = 0.005, (0.4, 0.6)


def one_in(share: float) -> str:
    """A share as people say it: 1 in 9, 3 in 4, fewer than 1 in 200."""
    if share < _FEWEST_TOLD:
        return "fewer than 1 in 200"
    if share > 1 - _FEWEST_TOLD:
        return "more than 199 in 200"
    if share <= _ABOUT_HALF[0]:
        return f"1 in {max(round(1 / share), 2)}"
    if share < _ABOUT_HALF[1]:
        return "about every second"
    missed = max(round(1 / (1 - share)), 2)
    return f"{missed - 1} in {missed}"
