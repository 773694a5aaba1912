"""How alike two sales are: the columns of a table coded, and one similarity matrix per feature.

The price model is a sum of blocks, each with its own strength. A block is a matrix S (n, n):

    factor c     S(i, i') = 1 when both rows have the same level
    measure j    S(i, i') = z_ij z_i'j, z standardised on the rows the model was fitted on
    cycle        S(i, i') = exp(-2 sin^2(pi (t_i - t_i'))), t a share of the year
    walk         S(i, i') = min(|t_i - t0|, |t_i' - t0|) for two times on the same side of t0, the newest row's,
                 else 0: a level that wanders through time, by which the newest rows tell most about "now"
    smooth       the mean over measures of exp(-(z_ij - z_i'j)^2 / 2): gentle curvature
    combination  the product over factors of (.6 + .4 [same level]) times exp(-|z_i - z_i'|^2 / (2 d))
    twins        S(i, i') = 1 when both rows are of one lot, or the same in all that was written down: what they
                 share that nobody wrote down

A level never seen is like no other row, so the prediction falls back on the rest while its own variance
stays: the interval widens by itself. A missing entry is treated as drawn from what the column usually
holds: alike to every row by the *expected* similarity, and the rest of its variance is its own. (Putting
in the average instead would make the interval narrower for knowing less.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import pandas as pd

UNSEEN, MISSING = -1, -2
FURTHEST_Z = 6.0  # standardised measures are cut here at prediction
SMOOTH, COMBINATION, TWINS = "(curvature)", "(combination)", "(twins)"
Kind = Literal["factor", "measure", "cycle", "walk", "smooth", "combination", "twins"]
Transform = Literal["", "log", "log1p"]
Scale = tuple[Transform, float, float]  # a measure's transform, centre and spread
_NO_LEAST = 1e-3  # stands in for the least value fitted where none was


@dataclass(frozen=True, eq=False, slots=True)
class Factor:
    """A column of words: its levels in alphabetical order, and how many rows have each."""

    name: str
    levels: tuple[str, ...]
    counts: np.ndarray

    @property
    def shares(self) -> np.ndarray:
        """Each level's share of the rows that state one."""
        return np.asarray(self.counts / max(self.counts.sum(), 1.0))


@dataclass(frozen=True, eq=False, slots=True)
class Measure:
    """A column of numbers: how it is transformed, its centre and spread after that, its plain range.

    The range runs up to infinity where no fitted row states the measure.
    """

    name: str
    transform: Transform
    centre: float
    spread: float
    low: float
    high: float

    def standardise(self, values: np.ndarray) -> np.ndarray:
        """z (n,), NaN where missing; cut at +-6. Where the log is taken, the least value fitted is the least."""
        known = np.maximum(values, self.low) if self.transform else values
        z = (transformed(known, self.transform) - self.centre) / self.spread
        return np.clip(z, -FURTHEST_Z, FURTHEST_Z)

    def restored(self, z: np.ndarray) -> np.ndarray:
        """The plain values of standardised ones."""
        made = self.centre + self.spread * z
        if not self.transform:
            return made
        return np.exp(made) - (self.transform == "log1p")


@dataclass(frozen=True, eq=False, slots=True)
class Walk:
    """A column of times through which the level wanders: the newest fitted time, and how far back all lie."""

    name: str
    newest: float
    before: np.ndarray  # (n,) newest - time of the fitted rows that have one

    def since_newest(self, times: np.ndarray) -> np.ndarray:
        """Each time (n,) less the newest fitted one, NaN where missing."""
        return times - self.newest


@dataclass(frozen=True, slots=True)
class Alike:
    """When rows are twins: those that state the same word under `lot`; of the others, those that state the same,
    or nothing, in every one of `columns`, and one of `needed` (a size, say) at least."""

    lot: str
    columns: tuple[str, ...]
    needed: tuple[str, ...]

    def keys(self, frame: pd.DataFrame) -> np.ndarray:
        """A word per row (r,): twins have the same one; empty for rows that say too little to be told apart."""

        none: list[object] = [None] * len(frame)
        said = {
            name: [_said(v) for v in frame[name].tolist()] if name in frame else none
            for name in {self.lot, *self.columns, *self.needed}
        }
        made = []
        for i, lot in enumerate(said[self.lot]):
            if lot is not None:
                made.append(f"lot {str(lot).strip().casefold()}")
            elif any(said[name][i] is not None for name in self.needed):
                words = (said[name][i] for name in self.columns)
                made.append("alike " + "|".join("" if v is None else f"{v}" for v in words))
            else:
                made.append("")
        return np.array(made, dtype=object)


def _said(value: Any) -> object:
    return None if pd.isna(value) or str(value).strip() == "" else value


def twins(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """1 where two rows have the same key, 0 where not or where one has none."""
    return np.asarray(((one[:, None] == two[None, :]) & (one[:, None] != "")).astype(float))


@dataclass(frozen=True, eq=False, slots=True)
class Coded:
    """Rows ready for the blocks: codes (n, C) of levels, z (n, J) measures, turns (n, Q) of cycles, times (n, W)
    of walks since the newest fitted row; keys (n,) by which twins are known, where the coding has them."""

    codes: np.ndarray
    z: np.ndarray
    turns: np.ndarray
    times: np.ndarray
    keys: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=object))

    def __len__(self) -> int:
        return len(self.codes)

    def take(self, rows: np.ndarray | slice) -> Coded:
        """The given rows only."""
        keys = self.keys[rows] if len(self.keys) else self.keys
        return Coded(self.codes[rows], self.z[rows], self.turns[rows], self.times[rows], keys)


@dataclass(frozen=True, eq=False, slots=True)
class Coding:
    """What was learned about the columns from the fitted rows; `code` applies it to any rows."""

    factors: tuple[Factor, ...]
    measures: tuple[Measure, ...]
    cycles: tuple[str, ...]
    walks: tuple[Walk, ...] = ()
    alike: Alike | None = None

    @property
    def blocks(self) -> tuple[tuple[str, Kind], ...]:
        """Name and kind of each block, in the order of the similarity matrices."""
        named: list[tuple[str, Kind]] = [(f.name, "factor") for f in self.factors]
        named += [(m.name, "measure") for m in self.measures]
        named += [(c, "cycle") for c in self.cycles]
        named += [(w.name, "walk") for w in self.walks]
        if self.measures:
            named.append((SMOOTH, "smooth"))
        if len(self.factors) + len(self.measures) > 1:
            named.append((COMBINATION, "combination"))
        if self.alike is not None:
            named.append((TWINS, "twins"))
        return tuple(named)

    def code(self, frame: pd.DataFrame) -> Coded:
        """`frame` (n rows, with every column of the coding) as Coded."""
        n = len(frame)
        codes = np.empty((n, len(self.factors)), dtype=int)
        for c, factor in enumerate(self.factors):
            known = {level: k for k, level in enumerate(factor.levels)}
            words = as_words(frame[factor.name])
            codes[:, c] = [MISSING if w is None else known.get(w, UNSEEN) for w in words]
        z = np.empty((n, len(self.measures)))
        for j, measure in enumerate(self.measures):
            z[:, j] = measure.standardise(as_numbers(frame[measure.name]))
        turns = np.empty((n, len(self.cycles)))
        for q, cycle in enumerate(self.cycles):
            turns[:, q] = as_numbers(frame[cycle])
        times = np.empty((n, len(self.walks)))
        for w, walk in enumerate(self.walks):
            times[:, w] = walk.since_newest(as_numbers(frame[walk.name]))
        if self.alike is None:
            return Coded(codes, z, turns, times)
        return Coded(codes, z, turns, times, self.alike.keys(frame))


def learn_coding(  # noqa: PLR0913 - what one coding is learnt from
    frame: pd.DataFrame,
    *,
    factors: Sequence[str],
    measures: Sequence[str],
    cycles: Sequence[str] = (),
    walks: Sequence[str] = (),
    kept: Sequence[str] = (),
    measured: Mapping[str, Scale] | None = None,
    alike: Alike | None = None,
) -> Coding:
    """Levels, transformations and scales from the fitted rows.

    Left out because nothing can be learned from them: factors with one level or with another level on
    every row, measures, cycles and walks that never vary, twins where no two rows are any; but never the factors
    `kept`, nor the measures `measured`, whose scale is given.
    """
    measured = {} if measured is None else measured
    found_factors = []
    for name in factors:
        words = pd.Series([w for w in as_words(frame[name]) if w is not None], dtype=object)
        counts = words.value_counts()
        if name in kept or (len(counts) > 1 and (counts > 1).any()):
            levels = tuple(sorted(counts.index))
            found_factors.append(Factor(name, levels, counts.loc[list(levels)].to_numpy(float)))
    found_measures = []
    for name in measures:
        measure = learn_measure(name, as_numbers(frame[name]), measured.get(name))
        if measure is not None:
            found_measures.append(measure)
    found_cycles = []
    for name in cycles:
        turns = as_numbers(frame[name])
        if len(np.unique(np.round(turns[np.isfinite(turns)], 6))) > 1:
            found_cycles.append(name)
    found_walks = []
    for name in walks:
        times = as_numbers(frame[name])
        times = times[np.isfinite(times)]
        if len(times) and np.ptp(times) > 0:
            found_walks.append(Walk(name, float(times.max()), times.max() - times))
    if alike is not None:
        keys = alike.keys(frame)
        keys = keys[keys != ""]
        alike = alike if len(set(keys)) < len(keys) else None
    return Coding(
        tuple(found_factors), tuple(found_measures), tuple(found_cycles), tuple(found_walks), alike
    )


def learn_measure(name: str, values: np.ndarray, given: Scale | None = None) -> Measure | None:
    """A measure's scale from its values (n,): log first where positive and skewed. None if it never varies.

    With a `given` scale only its range is learned.
    """
    here = values[np.isfinite(values)]
    if given is not None:
        least, most = (here.min(), here.max()) if len(here) else (_NO_LEAST, np.inf)
        return Measure(name, *given, float(least), float(most))
    if len(here) < 2 or np.ptp(here) <= 1e-12 * max(1.0, float(np.abs(here).max())):
        return None
    transform: Transform = ""
    logged: Transform = "log" if here.min() > 0 else "log1p"
    if len(np.unique(here)) == 2:
        # The same fit, but its slope reads as a doubling: a pair against a single one.
        if here.min() > 0 and here.max() >= 2 * here.min():
            transform = "log"
    elif here.min() >= 0 and skewness(here) > max(0.5, abs(skewness(transformed(here, logged)))):
        transform = logged
    scaled = transformed(here, transform)
    return Measure(
        name,
        transform,
        float(scaled.mean()),
        float(scaled.std()),
        float(here.min()),
        float(here.max()),
    )


def transformed(values: np.ndarray, transform: str) -> np.ndarray:
    """The values, their log, or log(1 + value); NaN where that does not exist."""
    if not transform:
        return np.asarray(values, dtype=float)
    shifted = values + 1.0 if transform == "log1p" else values
    return np.log(np.where(shifted > 0, shifted, np.nan))


def skewness(values: np.ndarray) -> float:
    """The third standardised moment."""
    centred = values - values.mean()
    sd = centred.std()
    return float((centred**3).mean() / sd**3) if sd > 0 else 0.0


def as_words(column: pd.Series) -> list[str | None]:
    """Each entry as text, None where missing or blank."""
    return [None if pd.isna(v) or str(v).strip() == "" else str(v).strip() for v in column]


def as_numbers(column: pd.Series) -> np.ndarray:
    """The column as floats (n,), NaN where missing or not finite."""
    values = pd.to_numeric(column, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    return np.where(np.isfinite(values), values, np.nan)


def similarities(coding: Coding, left: Coded, right: Coded, *, same: bool = False) -> np.ndarray:
    """S (K, n, m) between the rows of `left` and those of `right`; `same` when they are the same rows."""
    parts = [same_level(left, right, f.shares, c) for c, f in enumerate(coding.factors)]
    parts += [products(left.z[:, j], right.z[:, j]) for j in range(len(coding.measures))]
    parts += [
        around_the_year(left.turns[:, q], right.turns[:, q]) for q in range(len(coding.cycles))
    ]
    parts += [
        wandering(left.times[:, w], right.times[:, w], walk.before)
        for w, walk in enumerate(coding.walks)
    ]
    kinds = [kind for _, kind in coding.blocks]
    if "smooth" in kinds:
        parts.append(gentle_bend(left, right))
    if "combination" in kinds:
        parts.append(combination(coding, left, right))
    if "twins" in kinds:
        parts.append(twins(left.keys, right.keys))
    made = np.stack(parts) if parts else np.zeros((0, len(left), len(right)))
    if same:
        rows = np.arange(len(left))
        made[:, rows, rows] = own_similarity(coding, left)
    return made


def own_similarity(coding: Coding, rows: Coded) -> np.ndarray:
    """S(x, x) of each row with itself (K, n): z^2 for a measure (1 where missing), the time from the newest row
    for a walk (the mean one where missing), else 1."""
    own = np.ones((len(coding.blocks), len(rows)))
    first = len(coding.factors)
    for j in range(len(coding.measures)):
        own[first + j] = np.where(np.isnan(rows.z[:, j]), 1.0, rows.z[:, j] ** 2)
    first += len(coding.measures) + len(coding.cycles)
    for w, walk in enumerate(coding.walks):
        away = np.abs(rows.times[:, w])
        own[first + w] = np.where(np.isnan(away), walk.before.mean(), away)
    return own


def same_level(left: Coded, right: Coded, shares: np.ndarray, c: int) -> np.ndarray:
    """1 for the same level, 0 for another or an unseen one, the expected value where one is missing."""
    one, two = left.codes[:, c], right.codes[:, c]
    made = (one[:, None] == two[None, :]) & (one[:, None] >= 0)
    alike = made.astype(float)
    padded = np.append(shares, 0.0)  # the last entry serves unseen levels
    hole_one, hole_two = one == MISSING, two == MISSING
    if hole_one.any():
        alike[hole_one] = padded[np.where(two >= 0, two, len(shares))]
    if hole_two.any():
        alike[:, hole_two] = padded[np.where(one >= 0, one, len(shares))][:, None]
    if hole_one.any() and hole_two.any():
        alike[np.ix_(hole_one, hole_two)] = float((shares**2).sum())
    return np.asarray(alike)


def products(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """z z', 0 where either is missing (the expected z is 0)."""
    return np.outer(np.nan_to_num(one), np.nan_to_num(two))


def bell(one: np.ndarray, two: np.ndarray, d: float) -> np.ndarray:
    """exp(-(z - z')^2 / (2 d)), by its expectation over a standard normal z where z is missing."""
    with np.errstate(invalid="ignore"):
        made = np.exp(-((one[:, None] - two[None, :]) ** 2) / (2 * d))
    hole_one, hole_two = np.isnan(one), np.isnan(two)
    if hole_one.any():
        made[hole_one] = np.sqrt(d / (d + 1)) * np.exp(-(two**2) / (2 * (d + 1)))
    if hole_two.any():
        made[:, hole_two] = (np.sqrt(d / (d + 1)) * np.exp(-(one**2) / (2 * (d + 1))))[:, None]
    if hole_one.any() and hole_two.any():
        made[np.ix_(hole_one, hole_two)] = np.sqrt(d / (d + 2))
    return np.asarray(made)


def around_the_year(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """exp(-2 sin^2(pi (t - t'))), by its expectation over the year, exp(-1) I0(1), where t is missing."""
    gap = one[:, None] - two[None, :]
    return np.where(np.isnan(gap), 0.46575960759, np.exp(-2 * np.sin(np.pi * gap) ** 2))


def wandering(one: np.ndarray, two: np.ndarray, before: np.ndarray) -> np.ndarray:
    """min(|t|, |t'|) for times since the newest row that lie on the same side of it, else 0.

    A missing time counts by its expectation over the fitted rows' times, which lie `before` the newest.
    """
    made = np.minimum(np.abs(one)[:, None], np.abs(two)[None, :])
    made = np.where((one[:, None] > 0) == (two[None, :] > 0), made, 0.0)
    hole_one, hole_two = np.isnan(one), np.isnan(two)
    if hole_one.any():
        made[hole_one] = _mean_walk(two, before)
    if hole_two.any():
        made[:, hole_two] = _mean_walk(one, before)[:, None]
    if hole_one.any() and hole_two.any():
        made[np.ix_(hole_one, hole_two)] = float(_mean_walk(-before, before).mean())
    return made


def _mean_walk(times: np.ndarray, before: np.ndarray) -> np.ndarray:
    back = np.where(times > 0, 0.0, -times)
    return np.asarray(np.minimum(back[:, None], before[None, :]).mean(axis=1))


def gentle_bend(left: Coded, right: Coded) -> np.ndarray:
    """The mean of the measures' bells, width 1."""
    count = left.z.shape[1]
    made = np.zeros((len(left), len(right)))
    for j in range(count):
        made += bell(left.z[:, j], right.z[:, j], 1.0)
    return np.asarray(made / count)


def combination(coding: Coding, left: Coded, right: Coded) -> np.ndarray:
    """The product over every factor and measure: rows alike in everything."""
    made = np.ones((len(left), len(right)))
    for c, factor in enumerate(coding.factors):
        made *= level_kernel(same_level(left, right, factor.shares, c))
    d = max(left.z.shape[1], 1)
    for j in range(left.z.shape[1]):
        made *= bell(left.z[:, j], right.z[:, j], d)
    return made


def level_kernel(alike: np.ndarray) -> np.ndarray:
    """A factor's part in the combination block."""
    return 0.6 + 0.4 * alike
