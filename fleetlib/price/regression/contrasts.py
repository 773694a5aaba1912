"""Why a price is what it is: contrasts between parts of the fit, in per cent with their intervals.

A contrast compares two settings of one feature with everything else averaged over the past sales. It is a
linear function of the blocks: with q_k its similarity to the sales and o_k its own variance under block k,

    effect = q P-weighted:  q'Py ,  variance = s2 (sum_k exp(2 lam_k) o_k - q'P q) ,  q = sum_k exp(2 lam_k) q_k

averaged over the draws of the variance ratios (Gaussian member). exp(effect) - 1 is the change of the price:
0.12 means that the same piece sells for 12.7% more (Halvorsen & Palmquist 1980, Am. Econ. Rev. 70: 474-475).
"""

from __future__ import annotations

import calendar
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from fleetlib.price.regression.kernels import (
    COMBINATION,
    SMOOTH,
    Coded,
    Coding,
    Measure,
    around_the_year,
    bell,
    level_kernel,
    own_similarity,
    same_level,
    similarities,
    wandering,
)
from fleetlib.price.regression.pool import Member, noise_variance

Means = Mapping[str, Callable[[pd.DataFrame], np.ndarray]]
MONTHS = tuple(calendar.month_name[1:])


@dataclass(frozen=True, eq=False, slots=True)
class Contrast:
    """One comparison: for each block k that it touches, its similarity to the sales (n,) and own variance.

    believed: what of it was believed before any sale.
    """

    feature: str
    setting: str
    sales: int | None
    vectors: dict[int, np.ndarray]
    own: dict[int, float]
    believed: float = 0.0


@dataclass(frozen=True, eq=False, slots=True)
class Effect:
    """The log effect of a contrast and the ends of its interval."""

    effect: float
    low: float
    high: float


def evaluate(member: Member, contrast: Contrast, *, level: float) -> Effect:
    """The contrast's log effect under one member, its variance ratios integrated over."""
    means, variances = [], []
    for solution in member.solutions:
        w = solution.variance_ratios
        q = sum((w[k] * v for k, v in contrast.vectors.items()), np.zeros(len(solution.Py)))
        prior = sum(w[k] * o for k, o in contrast.own.items())
        means.append(float(q @ solution.Py))
        spare = max(prior - float(q @ solution.P @ q), 0.0)
        variances.append(noise_variance(solution) * spare)
    centre = float(member.weights @ means)
    variance = float(member.weights @ (np.array(variances) + (np.array(means) - centre) ** 2))
    half = float(stdtrit(member.mode.df, (1 + level) / 2)) * np.sqrt(variance)
    centre += contrast.believed
    return Effect(centre, centre - half, centre + half)


def effects_table(
    member: Member, coding: Coding, coded: Coded, *, level: float, means: Means | None = None
) -> pd.DataFrame:
    """Every level's and slope's effect: feature, setting, effect, low, high (log), sales."""
    contrasts = all_contrasts(coding, coded, {} if means is None else means)
    rows = []
    for contrast in contrasts:
        found = evaluate(member, contrast, level=level)
        rows.append(
            (
                contrast.feature,
                contrast.setting,
                contrast.sales,
                found.effect,
                found.low,
                found.high,
            )
        )
    made = pd.DataFrame(rows, columns=["feature", "setting", "sales", "effect", "low", "high"])
    return made.astype({"sales": float, "effect": float, "low": float, "high": float})


def all_contrasts(coding: Coding, coded: Coded, means: Means) -> list[Contrast]:
    """Each level against the average of the sales, each measure's step, each month against the year."""
    S = similarities(coding, coded, coded)
    made: list[Contrast] = []
    for c in range(len(coding.factors)):
        made += level_contrasts(coding, coded, S, c, means)
    for j in range(len(coding.measures)):
        made.append(slope_contrast(coding, coded, S, j, means))
    for q, name in enumerate(coding.cycles):
        made += month_contrasts(coding, coded, q, name)
    made += [walk_contrast(coding, coded, w) for w in range(len(coding.walks))]
    return made


def level_contrasts(
    coding: Coding, coded: Coded, S: np.ndarray, c: int, means: Means
) -> list[Contrast]:
    """One contrast per level of factor c: that level less the average over levels, weighted by sales."""
    factor = coding.factors[c]
    levels = np.arange(len(factor.levels))
    probes = Coded(levels[:, None], *[np.zeros((len(levels), 0))] * 3)
    column = Coded(coded.codes[:, [c]], coded.z[:, :0], coded.turns[:, :0], coded.times[:, :0])
    alike = same_level(probes, column, factor.shares, 0)  # (levels, n)
    position = {name: k for k, (name, _) in enumerate(coding.blocks)}
    believed = _at(means, factor.name, list(factor.levels))
    made = []
    for level in levels:
        turn = (levels == level) - factor.shares
        vectors, own = {c: turn @ alike}, {c: float(turn @ turn)}
        if COMBINATION in position:
            k = position[COMBINATION]
            rest = S[k] / level_kernel(S[c])
            vectors[k] = rest.mean(axis=0) * (turn @ level_kernel(alike))
            own[k] = float(rest.mean() * 0.4 * (turn @ turn))
        count = int(factor.counts[level])
        before = float(turn @ believed)
        made.append(Contrast(factor.name, factor.levels[level], count, vectors, own, before))
    return made


def slope_contrast(coding: Coding, coded: Coded, S: np.ndarray, j: int, means: Means) -> Contrast:
    """A measure going up by one step around its centre: a doubling where logged, else a round number."""
    measure = coding.measures[j]
    step, words = step_of(measure)
    first = len(coding.factors) + j
    position = {name: k for k, (name, _) in enumerate(coding.blocks)}
    ends, z = np.array([-step / 2, step / 2]), coded.z[:, j]
    vectors, own = {first: step * np.nan_to_num(z)}, {first: step**2}
    if SMOOTH in position:
        k, count = position[SMOOTH], len(coding.measures)
        bells = bell(ends, z, 1.0)
        vectors[k] = (bells[1] - bells[0]) / count
        own[k] = float(2 * (1 - np.exp(-(step**2) / 2)) / count)
    if COMBINATION in position:
        k, d = position[COMBINATION], len(coding.measures)
        rest = S[k] / bell(z, z, d)
        bells = bell(ends, z, d)
        vectors[k] = rest.mean(axis=0) * (bells[1] - bells[0])
        own[k] = float(rest.mean() * 2 * (1 - np.exp(-(step**2) / (2 * d))))
    stated = int(np.isfinite(z).sum())
    before = 0.0
    if measure.name in means:
        plain = measure.restored(ends)
        before = float(np.diff(_at(means, measure.name, plain))[0])
    return Contrast(measure.name, words, stated, vectors, own, before)


def _at(means: Means, name: str, values: Sequence[object] | np.ndarray) -> np.ndarray:
    """What is believed of a feature at each of `values` (m,), nothing else stated."""
    if name not in means:
        return np.zeros(len(values))
    return means[name](pd.DataFrame({name: values}))


def step_of(measure: Measure) -> tuple[float, str]:
    """One step of a measure in standardised units, and in words."""
    if measure.transform:
        return float(np.log(2) / measure.spread), "each doubling"
    size = nearest_round_number(measure.spread)
    return size / measure.spread, f"each {size:g} more"


def nearest_round_number(value: float) -> float:
    """1, 2 or 5 times a power of ten, whichever is nearest on a log scale."""
    power = 10.0 ** np.floor(np.log10(value))
    choices = power * np.array([1.0, 2.0, 5.0, 10.0])
    return float(choices[np.argmin(np.abs(np.log(choices / value)))])


def month_contrasts(coding: Coding, coded: Coded, q: int, name: str) -> list[Contrast]:
    """The middle of each month against the average over the year."""
    k = len(coding.factors) + len(coding.measures) + q
    middles = (np.arange(12) + 0.5) / 12
    alike = around_the_year(middles, coded.turns[:, q])
    between = around_the_year(middles, middles)
    turns = coded.turns[:, q]
    made = []
    for month in range(12):
        turn = (np.arange(12) == month) - 1 / 12
        in_month = int((np.floor(turns[np.isfinite(turns)] * 12) == month).sum())
        own = float(turn @ between @ turn)
        made.append(Contrast(name, MONTHS[month], in_month, {k: turn @ alike}, {k: own}))
    return made


def walk_contrast(coding: Coding, coded: Coded, w: int) -> Contrast:
    """The newest time against a year before it, beyond what a steady drift says."""
    walk = coding.walks[w]
    k = len(coding.factors) + len(coding.measures) + len(coding.cycles) + w
    year_ago = wandering(np.array([-1.0]), coded.times[:, w], walk.before)[0]
    stated = int(np.isfinite(coded.times[:, w]).sum())
    return Contrast(
        walk.name, "the last year beyond a steady drift", stated, {k: -year_ago}, {k: 1.0}
    )


def piece_contrasts(
    coding: Coding, coded: Coded, row: Coded, believed: Mapping[str, float]
) -> list[Contrast]:
    """One row against the average of the sales, feature by feature; the shared blocks together come last.

    `believed`: by feature, what was believed of the row less what was of the average sale.

    The effects of these contrasts add up to the row's fit less the average fit of the sales.
    """
    between = similarities(coding, coded, coded, same=True)
    to_row = similarities(coding, row, coded)[:, 0, :]
    own = own_similarity(coding, row)[:, 0]
    grouped: dict[str, list[int]] = {}
    shared: list[int] = []
    for k, (name, kind) in enumerate(coding.blocks):
        here = shared if kind in ("smooth", "combination") else grouped.setdefault(name, [])
        here.append(k)
    if shared:
        grouped[COMBINATION] = shared
    return [
        _against_average(name, ks, between, to_row, own, believed.get(name, 0.0))
        for name, ks in grouped.items()
    ]


def _against_average(
    name: str,
    blocks: Sequence[int],
    between: np.ndarray,
    to_row: np.ndarray,
    own: np.ndarray,
    believed: float,
) -> Contrast:
    if not between.shape[1]:  # no sales: against what is believed of any piece
        return Contrast(name, "", None, {}, {k: float(own[k]) for k in blocks}, believed)
    vectors = {k: to_row[k] - between[k].mean(axis=0) for k in blocks}
    variances = {k: float(own[k] - 2 * to_row[k].mean() + between[k].mean()) for k in blocks}
    return Contrast(name, "", None, vectors, variances, believed)
