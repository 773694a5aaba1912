"""The best path of asking prices, and what follows from it: chance sold, expected net, lowest offers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fleetlib.plan.solver import dynamic_program as search
from fleetlib.plan.solver.dynamic_program import Start
from fleetlib.plan.solver.local_search import polish
from fleetlib.plan.solver.worth_and_chance_sold import PathValue, Terms, path_value
from fleetlib.selling.market import Market

__all__ = [
    "Market",
    "PathValue",
    "PricePath",
    "Start",
    "Terms",
    "fewest_markdowns",
    "improved_path",
    "path_value",
    "path_worth",
    "plan_markdowns",
]

_POINTS = 48
_FRESH = Start()


@dataclass(frozen=True, eq=False, slots=True)
class PricePath:
    """The best path found, over the n weeks before salvage (n = T unless salvage is better sooner).

    prices          (n,) ask of each week, never rising
    expected_net    money, given what is known at the start; at least the salvage value
    expected_weeks  weeks until it sells or is taken to salvage
    sold_by         (n,) chance sold by the end of each week
    continuation    (n + 1,) money expected from the start of each week on, if unsold then
    log_exposure    (n,) log X after each week (see plan/solver/worth_and_chance_sold.py)
    markdowns       number of times the ask comes down
    salvage         net salvage value
    bolder          (m,) the asks of a bolder plan that this one was preferred to, as it is nearer to the owner's habit;
                    empty without any
    """

    prices: np.ndarray = field(repr=False)
    expected_net: float
    expected_weeks: float
    sold_by: np.ndarray = field(repr=False)
    continuation: np.ndarray = field(repr=False)
    log_exposure: np.ndarray = field(repr=False)
    markdowns: int
    salvage: float
    bolder: np.ndarray = field(default_factory=lambda: np.zeros(0), repr=False)

    @property
    def salvage_now(self) -> bool:
        """No asking price is worth waiting for: taking the salvage value today brings as much."""
        return len(self.prices) == 0

    def lowest_offers(self, *, fee_share: float = 0.0, selling_cost: float = 0.0) -> np.ndarray:
        """(n + 1,) the lowest offer worth taking at the start of each week, and after the last one.

        An offer y brings y (1 - fee_share) - selling_cost now, against the continuation value.
        """
        worth = np.maximum(self.continuation, self.salvage)
        lowest: np.ndarray = (worth + selling_cost) / (1.0 - fee_share)
        return lowest

    def changes(self) -> np.ndarray:
        """Week numbers (from 0) at which the ask is set or comes down; the first is 0."""
        if not len(self.prices):
            return np.zeros(0, dtype=int)
        return np.flatnonzero(np.append(True, np.diff(self.prices) != 0))


def plan_markdowns(
    market: Market,
    terms: Terms,
    *,
    start: Start = _FRESH,
    fewer_within: float = 0.0,
    points: int = _POINTS,
) -> PricePath:
    """The path of asking prices with the highest expected net, coming down at most `most_markdowns` times.

    `start` says where a piece already on the market stands. `fewer_within` 0.005 takes the fewest
    markdowns that, from the same first ask, come within 0.5% of the best expected net. `points` is the size of the
    grid of X.

    Reproduces Lazear (1986) and Gallego & van Ryzin (1994); see tests/plan/test_path.py.
    """
    asked = search.pose(market, terms, start)
    x, values = search.sweep(asked, points=points)
    most = max(int(terms.most_markdowns), 0)
    if asked.unlimited:
        levels = search.walk(asked, x, values, 0)
        used = int((np.diff(levels) != 0).sum()) + 1
        levels, weeks, _ = polish(asked, levels, min(most, used))
        return _path(asked, levels[:weeks])
    levels, weeks, best = polish(asked, search.walk(asked, x, values, most), most)
    if fewer_within > 0:
        levels, weeks = _fewest(asked, levels, weeks, best, fewer_within)
    return _path(asked, levels[:weeks])


def improved_path(
    market: Market, terms: Terms, path: PricePath, *, start: Start = _FRESH
) -> PricePath:
    """`path`, improved by exact moves among the asks of `market`, which has all of the path's own.

    For a path found among few asks and a market with more of them near those. Its number of markdowns is the most.
    """
    asked, levels = _posed(market, terms, path, start)
    better, weeks, _ = polish(asked, levels, path.markdowns)
    return _path(asked, better[:weeks])


def fewest_markdowns(
    market: Market, terms: Terms, path: PricePath, *, start: Start = _FRESH, within: float
) -> PricePath:
    """The path with the fewest markdowns that, from the same first ask, is worth at most a share `within` less."""
    asked, levels = _posed(market, terms, path, start)
    fewer, weeks = _fewest(asked, levels, len(path.prices), path.expected_net, within)
    return _path(asked, fewer[:weeks])


def _posed(
    market: Market, terms: Terms, path: PricePath, start: Start
) -> tuple[search.Question, np.ndarray]:
    """The question, and `path` as one rung a week, its last ask kept beyond its end."""
    levels = market.levels(path.prices)
    whole = np.append(levels, np.repeat(levels[-1:], market.horizon - len(levels)))
    return search.pose(market, terms, start), whole


def _fewest(
    asked: search.Question, levels: np.ndarray, weeks: int, best: float, within: float
) -> tuple[np.ndarray, int]:
    """The path with the fewest markdowns that comes within a share of `best` from the same first ask.

    Coming down less often is no reason to begin lower: the first ask is that of the best path.
    """
    first = int(levels[0]) if asked.rung is None else asked.rung
    begun = replace(asked, rung=first)
    held = np.full(len(levels), first)
    before = np.append(first, levels[:-1])
    drops = np.flatnonzero(levels != before)
    for most in range(len(drops)):
        # Begin with the last ones left out: those that matter least.
        begin = held if not most else np.where(np.arange(len(levels)) < drops[most], levels, 0)
        if most:
            begin[drops[most] :] = levels[drops[most] - 1]
        fewer, stop, worth = polish(begun, begin, most)
        if worth >= best - within * abs(best):
            return fewer, stop
    return levels, weeks


def _path(asked: search.Question, levels: np.ndarray) -> PricePath:
    prices, start = asked.market.prices[levels], asked.start
    worth = path_value(prices, asked.market, asked.terms, log_exposure=start.log_exposure)
    return path_worth(prices, worth, ask=start.ask, salvage=float(asked.terms.salvage))


def path_worth(
    prices: np.ndarray, worth: PathValue, *, ask: float | None, salvage: float
) -> PricePath:
    """`prices`, one a period, as a path of that worth; `ask` is the one in force, None before the listing."""
    before = prices[:1] if ask is None else [ask]
    return PricePath(
        prices,
        worth.expected_net,
        worth.expected_weeks,
        worth.sold_by,
        worth.continuation,
        worth.log_exposure,
        int((np.diff(np.concatenate([before, prices])) < 0).sum()),
        salvage,
    )
