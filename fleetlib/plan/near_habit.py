"""Where two plans differ by less than the doubt, the one nearer to the owner's own price and habit is the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.plan.solver.over_draws import OverDraws
from fleetlib.plan.solver.path import PricePath

if TYPE_CHECKING:
    from fleetlib.plan.case import Case

KEPT, EVERY = 0.95, 21  # the habit: 5% off every three weeks (common practice, no source)
DOUBTS = 0.5  # so many sds over the draws must a bolder plan bring more (chosen by tests/bench_living.py)
_STEPS = np.linspace(0.0, 1.0, 11)


def near_habit(case: Case, path: PricePath) -> PricePath:
    """`path`, or one between it and the owner's habit that brings as much within half the doubt.

    The habit is the own price, 5% off every three weeks. Between them asks go from the one to the other in logs, never
    above those of `path`; the nearest to the habit is taken whose score is less by half an sd of the difference over
    the draws at most. `path` itself without an own price or without draws.
    """
    if case.gut is None or not case.draws or not len(path.prices):
        return path
    tried = _between(case, path.prices, case.gut)
    market = case.market(case.hazard, np.unique(tried))
    if market.draws is None:
        return path
    end = np.repeat(tried[:, -1:], market.horizon - tried.shape[1], axis=1)
    levels = np.searchsorted(market.prices, np.concatenate([tried, end], axis=1))
    over = OverDraws(market, market.draws)
    found = over.nets(levels, case.holding, case.salvage)
    less = found.by_draw[-1] - found.by_draw
    share = over.share
    doubt = np.sqrt(np.maximum((less**2) @ share - (less @ share) ** 2, 0.0))
    near = int(np.argmax((found.score[-1] - found.score <= DOUBTS * doubt + 1e-9) & (found.weeks > 0)))
    asks = market.prices[levels[near][: found.weeks[near]]]
    if not len(asks) or np.array_equal(asks, path.prices):
        return path
    made = case.as_path(asks)
    return path if made.expected_net < case.salvage else replace(made, bolder=path.prices)


def _between(case: Case, asks: np.ndarray, own: float) -> np.ndarray:
    """(11, n) asks of the shop from the habit to `asks`, changing where `asks` do."""
    stretch = np.cumsum(np.append(0, np.diff(asks) != 0))
    days = np.array([(day - case.as_of).days for day in case.dates[: len(asks)]])
    falls = np.log(own) + np.log(KEPT) * (days // EVERY)
    level = np.bincount(stretch, falls) / np.bincount(stretch)
    level[0] = np.log(own)
    bold = np.log(asks)
    wanted = np.minimum(bold, _STEPS[:, None] * bold + (1 - _STEPS[:, None]) * level[stretch])
    at = np.abs(np.log(case.asks) - wanted[..., None]).argmin(axis=2)
    made = np.minimum.accumulate(case.asks[at], axis=1)
    made[-1] = asks
    return np.asarray(made)
