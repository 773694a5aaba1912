"""The price model's effects with the textbook regression beside them, in per cent."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from fleetlib.base.errors import BadQuestion
from fleetlib.price.regression.contrasts import Means, effects_table, step_of
from fleetlib.price.regression.kernels import MISSING, Coded, Coding
from fleetlib.price.regression.leave_one_out import left_out
from fleetlib.price.regression.ordinary import OrdinaryRegression, ordinary_regression
from fleetlib.price.regression.pool import Pool
from fleetlib.shown.sheet import Facts, Notes, Sheet, Shown, Table

_KNOWN_ENOUGH = 0.8


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class HedonicSummary(Shown):
    """What a fitted price model says, n sales.

    table: feature, setting, sales, effect, low, high (per cent, pooled) and ordinary, ordinary_low,
    ordinary_high: the same comparison in the textbook regression, missing where it has none. `ordinary` is
    that regression on log price, None when the sales are too few for it. log_sd: a typical standard
    deviation of the log price around its estimate; inside_80: the share of sales inside their 80% range
    when estimated from the others.
    """

    table: pd.DataFrame = field(repr=False)
    ordinary: OrdinaryRegression | None = field(repr=False)
    sales: int
    level: float
    log_sd: float
    inside_80: float
    notes: tuple[str, ...] = ()

    def sheet(self) -> Sheet:
        """Each feature's effect beside the textbook's, and how well the prices are told."""
        parts = (Table(self._shown()), Facts(tuple(self._facts())), Notes(self.notes))
        return Sheet("What the sales say, feature by feature", parts)

    def _facts(self) -> list[tuple[str, str]]:
        return [
            ("sales", f"{self.sales}"),
            (
                "two prices of three lie within",
                f"{100 * np.expm1(self.log_sd):.0f}% of their estimate",
            ),
            ("inside their 80% range when left out", f"{100 * self.inside_80:.0f}%"),
        ]

    def _shown(self) -> pd.DataFrame:
        rows = self.table
        return pd.DataFrame(
            {
                "feature": rows["feature"],
                "setting": rows["setting"],
                "sales": rows["sales"],
                "effect": _ranges(rows, "effect", "low", "high"),
                "textbook": _ranges(rows, "ordinary", "ordinary_low", "ordinary_high"),
            }
        )


def _ranges(rows: pd.DataFrame, middle: str, low: str, high: str) -> list[str]:
    return [
        "" if pd.isna(m) else f"{m:+.0f} ({a:+.0f} to {b:+.0f}) %"
        for m, a, b in zip(rows[middle], rows[low], rows[high], strict=True)
    ]


def summarise(  # noqa: PLR0913 - what one summary tells
    pool: Pool,
    coding: Coding,
    coded: Coded,
    *,
    level: float,
    believed: np.ndarray | float = 0.0,
    means: Means | None = None,
    notes: tuple[str, ...] = (),
) -> HedonicSummary:
    """The summary of a fitted pool; `believed` (n,) added back to its log prices, of which `means` are parts."""
    table = effects_table(pool.gaussian, coding, coded, level=level, means=means)
    beside = ordinary_beside(coding, coded, pool.y + believed)
    contrasts = ordinary_contrasts(coding, beside, level) if beside else {}
    keys = list(zip(table["feature"], table["setting"], strict=True))
    for k, name in enumerate(("ordinary", "ordinary_low", "ordinary_high")):
        table[name] = [contrasts[key][k] if key in contrasts else np.nan for key in keys]
    for name in table.columns[3:]:
        table[name] = 100 * np.expm1(table[name].astype(float))
    if beside is None:
        notes = (*notes, "the sales are too few for the textbook regression with these features")
    checked = left_out(pool)
    return HedonicSummary(
        table, beside, len(pool.y), level, checked.log_sd, checked.share_inside(0.80), notes
    )


def ordinary_beside(coding: Coding, coded: Coded, y: np.ndarray) -> OrdinaryRegression | None:
    """The textbook regression of log price on the same factors and standardised measures, complete rows only.

    A column that fewer than four rows in five know is left out, since each row must be complete.
    """
    known, measured = coded.codes != MISSING, np.isfinite(coded.z)
    factors = np.flatnonzero(known.mean(axis=0) >= _KNOWN_ENOUGH)
    measures = np.flatnonzero(measured.mean(axis=0) >= _KNOWN_ENOUGH)
    complete = known[:, factors].all(axis=1) & measured[:, measures].all(axis=1)
    columns: dict[str, np.ndarray] = {}
    for c in factors:
        factor = coding.factors[c]
        columns[factor.name] = np.array(factor.levels, dtype=object)[coded.codes[complete, c]]
    for j in measures:
        columns[coding.measures[j].name] = coded.z[complete, j]
    if not columns:
        return None
    try:
        made = ordinary_regression(pd.DataFrame(columns), y[complete])
    except BadQuestion:
        return None
    return (
        None if made.notes else replace(made, of_logs=True)
    )  # columns that repeat others have no effect of their own


def ordinary_contrasts(
    coding: Coding, fit: OrdinaryRegression, level: float
) -> dict[tuple[str, str], tuple[float, float, float]]:
    """The regression's log effects with intervals: each level against the average, each measure's step."""
    terms = list(fit.table["term"])
    values = fit.table["coefficient"].to_numpy()
    t = float(stdtrit(fit.sales - len(terms), (1 + level) / 2))
    made = {}
    turns: dict[tuple[str, str], np.ndarray] = {}
    for factor in coding.factors:
        # Levels only on rows with something missing are not in the regression.
        design = np.zeros((len(factor.levels), len(terms)))
        known = np.zeros(len(factor.levels), dtype=bool)
        for k, word in enumerate(factor.levels):
            term = f"{factor.name} = {word}"
            known[k] = term in terms or fit.baselines.get(factor.name) == word
            if term in terms:
                design[k, terms.index(term)] = 1.0
        if not known.any():
            continue
        shares = np.where(known, factor.shares, 0.0)
        average = shares @ design / shares.sum()
        for k, word in enumerate(factor.levels):
            if known[k]:
                turns[factor.name, word] = design[k] - average
    for measure in (m for m in coding.measures if m.name in terms):
        step, words = step_of(measure)
        turn = np.zeros(len(terms))
        turn[terms.index(measure.name)] = step
        turns[measure.name, words] = turn
    for key, turn in turns.items():
        middle = float(turn @ values)
        half = t * float(np.sqrt(turn @ fit.covariance @ turn))
        made[key] = (middle, middle - half, middle + half)
    return made
