"""What paths of asks bring under every draw of the fit at once, and the score a plan is chosen by.

Draw d has its own weekly rates, its own spread of hidden quality and its own chance of the weeks gone by unsold:

    L_d(t) = sum_j w_dj prod_{k <= t} exp(-phi_dj lam_d(p_k) G_dk) ,   net_d as in worth_and_chance_sold.py
    score  = (1 - caution) mean_d net_d + caution (mean of net_d over the worst quarter of the draws)

No single belief carries over from week to week across draws, so a programme on one number would not be exact: a path
is found for one of them, then moved by exact moves until nothing improves its score.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from fleetlib.plan.solver.worth_and_chance_sold import NOTHING_YET, Terms
from fleetlib.selling.market import Draws, Market

WORST = 0.25  # the share of the draws that counts twice while sales are few
_LOW, _HIGH, _POINTS = -14.0, 8.0, 1024  # of log X, between which L is interpolated: to 2e-5


class Nets(NamedTuple):
    """Of P paths: the score of each, its number of weeks, and what it brings under each draw (P, D)."""

    score: np.ndarray
    weeks: np.ndarray
    by_draw: np.ndarray


class OverDraws:
    """What every week at every ask adds to a piece's exposure under every draw, tabulated for one market."""

    def __init__(self, market: Market, draws: Draws) -> None:
        self.market, self.draws, self.share = market, draws, draws.share
        used = draws.log_rate[:, None, :] + draws.log_week[:, :, None]  # (D, T, K)
        self._used = np.exp(np.minimum(used, 9.0)).transpose(1, 2, 0).astype(np.float32, order="C")
        self._unsold, self._rise = _tabulated(draws.spread.tobytes(), draws.log_exposure.tobytes())
        self._row = _POINTS * np.arange(len(self.share), dtype=np.int32)

    def nets(self, levels: np.ndarray, holding: float, salvage: float) -> Nets:
        """Of paths as weekly positions among the market's asks (P, T), each ended at its best week.

        Paths that are alike up to some week are one until then.
        """
        m, share = self.market, self.share.astype(np.float32)
        revenue, cost = m.revenue.astype(np.float32), (holding * m.week_lengths).astype(np.float32)
        order, begun = _until_they_part(levels)
        before = np.ones((1, len(share)), np.float32)
        gone, earned = np.zeros_like(before), np.zeros_like(before)
        totals: list[np.ndarray] = [np.full_like(before, salvage)]
        best = np.full(1, salvage, np.float32)
        ends, which = np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp)
        first = np.zeros(1, dtype=np.intp)
        for t, new in enumerate(begun):
            if len(new) > len(first):
                parent = np.searchsorted(first, new, side="right") - 1
                before, earned, gone = (a.take(parent, axis=0) for a in (before, earned, gone))
                best, ends, which = best[parent], ends[parent], which[parent]
            first, at = new, levels[order[new], t]
            gone += self._used[t].take(at, axis=0)
            left = self._left(gone)
            earned += revenue[at, None] * (before - left)
            earned -= cost[t] * before
            total = earned + np.float32(salvage) * left
            mean = total @ share
            better = np.flatnonzero(mean > best)
            best[better], ends[better], which[better] = mean[better], t + 1, better
            totals.append(total)
            before = left
        nets = np.empty((len(ends), len(share)))
        for week in np.unique(ends):
            here = ends == week
            nets[here] = totals[week][which[here]]
        score = nets @ self.share
        if self.draws.caution:
            score += self.draws.caution * (worst(nets, self.share) - score)
        back = np.empty(len(levels), dtype=np.intp)
        back[order] = np.searchsorted(first, np.arange(len(levels)), side="right") - 1
        return Nets(score[back], ends[back], nets[back])

    def _left(self, gone: np.ndarray) -> np.ndarray:
        """L of each draw at exposure X (P, D), interpolated in log X."""
        place = np.log(gone)
        place -= np.float32(_LOW)
        place *= np.float32((_POINTS - 1) / (_HIGH - _LOW))
        np.clip(place, 0.0, _POINTS - 1.001, out=place)
        point = place.astype(np.int32)
        place -= point
        point += self._row
        place *= self._rise[point]
        place += self._unsold[point]
        return np.asarray(place)


@lru_cache(maxsize=8)
def _tabulated(spread: bytes, log_exposure: bytes) -> tuple[np.ndarray, np.ndarray]:
    """L of each draw on an even grid of log X, and its rise from point to point, (D x points,) each.

    It is the same for all asks, and a search goes through several sets of them.
    """
    none = np.zeros((0, 0))
    weights = Draws(none, none, np.frombuffer(spread), np.frombuffer(log_exposure)).kinds()[1]
    unsold = (_lasting(spread) * weights[:, None]).sum(axis=2).astype(np.float32)
    return unsold.ravel(), np.diff(unsold, axis=1, append=np.float32(0)).ravel()


@lru_cache(maxsize=4)
def _lasting(spread: bytes) -> np.ndarray:
    """exp(-phi X) (D, points, kinds) on the same grid, for every piece whose hidden quality is spread so."""
    none, begun = np.zeros((0, 0)), np.full(len(spread) // 8, NOTHING_YET)
    phi = Draws(none, none, np.frombuffer(spread), begun).kinds()[0]
    grid = np.exp(np.linspace(_LOW, _HIGH, _POINTS))
    return np.asarray(np.exp(-grid[:, None] * phi[:, None]))


def _until_they_part(levels: np.ndarray) -> tuple[np.ndarray, list[np.ndarray]]:
    """The order that brings paths (P, T) that begin alike together; of each week, where in it a new one begins."""
    rows = np.ascontiguousarray(levels, dtype=">u2")
    order = np.argsort(rows.view(f"V{rows.shape[1] * 2}").ravel(), kind="stable")
    rows = rows[order]
    parted = np.logical_or.accumulate(rows[1:] != rows[:-1], axis=1)
    return order, [np.append(0, np.flatnonzero(parted[:, t]) + 1) for t in range(levels.shape[1])]


def nets_by_draw(market: Market, levels: np.ndarray, terms: Terms) -> np.ndarray:
    """(D,) what one path, as positions among the market's asks (n,), brings under each draw, salvage after it."""
    if market.draws is None:
        raise ValueError("this market has no draws")
    left, n = market.draws.unsold(levels), len(levels)
    flow = market.revenue[levels] * (left[:, :-1] - left[:, 1:])
    flow -= terms.holding_per_week * market.week_lengths[:n] * left[:, :-1]
    return np.asarray(flow.sum(axis=1) + terms.salvage * left[:, -1])


def worst(by_draw: np.ndarray, share: np.ndarray) -> np.ndarray:
    """(P,) mean of (P, D) over the worst quarter of the draws, each counting by its share (D,)."""
    order = np.argsort(by_draw, axis=1, kind="stable")
    counts = share[order]
    before = np.cumsum(counts, axis=1) - counts
    part = np.clip(WORST - before, 0.0, counts)
    mean = (np.take_along_axis(by_draw, order, axis=1) * part).sum(axis=1) / part.sum(axis=1)
    return np.asarray(mean)
