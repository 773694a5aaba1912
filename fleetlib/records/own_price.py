"""The owner's own price of a piece: the gut price, or the first ask where it was still their own idea.

Once advice on a piece has been seen, an asking price is no longer its owner's own idea. Advice on the day of the
listing counts as before it; without a listing day any saved advice for the piece does.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.parsed import frame_of, plain_cells

STANDS_IN = "the first asking price stands in; no advice was saved before the listing"


def first_advice(advice_log: pd.DataFrame | None) -> dict[str, date]:
    """The day of the first saved advice on each piece, by its name in small letters."""
    first: dict[str, date] = {}
    if advice_log is not None and len(advice_log):
        for name, day in zip(advice_log["piece"], advice_log["date"], strict=True):
            key, on = str(name).casefold(), pd.Timestamp(day).date()
            first[key] = min(on, first.get(key, on))
    return first


def own_price(
    gut_price: float | None,
    first_ask: float | None,
    *,
    listed_on: date | None,
    advised_on: date | None,
) -> float | None:
    """The owner's own price, money, or None where none is known; None and NaN both say that one is missing.

    `advised_on` is the day of the first saved advice on the piece.
    """
    if gut_price is not None and gut_price == gut_price:
        return float(gut_price)
    if first_ask is None or first_ask != first_ask:
        return None
    advised = advised_on is not None and (listed_on is None or advised_on <= listed_on)
    return None if advised else float(first_ask)


def fill_own_prices(
    flips: pd.DataFrame, advice_log: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """`flips` with a missing gut_price filled by `own_price`, the changes this made, and notes.

    After advice the price that the first saved advice was given with stays, else asking twice would give two
    answers.
    """
    made = flips.copy()
    advised, saved = first_advice(advice_log), _saved_gut_prices(advice_log)
    prices: list[float] = []
    filled: list[int] = []
    held: list[str] = []
    names = made["piece"].tolist()
    columns = (plain_cells(made[c]) for c in ("gut_price", "asking_price", "listed_on"))
    for place, (name, gut, ask, listed) in enumerate(zip(names, *columns, strict=True)):
        key = str(name).casefold()
        price = own_price(
            gut,
            ask,
            listed_on=None if listed is None else listed.date(),
            advised_on=advised.get(key),
        )
        if price is None and ask is not None:
            price = saved.get(key)
            held += [] if price is not None else [str(name)]
        elif price is not None and gut is None:
            filled.append(place)
        prices.append(np.nan if price is None else price)
    made["gut_price"] = pd.Series(prices, index=made.index, dtype="float64")
    lines = made["line"].to_numpy()[filled].tolist()
    rows = [
        (n, "gut_price", "", shown(prices[i]), STANDS_IN)
        for n, i in zip(lines, filled, strict=True)
    ]
    notes = []
    if filled:
        notes.append(
            f"gut_price: the first asking price stands in for {len(filled)} piece(s) without one."
        )
    if held:
        notes.append(
            f"gut_price: missing for {len(held)} piece(s) whose asking price came after saved advice "
            f"({', '.join(held[:6])})."
        )
    return made, frame_of(rows, ["line", "column", "was", "now", "why"]), notes


def _saved_gut_prices(advice_log: pd.DataFrame) -> dict[str, float]:
    """The owner's price that the first saved advice on each piece was given with, by the piece's name."""
    saved: dict[str, float] = {}
    if advice_log.empty:
        return saved
    ordered = advice_log.dropna(subset=["gut_price"]).sort_values("date", kind="stable")
    for name, price in zip(
        ordered["piece"].astype(str), ordered["gut_price"].astype(float), strict=True
    ):
        saved.setdefault(name.casefold(), price)
    return saved
