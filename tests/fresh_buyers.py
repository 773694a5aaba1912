"""Four markets of buyers, with their owners, by a hand that had not seen how plans are made: for bench_living.

steps(y, lag): y (M, T) is log(ask / value) of M ask paths, lag the weeks already listed before column 0; the answer
(M, T) is the exposure each week adds (unsold after t weeks: exp(-its sum)). Where a market looks back past column 0,
the ask then is taken to have been column 0's. Rules of our own from how people buy (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.stats import norm

Steps = Callable[[np.ndarray, float], np.ndarray]


def _age(y: np.ndarray, lag: float) -> np.ndarray:
    """Weeks listed at the start of each column."""
    return float(lag) + np.arange(y.shape[1], dtype=float)


def _before(y: np.ndarray) -> np.ndarray:
    """The lowest ask seen before each week (column 0: its own)."""
    low = np.minimum.accumulate(y, axis=1)
    return np.concatenate([y[:, :1], low[:, :-1]], axis=1)


def _cuts(y: np.ndarray, least: float) -> np.ndarray:
    """1 in weeks whose ask is a new low by at least `least` (a raise and a cut back is none)."""
    return (_before(y) - y >= least).astype(float)


def _soft(x: np.ndarray) -> np.ndarray:
    """A step from 0 to 1, smooth about x = 0."""
    return 0.5 * (1.0 + np.tanh(0.5 * x))


_GRID = np.linspace(-3.0, 3.0, 1201)  # curves of the ask alone, read off between points 0.005 apart


def _read(y: np.ndarray, *curves: np.ndarray) -> list[np.ndarray]:
    """Each curve (its values on _GRID) at y: quick, and flat beyond a factor of 20 either way."""
    at = np.clip((y + 3.0) * 200.0, 0.0, 1199.999)
    i = at.astype(np.intp)
    part = at - i
    return [c[i] + part * np.diff(c)[i] for c in curves]


_KEEN = norm.sf(_GRID, 0.0, 0.2)  # followers
_STRAY = _soft((0.02 - _GRID) / 0.11)
_LOCAL = norm.sf(_GRID, 0.01, 0.24)  # circle
_NEW = _soft((0.03 - _GRID) / 0.13)
_LIMITS = [
    (-0.42, 0.22),
    (-0.2, 0.3),
    (0.06, 0.3),
    (0.28, 0.13),
    (0.52, 0.05),
]  # movers: level, share
_HONEST = 1.0 - 0.75 * _soft((-0.5 - _GRID) / 0.05)
_CALM = _HONEST * sum(share * _soft((level - _GRID) / 0.018) for level, share in _LIMITS)
_LATE = _HONEST * sum(share * _soft((level + 0.16 - _GRID) / 0.03) for level, share in _LIMITS)
_REAL = 1.0 - 0.8 * _soft((-0.25 - _GRID) / 0.07)  # collectors
_ALWAYS = (
    0.016 * _REAL * norm.sf(_GRID, 0.69, 0.3)
    + 0.15 * _soft((0.0 - _GRID) / 0.09)
    + 0.05 * _soft((-0.3 - _GRID) / 0.06)
)
_PATIENT = _soft((0.1 - _GRID) / 0.07)


def followers(y: np.ndarray, lag: float) -> np.ndarray:
    """A finite crowd of followers looks once in the first days, each with a limit of their own.

    Those who found it too dear keep half an eye on it (less as weeks pass): a new low sells to those
    whose limits it crosses, and a second week at one ask brings none of them. Strangers trickle in,
    fewer as the listing sinks.
    """
    age = _age(y, lag)
    crowd, settle, keep = (
        1.75,
        0.7,
        0.6,
    )  # followers who want such a piece; weeks to see it; who watch
    seen = 1.0 - np.exp(-age / settle)
    fresh = np.exp(-age / settle) - np.exp(-(age + 1.0) / settle)
    able, stray = _read(y, _KEEN, _STRAY)
    most = np.maximum.accumulate(able, axis=1)
    gain = np.zeros_like(able)
    gain[:, 1:] = most[:, 1:] - most[:, :-1]
    watching = keep * np.exp(-age / 9.0) * seen
    trickle = (0.045 + 0.06 * np.exp(-age / 6.0)) * stray
    return crowd * (fresh * able + watching * gain) + trickle


def circle(y: np.ndarray, lag: float) -> np.ndarray:
    """A small town's circle which remembers the first ask, and newcomers who see only 'was / now'.

    First asked too high, a piece is 'that dear one': the circle heeds later cuts only in part, and
    forgets over months. Newcomers like a cut, at first: from the third on they ask what is wrong with
    it. A piece listed for long is looked at less by all.
    """
    age = _age(y, lag)
    first = y[:, :1]
    dear = np.maximum(first - 0.08, 0.0)
    memory = (1.0 - np.exp(-age / 1.5)) * np.exp(-age / 16.0)
    heard = y + 0.6 * memory * np.maximum(first - y, 0.0)  # the cut they noticed is a part of it
    locals_ = 0.19 * np.exp(-2.2 * dear * memory) * _read(heard, _LOCAL)[0]
    bargain = np.minimum(0.3 * np.maximum(first - y, 0.0), 0.08)
    cuts = np.cumsum(_cuts(y, 0.02), axis=1)
    doubt = np.exp(-0.22 * np.maximum(cuts - 2.0, 0.0))
    newcomers = 0.08 * doubt * _read(y - bargain, _NEW)[0]
    return (locals_ + newcomers) * (0.4 + 0.6 * np.exp(-age / 10.0))


def movers(y: np.ndarray, lag: float) -> np.ndarray:
    """Movers who search under round limits, hurried at each month's end and absent between.

    Limits sit at a few levels about value, a little blurred (pieces differ): between two of them a
    cut brings nobody new. In the month's last week there are more of them, a third of whom look above
    their limits, as they need it by a date. An ask far below value looks like a swindle or a fault.
    """
    month = ((_age(y, lag) + 1.5) % 4.345) / 4.345
    end = np.exp(-(((month - 0.88) / 0.12) ** 2))
    calm, late = _read(y, _CALM, _LATE)
    return 0.11 * calm + end * (0.2 * calm + 0.1 * late)


def collectors(y: np.ndarray, lag: float) -> np.ndarray:
    """A few collectors who would pay about double, beside many hunters who wait for a second markdown.

    Collectors come seldom, care little for the ask, and doubt a cheap piece is the real thing. Hunters
    buy low, or once it has been marked down twice at an ask they would have scorned before: those who
    waited come within about two weeks of it, later ones as they find it.
    """
    age = _age(y, lag)
    always, patient = _read(y, _ALWAYS, _PATIENT)  # collectors and those who buy low; the hunters
    twice = np.cumsum(_cuts(y, 0.03), axis=1) >= 2.0
    since = np.cumsum(twice, axis=1)  # 1 in the week of the second markdown
    waiting = 0.5 * (1.0 - np.exp(-age / 6.0)) * (1.0 - np.exp(-1.0 / 1.3))
    rush = waiting * np.exp(-(since - 1.0) / 1.3)
    return always + twice * (rush + 0.05) * patient


FRESH: list[dict[str, Any]] = [
    {
        "name": "followers first",
        "steps": followers,
        "about": "a crowd of followers looks once in the first days, watchers pounce on new lows, then a trickle",
        "quality": 0.2,
        "slope": 0.6,
        "noise": 0.12,
        "bias": 0.08,
        "paid": 0.97,
    },
    {
        "name": "town with a memory",
        "steps": circle,
        "about": "a small circle holds a dear first ask against a piece, and many cuts make newcomers doubt it",
        "quality": 0.28,
        "slope": 0.3,
        "noise": 0.22,
        "bias": 0.3,
        "paid": 0.87,
    },
    {
        "name": "month-end movers",
        "steps": movers,
        "about": "searchers under round limits, hurried and freer with money in the last week of a month",
        "quality": 0.13,
        "slope": 0.15,
        "noise": 0.08,
        "bias": -0.04,
        "paid": 0.92,
    },
    {
        "name": "collectors and markdown hunters",
        "steps": collectors,
        "about": "a few who pay double and distrust cheap, among many who wait for the second markdown",
        "quality": 0.38,
        "slope": 0.8,
        "noise": 0.16,
        "bias": 0.18,
        "paid": 0.94,
    },
]
