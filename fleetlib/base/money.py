"""Money as a shop writes it: amounts in its currency, and prices on its own steps and endings."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from fleetlib.base.currencies import known_as


def format_money(amount: float | None, currency: str = "USD", *, cents: bool = False) -> str:
    """`amount` as text in `currency` (an ISO 4217 code): `$1,150`, `-$12.50`, `1,150 SEK`.

    Whole units unless `cents`; a missing amount (None or NaN) is shown as `-`.
    """
    if amount is None or not math.isfinite(amount):
        return "-"
    places = known_as(currency).places if cents else 0
    text = f"{abs(amount):,.{places}f}"
    minus = "-" if amount < 0 and float(text.replace(",", "")) != 0 else ""
    sign = known_as(currency).sign
    return f"{minus}{sign}{text}" if sign else f"{minus}{text} {currency}"


def round_price(
    amount: float,
    *,
    step: float,
    ending: float = 0.0,
    to: Literal["nearest", "down", "up"] = "nearest",
) -> float:
    """The price `step * k + ending` (k whole, price at least 0) nearest to, below or above `amount`.

    With step 10 and ending 5 a shop asks 385, 395, 405. A tie goes up. `step` must be above 0 and
    `ending` from 0 up to, but not, `step`.
    """
    check_steps(step, ending)
    k = (amount - ending) / step
    tidy = round(k, 9)  # 0.1 is not exact in binary: 0.3/0.1 must count as 3, not 2.999...
    if to == "down":
        whole = math.floor(tidy)
    elif to == "up":
        whole = math.ceil(tidy)
    else:
        whole = math.floor(tidy + 0.5)
    return round(max(whole, 0) * step + ending, 6)


def price_ladder(low: float, high: float, *, step: float, ending: float = 0.0) -> np.ndarray:
    """All prices `step * k + ending` from `low` to `high`, both included, ascending; may be empty."""
    check_steps(step, ending)
    first = math.ceil(round((max(low, 0.0) - ending) / step, 9))
    last = math.floor(round((high - ending) / step, 9))
    return np.round(step * np.arange(max(first, 0), last + 1) + ending, 6)


def check_steps(step: float, ending: float) -> None:
    """Raise ValueError unless `step` > 0 and 0 <= `ending` < `step`."""
    if not (step > 0 and math.isfinite(step)):
        raise ValueError(f"the price step is {step}; it must be above 0")
    if not 0 <= ending < step:
        raise ValueError(
            f"the price ending is {ending}; it must be from 0 to below the step, {step}"
        )
