"""What is believed about a shop's prices before its records are read: each value, how sure, from where.

Without borrowing (`SHOP`) nothing is believed but how strong columns can be: scales of the half-t priors (4 degrees
of freedom) on how strong each column is against the noise of single sales, about .25 in log price: 1 for what a
buyer looks at first (type, wood, finish, size, the number in the lot), a quarter of that for everything else, for
curvature and for combinations. So before any sale a type is worth some 25% either way and a grade some 6%; from
there on the sales decide. No column is left out for saying little: shrinkage does that, and choosing columns by the
same sales makes ranges too narrow.

With borrowing (`informed`) also what second-hand furniture is asked in general: where each kind stands, how size
pays, how far single sales stray, and the owner's own idea of the level. The shop's sales outweigh all of it as they
come in. The figures are averages over public data whose rows are not carried:

    C   2,263 furniture asks, San Francisco Bay, spring 2017: He, Chen, Balakrishnan & Liang 2018, Decoupling
        strategy and generation in negotiation dialogues, with robust standard errors
    Y   19,874 adverts of second-hand bicycles, one South African site, 2021-22 (repository
        j-jayes/bicycle_advert_scraper, CC0): one-off used durables of private sellers, not furniture
    U   US Census Bureau, Monthly Retail Trade: used merchandise stores, 1992-2020
    I   sizes and prices of 2,962 new pieces of one maker, 2020: elasticities only

Time has three parts: a steady drift of `years_before` (scale .3 of the noise for a spread of the dates: about
7% a year, around a drift of 0, since published indices of old furniture ran from -8 to +13% a year), a season
(.4), and a walk of the level (.4, about 10% for a year), by which the newest sales tell most about today.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pandas as pd

from fleetlib.price.regression.kernels import Alike
from fleetlib.price.regression.priors import Priors
from fleetlib.records.asked.usual_sizes import BANDS
from fleetlib.records.schema.columns import INCHES_IN_A_CUBIC_FOOT


@dataclass(frozen=True, slots=True)
class Belief:
    """One value believed in, its standard deviation, the source (letters above) and how far it can be trusted."""

    value: float
    spread: float
    source: str
    trust: Literal["good", "fair", "weak", "none"]


_DOUBT = 0.25  # on top of each kind's standard error: one place, one year, asks and not sales


def _asked(value: float, error: float) -> Belief:
    return Belief(value, float(np.hypot(error, _DOUBT)), "C", "fair")


# Log price of a kind at its usual size against a dresser's.
KINDS: Mapping[str, Belief] = {
    "dresser": _asked(0.0, 0.0),
    "armoire": _asked(0.39, 0.25),
    "sideboard": _asked(0.34, 0.12),
    "hutch": _asked(0.34, 0.12),
    "bed": _asked(0.24, 0.13),
    "dining table": _asked(0.18, 0.14),
    "desk": _asked(-0.36, 0.09),
    "cabinet": _asked(-0.55, 0.15),
    "tv stand": _asked(-0.55, 0.18),
    "coffee table": _asked(-0.68, 0.13),
    "chair": _asked(-0.74, 0.11),
    "nightstand": _asked(-0.89, 0.11),
    "side table": _asked(-0.89, 0.11),
    "bookcase": _asked(-0.89, 0.11),
    "stool": _asked(-0.96, 0.14),
    "chest of drawers": Belief(0.0, 0.43, "as a dresser: common practice, no source", "weak"),
}
OTHER_KIND = Belief(-0.40, 0.43, "C", "fair")
SIZE = Belief(0.45, 0.20, "C below, I above", "fair")  # log price by log volume within a kind
WOOD = Belief(0.0, 0.20, "C", "weak")
FINISH = Belief(0.0, 0.25, "C", "none")
LEVEL = Belief(0.0, 0.50, "C and a second city's asks", "none")  # around the owner's own idea
LEVEL_BY_COST = Belief(0.0, 0.70, "common practice, no source", "none")  # around cost + hours
LEVEL_BY_SALES = Belief(0.0, 1.0, "C: spread of asks in all 1.08", "weak")  # around the sales' own
PAID = Belief(0.90, 0.06, "common practice, no source", "weak")  # sale price / own price or ask
# How far owners misjudge a piece: adverts stray .15-.30 (Y); and what the sale then makes of it (bargaining,
# markdowns, who came by). Both as a log value +- log spread.
OWN_ERROR = Belief(0.20, 1.0, "Y", "weak")
LUCK = Belief(0.10, 1.0, "common practice, no source", "weak")
# Equal titles are asked .45 apart (Y: .38-.47), of which straying asks are about .25 (Y).
SINGLE_SALES = Belief(float(np.sqrt(0.45**2 - 0.25**2)), 0.5, "Y", "fair")
_NOISE = 0.25  # of single sales, that the scales are set against
_SINGLE_SALES_WORTH = 2.0  # sales: 1/(2 spread^2), a chi-square's degrees of freedom
SOURCES = 3  # C, I and Y stand behind a borrowed price

# Usual sizes, inches, for kinds that the questions about odd sizes know nothing of; common practice, no source.
_USUAL = {
    "cabinet": (30.0, 16.0, 48.0),
    "tv stand": (54.0, 18.0, 26.0),
    "stool": (16.0, 16.0, 26.0),
}
_SIZE_SPREAD = 0.8  # of log volume over the pieces of a shop


def usual_sizes(kind: str) -> tuple[float, float, float] | None:
    """The usual width, depth and height of a kind in inches, None where they are not known."""
    if kind in BANDS:
        width, depth, height = (float(np.sqrt(low * high)) for low, high in BANDS[kind])
        return width, depth, height
    return _USUAL.get(kind)


def usual_cuft(kind: str) -> float | None:
    """The usual volume of a kind in cubic feet, None where no usual size is known."""
    sizes = usual_sizes(kind)
    return None if sizes is None else float(np.prod(sizes) / INCHES_IN_A_CUBIC_FOOT)


_DRESSER = usual_cuft("dresser") or 1.0


def kind_part(frame: pd.DataFrame) -> np.ndarray:
    """What a kind is believed to add (r,) at a dresser's volume, log price; 0 where no kind is stated."""
    made = np.zeros(len(frame))
    for i, kind in enumerate(_kinds(frame)):
        if kind:
            made[i] = KINDS.get(kind, OTHER_KIND).value
            made[i] -= SIZE.value * np.log((usual_cuft(kind) or _DRESSER) / _DRESSER)
    return made


def size_part(frame: pd.DataFrame) -> np.ndarray:
    """What a volume is believed to add (r,) against a dresser's, log price; a kind's usual one where not stated.

    Nothing for kinds whose usual size isn't known: their place holds at whatever size they come in.
    """
    made = np.zeros(len(frame))
    size = pd.to_numeric(frame.get("size_cuft", pd.Series(np.nan, index=frame.index)))
    for i, (kind, cuft) in enumerate(zip(_kinds(frame), size.to_numpy(float), strict=True)):
        usual = usual_cuft(kind) if kind else _DRESSER
        if usual is not None:
            ratio = cuft / _DRESSER if cuft > 0 else usual / _DRESSER
            made[i] = SIZE.value * np.log(ratio)
    return made


def _kinds(frame: pd.DataFrame) -> list[str]:
    if "furniture_type" not in frame:
        return [""] * len(frame)
    return ["" if pd.isna(k) else str(k).strip() for k in frame["furniture_type"]]


_SIZES = ("size_cuft", "width_in", "height_in")
TWINS = Alike(
    "bought_lot",
    ("furniture_type", "wood", "finish", "style", "construction", *_SIZES, "grade", "year_made", "pieces_in_lot"),
    _SIZES,
)  # fmt: skip
SHOP = Priors(
    scales={
        "furniture_type": 1.0,
        "wood": 1.0,
        "finish": 1.0,
        "size_cuft": 1.0,
        "pieces_in_lot": 1.0,
        "years_before": 0.3,
    },
    by_kind={
        "factor": 0.25,
        "measure": 0.25,
        "cycle": 0.4,
        "walk": 0.4,
        "smooth": 0.25,
        "combination": 0.25,
        "twins": 1.0,
    },
    alike=TWINS,
    tail=4.0,
    stretch=False,
)
_GENERAL = replace(
    SHOP,
    scales={
        **SHOP.scales,
        "furniture_type": KINDS["desk"].spread / _NOISE,
        "wood": WOOD.spread / _NOISE,
        "finish": FINISH.spread / _NOISE,
        "size_cuft": SIZE.spread * _SIZE_SPREAD / _NOISE,
    },
    means={"furniture_type": kind_part, "size_cuft": size_part},
    kept=("furniture_type", "wood", "finish"),
    measured={"size_cuft": ("log", float(np.log(_DRESSER)), _SIZE_SPREAD)},
    noise_sd=SINGLE_SALES.value,
    noise_rows=_SINGLE_SALES_WORTH,
)


def informed(ideas: np.ndarray, by_cost: np.ndarray) -> Priors:
    """Priors that borrow: the level from the owner's `ideas`, else from `by_cost`, else from the sales themselves.

    ideas (m,): log of what the owner thinks a piece will bring less what is believed of its kind and size;
    by_cost (m,): the same of what went into a piece. NaN where not known.
    """
    for given, level in ((ideas, LEVEL), (by_cost, LEVEL_BY_COST)):
        known = given[np.isfinite(given)]
        if len(known):
            return replace(_GENERAL, intercept=float(np.median(known)), intercept_sd=level.spread)
    return replace(_GENERAL, intercept_sd=LEVEL_BY_SALES.spread)
