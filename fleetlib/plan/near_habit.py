"""Where two plans differ by less than the doubt, the one nearer to the owner's own price and habit is the plan."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fleetlib.plan.solver.over_draws import OverDraws
from fleetlib.plan.solver.worth_and_chance_sold import Terms
from fleetlib.selling.market import Market

KEPT, EVERY = 0.95, 21  # the habit: 5% off every three weeks (common practice, no source)
DOUBTS = 0.5  # so many sds over the draws must a bolder plan bring more (chosen by tests/bench_living.py)
_STEPS = np.linspace(0.0, 1.0, 11)


def habit(own: float, days: np.ndarray) -> np.ndarray:
    """(n,) log asks of the owner's habit, the own price with 5% off every three weeks, `days` after listing."""
    return np.asarray(np.log(own) + np.log(KEPT) * (days // EVERY))


def near_habit(
    asks: np.ndarray,
    log_habit: np.ndarray,
    market_at: Callable[[np.ndarray], Market],
    terms: Terms,
    steps: np.ndarray,
) -> np.ndarray:
    """`asks` (n,), or asks between them and the habit that bring as much within half the doubt.

    Between them asks go from the one to the other in logs, changing where `asks` do and never above them; the nearest
    to the habit is taken whose score is less by half an sd of the difference over the draws at most. market_at: the
    market, with its draws, at asks that are on no steps. steps: the asks to choose from, rising. `asks` themselves
    where nothing nearer brings anything, or the market has no draws.
    """
    tried = _between(asks, log_habit, _STEPS, steps[0])
    market = market_at(np.unique(tried))
    if market.draws is None:
        return asks
    end = np.repeat(tried[:, -1:], market.horizon - tried.shape[1], axis=1)
    levels = np.searchsorted(market.prices, np.concatenate([tried, end], axis=1))
    over = OverDraws(market, market.draws)
    found = over.nets(levels, terms.holding_per_week, terms.salvage)
    less = found.by_draw[-1] - found.by_draw
    doubt = np.sqrt(np.maximum((less**2) @ over.share - (less @ over.share) ** 2, 0.0))
    beyond = np.where(found.weeks > 0, found.score[-1] - found.score - DOUBTS * doubt, np.inf)
    first = int(np.argmax(beyond <= 1e-9))
    nearest = _STEPS[first]
    if first and np.isfinite(beyond[first - 1]):
        back = beyond[first] / (beyond[first] - beyond[first - 1])  # from 0, at this step, to 1
        nearest -= _STEPS[1] * float(np.clip(back, 0.0, 1.0))
    wanted = _between(asks, log_habit, nearest, steps[0])[0]
    at = np.abs(steps - wanted[:, None]).argmin(axis=1)
    made = np.minimum(np.minimum.accumulate(steps[at]), asks)[: found.weeks[first]]
    return np.asarray(made) if len(made) else asks


def _between(
    asks: np.ndarray, log_habit: np.ndarray, part: np.ndarray | float, least: float
) -> np.ndarray:
    """(parts, n) asks, on no steps, from the habit (part 0) to `asks` (1), changing where `asks` do."""
    stretch = np.cumsum(np.append(0, np.diff(asks) != 0))
    level = (np.bincount(stretch, log_habit) / np.bincount(stretch))[stretch]
    level[stretch == 0] = log_habit[0]
    to = np.reshape(part, (-1, 1))
    made = np.exp(np.minimum(np.log(asks), to * np.log(asks) + (1 - to) * level))
    return np.asarray(np.maximum(np.minimum.accumulate(made, axis=1), least))
