"""What saved plans promised, against what came of it; and how far the next promises are corrected by that.

Every piece counts from its first saved advice on: sold at what it brought, unsold at what today's plan expects of
it, so that slow pieces don't drop out; a scrapped one brought nothing. What was kept or given away says nothing of
what it would have brought, and is left out. The ratio of the totals is drawn
toward 1, since a few pieces say little and the models have learned from the same sales since:

    factor = ratio ** (0.1^2 / (0.1^2 + variance of log ratio))

0.1 is how far off promises are expected to be before any is seen (our own choice).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.base.money import format_money
from fleetlib.pay.piece_values import planned_net
from fleetlib.plan.case import HOLDING_SHARE
from fleetlib.records.piece import piece_from_row

if TYPE_CHECKING:
    from fleetlib.fits import Fits

FEWEST = 5  # pieces under which nothing is corrected
OFF = 0.1
_DAYS = 365  # older promises were made by another shop, and often another kit


@dataclass(frozen=True, slots=True)
class PromisesKept:
    """`pieces` with saved advice of the last year; promised and received, money; the factor for the next promises."""

    pieces: int
    promised: float
    received: float
    factor: float

    def sentence(self, currency: str) -> str:
        """The finding and its use in words; nothing where too few pieces tell."""
        if self.pieces < FEWEST:
            return ""
        said = (
            f"for {self.pieces} pieces your saved plans promised {format_money(self.promised, currency)}; "
            f"{format_money(self.received, currency)} came or is still to come"
        )
        by = abs(self.factor - 1)
        if by < 0.005:
            return f"{said}, so what to pay for a find is left as it is"
        way = "lower" if self.factor < 1 else "higher"
        return f"{said}, so what a find should bring is taken {by:.0%} {way}, as far as so few pieces tell"


def promises_kept(fits: Fits) -> PromisesKept:
    """Grade the saved plans of the last year in money; kept on `fits`."""
    if PromisesKept not in fits.kept:
        fits.kept[PromisesKept] = _graded(fits)
    found: PromisesKept = fits.kept[PromisesKept]
    return found


def _graded(fits: Fits) -> PromisesKept:
    log = fits.records.advice_log
    if "expected_net" not in log or log.empty:
        return PromisesKept(0, 0.0, 0.0, 1.0)
    recent = log[log["date"] > pd.Timestamp(fits.as_of) - pd.Timedelta(days=_DAYS)]
    recent = recent[recent["expected_net"].gt(0) & recent["date"].lt(pd.Timestamp(fits.as_of))]
    first = recent.sort_values("date", kind="stable")
    first = first.groupby(first["piece"].astype(str).str.casefold()).head(1)
    if len(first) < FEWEST:
        return PromisesKept(len(first), 0.0, 0.0, 1.0)
    flips = fits.records.flips
    row_of = dict(zip(flips["piece"].astype(str).str.casefold(), flips.index, strict=True))
    pairs = []
    for said in first.to_dict("records"):
        at = row_of.get(str(said["piece"]).casefold())
        came = None if at is None else _received(fits, flips.loc[at])
        if came is not None and math.isfinite(came):
            pairs.append((_promised(fits, said), came))
    if len(pairs) < FEWEST:
        return PromisesKept(len(pairs), 0.0, 0.0, 1.0)
    promised, received = np.array(pairs).T
    return PromisesKept(
        len(pairs), float(promised.sum()), float(received.sum()), factor_of(promised, received)
    )


def factor_of(promised: np.ndarray, received: np.ndarray) -> float:
    """The factor for the next promises, from (n,) promised and received money; see the module.

    >>> factor_of(np.full(8, 100.0), np.full(8, 100.0))
    1.0
    """
    ratio = float(received.sum() / promised.sum())
    if not ratio > 0:
        return 1.0
    n = len(promised)
    off = received - ratio * promised
    variance = (
        n / (n - 1) * float(off @ off) / float(received.sum()) ** 2
    )  # of log ratio, linearised
    return float(ratio ** (OFF**2 / (OFF**2 + variance)))


def _promised(fits: Fits, said: Mapping[Any, Any]) -> float:
    """The money of a saved expectation: the holding cost of its wait put back."""
    net, days, mid = (float(said[c]) for c in ("expected_net", "expected_days", "mid"))
    week = fits.settings.holding_cost_per_week
    holding = week if week is not None else HOLDING_SHARE * mid
    return net + (holding * days / 7 if math.isfinite(holding * days) else 0.0)


def _received(fits: Fits, row: pd.Series) -> float | None:
    if row["status"] == "sold":
        return float(row["net_price"])
    if row["status"] == "withdrawn":
        return 0.0 if row["outcome"] == "scrapped" else None
    try:
        return planned_net(fits, piece_from_row(row))[0]
    except FleetError:
        return None
