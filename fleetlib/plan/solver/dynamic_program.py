"""Finding the best path of asking prices: a dynamic programme on drops left, wait, price and log X.

"Unsold so far" is carried by X alone (see plan/solver/worth_and_chance_sold.py), so a programme over

    C_t(d, w, k, X) = max( V,  keep:  g + s C_{t+1}(d, max(w-1, 0), k, X'),
                               drop to j < k (d > 0, w = 0):  g_j + s_j C_{t+1}(d-1, gap-1, j, X'_j) )
    X' = X + lam(p_k) G_t ,  s = L(X')/L(X) ,  g = R(p_k)(1 - s) - H len_t

is exact up to the grid of X, on which C is interpolated linearly in log X. A forward walk reads off the path
and plan/solver/local_search.py improves on it with exact X.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from fleetlib.plan.solver.over_draws import OverDraws
from fleetlib.plan.solver.worth_and_chance_sold import NOTHING_YET, Terms
from fleetlib.selling.market import Market

_STEP = 0.004  # of the table of unsold pieces, in log X
_NEGLIGIBLE = 25.0  # beyond exp(-25) of the pieces still unsold, what happens does not matter


@dataclass(frozen=True, eq=False, slots=True)
class Start:
    """Where a plan starts. The default is a piece not listed yet.

    log_exposure    log X of the weeks already gone by unsold
    ask             the ask now in force (one of the market's), which can only be kept or lowered; None: free
    wait            weeks until the first markdown is allowed; None: `weeks_between` for a new piece, none at
                    all for one with an `ask`
    least_next      the first markdown of a piece with an `ask` goes no lower than this (or one step where that is more)
    """

    log_exposure: float = NOTHING_YET
    ask: float | None = None
    wait: int | None = None
    least_next: float = 0.0


@dataclass(frozen=True, eq=False, slots=True)
class Question:
    """A market, terms and start with what all searches share: the tabulated log L and the shape of the states.

    over: what paths bring under every draw, where the market has any; the programme plans for its likeliest.
    """

    market: Market
    terms: Terms
    start: Start
    table: UnsoldTable
    rung: int | None
    layers: int
    unlimited: bool
    waits: int
    first_drop: int
    least_next: int = 0
    over: OverDraws | None = None

    @property
    def gap(self) -> int:
        """Weeks from one markdown to the next, at least 1."""
        return max(int(self.terms.weeks_between), 1)

    def after_drop(self, layer: int) -> int:
        """The layer of the programme that a markdown leads to."""
        return layer if self.unlimited else layer - 1


@dataclass(frozen=True, eq=False, slots=True)
class UnsoldTable:
    """log L by interpolating log(-log L), nearly a straight line, on an even grid of log X."""

    low: float
    high: (
        float  # the most a path can reach; the table itself runs one step of the programme further
    )
    step: float
    values: np.ndarray = field(repr=False)

    def __call__(self, x: np.ndarray) -> np.ndarray:
        place = np.clip((x - self.low) / self.step, 0.0, len(self.values) - 1.000001)
        i = place.astype(np.intp)
        left = self.values[i]
        return np.asarray(-np.exp(left + (place - i) * (self.values[i + 1] - left)))


def pose(market: Market, terms: Terms, start: Start) -> Question:
    """Prepare a search."""
    gap = max(int(terms.weeks_between), 1)
    rung = None if start.ask is None else int(market.levels(np.array([start.ask]))[0])
    wait = start.wait if start.wait is not None else (gap if rung is None else 0)
    first_drop = min(max(int(wait), 1 if rung is None else 0), market.horizon)
    possible = max(0, -(-(market.horizon - first_drop) // gap))
    unlimited = terms.most_markdowns >= possible
    most = max(int(terms.most_markdowns), 0)
    return Question(
        market,
        terms,
        start,
        _table(market, start),
        rung,
        1 if unlimited and most else most + 1,
        bool(unlimited and most),
        max(gap, first_drop + (rung is not None)),
        first_drop,
        0
        if not rung
        else min(int(np.searchsorted(market.prices, start.least_next - 1e-9)), rung - 1),
        None if market.draws is None else OverDraws(market, market.draws),
    )


def _table(market: Market, start: Start) -> UnsoldTable:
    total = np.logaddexp.reduce(market.log_week) + market.log_rate.max()
    high = float(np.logaddexp(total, start.log_exposure))
    low = float(market.log_rate.min() + market.log_week.min())
    if np.isfinite(start.log_exposure):
        low = max(low, start.log_exposure)
    # Where nobody has bought yet, or nearly everybody has, nothing is left to resolve.
    coarse = np.linspace(low, high, 256)
    gone = market.log_unsold(coarse) - market.log_unsold(np.array([start.log_exposure]))
    inside = np.flatnonzero((gone < -1e-9) & (gone > -_NEGLIGIBLE))
    if inside.size:
        low = float(coarse[max(inside[0] - 1, 0)])
        high = float(coarse[min(inside[-1] + 1, 255)])
    high = max(high, low + 1e-6)
    x = np.linspace(low, high + np.log(2.0), int(np.clip((high - low) / _STEP, 256, 20_000)) + 2)
    dead = np.maximum(-market.log_unsold(x), 1e-300)
    return UnsoldTable(low, high, float(x[1] - x[0]), np.log(dead))


def sweep(asked: Question, *, points: int) -> tuple[np.ndarray, list[np.ndarray]]:
    """Backward pass. Returns the grid of log X and C_t for t = 2..T, each (layers, waits, K, points)."""
    m = asked.market
    x = np.linspace(asked.table.low, asked.table.high, points)
    pitch = x[1] - x[0]
    log_l = asked.table(x)
    values: list[np.ndarray] = []
    nxt: np.ndarray | None = None
    for t in range(m.horizon - 1, 0, -1):
        after = np.logaddexp(x[None, :], (m.log_rate + m.log_week[t])[:, None])
        survive = np.exp(asked.table(after) - log_l)
        gain = m.revenue[:, None] * (1.0 - survive)
        gain -= asked.terms.holding_per_week * m.week_lengths[t]
        place = np.clip((after - x[0]) / pitch, 0.0, points - 1.000001)
        i = place.astype(np.intp)
        part = place - i
        between = Between(i, survive * (1 - part), survive * part)
        nxt = step_back(asked, nxt, gain, between, asked.terms.salvage)
        values.append(nxt)
    return x, values[::-1]


class Between(NamedTuple):
    """Where each X' lies on the grid: `i` the point on its left, `left`, `right` the weights of it and the next."""

    i: np.ndarray
    left: np.ndarray
    right: np.ndarray


def step_back(
    asked: Question,
    nxt: np.ndarray | None,
    gain: np.ndarray,
    between: Between,
    stop: float | np.ndarray,
    end: np.ndarray | None = None,
) -> np.ndarray:
    """C_t on the grid from C_{t+1}, read `between` its points."""
    i, left, right = between
    kinds = (asked.layers, asked.waits)
    shape = (*kinds, *gain.shape)
    if nxt is None:
        last = gain + (left + right) * stop if end is None else gain + end
        on = np.broadcast_to(last, shape)
    else:
        flat = i + (np.arange(gain.shape[0]) * gain.shape[1])[:, None]
        table = nxt.reshape(kinds[0] * kinds[1], -1)
        on = np.take(table, flat, axis=1)
        on *= left
        on += right * np.take(table, flat + 1, axis=1)
        on += gain
        on = on.reshape(shape)
    now = np.empty(shape)
    now[:, 1:] = on[:, :-1]
    now[:, 0] = on[:, 0]
    gap = asked.gap
    if asked.unlimited:
        drop = np.maximum.accumulate(on[0, gap - 1], axis=0)
        np.maximum(now[0, 0], drop, out=now[0, 0])
    elif asked.layers > 1:
        drop = np.maximum.accumulate(on[:-1, gap - 1], axis=1)
        np.maximum(now[1:, 0], drop, out=now[1:, 0])
    return np.maximum(now, stop, out=now)


def walk(asked: Question, x: np.ndarray, values: list[np.ndarray], layer: int) -> np.ndarray:
    """Forward pass with `layer` drops to spend: the rung of every week (T,)."""
    m = asked.market
    at, d, w = asked.start.log_exposure, layer, asked.first_drop
    k = len(m.prices) - 1 if asked.rung is None else asked.rung
    levels = np.zeros(m.horizon, dtype=np.intp)
    for t in range(m.horizon):
        turn = _Turn(asked, x, values[t] if t < len(values) else None, t, k, at)
        choose = int(np.argmax(_options(asked, turn, t, d, w)))
        if choose == k or (t == 0 and asked.rung is None):
            w = max(w - 1, 0)
        else:
            d, w = asked.after_drop(d), asked.gap - 1
        k, at = choose, float(turn.after[choose])
        levels[t] = k
    return levels


def _options(asked: Question, turn: _Turn, t: int, d: int, w: int) -> np.ndarray:
    """(k + 1,) worth of each ask up to the present rung in week t; -inf where it may not be asked."""
    if t == 0 and asked.rung is None:
        return turn.options(d, asked.first_drop - 1)
    k = len(turn.gain) - 1
    options = np.full(k + 1, -np.inf)
    if w == 0 and (d > 0 or asked.unlimited):
        options = turn.options(asked.after_drop(d), asked.gap - 1)
        if k == asked.rung:
            options[: asked.least_next] = -np.inf
    options[k] = turn.options(d, max(w - 1, 0))[k]
    return options


class _Turn:
    """One week of the forward walk: what each ask up to rung k leads to from log X = `at`."""

    def __init__(
        self,
        asked: Question,
        x: np.ndarray,
        nxt: np.ndarray | None,
        t: int,
        k: int,
        at: float,
    ) -> None:
        m, terms = asked.market, asked.terms
        self.after = np.logaddexp(at, m.log_rate[: k + 1] + m.log_week[t])
        now = m.log_unsold(np.array([at]))[0] if t == 0 else asked.table(np.array([at]))[0]
        self.survive = np.exp(np.minimum(asked.table(self.after) - now, 0.0))
        self.gain = m.revenue[: k + 1] * (1.0 - self.survive)
        self.gain -= terms.holding_per_week * m.week_lengths[t]
        place = np.clip((self.after - x[0]) / (x[1] - x[0]), 0.0, len(x) - 1.000001)
        self.i = place.astype(np.intp)
        self.part = place - self.i
        self.nxt, self.salvage = nxt, terms.salvage

    def options(self, layer: int, wait: int) -> np.ndarray:
        """(k + 1,) worth of each ask this week, with `layer` and `wait` next week."""
        if self.nxt is None:
            last: np.ndarray = self.gain + self.survive * self.salvage
            return last
        c, k = self.nxt[layer, wait], np.arange(len(self.gain))
        ahead = c[k, self.i] * (1 - self.part) + c[k, self.i + 1] * self.part
        worth: np.ndarray = self.gain + self.survive * ahead
        return worth
