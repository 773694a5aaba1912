"""Improving a path of asking prices by exact moves until nothing improves."""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np

from fleetlib.plan.solver.dynamic_program import Question

_PAIR_REACH = 6  # price levels either way
_ROUNDS = 40
_MOST_DROPS = 12  # beyond so many, single moves hardly matter and there are very many of them


def polish(asked: Question, levels: np.ndarray, most: int) -> tuple[np.ndarray, int, float]:
    """Improve a path by exact moves to a fixed point: the levels (T,), weeks before salvage, and its worth."""
    if most > _MOST_DROPS:
        worth, stop = _worth(asked, levels[None])
        return levels, int(stop[0]), float(worth[0])
    starts, steps = _as_drops(asked, levels, most)
    best = -np.inf
    for _ in range(_ROUNDS):
        tried_starts, tried_steps = _moves(asked, starts, steps)
        if asked.least_next and starts.size > 1:
            kept = (tried_steps[:, 1] >= asked.least_next) | (
                tried_starts[:, 1] >= asked.market.horizon
            )
            if kept.any():
                tried_starts, tried_steps = tried_starts[kept], tried_steps[kept]
        worth, stop = _worth(asked, _weekly(asked, tried_starts, tried_steps))
        at = int(np.argmax(worth))
        if worth[at] <= best + 1e-9 * max(1.0, abs(best)):
            break
        best, weeks = float(worth[at]), int(stop[at])
        starts, steps = tried_starts[at], tried_steps[at]
    return _weekly(asked, starts[None], steps[None])[0], weeks, best


def _as_drops(asked: Question, levels: np.ndarray, most: int) -> tuple[np.ndarray, np.ndarray]:
    """Weekly levels as slots (start week, rung), the unused ones starting after the last week."""
    horizon = asked.market.horizon
    first = levels[0] if asked.rung is None else asked.rung
    starts, steps = [0], [int(first)]
    for t, k in enumerate(levels):
        if k != steps[-1]:
            starts.append(t)
            steps.append(int(k))
    spare = max(most + 1 - len(starts), 0)
    return (
        np.array(starts + [horizon] * spare, dtype=np.intp),
        np.array(steps + [steps[-1]] * spare, dtype=np.intp),
    )


def _weekly(asked: Question, starts: np.ndarray, steps: np.ndarray) -> np.ndarray:
    weeks = np.arange(asked.market.horizon)
    slot = np.full((len(starts), len(weeks)), -1)
    for begin in starts.T:
        slot += begin[:, None] <= weeks
    return np.take_along_axis(steps, slot, axis=1)


def _worth(asked: Question, levels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Worth of each row of weekly levels with salvage at its best week, and that number of weeks.

    Over draws it is their score (see plan/solver/over_draws.py).
    """
    m, terms = asked.market, asked.terms
    if asked.over is not None:
        found = asked.over.nets(levels, terms.holding_per_week, terms.salvage)
        return found.score, found.weeks
    x = np.logaddexp.accumulate(m.log_rate[levels] + m.log_week, axis=1)
    if np.isfinite(asked.start.log_exposure):
        x = np.logaddexp(x, asked.start.log_exposure)
    first = float(m.log_unsold(np.array([asked.start.log_exposure]))[0])
    unsold = np.ones((len(levels), m.horizon + 1))
    unsold[:, 1:] = np.exp(np.minimum(asked.table(x) - first, 0.0))
    sold = unsold[:, :-1] - unsold[:, 1:]
    flow = m.revenue[levels] * sold - terms.holding_per_week * m.week_lengths * unsold[:, :-1]
    total = terms.salvage * unsold
    total[:, 1:] += np.cumsum(flow, axis=1)
    weeks = np.argmax(total, axis=1)
    return total[np.arange(len(levels)), weeks], weeks


def _moves(asked: Question, starts: np.ndarray, steps: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The path itself and its neighbours, as slots.

    Every drop taken out and put in anywhere, at any price between its neighbours; any two neighbouring prices
    up to six steps away; any three neighbouring drops one week and one step either way, all at once.
    """
    horizon = asked.market.horizon
    fixed = asked.rung is not None
    used = int((starts < horizon).sum())
    if fixed:
        used = max(used, 1)
    made = [(starts[None], steps[None])]
    for slot in range(1, min(used + 1, len(starts))):
        made += _reinsertions(asked, starts, steps, slot, used)
    made.append(_nudges(asked, starts, steps, used, int(fixed)))
    return np.concatenate([a for a, _ in made]), np.concatenate([b for _, b in made])


def _reinsertions(
    asked: Question, starts: np.ndarray, steps: np.ndarray, slot: int, used: int
) -> list[tuple[np.ndarray, np.ndarray]]:
    """The path without the drop of `slot` (an unused one: the path as it is), and with it anywhere else."""
    horizon = asked.market.horizon
    rest_starts, rest_steps = np.delete(starts, slot), np.delete(steps, slot)
    held = used - 1 if slot < used else used
    rest_steps[held:] = rest_steps[held - 1]
    made = [(np.append(rest_starts, horizon)[None], np.append(rest_steps, rest_steps[-1])[None])]
    for j in range(held):
        early = rest_starts[j] + asked.gap if j else asked.first_drop
        late = rest_starts[j + 1] - asked.gap if j + 1 < held else horizon - 1
        least = rest_steps[j + 1] if j + 1 < held else 0
        weeks = np.arange(early, late + 1)
        levels = np.arange(least, rest_steps[j])
        if weeks.size and levels.size:
            new = np.empty((2, weeks.size, levels.size, len(starts)), dtype=np.intp)
            for made_of, rest in zip(new, (rest_starts, rest_steps), strict=True):
                made_of[..., : j + 1], made_of[..., j + 2 :] = rest[: j + 1], rest[j + 1 :]
            new[0, ..., j + 1], new[1, ..., j + 1] = weeks[:, None], levels
            new[1, ..., held + 1 :] = new[1, ..., held : held + 1]
            made.append((new[0].reshape(-1, len(starts)), new[1].reshape(-1, len(starts))))
    return made


def _nudges(
    asked: Question, starts: np.ndarray, steps: np.ndarray, used: int, fixed: int
) -> tuple[np.ndarray, np.ndarray]:
    """Small moves of several prices and weeks at once, those that keep the rules."""
    shifts = _offsets(used, fixed)
    new_starts = np.repeat(starts[None], len(shifts), 0)
    new_steps = np.repeat(steps[None], len(shifts), 0)
    new_starts[:, :used] += shifts[:, 0, :]
    new_steps[:, :used] += shifts[:, 1, :]
    new_steps[:, used:] = new_steps[:, used - 1 : used]
    ok = (new_steps >= 0).all(1) & (new_steps < len(asked.market.prices)).all(1)
    ok &= (np.diff(new_steps, axis=1) <= 0).all(1)
    if used > 1:
        ok &= new_starts[:, 1] >= asked.first_drop
        ok &= new_starts[:, used - 1] < asked.market.horizon
        ok &= (np.diff(new_starts[:, 1:used], axis=1) >= asked.gap).all(1)
    return new_starts[ok], new_steps[ok]


@lru_cache(maxsize=32)
def _offsets(used: int, fixed: int) -> np.ndarray:
    """(moves, 2, used): by how much each slot's week and price rung moves; slot 0 never moves in time."""
    rows: list[np.ndarray] = []
    wide = np.arange(-_PAIR_REACH, _PAIR_REACH + 1)
    for slot in range(fixed, used):
        pair = [(a, b) for a in wide for b in (wide if slot + 1 < used else (0,))]
        block = np.zeros((len(pair), 2, used), dtype=np.intp)
        block[:, 1, slot] = [a for a, _ in pair]
        if slot + 1 < used:
            block[:, 1, slot + 1] = [b for _, b in pair]
        rows.append(block)
    for slot in range(max(used - 2, 1)):
        near = [s for s in range(slot, slot + 3) if s < used]
        free = [(1, s) for s in near if s >= fixed] + [(0, s) for s in near if s >= 1]
        ways = np.array(list(product((-1, 0, 1), repeat=len(free))), dtype=np.intp)
        block = np.zeros((len(ways), 2, used), dtype=np.intp)
        for column, (what, s) in enumerate(free):
            block[:, what, s] = ways[:, column]
        rows.append(block)
    return np.concatenate(rows)
