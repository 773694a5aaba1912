"""What a finish does to the price, where the owner's price of a piece was noted before its finish was chosen.

Who chooses a finish by the piece can only go by what they see in it, and that is what their price of the piece as
found says. So of two pieces priced alike as found, the finish is as good as drawn by lot, and

    log sale price - log price as found = level + slope (log price as found) + effect of the finish + noise

tells its effect (selection on what is seen: Rosenbaum and Rubin 1983, Biometrika 70, 41-55). A price noted once
the finish was chosen, or the piece done, already holds the effect, so it is no help. Without any price as found
the effect is not identified: what went with a finish may be the pieces that got it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetlib.base.said import change
from fleetlib.pay.rates import FEWEST
from fleetlib.records.folder import Records
from fleetlib.records.log.life import details
from fleetlib.records.parsing.amounts import read_money

LEAST_SALES = (
    12  # sales with a price as found under which nothing is told of finishes; our own choice
)
_EFFECT_SD = 0.15  # by how much finishes differ in log price, before any sale (about as prices/priors.py allows)
_NOISE, _NOISE_SALES = 0.25, 4.0  # sd of log sale price over price as found, worth four sales


@dataclass(frozen=True, eq=False, slots=True)
class FinishEffects:
    """The effect on log price of each finish, against the average over the sales that tell it.

    `finishes` (k,) in alphabetical order, `sales` behind each, `mean` (k,), `root` (k, k) with root root' = the
    covariance, `df` degrees of freedom: mean + root t is a draw, t being k t-distributed numbers of one scale.
    """

    finishes: tuple[str, ...]
    sales: tuple[int, ...]
    mean: np.ndarray
    root: np.ndarray
    df: float

    def draws(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """(n, k) draws of the effects."""
        scale = np.sqrt(self.df / rng.chisquare(self.df, (n, 1)))
        drawn = self.mean + scale * (rng.standard_normal((n, len(self.mean))) @ self.root.T)
        return np.asarray(drawn)


def prices_as_found(records: Records) -> pd.Series:
    """The owner's price of each piece as found (money, NaN unknown): its found_price, else the gut_price in the entry
    that it was bought.

    An entry that names the finish as well was made with the finish in mind and tells nothing.
    """
    flips, logged = records.flips, records.logged
    written = flips.get("found_price", pd.Series(np.nan, index=flips.index))
    noted = pd.to_numeric(written, errors="coerce")
    found: dict[str, float] = {}
    for row in logged[logged["event"] == "bought"].itertuples(index=False):
        cells = details(str(row.note))
        if "gut_price" in cells and "finish" not in cells:
            value = read_money([cells["gut_price"]], currency=records.settings.currency)[0].value
            if value is not None and float(value) > 0:
                found[str(row.piece).casefold()] = float(value)
    logged_then = flips["piece"].astype(str).str.casefold().map(found).astype("float64")
    return noted.where(noted > 0, logged_then)


def finish_effects(sales: pd.DataFrame) -> FinishEffects | None:
    """Learn from `sales` (sale_price, as_found, finish); None where they do not tell.

    Only finishes sold at least 3 times with a price as found are learned, and only where there are two of them
    and 12 such sales. A conjugate normal linear model as in `work/hours.py`.
    """
    some = sales[sales["finish"].notna() & (sales["as_found"] > 0) & (sales["sale_price"] > 0)]
    counts = some["finish"].astype(str).value_counts()
    names = tuple(sorted(counts.index[counts >= FEWEST]))
    some = some[some["finish"].isin(names)]
    if len(names) < 2 or len(some) < LEAST_SALES:
        return None
    seen = np.log(some["as_found"].to_numpy(float))
    y = np.log(some["sale_price"].to_numpy(float)) - seen
    dummies = np.array([[float(f == n) for n in names] for f in some["finish"]])
    X = np.column_stack([np.ones(len(y)), seen - seen.mean(), dummies])
    ratio = (_NOISE / _EFFECT_SD) ** 2
    precision = np.diag([1e-6, 0.25, *[ratio] * len(names)])
    covariance = np.linalg.inv(X.T @ X + precision)
    beta = covariance @ (X.T @ y)
    df = len(y) - 1 + _NOISE_SALES
    noise = (float(y @ y - y @ (X @ beta)) + _NOISE_SALES * _NOISE**2) / df
    shares = dummies.mean(axis=0)
    against = np.eye(len(names)) - shares  # each finish against the average over these sales
    own = against @ covariance[2:, 2:] @ against.T * noise
    # Of finishes seen as often the vectors would turn with the last digit.
    apart = 1e-9 * np.trace(own) * np.arange(len(own))
    values, vectors = np.linalg.eigh(own + np.diag(apart))
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    sold = tuple(int(counts[n]) for n in names)
    return FinishEffects(names, sold, against @ beta[2:], root, df)


def per_cent(log_effect: float) -> str:
    """`+12%`, `-3%`."""
    return change(100 * math.expm1(log_effect))
