"""What a path of asking prices is worth, exactly: the chance of each week's sale and all that follows.

A piece of hidden attraction phi, asked p_t in week t, stays unsold through week t with probability
exp(-phi X_t), where X_t = sum over weeks k <= t of lam(p_k) G_k: lam is how much a price draws buyers and
G how much a week counts. phi is unknown and takes the value phi_j with weight w_j, so

    L(X)      = sum_j w_j exp(-phi_j X)                     the chance of being unsold
    net(path) = sum_t R(p_t) [L(X_{t-1}) - L(X_t)] - H sum_t len_t L(X_{t-1}) + V L(X_n)

with R(p) the money kept from a sale at ask p, H the holding cost of a week, paid at its start, len_t the
length of week t and V the salvage value after the last week, n. "Still unsold" acts on the belief about
phi only through X, which is why one path chosen up front is as good as any rule.

Where the market has draws (what else may be true of the buyers), L is the mean of theirs, given unsold so far, and
with it the net and every chance are means over the draws.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fleetlib.base.errors import BadQuestion
from fleetlib.selling.market import Market

NOTHING_YET = -np.inf  # log of no exposure at all


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
    if market.draws is None:
        log_l = market.log_unsold(x)
    else:
        log_l = np.log(np.maximum(market.draws.share @ market.draws.unsold(at), 1e-300))
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
