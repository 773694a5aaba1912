"""A certificate for the planner: a worth that no path of asking prices can exceed.

Let U be the worth of the weeks left before conditioning on being unsold. U + (holding cost of the weeks left) L
is a convex function of X: for one path it is a sum of exp(-phi_j X) with weights of at least nothing, and
the best path is a maximum of such sums. Interpolating a convex function linearly in X can only come out too
high, so the programme of plan/solver/dynamic_program.py run that way is an upper bound.
"""

from __future__ import annotations

import numpy as np

from fleetlib.plan.solver.dynamic_program import Between, Question, Start, pose, step_back
from fleetlib.plan.solver.worth_and_chance_sold import Terms
from fleetlib.selling.market import Market

_FRESH = Start()


def upper_bound(market: Market, terms: Terms, *, start: Start = _FRESH, points: int = 200) -> float:
    """A worth that no path of asking prices can exceed (given revenues and salvage of at least nothing)."""
    asked = pose(market, terms, start)
    m = asked.market
    log_x = np.linspace(asked.table.low, asked.table.high, points)
    total = np.logaddexp(
        np.logaddexp.reduce(m.log_week) + m.log_rate.max(), asked.start.log_exposure
    )
    log_x = np.unique(np.append(log_x, [total, asked.start.log_exposure]))
    x = np.exp(log_x)
    dead = np.exp(m.log_unsold(log_x))
    unsold = np.exp(float(m.log_unsold(np.array([asked.start.log_exposure]))[0]))
    ahead = np.append(np.cumsum(m.week_lengths[::-1])[::-1], 0.0) * terms.holding_per_week
    nxt: np.ndarray | None = None
    for t in range(m.horizon - 1, -1, -1):
        here = x if t else np.exp([asked.start.log_exposure])
        here_l = dead if t else np.array([unsold])
        reach = here[None, :] + np.exp(m.log_rate + m.log_week[t])[:, None]
        reach_l = np.exp(m.log_unsold(np.log(reach)))
        gain = m.revenue[:, None] * (here_l - reach_l) + ahead[t + 1] * (here_l - reach_l)
        i = np.clip(np.searchsorted(x, reach, side="right") - 1, 0, len(x) - 2)
        part = np.clip((reach - x[i]) / (x[i + 1] - x[i]), 0.0, 1.0)
        stop = (terms.salvage + ahead[t]) * here_l
        end = terms.salvage * reach_l
        if t:
            nxt = step_back(asked, nxt, gain, Between(i, 1 - part, part), stop, end)
            continue
        if nxt is None:
            first = np.broadcast_to((gain + end), (asked.layers, asked.waits, *gain.shape))
        else:
            k = np.arange(len(m.prices))[:, None]
            first = gain + nxt[:, :, k, i] * (1 - part) + nxt[:, :, k, i + 1] * part
        best = _best_first(asked, first[..., 0])
        # W was U + (holding cost of the weeks left) L; take that off again, and condition on being unsold.
        return float(max((best - ahead[0] * unsold) / unsold, terms.salvage))
    raise AssertionError("a market has at least one week")


def _best_first(asked: Question, first: np.ndarray) -> float:
    top = asked.layers - 1
    if asked.rung is None:
        return float(first[top, asked.first_drop - 1].max())
    k, w = asked.rung, asked.first_drop
    best = float(first[top, max(w - 1, 0), k])
    if w == 0 and (top > 0 or asked.unlimited) and k > 0:
        best = max(best, float(first[top if asked.unlimited else top - 1, asked.gap - 1, :k].max()))
    return best
