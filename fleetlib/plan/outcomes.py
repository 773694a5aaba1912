"""What may come of a plan: every week in which a piece may sell, the money it then brings, the chance."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.plan.case import Case
from fleetlib.plan.solver.path import Terms, path_value
from fleetlib.selling.hazard import Hazard

if TYPE_CHECKING:
    from fleetlib.fits import Fits


@dataclass(frozen=True, eq=False, slots=True)
class Outcomes:
    """What a plan may bring; all arrays (n,), the chances adding up to 1.

    nets: money kept, fees, selling cost and holding cost taken off. days: from the plan's start to the sale
    or to salvage.
    """

    nets: np.ndarray = field(repr=False)
    days: np.ndarray = field(repr=False)
    chances: np.ndarray = field(repr=False)

    @property
    def expected_net(self) -> float:
        """The average net."""
        return float(self.chances @ self.nets)

    @property
    def sd(self) -> float:
        """The standard deviation of the net."""
        return float(np.sqrt(self.chances @ (self.nets - self.expected_net) ** 2))

    @property
    def expected_days(self) -> float:
        """The average number of days."""
        return float(self.chances @ self.days)

    def chance_below(self, amount: float) -> float:
        """The chance that the net is below `amount`."""
        return float(self.chances[self.nets < amount - 1e-9].sum())

    def days_by(self, share: float) -> float:
        """The days within which it has sold, or gone to salvage, with chance `share`."""
        order = np.argsort(self.days, kind="stable")
        at = int(np.searchsorted(np.cumsum(self.chances[order]), share - 1e-12))
        return float(self.days[order][min(at, len(order) - 1)])

    def sample(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """`n` nets drawn."""
        return rng.choice(self.nets, size=n, p=self.chances / self.chances.sum())


def outcomes(
    case: Case,
    prices: np.ndarray,
    *,
    hazard: Hazard | None = None,
    asking: float = 1.0,
    fetches: float = 1.0,
) -> Outcomes:
    """What asking `prices`, one a period of the case, may bring under `hazard` (default: the best fit).

    `asking` multiplies every ask (0.9: 10% lower all along). `fetches` multiplies what the piece is worth
    to buyers, and with it the asks and the salvage value (0.9: it turns out worth 10% less). No prices
    mean salvage at once.
    """
    used = case.hazard if hazard is None else hazard
    salvage = case.salvage * fetches
    if not len(prices):
        return Outcomes(np.array([salvage]), np.zeros(1), np.ones(1))
    used = replace(used, log_anchor=used.log_anchor + float(np.log(fetches)))
    asks = np.asarray(prices, dtype=float) * asking * fetches
    market = case.market(used, np.unique(asks))
    terms = Terms(case.holding, salvage)
    exposure = case.start(used).log_exposure
    worth = path_value(asks, market, terms, log_exposure=exposure)
    weeks = np.cumsum(market.week_lengths[: len(asks)])
    sold = market.revenue[market.levels(asks)]
    return Outcomes(
        nets=np.append(sold, salvage) - case.holding * np.append(weeks, weeks[-1]),
        days=7 * np.append(weeks, weeks[-1]),
        chances=np.append(np.diff(worth.sold_by, prepend=0.0), 1 - worth.sold_by[-1]),
    )


def outcomes_over_draws(fits: Fits, case: Case, prices: np.ndarray) -> Outcomes:
    """The same with what is uncertain about the shop's buyers: the average over the fit's alternatives."""
    kind, asks = case.piece.furniture_type, np.asarray(prices, dtype=float)
    draws = range(len(fits.selling.draws))
    hazards = [fits.selling.hazard(kind, case.usual, case.gut, draw=draw) for draw in draws]
    one = outcomes(case, asks, hazard=hazards[0])  # what is paid of an ask is one for all draws
    chances = np.ones((len(hazards), 1))
    if len(asks):
        sold = case.sold_by(asks, hazards)
        chances = np.column_stack([np.diff(sold, prepend=0.0), 1 - sold[:, -1]])
    return Outcomes(
        nets=np.tile(one.nets, len(hazards)),
        days=np.tile(one.days, len(hazards)),
        chances=chances.ravel() / len(hazards),
    )
