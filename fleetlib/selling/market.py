"""How buyers answer each price that may be asked: what the time to sell hands to the plan."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fleetlib.base.errors import BadQuestion
from fleetlib.selling.hazard import Hazard, normal_nodes


@dataclass(frozen=True, eq=False, slots=True)
class Draws:
    """Equally likely answers of buyers to the asks of one market (D draws, K prices, T weeks).

    log_rate      (D, K); log_week (D, T): as in `Market`, of each draw
    spread        (D,) sd of the log of hidden attraction
    log_exposure  (D,) log X of the weeks already gone by unsold
    caution       0 to 1: how much the worst quarter of the draws counts, besides the mean, where a plan is chosen
    """

    log_rate: np.ndarray = field(repr=False)
    log_week: np.ndarray = field(repr=False)
    spread: np.ndarray = field(repr=False)
    log_exposure: np.ndarray = field(repr=False)
    caution: float = 0.0

    def kinds(self) -> tuple[np.ndarray, np.ndarray]:
        """Hidden attraction phi as 11 kinds, and their weights given unsold so far: (D, 11) each."""
        phi, weights = self._kinds()
        return phi, weights / weights.sum(axis=1, keepdims=True)

    @property
    def share(self) -> np.ndarray:
        """(D,) how much each counts, by how likely it leaves the piece unsold so far; adds up to 1."""
        unsold = np.maximum(self._kinds()[1].sum(axis=1), 1e-300)
        return np.asarray(unsold / unsold.sum())

    def _kinds(self) -> tuple[np.ndarray, np.ndarray]:
        x, weights = normal_nodes(11)
        phi = np.exp(self.spread[:, None] * x)
        return phi, np.maximum(weights * np.exp(-np.exp(self.log_exposure)[:, None] * phi), 1e-300)

    def unsold(self, levels: np.ndarray) -> np.ndarray:
        """(D, n + 1) chance of still being unsold at the start of each week and after the last, asking `levels`."""
        used = np.exp(self.log_rate[:, levels] + self.log_week[:, : len(levels)])
        gone = np.concatenate([np.zeros((len(used), 1)), np.cumsum(used, axis=1)], axis=1)
        phi, weights = self.kinds()
        return np.asarray((np.exp(-gone[..., None] * phi[:, None]) * weights[:, None]).sum(axis=2))

    def later(self, weeks: int) -> Draws:
        """The same once `weeks` weeks have gone by (what was asked in them is not counted)."""
        return replace(self, log_week=self.log_week[:, weeks:])


@dataclass(frozen=True, eq=False, slots=True)
class Market:
    """How buyers answer a price, as arrays (K prices, T weeks, J kinds of hidden attraction).

    prices        (K,) the asks that may be used, ascending, in money
    revenue       (K,) money kept from a sale at each ask, fees and selling cost taken off
    log_rate      (K,) log lam(p); falls as the price rises
    log_week      (T,) log G_t, how much each week on the market counts
    log_phi       (J,) log of the hidden attraction; weights (J,) add up to 1
    week_lengths  (T,) length of each period in weeks (all 1 unless given); holding cost is paid by it
    draws         what else may be true of the buyers; where given, a path is worth its mean over them
    """

    prices: np.ndarray = field(repr=False)
    revenue: np.ndarray = field(repr=False)
    log_rate: np.ndarray = field(repr=False)
    log_week: np.ndarray = field(repr=False)
    log_phi: np.ndarray = field(default_factory=lambda: np.zeros(1), repr=False)
    weights: np.ndarray = field(default_factory=lambda: np.ones(1), repr=False)
    week_lengths: np.ndarray = field(default_factory=lambda: np.empty(0), repr=False)
    draws: Draws | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        for name in ("prices", "revenue", "log_rate", "log_week", "log_phi", "weights"):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=float))
        lengths = np.asarray(self.week_lengths, dtype=float)
        if lengths.size == 0:
            lengths = np.ones_like(self.log_week)
        object.__setattr__(self, "week_lengths", lengths)
        if not self.prices.size or np.any(np.diff(self.prices) <= 0):
            raise BadQuestion("the asking prices to choose from must be given, rising")
        if not self.log_week.size:
            raise BadQuestion("there is no week left to plan for")

    @property
    def horizon(self) -> int:
        """Number of weeks, T."""
        return len(self.log_week)

    def later(self, weeks: int) -> Market:
        """The same market once `weeks` weeks have gone by."""
        return replace(
            self,
            log_week=self.log_week[weeks:],
            week_lengths=self.week_lengths[weeks:],
            draws=None if self.draws is None else self.draws.later(weeks),
        )

    def levels(self, prices: np.ndarray) -> np.ndarray:
        """Positions of `prices` among the market's asks. Raises BadQuestion for one that is not there."""
        wanted = np.asarray(prices, dtype=float)
        above = np.searchsorted(self.prices, wanted).clip(0, len(self.prices) - 1)
        below = (above - 1).clip(0)
        nearer = np.abs(self.prices[below] - wanted) < np.abs(self.prices[above] - wanted)
        at = np.where(nearer, below, above)
        apart = np.abs(self.prices[at] - wanted)
        if not (apart <= 1e-9 + 1e-9 * np.abs(wanted)).all():
            raise BadQuestion("a price of this path is not among the market's asking prices")
        return at

    def log_unsold(self, log_exposure: np.ndarray) -> np.ndarray:
        """log L(X) at log X, exactly; the same shape. Never below -700."""
        x = np.asarray(log_exposure, dtype=float)
        with np.errstate(over="ignore", divide="ignore"):
            used = np.exp(x[..., None] + self.log_phi)
            gone = -(np.expm1(-used) @ self.weights)  # 1 - L, exact where nearly all are unsold
            inner = np.log(self.weights) - used
            floor = np.maximum(inner.max(axis=-1), -700.0)
            rest = floor + np.log(np.exp(inner - floor[..., None]).sum(axis=-1))
            few = np.log1p(-np.minimum(gone, 0.5))
        out: np.ndarray = np.where(gone < 0.5, few, np.clip(rest, -700.0, 0.0))
        return out


def market_for(
    hazard: Hazard,
    prices: np.ndarray,
    *,
    horizon_weeks: int,
    fee_share: float = 0.0,
    selling_cost: float = 0.0,
) -> Market:
    """The market of a piece listed now: `hazard` at each of `prices`, over `horizon_weeks` weeks.

    The money kept from a sale is paid(ask) x (1 - fee_share) - selling_cost.
    """
    asks = np.asarray(prices, dtype=float)
    log_phi, weights = hazard.nodes()
    return Market(
        prices=asks,
        revenue=hazard.paid(asks) * (1.0 - fee_share) - selling_cost,
        log_rate=hazard.log_rate(asks),
        log_week=hazard.log_week(horizon_weeks),
        log_phi=log_phi,
        weights=weights,
    )
