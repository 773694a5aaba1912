"""What the owner's own price adds to the records: a sign of the worth, with an excess and an error of its own.

    log sale price | records ~ location m and scale s at the usual days listed (nobody knows them when asking)
    log own price = log worth + x + error ,  error ~ N(0, g^2)
    log sale price = log worth + luck ,  luck = l (sqrt(1 - k) N(0, 1) + sqrt(k) (log 2 - E)) ,  E exponential of mean 1
    l = l0 exp(c (log own price - x - m)) ;  v = s^2 - l^2 (a quarter of s^2 at least) ,  w = v / (v + g^2)
    log sale price | records, own price ~ m + w (log own price - x - m) + N(0, v g^2 / (v + g^2)) + luck

(component by component of the records' mixture). Two spreads and not one: how far the owner misjudges a piece (g)
sets how far a range follows the own price; what the sale then makes of it (l: bargaining, markdowns, who came by)
sets how wide it is. (One spread for both, learned under heavier tails than were priced with and from sales whose days
listed were known, gave ranges that held .72 for .80.) The luck leans (k) to below, since a sale follows its ask and
comes down from it, and may grow (c) with the own price over the records, since what is asked too much for stands
longer and comes down further. x, g, l0, k and c are learned from past sales with an own price, each priced from the
others, on a grid under the priors below; sixty equally likely sets of them stand for all. A part of what an own price
tells it also makes: fit for saying what a piece will bring under this owner, not what it is worth to others. So
nothing here enters the selling-time model.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from scipy.special import erfcx

from fleetlib.base.kept_numbers import kept
from fleetlib.price.fit import PriceDistribution, PriceFit
from fleetlib.price.priors import LUCK, OWN_ERROR, PAID, Belief
from fleetlib.price.regression.mixture import Mixture, in_few

_ERRORS = np.geomspace(0.02, 1.0, 9)
_LUCK = np.geomspace(0.02, 0.28, 8)
_LEANS = (0.02, 0.4, 0.9)
_GROWTHS, _FURTHEST = (0.0, 0.7), 0.5
_EXCESSES = np.linspace(-1.0, 1.0, 15)  # of how far the excess may be from where the sales put it
_EXCESS_SD = 0.15  # of an owner not seen yet; common practice, no source
_TYPED_WRONG, _THEN_OFF = (
    0.02,
    1.0,
)  # a share of prices that must not decide, and how far they are off
_MOST_LUCK = 0.75  # of the variance that the records leave open
_KEPT, _ALONE = 60, 8
_FALLS = -np.log1p(-(np.arange(7) + 0.5) / 7)
_FALLS = _FALLS / _FALLS.mean()


@dataclass(frozen=True, eq=False, slots=True)
class OwnPrice:
    """How one owner prices: equally likely sets (C,) of error g, luck l0, its lean k and growth c, and excess x.

    sales: past sales with an own price they were learned from.
    """

    errors: np.ndarray
    luck: np.ndarray
    leans: np.ndarray
    growths: np.ndarray
    excess: np.ndarray
    sales: int

    @property
    def usual_excess(self) -> float:
        """How far the own price usually lies above the sale price, as a share: 0.10 is 10%."""
        return float(np.expm1(self.excess.mean()))

    @property
    def usual_error(self) -> float:
        """Standard deviation of the own price about that, in logs: misjudged, and what the sale made of it."""
        return float(np.sqrt(np.mean(self.errors**2 + self.luck**2)))


@lru_cache(maxsize=8)
def own_pricing(fit: PriceFit) -> OwnPrice:
    """Learn how the owner's own prices go with sale prices, from the sales of `fit` that have one."""
    n = len(fit.sales)
    own = fit.sales["gut_price"].to_numpy(float) if "gut_price" in fit.sales else np.full(n, np.nan)
    known = np.isfinite(own) & (own > 0)
    paid, asked = np.log(fit.left_out.price[known]), np.log(own[known])
    middle, s = np.zeros(0), np.zeros(0)
    if known.any():
        told = fit.usual_told().take(known)
        middle, s = told.median(), _scales(told)
    found = kept(
        "how the owner prices",
        (paid, asked, middle, s),
        lambda: _equally_likely_sets(paid, asked, middle, s),
        numbers=lambda sets: {"sets": sets},
        again=lambda numbers: numbers["sets"],
    )
    excesses, lucks, errors, leans, growths = found.T
    return OwnPrice(errors, lucks, leans, growths, excesses, int(known.sum()))


def _equally_likely_sets(
    paid: np.ndarray, asked: np.ndarray, middle: np.ndarray, s: np.ndarray
) -> np.ndarray:
    """Sets (C, 5) of excess, luck, error, lean and growth, from (n,) logs of sales, own prices and what records say.

    `s` (n,) are the scales of what the records say.
    """
    before = -float(np.log(PAID.value))
    # The excess is looked for about where own and sale prices put it, three and a half errors either way.
    precision = np.array([1 / _EXCESS_SD**2, len(paid) / 0.2**2])
    centre = float(precision @ [before, np.median(asked - paid) if len(paid) else 0.0])
    centre /= precision.sum()
    excess = centre + _EXCESSES * 3.5 / np.sqrt(precision.sum())
    sets, told_by = [], []
    grown = np.exp(np.clip(asked - centre - middle, -_FURTHEST, _FURTHEST))
    for g, luck, lean, growth in product(_ERRORS, _LUCK, _LEANS, _GROWTHS):
        w, sd, fall = _weighed(s, g, luck * grown**growth, lean)
        off = (paid - middle)[:, None] - w[:, None] * ((asked - middle)[:, None] - excess)
        likely = _log_likely(off, sd[:, None], fall[:, None]).sum(axis=0)
        believed = _log_belief(g, OWN_ERROR) + _log_belief(luck, LUCK)
        told_by.append(likely + believed - 0.5 * ((excess - before) / _EXCESS_SD) ** 2)
        sets += [(x, luck, g, lean, growth) for x in excess]
    return _equally_likely(np.array(sets), np.concatenate(told_by))


def _weighed(
    s: np.ndarray, error: float | np.ndarray, luck: float | np.ndarray, lean: float | np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The weight (n,) of the own price beside records of scale `s`, the even spread, and how deep a sale may fall."""
    lucky = np.minimum(luck**2, _MOST_LUCK * s**2)
    v = s**2 - lucky
    w = v / (v + error**2)
    return w, np.sqrt(w * error**2 + lucky * (1 - lean)), np.sqrt(lucky * lean)


def _log_likely(off: np.ndarray, sd: np.ndarray, fall: np.ndarray) -> np.ndarray:
    """Log density of a sale `off` what was told, less log sqrt(2 pi); a few prices are typed wrong."""
    wrong = np.log(_TYPED_WRONG / _THEN_OFF) - 0.5 * (off / _THEN_OFF) ** 2
    return np.asarray(np.logaddexp(np.log1p(-_TYPED_WRONG) + _log_density(off, sd, fall), wrong))


def _log_density(x: np.ndarray, sd: np.ndarray, fall: np.ndarray) -> np.ndarray:
    """Of sd N(0, 1) + fall (log 2 - E), less log sqrt(2 pi): a normal folded with an exponential, by erfcx."""
    y = fall * np.log(2) - x
    z = (sd / fall - y / sd) / np.sqrt(2)
    inner = np.log(erfcx(np.maximum(z, -20.0))) + np.where(z < -20, z**2 - 400, 0.0)
    return np.asarray(0.5 * np.log(np.pi / 2) - np.log(fall) - 0.5 * (y / sd) ** 2 + inner)


def _log_belief(value: float, belief: Belief) -> float:
    return float(-0.5 * ((np.log(value) - np.log(belief.value)) / belief.spread) ** 2)


def _equally_likely(sets: np.ndarray, log_weights: np.ndarray) -> np.ndarray:
    """Rows of `sets` at even steps of the weight, in the order of their columns: the first is told best."""
    order = np.lexsort(sets.T[::-1])
    share = np.cumsum(np.exp(log_weights - log_weights.max())[order])
    at = np.searchsorted(share, (np.arange(_KEPT) + 0.5) / _KEPT * share[-1])
    return np.asarray(sets[order[at]])


def _scales(mixture: Mixture) -> np.ndarray:
    """A standard deviation (r,) of each row: half its middle 68%."""
    ends = mixture.interval(0.6827)
    return np.asarray((ends[:, 1] - ends[:, 0]) / 2)


def counting_own_price(
    fit: PriceFit, spread: PriceDistribution, price: float, *, factor: float = 1.0
) -> PriceDistribution:
    """`spread`, what the records alone say of one piece (times `factor`), with the owner's own `price` counted."""
    pricing, alone = own_pricing(fit), spread.mixture
    location, s, weights = in_few(alone, alone.scale[:, 0], _ALONE)
    location = location + np.log(factor)
    g, luck, lean, growth, x = (
        column[:, None]
        for column in (pricing.errors, pricing.luck, pricing.leans, pricing.growths, pricing.excess)
    )
    over = np.clip(np.log(price) - x - location, -_FURTHEST, _FURTHEST)
    w, sd, fall = _weighed(s, g, luck * np.exp(growth * over), lean)
    moved = location + w * (np.log(price) - x - location)
    # A row a set of the owner's error and luck, how deep a sale falls, and width of the records' own range.
    at = moved[:, None] + fall[:, None] * (np.log(2) - _FALLS[:, None])
    sd, each = (np.broadcast_to(v, at.shape).ravel() for v in (sd[:, None], weights))
    at = at.ravel()
    df = np.full(len(at), alone.df.min())
    mixture = Mixture(at[:, None], sd[:, None], df, each / each.sum(), alone.stretch)
    mid = float(np.exp(mixture.median()[0]))
    mean = float(mixture.weights @ np.exp(at + 0.5 * sd**2))
    return PriceDistribution(mid, mean, spread.days, mixture)


def own_price_sentence(fit: PriceFit) -> str:
    """How the owner's own prices have gone with sale prices, in words."""
    pricing = own_pricing(fit)
    excess = 100 * pricing.usual_excess
    tells = "a sale follows its ask, so part of what your own price tells it also makes"
    if pricing.sales == 0:
        return (
            f"no sale of yours has an own price on record yet: it is taken to lie about {excess:.0f}% above what "
            f"will be paid; {tells}"
        )
    where = f"{abs(excess):.0f}% {'above' if excess >= 0 else 'below'}"
    sales = "one sale" if pricing.sales == 1 else f"{pricing.sales} sales"
    return (
        f"your own price lies {where} what was paid as a rule ({sales}), give or take "
        f"{100 * np.expm1(pricing.usual_error):.0f}%; {tells}"
    )
