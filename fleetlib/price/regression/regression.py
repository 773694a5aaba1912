"""The price model: log sale price as a sum of shrunken blocks, with intervals that know how little is known.

`fit_regression` only orchestrates: the columns are coded in `kernels`, the variance ratios found in
`restricted_likelihood` under `priors`, the noise described in `noise` and `pool`, prices read from `mixture`,
reasons from `contrasts`. `HedonicRegressor` wraps it in scikit-learn's estimator interface.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.base.kept_numbers import kept
from fleetlib.base.level import USUAL_LEVEL, check_level
from fleetlib.base.said import count
from fleetlib.base.threads import one_thread
from fleetlib.price.regression.contrasts import effects_table, evaluate, piece_contrasts
from fleetlib.price.regression.kernels import (
    Coded,
    Coding,
    learn_coding,
    own_similarity,
    similarities,
)
from fleetlib.price.regression.leave_one_out import LeftOut, left_out
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.packed import Packed
from fleetlib.price.regression.pool import Pool, at_rows, fit_pool, predictive, sale_weights
from fleetlib.price.regression.priors import Priors
from fleetlib.price.regression.restricted_likelihood import find_mode, log_posterior, solve
from fleetlib.price.regression.summary import HedonicSummary, summarise

FEW_SALES = 15
MOST_SALES = 600
_AT_ONCE = 500  # rows priced at a time: their likeness to every sale, block by block, is large
FOLLOWED = np.array([0.0, 0.5, 1.0, 1.5, 2.0])
FOLLOWED_BEFORE = np.array([0.1, 0.2, 0.4, 0.2, 0.1])


@dataclass(frozen=True, eq=False, slots=True)
class Regression:
    """A fitted price model: what was learned of the columns, the fitted rows as coded, the pool, and `notes`.

    The pool's y is the log price less what was believed of each row before: `intercept` and, by feature, `parts` (n,).
    """

    coding: Coding = field(repr=False)
    coded: Coded = field(repr=False)
    pool: Pool = field(repr=False)
    priors: Priors = field(repr=False)
    intercept: float = 0.0
    parts: Mapping[str, np.ndarray] = field(default_factory=dict, repr=False)
    notes: tuple[str, ...] = ()

    def predict(self, frame: pd.DataFrame) -> np.ndarray:
        """The median sale price (r,) of each row."""
        at_once = [frame.iloc[i : i + _AT_ONCE] for i in range(0, len(frame) or 1, _AT_ONCE)]
        return np.concatenate([np.exp(self.distribution(rows).median()) for rows in at_once])

    def predict_interval(self, frame: pd.DataFrame, level: float = USUAL_LEVEL) -> np.ndarray:
        """Lowest and highest price (r, 2) of the central interval that holds `level` of such sales."""
        check_level(level)
        return np.asarray(np.exp(self.distribution(frame).interval(level)))

    def distribution(self, frame: pd.DataFrame) -> Mixture:
        """The distribution of the log price of each row."""
        return self.told(frame)[0]

    def told(self, frame: pd.DataFrame) -> tuple[Mixture, tuple[np.ndarray, np.ndarray]]:
        """`distribution` of each row, and the `likeness` that it was worked out from."""
        S, own = self.likeness(frame)
        with one_thread():
            return predictive(self.pool, S, own).moved(self.believed(frame)), (S, own)

    def believed(self, frame: pd.DataFrame) -> np.ndarray:
        """The log price (r,) that was believed of each row before any sale."""
        parts = self.priors.believed(frame).values()
        return np.asarray(sum(parts, np.full(len(frame), self.intercept)))

    @property
    def fitted_believed(self) -> np.ndarray:
        """The same (n,) for the fitted rows."""
        return np.asarray(sum(self.parts.values(), np.full(len(self.pool.y), self.intercept)))

    def settled(self, frame: pd.DataFrame) -> np.ndarray:
        """The share (r,) of the doubt about each row's usual log price that the sales have taken away.

        1 - v / v0: its variance after and before the sales, the variance ratios as found (0 without any sale).
        """
        S, own = self.likeness(frame)
        solution = self.pool.gaussian.mode
        v = at_rows(solution, S, own)[1]
        weight = self.priors.variance_ratios(self.coding).intercept_weight
        return np.asarray(1 - v / (solution.variance_ratios @ own + 1 / max(weight, 1e-12)))

    def likeness(self, frame: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
        """Block by block, how alike each row is to the n fitted ones (K, r, n), and to itself (K, r)."""
        coded = self.coding.code(frame)
        return similarities(self.coding, coded, self.coded), own_similarity(self.coding, coded)

    def weights(self, frame: pd.DataFrame) -> np.ndarray:
        """How much each fitted sale counts in each row's estimate (r, n); rows sum to 1, some are negative."""
        return sale_weights(self.pool.gaussian.mode, self.likeness(frame)[0])

    def leave_one_out(self) -> LeftOut:
        """Each fitted sale estimated from the others."""
        return left_out(self.pool, self.fitted_believed)

    def fifths_left_out(self) -> np.ndarray:
        """Where each fitted row lies (n,) in its distribution from a fit to the other fifths of rows in order.

        The variance ratios are found again without the fifth (in the leave-one-out they were chosen with the row in,
        which makes few rows look better than new ones will); Gaussian member only, to take a third of the time.
        """
        n, pool = len(self.pool.y), self.pool
        position = np.empty(n)
        for block in np.array_split(np.arange(n), min(5, n)):
            rest = np.setdiff1d(np.arange(n), block)
            part = fit_pool(
                pool.S[:, rest][:, :, rest],
                pool.y[rest],
                prior=self.priors.variance_ratios(self.coding),
                factors=len(self.coding.factors),
                measures=len(self.coding.measures),
                stretch=pool.stretch,
                gaussian_only=True,
            )
            own = own_similarity(self.coding, self.coded.take(block))
            told = predictive(part, pool.S[:, block][:, :, rest], own)
            position[block] = told.share_below(pool.y[block])
        return position

    def effects(self, level: float = 0.95) -> pd.DataFrame:
        """Each level's and each slope's effect on the price in per cent: feature, setting, sales, effect,
        low, high. A level is compared with the average of the sales, everything else averaged over.
        """
        means = self.priors.means
        made = effects_table(self.pool.gaussian, self.coding, self.coded, level=level, means=means)
        for name in ("effect", "low", "high"):
            made[name] = 100 * np.expm1(made[name])
        return made

    def contributions(self, frame: pd.DataFrame, level: float = USUAL_LEVEL) -> pd.DataFrame:
        """What each feature of one row adds, compared with the average sale: feature, effect, low, high (log).

        The effects add up to the row's fitted log price less the average fitted log price of the sales.
        """
        row = self.coding.code(frame)
        if len(row) != 1:
            raise BadQuestion(
                f"contributions are for one row at a time; there are {len(row)} here."
            )
        before = {
            name: float(part[0] - (self.parts[name].mean() if len(self.coded) else 0.0))
            for name, part in self.priors.believed(frame).items()
        }
        rows = []
        for contrast in piece_contrasts(self.coding, self.coded, row, before):
            found = evaluate(self.pool.gaussian, contrast, level=level)
            rows.append((contrast.feature, found.effect, found.low, found.high))
        return pd.DataFrame(rows, columns=["feature", "effect", "low", "high"])

    def summary(self, level: float = 0.95, *, currency: str = "") -> HedonicSummary:
        """Every effect in per cent, the textbook regression's beside it; amounts are shown in `currency`."""
        made = summarise(
            self.pool,
            self.coding,
            self.coded,
            level=level,
            believed=self.fitted_believed,
            means=self.priors.means,
            notes=self.notes,
        )
        beside = made.ordinary and replace(made.ordinary, currency=currency)
        return replace(made, ordinary=beside)


def _intercept(y: np.ndarray, priors: Priors) -> float:
    if priors.intercept is not None:
        return priors.intercept
    return float(y.mean()) if np.isfinite(priors.intercept_sd) else 0.0


def _following(
    S: np.ndarray, log_price: np.ndarray, frame: pd.DataFrame, priors: Priors, coding: Coding
) -> float:
    """How far the rows follow what is believed of them: 1 as it stands, 0 not at all, 2 twice as far.

    The mean over `FOLLOWED` under weights exp(log posterior at the most probable variance ratios): rows that contradict
    what is believed take it back, so that it does no harm once they are many.
    """
    prior = priors.variance_ratios(coding)
    believed = sum(priors.believed(frame).values(), np.zeros(len(log_price)))

    def share_followed() -> float:
        flat, value, lam, packed = np.ones(len(log_price)), [], None, Packed.of(S)
        for share in FOLLOWED:
            y = log_price - share * believed
            y = y - _intercept(y, priors)
            lam = find_mode(packed, y, d=flat, prior=prior, start=lam)
            value.append(log_posterior(solve(packed, lam, flat, y, prior), prior))
        weights = FOLLOWED_BEFORE * np.exp(np.array(value) - max(value))
        return float(FOLLOWED @ weights / weights.sum())

    return kept(
        "price share followed",
        (S, log_price, believed, prior, priors.intercept, priors.intercept_sd),
        share_followed,
        numbers=lambda share: {"share": np.array(share)},
        again=lambda found: float(found["share"]),
    )


def fit_regression(  # noqa: PLR0913 - columns by their kind, one name each
    frame: pd.DataFrame,
    prices: np.ndarray,
    *,
    factors: Sequence[str],
    measures: Sequence[str],
    cycles: Sequence[str] = (),
    walks: Sequence[str] = (),
    priors: Priors | None = None,
    most_rows: int = MOST_SALES,
) -> Regression:
    """Fit on past sales: the named columns of `frame` (n rows) and sale prices (n,) above 0.

    Beyond `most_rows` only the last ones are fitted; put the newest sales last. Raises TooFewSales (a
    ValueError) under 5 rows and ValueError for prices that are not above 0.
    """
    if len(prices) and (prices <= 0).any():
        raise ValueError(
            f"y holds a sale price of {float(prices.min()):g}; every sale price must be above 0."
        )
    priors = Priors() if priors is None else priors
    if len(prices) < priors.fewest:
        raise TooFewSales(
            f"There are {len(prices)} sales (n_samples={len(prices)}); an estimate needs at least "
            f"{priors.fewest}."
        )
    notes = []
    if len(prices) > most_rows:
        notes.append(
            f"only the newest {most_rows} of {len(prices)} sales are used; older ones tell little"
        )
        frame, prices = frame.iloc[-most_rows:], prices[-most_rows:]
    coding = learn_coding(
        frame,
        factors=factors,
        measures=measures,
        cycles=cycles,
        walks=walks,
        kept=priors.kept,
        measured=priors.measured,
        alike=priors.alike,
    )
    coded = coding.code(frame)
    S = similarities(coding, coded, coded, same=True)
    with one_thread():
        if priors.means:
            priors = priors.followed(_following(S, np.log(prices), frame, priors, coding))
        parts = priors.believed(frame)
        y = np.log(prices) - sum(parts.values(), np.zeros(len(prices)))
        intercept = _intercept(y, priors)
        pool = fit_pool(
            S,
            y - intercept,
            prior=priors.variance_ratios(coding),
            factors=len(coding.factors),
            measures=len(coding.measures),
            stretch=priors.stretch,
        )
    if len(prices) < FEW_SALES:
        notes.append(
            f"only {count(len(prices), 'sale')}: the ranges are wide, and one more "
            "sale can move them a good deal"
        )
    return Regression(coding, coded, pool, priors, intercept, parts, tuple(notes))
