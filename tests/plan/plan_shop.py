"""A small invented shop for the tests of plans: fits whose hazards are known, and pieces on hand."""

from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.records.piece import Piece
from fleetlib.selling.hazard import Hazard
from tests.histories import flips_of
from tests.true_records import records_of, shop_of

AS_OF = date(2026, 9, 30)  # a Wednesday
USUAL = 300.0
DRESSER = Piece(piece="A-1", furniture_type="dresser", wood="oak", gut_price=340.0)
LISTED = replace(DRESSER, piece="A-2", listed_on=date(2026, 8, 26), asking_price=420.0)
DEAR = replace(LISTED, asking_price=520.0)  # a markdown is overdue
SHOP = Settings(price_step=10.0, delivery_cost=8.0, usual_channel="market stall")


@dataclass(frozen=True)
class KnownPrices:
    """Every piece usually sells for the same."""

    price: float = USUAL

    def usual(self, pieces):
        return np.full(len(pieces), self.price)

    def doubt(self, piece):
        return 0.0


@dataclass(frozen=True)
class KnownPace:
    """A selling-time fit with a stated truth; draws spread the level and the sensitivity around it."""

    level: float = -1.7
    sensitivity: float = 4.0
    cap: float = 0.5
    tried: float = 9.0
    learned: str = "assumed"
    caution: float = 0.0
    sold: int = 60
    notes: tuple[str, ...] = ()
    draws: np.ndarray = field(default_factory=lambda: np.linspace(-1, 1, 12))

    def drawn_hazards(self, furniture_type, usual_price, gut_price=None, *, doubt=0.0):
        return [
            self.hazard(furniture_type, usual_price, gut_price, draw=k)
            for k in range(len(self.draws))
        ]

    def hazard(
        self, furniture_type, usual_price, gut_price=None, *, draw=None, sensitivity_factor=1.0
    ):
        off = 0.0 if draw is None else self.draws[draw]
        anchor = np.log(usual_price)
        if gut_price is not None:
            anchor += 0.8 * np.log(gut_price / usual_price)
        return Hazard(
            baseline=self.level + 0.25 * off,
            sensitivity=self.sensitivity * sensitivity_factor * np.exp(0.1 * off),
            curvature=0.5,
            week_exponent=-0.1,
            log_anchor=anchor,
            frailty_sd=0.15 if gut_price is not None else 0.25,
            share_paid=0.94,
            highest_ask=float(np.exp(anchor + self.cap)),
            highest_tried=float(np.exp(anchor + self.tried)),
        )


def events_of(*rows):
    """Rows of (on, piece, event, amount) as an events table."""
    frame = pd.DataFrame(list(rows), columns=["on", "piece", "event", "amount"])
    return frame.assign(
        on=pd.to_datetime(frame["on"]), amount=frame["amount"].astype(float), note="", line=2
    )


def shop(*, settings=SHOP, prices=None, pace=None, events=(), flips=None, advice_log=None):
    """Fits of the invented shop."""
    records = records_of(
        flips_of([]) if flips is None else flips,
        events=events_of(*events),
        advice_log=advice_log,
        settings=settings,
        as_of=AS_OF,
    )
    return shop_of(
        records,
        prices=KnownPrices() if prices is None else prices or None,
        selling=KnownPace() if pace is None else pace,
    )


def shop_with(**changes):
    """The shop with some settings changed."""
    return shop(settings=replace(SHOP, **changes))
