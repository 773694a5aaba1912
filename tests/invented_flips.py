"""Small invented records for the tests of earnings, buying and finishes: every canonical column is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.fits import Fits
from fleetlib.selling.hazard import Hazard
from tests.histories import flips_of
from tests.true_records import records_of, shop_of


def piece(
    kind: str, profit: float, hours: float | None, *, sold: bool = True, **more: Any
) -> dict[str, Any]:
    """One finished piece bought for 20, listed on 1 June: sold 14 days later at 20 + profit, or unsold."""
    row: dict[str, Any] = {
        "furniture_type": kind,
        "buy_price": 20.0,
        "materials_cost": 0.0,
        "hours": hours,
        "listed_on": "2026-06-01",
        "asking_price": 300.0,
    }
    if sold:
        row |= {"sold_on": "2026-06-15", "sale_price": 20.0 + profit}
    return row | more


@dataclass(frozen=True, eq=False)
class StandInPlan:
    """What a plan is asked for when pieces are valued."""

    expected_net: float
    expected_days: float = 40.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class KnownHours:
    """Hours that are a constant times a known lognormal."""

    mean: float
    log_sd: float = 0.3
    seen: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    told_by: str = "your records"
    guides_note: tuple[str, ...] = ()

    def expected(self, piece: Any) -> float:
        return self.seen.get(piece.finish or piece.furniture_type, self.mean)

    def interval(self, piece: Any, level: float = 0.80) -> tuple[float, float]:
        from scipy import stats

        reach = float(stats.norm.ppf(0.5 + level / 2)) * self.log_sd
        mid = self.expected(piece) * np.exp(-(self.log_sd**2) / 2)
        return float(mid * np.exp(-reach)), float(mid * np.exp(reach))

    def sample(self, piece: Any, rng: Any, n: int, *, above: float = 0.0) -> np.ndarray:
        mid = self.expected(piece) * np.exp(-(self.log_sd**2) / 2)
        drawn = mid * np.exp(self.log_sd * rng.standard_normal(n))
        return np.maximum(drawn, above)

    def remaining(self, piece: Any, spent: float, rng: Any, n: int) -> np.ndarray:
        return np.maximum(self.sample(piece, rng, n, above=spent) - spent, 0.5)


@dataclass(frozen=True, eq=False)
class KnownSelling:
    """A selling-time fit whose truth is known: the same hazard for every draw, anchored at the gut price."""

    level: float = -1.7
    sensitivity: float = 4.0
    draws: tuple[int, ...] = (0,)
    frailty_sd: float = 0.18
    notes: tuple[str, ...] = ()
    learned: str = "learned"
    caution: float = 0.0
    sold: int = 60

    def drawn_hazards(
        self,
        furniture_type: str,
        usual_price: float,
        gut_price: float | None = None,
        *,
        doubt: float = 0.0,
    ) -> list[Hazard]:
        return [self.hazard(furniture_type, usual_price, gut_price) for _ in self.draws]

    def hazard(
        self,
        furniture_type: str,
        usual_price: float,
        gut_price: float | None = None,
        *,
        draw: int | None = None,
        sensitivity_factor: float = 1.0,
    ) -> Hazard:
        anchor = gut_price if gut_price else usual_price
        return Hazard(
            baseline=self.level,
            sensitivity=self.sensitivity * sensitivity_factor,
            curvature=0.0,
            week_exponent=-0.15,
            log_anchor=float(np.log(anchor)),
            frailty_sd=self.frailty_sd,
            share_paid=0.94,
            highest_ask=anchor * 1.5,
        )


def fits_of(
    rows: list[Mapping[str, Any]],
    *,
    events: list[Mapping[str, Any]] | None = None,
    supplies: list[Mapping[str, Any]] | None = None,
    settings: Settings | None = None,
    **models: Any,
) -> Fits:
    """Records and settings as the advice sees them; `models` are prices, selling, hours."""
    happened = pd.DataFrame(
        events or [], columns=["on", "piece", "event", "amount", "note", "line"]
    )
    bought = pd.DataFrame(supplies or [], columns=["bought_on", "item", "cost", "shared_by"])
    bought["bought_on"] = pd.to_datetime(bought["bought_on"])
    bought["cost"] = bought["cost"].astype(float)
    records = records_of(flips_of(list(rows)), events=happened, supplies=bought, settings=settings)
    return shop_of(records, **models)
