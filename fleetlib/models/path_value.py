"""What a path of asking prices is worth, exactly: the chance of each week's sale and all that follows.

A piece of hidden attraction phi, asked p_t in week t, stays unsold through week t with probability
exp(-phi X_t), where X_t = sum over weeks k <= t of lam(p_k) G_k: lam is how much a price draws buyers and
G how much a week counts. phi is unknown and takes the value phi_j with weight w_j, so

    L(X)      = sum_j w_j exp(-phi_j X)                     the chance of being unsold
    net(path) = sum_t R(p_t) [L(X_{t-1}) - L(X_t)] - H sum_t len_t L(X_{t-1}) + V L(X_n)

with R(p) the money kept from a sale at ask p, H the holding cost of a week, paid at its start, len_t the
length of week t and V the salvage value after the last week, n. "Still unsold" acts on the belief about
phi only through X, which is why one path chosen up front is as good as any rule.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fleetlib.errors import BadQuestion

NOTHING_YET = -np.inf  # log of no exposure at all


@dataclass(frozen=True, eq=False, slots=True)
class Market:
    """How buyers answer a price, as arrays (K prices, T weeks, J kinds of hidden attraction).

    prices        (K,) the asks that may be used, ascending, in money
    revenue       (K,) money kept from a sale at each ask, fees and selling cost taken off
    log_rate      (K,) log lam(p); falls as the price rises
    log_week      (T,) log G_t, how much each week on the market counts
    log_phi       (J,) log of the hidden attraction; weights (J,) add up to 1
    week_lengths  (T,) length of each period in weeks (all 1 unless given); holding cost is paid by it
    """

    prices: np.ndarray = field(repr=False)
    revenue: np.ndarray = field(repr=False)
    log_rate: np.ndarray = field(repr=False)
    log_week: np.ndarray = field(repr=False)
    log_phi: np.ndarray = field(default_factory=lambda: np.zeros(1), repr=False)
    weights: np.ndarray = field(default_factory=lambda: np.ones(1), repr=False)
    week_lengths: np.ndarray = field(default_factory=lambda: np.empty(0), repr=False)

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
        return replace(self, log_week=self.log_week[weeks:], week_lengths=self.week_lengths[weeks:])

    def levels(self, prices: np.ndarray) -> np.ndarray:
        """Positions of `prices` among the market's asks. Raises BadQuestion for one that is not there."""
        wanted = np.asarray(prices, dtype=float)
        above = np.searchsorted(self.prices, wanted).clip(0, len(self.prices) - 1)
        below = (above - 1).clip(0)
        nearer = np.abs(self.prices[below] - wanted) < np.abs(self.prices[above] - wanted)
        at = np.where(nearer, below, above)
        if not np.allclose(self.prices[at], wanted, rtol=1e-9, atol=1e-9):
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


@dataclass(frozen=True, eq=False, slots=True)
class Terms:
    """What the owner decides: holding cost a week, salvage value (net money), and how often to come down."""

    holding_per_week: float
    salvage: float
    most_markdowns: int = 3
    weeks_between: int = 2


@dataclass(frozen=True, eq=False, slots=True)
class PathValue:
    """What one path brings, over its n weeks.

    expected_net    money, salvage included, holding cost taken off
    expected_weeks  weeks on the market until it sells or is taken to salvage
    sold_by         (n,) chance sold by the end of each week
    continuation    (n + 1,) money expected from the start of each week on, given it is still unsold
                    then; the last is the salvage value
    log_exposure    (n,) log X after each week
    """

    expected_net: float
    expected_weeks: float
    sold_by: np.ndarray = field(repr=False)
    continuation: np.ndarray = field(repr=False)
    log_exposure: np.ndarray = field(repr=False)


def path_value(
    prices_by_week: np.ndarray,
    market: Market,
    terms: Terms,
    *,
    log_exposure: float = NOTHING_YET,
) -> PathValue:
    """The exact worth of asking `prices_by_week` (n <= T asks of `market`), salvage after the last week.

    `log_exposure` is log X of the weeks already gone by unsold; everything is then given that it is
    unsold now.
    """
    at = market.levels(prices_by_week)
    n = len(at)
    if n > market.horizon:
        raise BadQuestion(f"the path has {n} weeks but the market only {market.horizon}")
    steps = market.log_rate[at] + market.log_week[:n]
    x = np.logaddexp.accumulate(np.concatenate([[log_exposure], steps]))
    log_l = market.log_unsold(x)
    survive = np.exp(np.diff(log_l))
    worth = np.empty(n + 1)
    worth[n] = terms.salvage
    cost = terms.holding_per_week * market.week_lengths[:n]
    for t in range(n - 1, -1, -1):
        sale = market.revenue[at[t]] * (1.0 - survive[t])
        worth[t] = sale - cost[t] + survive[t] * worth[t + 1]
    unsold = np.exp(log_l - log_l[0])
    weeks = float(unsold[:-1] @ market.week_lengths[:n])
    return PathValue(float(worth[0]), weeks, 1.0 - unsold[1:], worth, x[1:])
