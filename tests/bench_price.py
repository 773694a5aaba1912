"""How sharp and how honest the price ranges are, against three usual ways, on the same splits.

    python -m tests.bench_price                 # 20 repeats, about 15 minutes on one core
    python -m tests.bench_price --repeats 3     # a quick look
    python -m tests.bench_price --save          # also writes fleetlib/trust/benchmark_price.csv
    python -m tests.bench_price --speed         # only how long a fit and its ranges take

Each cell is one data set at one number of sales (30, 60, 120, 250): fit on that many rows drawn at random,
then give 80% and 95% ranges for up to 100 others. The score is the interval (Winkler) score of the log
price: width + 2/(1 - level) x how far outside (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102: 359-378,
eq. 43); lower is better. Scores are averaged in a cell, taken as a ratio to ordinary least squares with t
intervals, and the ratios averaged over cells (geometric mean).
"""

from __future__ import annotations

import argparse
import time
import zlib
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import t as student

from fleetlib.price.regression.kernels import Coding, learn_coding
from fleetlib.price.regression.regressor import HedonicRegressor
from tests.bench_data import DATA

SIZES = (30, 60, 120, 250)
LEVELS = (0.80, 0.95)
MOST_TESTED, LEAST_TESTED = 100, 20
SAVED = Path(__file__).parents[1] / "fleetlib" / "trust" / "benchmark_price.csv"
OURS, OLS, BAYES, JACKKNIFE = "pooled", "OLS + t", "BayesianRidge", "jackknife+"
Ranges = dict[float, np.ndarray]
Method = Callable[[pd.DataFrame, np.ndarray, pd.DataFrame], tuple[np.ndarray, Ranges]]


def pooled(X: pd.DataFrame, y: np.ndarray, new: pd.DataFrame) -> tuple[np.ndarray, Ranges]:
    """The kit's own model."""
    told = HedonicRegressor().fit(X, np.exp(y)).distribution(new)
    return told.median(), {level: told.interval(level) for level in LEVELS}


def ordinary(X: pd.DataFrame, y: np.ndarray, new: pd.DataFrame) -> tuple[np.ndarray, Ranges]:
    """Least squares on dummies (first level dropped) with t intervals; minimum norm where rank falls short."""
    coding = _coding(X)
    A, B = _design(coding, X, drop=True), _design(coding, new, drop=True)
    A, B = np.column_stack([np.ones(len(A)), A]), np.column_stack([np.ones(len(B)), B])
    inverse = np.linalg.pinv(A.T @ A, hermitian=True)
    coefficients = inverse @ A.T @ y
    left = max(len(y) - int(np.linalg.matrix_rank(A)), 1)
    s2 = float(((y - A @ coefficients) ** 2).sum()) / left
    middle = B @ coefficients
    sd = np.sqrt(s2 * (1 + np.einsum("ij,jk,ik->i", B, inverse, B)))
    return middle, _ranges(middle, lambda p: student.ppf(p, left) * sd)


def bayesian_ridge(X: pd.DataFrame, y: np.ndarray, new: pd.DataFrame) -> tuple[np.ndarray, Ranges]:
    """scikit-learn's BayesianRidge on one column per level, normal intervals from its own deviation."""
    from sklearn.linear_model import BayesianRidge

    coding = _coding(X)
    model = BayesianRidge().fit(_design(coding, X), y)
    middle, sd = model.predict(_design(coding, new), return_std=True)
    return middle, _ranges(middle, lambda p: student.ppf(p, 1e6) * sd)


def jackknife_plus(X: pd.DataFrame, y: np.ndarray, new: pd.DataFrame) -> tuple[np.ndarray, Ranges]:
    """MAPIE's jackknife+ (leave-one-out) around the same BayesianRidge."""
    from mapie.regression import CrossConformalRegressor
    from sklearn.linear_model import BayesianRidge
    from sklearn.model_selection import LeaveOneOut

    coding = _coding(X)
    A, B = _design(coding, X), _design(coding, new)
    model = CrossConformalRegressor(
        BayesianRidge(), confidence_level=list(LEVELS), method="plus", cv=LeaveOneOut()
    )
    model.fit_conformalize(A, y)
    middle, ends = model.predict_interval(B)
    return np.asarray(middle), {level: ends[:, :, k] for k, level in enumerate(LEVELS)}


METHODS: dict[str, Method] = {
    OURS: pooled,
    OLS: ordinary,
    BAYES: bayesian_ridge,
    JACKKNIFE: jackknife_plus,
}


def _ranges(middle: np.ndarray, reach: Callable[[float], np.ndarray]) -> Ranges:
    return {
        level: np.column_stack([middle + reach((1 - level) / 2), middle + reach((1 + level) / 2)])
        for level in LEVELS
    }


def _coding(X: pd.DataFrame) -> Coding:
    measures = [c for c in X.columns if pd.api.types.is_numeric_dtype(X[c])]
    return learn_coding(X, factors=[c for c in X.columns if c not in measures], measures=measures)


def _design(coding: Coding, X: pd.DataFrame, *, drop: bool = False) -> np.ndarray:
    """Columns of zeros and ones per level, and the measures as our own model standardises them."""
    coded = coding.code(X)
    columns = [coded.z]
    for c, factor in enumerate(coding.factors):
        levels = np.arange(1 if drop else 0, len(factor.levels))
        columns.append((coded.codes[:, [c]] == levels[None, :]).astype(float))
    made = np.column_stack(columns)
    return made if made.shape[1] else np.zeros((len(X), 1))


def interval_score(y: np.ndarray, ends: np.ndarray, level: float) -> np.ndarray:
    """The score (n,) of intervals (n, 2) for outcomes y (n,)."""
    low, high = ends.T
    outside = np.maximum(low - y, 0) + np.maximum(y - high, 0)
    return np.asarray(high - low + 2 / (1 - level) * outside)


def measure(name: str, n: int, repeats: int, methods: Sequence[str]) -> pd.DataFrame:
    """One row per repeat and method for one cell; empty where the data set is too small."""
    X, y = DATA[name]()
    y = np.log(y)
    rows = []
    if len(y) - n < LEAST_TESTED:
        return pd.DataFrame()
    for repeat in range(repeats):
        rng = np.random.default_rng([2026, zlib.crc32(name.encode()), n, repeat])
        order = rng.permutation(len(y))
        fitted, tested = order[:n], order[n : n + MOST_TESTED]
        past, new = X.iloc[fitted].reset_index(drop=True), X.iloc[tested].reset_index(drop=True)
        strange = _unseen(past, new)
        for method in methods:
            start = time.perf_counter()
            middle, ends = METHODS[method](past, y[fitted], new)
            took = time.perf_counter() - start
            row = {"data": name, "n": n, "repeat": repeat, "method": method, "seconds": took}
            row["error"] = float(np.median(np.abs(middle - y[tested])))
            row["unseen"] = int(strange.sum())
            row["sound"] = _sound(ends, middle)
            for level, (low, high) in ((v, ends[v].T) for v in LEVELS):
                inside = (y[tested] >= low) & (y[tested] <= high)
                tag = f"{100 * level:.0f}"
                row[f"score_{tag}"] = float(interval_score(y[tested], ends[level], level).mean())
                row[f"inside_{tag}"] = float(inside.mean())
                row[f"unseen_inside_{tag}"] = int(inside[strange].sum())
            rows.append(row)
    return pd.DataFrame(rows)


def _unseen(past: pd.DataFrame, new: pd.DataFrame) -> np.ndarray:
    strange = np.zeros(len(new), dtype=bool)
    for c in new.columns:
        if not pd.api.types.is_numeric_dtype(new[c]):
            strange |= ~new[c].isin(set(past[c])).to_numpy()
    return strange


def _sound(ends: Ranges, middle: np.ndarray) -> bool:
    """Finite, uncrossed, and the 80% range inside the 95% one."""
    (low, high), (lower, higher) = ends[0.80].T, ends[0.95].T
    finite = all(np.isfinite(e).all() for e in ends.values())
    return bool(finite and ((lower <= low) & (low < high) & (high <= higher)).all())


def against_ols(runs: pd.DataFrame) -> pd.DataFrame:
    """Method by method: mean ratio of scores to OLS, coverage, error, unseen levels, soundness."""
    cells = runs.groupby(["method", "data", "n"], sort=False)[["score_80", "score_95"]].mean()
    base = cells.loc[OLS]
    rows = []
    for method in dict.fromkeys(runs["method"]):
        mine = runs[runs["method"] == method]
        ratio = np.exp(np.log(cells.loc[method] / base).mean())
        by_cell = mine.groupby(["data", "n"])[["inside_80", "inside_95", "error"]].mean().mean()
        rows.append(
            {
                "method": method,
                "score_80": ratio["score_80"],
                "score_95": ratio["score_95"],
                "inside_80": by_cell["inside_80"],
                "inside_95": by_cell["inside_95"],
                "median_error": by_cell["error"],
                "unseen_inside_95": mine["unseen_inside_95"].sum()
                / (mine["unseen"].sum() or np.nan),
                "sound": bool(mine["sound"].all()),
                "cells": mine.groupby(["data", "n"]).ngroups,
                "seconds": mine["seconds"].mean(),
            }
        )
    return pd.DataFrame(rows)


def by_size(runs: pd.DataFrame) -> pd.DataFrame:
    """The same, by number of sales."""
    parts = [against_ols(part).assign(n=n) for n, part in runs.groupby("n")]
    return pd.concat(parts, ignore_index=True)


def whole_table(runs: pd.DataFrame) -> pd.DataFrame:
    """All cells; those of 60 sales and more, where OLS has rows to spare in every cell; each number of sales.

    With 30 sales and many levels OLS has hardly a row left over and its ranges explode, which flatters every
    other method in the figure over all cells.
    """
    parts = [against_ols(runs).assign(n="all")]
    roomy = runs[runs["n"] >= 60]
    if len(set(roomy["n"])) > 1:
        parts.append(against_ols(roomy).assign(n=f"60 to {roomy['n'].max()}"))
    made = pd.concat([*parts, by_size(runs)], ignore_index=True)
    return made[["n", *[c for c in made.columns if c != "n"]]]


def speed(repeats: int = 3) -> None:
    """Seconds of one core for a fit and 20 ranges of a shop that fills in every column, the best of a few."""
    X, y = DATA["shop, tangled"]()
    rng = np.random.default_rng(5)
    for name in ("style", "construction", "channel"):
        X[name] = rng.choice(["one", "two", "three", "four"], len(X))
    for name in ("width_in", "height_in", "grade", "year_made", "lot"):
        X[name] = rng.normal(10, 1, len(X))
    for n, most in ((60, 0.3), (120, 0.6), (250, 2.0), (600, 20.0)):
        took = []
        for _ in range(repeats):
            start = time.process_time()
            model = HedonicRegressor().fit(X[:n], y[:n])
            model.distribution(X[-20:]).interval(0.8)
            took.append(time.process_time() - start)
        print(f"{n:4d} sales: {min(took):.2f} s (at most {most} s)", flush=True)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure, print, and with --save write the table that the trust notebook shows."""
    asked = argparse.ArgumentParser(description="Measure the price ranges on public data.")
    asked.add_argument("--repeats", type=int, default=20)
    asked.add_argument("--data", nargs="*", default=list(DATA))
    asked.add_argument("--sizes", nargs="*", type=int, default=list(SIZES))
    asked.add_argument("--methods", nargs="*", default=list(METHODS))
    asked.add_argument("--runs", type=Path, help="also write every single run to this CSV")
    asked.add_argument("--save", action="store_true")
    asked.add_argument("--speed", action="store_true")
    given = asked.parse_args(arguments)
    if given.speed:
        speed()
        return
    methods = list(dict.fromkeys([*given.methods, OLS]))
    parts = []
    for name in given.data:
        for n in given.sizes:
            part = measure(name, n, given.repeats, methods)
            if len(part):
                parts.append(part)
                shown = against_ols(part).set_index("method")[["score_80", "score_95"]]
                line = "  ".join(f"{m} {a:.3f}/{b:.3f}" for m, a, b in shown.itertuples())
                print(f"{name:20s} {n:4d}  {line}", flush=True)
    runs = pd.concat(parts, ignore_index=True)
    if given.runs:
        runs.to_csv(given.runs, index=False)
    overall = whole_table(runs)
    print(overall.round(3).to_string(index=False))
    if given.save:
        command = f"python -m tests.bench_price --repeats {given.repeats} --save"
        overall.insert(0, "measured_on", date.today().isoformat())
        overall.insert(1, "command", command)
        overall.drop(columns="seconds").round(4).to_csv(SAVED, index=False, lineterminator="\n")


if __name__ == "__main__":
    main()
