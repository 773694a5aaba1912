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
    tried = _between(case, path.prices, case.gut, _STEPS)
    market = case.market(case.hazard, np.unique(tried))
    if market.draws is None:
        return path
    end = np.repeat(tried[:, -1:], market.horizon - tried.shape[1], axis=1)
    levels = np.searchsorted(market.prices, np.concatenate([tried, end], axis=1))
    over = OverDraws(market, market.draws)
    found = over.nets(levels, case.holding, case.salvage)
    less = found.by_draw[-1] - found.by_draw
    doubt = np.sqrt(np.maximum((less**2) @ over.share - (less @ over.share) ** 2, 0.0))
    beyond = np.where(found.weeks > 0, found.score[-1] - found.score - DOUBTS * doubt, np.inf)
    first = int(np.argmax(beyond <= 1e-9))
    nearest = _STEPS[first]
    if first and np.isfinite(beyond[first - 1]):
        back = beyond[first] / (beyond[first] - beyond[first - 1])  # from 0, at this step, to 1
        nearest -= _STEPS[1] * float(np.clip(back, 0.0, 1.0))
    wanted = _between(case, path.prices, case.gut, nearest)[0]
    at = np.abs(case.asks - wanted[:, None]).argmin(axis=1)
    asks = np.minimum(np.minimum.accumulate(case.asks[at]), path.prices)[: found.weeks[first]]
    if not len(asks) or np.array_equal(asks, path.prices):
        return path
    made = case.as_path(asks)
    return path if made.expected_net < case.salvage else replace(made, bolder=path.prices)


def _between(case: Case, asks: np.ndarray, own: float, part: np.ndarray | float) -> np.ndarray:
    """(parts, n) asks, on no steps, from the habit (part 0) to `asks` (1), changing where `asks` do."""
    stretch = np.cumsum(np.append(0, np.diff(asks) != 0))
    days = np.array([(day - case.as_of).days for day in case.dates[: len(asks)]])
    falls = np.log(own) + np.log(KEPT) * (days // EVERY)
    level = (np.bincount(stretch, falls) / np.bincount(stretch))[stretch]
    level[stretch == 0] = np.log(own)
    to = np.reshape(part, (-1, 1))
    made = np.exp(np.minimum(np.log(asks), to * np.log(asks) + (1 - to) * level))
    return np.asarray(np.maximum(np.minimum.accumulate(made, axis=1), case.asks[0]))
