"""The price model: log sale price as a sum of shrunken blocks, with intervals that know how little is known.

`HedonicRegressor` follows scikit-learn's estimator interface and only orchestrates: the columns are coded
in `blocks`, the strengths found in `restricted_likelihood`, the noise described in `variance_model` and
`pooled`, prices read from `mixture`, reasons from `reasons`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Self

import numpy as np
import pandas as pd
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils import Tags
from sklearn.utils.validation import check_is_fitted, check_X_y, validate_data

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.base.threads import one_thread
from fleetlib.price.regression.contrasts import effects_table, evaluate, piece_contrasts
from fleetlib.price.regression.kernels import Coding, learn_coding, own_similarity, similarities
from fleetlib.price.regression.leave_one_out import LeftOut, left_out
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.pool import doubted, fit_pool, predictive, sale_weights
from fleetlib.price.regression.restricted_likelihood import evidence_for_block
from fleetlib.price.regression.summary import HedonicSummary, summarise

FEWEST_SALES = 5
FEW_SALES = 15
MOST_SALES = 600
IDLE = -0.35  # log Bayes factor below which an optional column is left out; nearer 0 its effect is shrunk anyway


class HedonicRegressor(RegressorMixin, BaseEstimator):
    """Sale prices from a table of words and numbers, partially pooled.

    log price = level + sum of blocks + noise: one block per factor (each level's effect is drawn toward
    none, the more the fewer its sales), one per measure (a slope), a shared gentle curvature and a shared
    combination block; how strongly each is drawn in is learned from the sales and integrated over.

    Parameters
    ----------
    factors, measures : names of the text and the number columns used. With both None every text column is
        a factor and every number column a measure; with one None, no column is of that kind.
    cycles : columns holding a share of the year (0 to 1), where .99 is next to .01.
    optional : columns left out again when the sales say nothing about them (Bayes factor below .7).
    most_rows : beyond this many rows only the last ones are fitted; put the newest sales last.

    After `fit`: `coding_`, `pool_`, `notes_` (tuple of sentences), `left_out_` (names), `n_features_in_`.
    Raises TooFewSales (a ValueError) under 5 rows and ValueError for prices that are not above 0.
    """

    def __init__(
        self,
        *,
        factors: Sequence[str] | None = None,
        measures: Sequence[str] | None = None,
        cycles: Sequence[str] = (),
        optional: Sequence[str] = (),
        most_rows: int = MOST_SALES,
    ) -> None:
        self.factors = factors
        self.measures = measures
        self.cycles = cycles
        self.optional = optional
        self.most_rows = most_rows

    def __sklearn_tags__(self) -> Tags:
        tags = super().__sklearn_tags__()
        tags.target_tags.positive_only = True
        tags.input_tags.allow_nan = True
        tags.input_tags.string = True
        tags.input_tags.categorical = True
        return tags

    def fit(self, X: pd.DataFrame | np.ndarray, y: Sequence[float] | np.ndarray) -> Self:
        """Fit on past sales: X (n rows), sale prices y (n,) above 0."""
        frame, prices = self._checked(X, y)
        if (prices <= 0).any():
            raise ValueError(
                f"y holds a sale price of {float(prices.min()):g}; every sale price must be above 0."
            )
        if len(prices) < FEWEST_SALES:
            raise TooFewSales(
                f"There are {len(prices)} sales (n_samples={len(prices)}); an estimate needs at least "
                f"{FEWEST_SALES}."
            )
        notes = []
        if len(prices) > self.most_rows:
            notes.append(
                f"only the newest {self.most_rows} of {len(prices)} sales are used; older ones tell little"
            )
            frame, prices = frame.iloc[-self.most_rows :], prices[-self.most_rows :]
        factors, measures = self._roles(frame)
        coding = learn_coding(frame, factors=factors, measures=measures, cycles=self.cycles)
        log_price = np.log(prices)
        with one_thread():
            coding, self.left_out_ = _without_idle_terms(coding, frame, log_price, self.optional)
            self.coding_ = coding
            self.coded_ = coding.code(frame)
            S = similarities(coding, self.coded_, self.coded_, same=True)
            self.pool_ = fit_pool(
                S,
                log_price,
                scales=coding.prior_scales,
                factors=len(coding.factors),
                measures=len(coding.measures),
            )
        if len(prices) < FEW_SALES:
            notes.append(
                f"only {len(prices)} sales: the ranges are wide, and one more sale can move them a good deal"
            )
        self.notes_ = tuple(notes)
        return self

    def predict(self, X: pd.DataFrame | np.ndarray) -> np.ndarray:
        """The median sale price (r,) of each row."""
        return np.exp(self.distribution(X).median())

    def predict_interval(self, X: pd.DataFrame | np.ndarray, level: float = 0.80) -> np.ndarray:
        """Lowest and highest price (r, 2) of the central interval that holds `level` of such sales."""
        if not 0 < level < 1:
            raise BadQuestion(f"level is {level}; it must be between 0 and 1, such as 0.80.")
        return np.exp(self.distribution(X).interval(level))

    def distribution(self, X: pd.DataFrame | np.ndarray) -> Mixture:
        """The distribution of the log price of each row."""
        S, own = self.likeness(X)
        with one_thread():
            return predictive(self.pool_, S, own)

    def likeness(self, X: pd.DataFrame | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Block by block, how alike each row is to the n fitted ones (K, r, n), and to itself (K, r)."""
        check_is_fitted(self)
        coded = self.coding_.code(self._rows(X))
        S = similarities(self.coding_, coded, self.coded_)
        return S, own_similarity(self.coding_, coded)

    def weights(self, X: pd.DataFrame | np.ndarray) -> np.ndarray:
        """How much each fitted sale counts in each row's estimate (r, n); rows sum to 1, some are negative."""
        return sale_weights(self.pool_.gaussian.mode, self.likeness(X)[0])

    def leave_one_out(self) -> LeftOut:
        """Each fitted sale estimated from the others."""
        check_is_fitted(self)
        return left_out(self.pool_)

    def effects(self, level: float = 0.95) -> pd.DataFrame:
        """Each level's and each slope's effect on the price in per cent: feature, setting, sales, effect,
        low, high. A level is compared with the average of the sales, everything else averaged over.
        """
        check_is_fitted(self)
        made = effects_table(self.pool_.gaussian, self.coding_, self.coded_, level=level)
        for name in ("effect", "low", "high"):
            made[name] = 100 * np.expm1(made[name])
        return made

    def contributions(self, X: pd.DataFrame | np.ndarray, level: float = 0.80) -> pd.DataFrame:
        """What each feature of one row adds, compared with the average sale: feature, effect, low, high (log).

        The effects add up to the row's fitted log price less the average fitted log price of the sales.
        """
        check_is_fitted(self)
        row = self.coding_.code(self._rows(X))
        if len(row) != 1:
            raise BadQuestion(
                f"contributions are for one row at a time; there are {len(row)} here."
            )
        rows = []
        for contrast in piece_contrasts(self.coding_, self.coded_, row):
            found = evaluate(self.pool_.gaussian, contrast, level=level)
            rows.append((contrast.feature, found.effect, found.low, found.high))
        return pd.DataFrame(rows, columns=["feature", "effect", "low", "high"])

    def summary(self, level: float = 0.95) -> HedonicSummary:
        """Every effect in per cent, the textbook regression's beside it."""
        check_is_fitted(self)
        return summarise(
            self.pool_, self.coding_, self.coded_, level=level, notes=tuple(self.notes_)
        )

    def _checked(
        self, X: pd.DataFrame | np.ndarray, y: Sequence[float] | np.ndarray
    ) -> tuple[pd.DataFrame, np.ndarray]:
        if not isinstance(X, pd.DataFrame):
            array, prices = validate_data(
                self, X, y, dtype="float64", ensure_all_finite="allow-nan", y_numeric=True
            )
            return _named(array), np.asarray(prices, dtype=float)
        validate_data(self, X, skip_check_array=True)
        _, prices = check_X_y(np.zeros((len(X), 1)), y, y_numeric=True, estimator=self)
        if X.shape[1] == 0:
            raise ValueError("0 feature(s) (shape=(n, 0)) while a minimum of 1 is required.")
        return X, np.asarray(prices, dtype=float)

    def _rows(self, X: pd.DataFrame | np.ndarray) -> pd.DataFrame:
        if isinstance(X, pd.DataFrame):
            validate_data(self, X, skip_check_array=True, reset=False)
            return X
        array = validate_data(self, X, dtype="float64", ensure_all_finite="allow-nan", reset=False)
        return _named(array, getattr(self, "feature_names_in_", None))

    def _roles(self, frame: pd.DataFrame) -> tuple[list[str], list[str]]:
        if self.factors is not None or self.measures is not None:
            return list(self.factors or ()), list(self.measures or ())
        rest = [c for c in frame.columns if c not in self.cycles]
        measures = [c for c in rest if _is_number(frame[c])]
        return [c for c in rest if c not in measures], measures


def _named(array: np.ndarray, names: Sequence[str] | None = None) -> pd.DataFrame:
    """A plain array as a table with columns x0, x1, ..."""
    columns = [f"x{j}" for j in range(array.shape[1])] if names is None else list(names)
    return pd.DataFrame(array, columns=columns)


def _is_number(column: pd.Series) -> bool:
    return bool(pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column))


def _without_idle_terms(
    coding: Coding, frame: pd.DataFrame, log_price: np.ndarray, optional: Sequence[str]
) -> tuple[Coding, tuple[str, ...]]:
    """The coding without those optional columns that the sales say nothing about, and their names."""
    names = [name for name, _ in coding.blocks]
    asked = [k for k, name in enumerate(names) if name in optional]
    if not asked:
        return coding, ()
    coded = coding.code(frame)
    S = similarities(coding, coded, coded, same=True)
    scales = coding.prior_scales
    lam, d = doubted(S, log_price, scales)
    idle = [
        k
        for k in asked
        if evidence_for_block(S, log_price, lam=lam, d=d, scale=scales[k], k=k) < IDLE
    ]
    return coding.without([names[k] for k in idle]), tuple(names[k] for k in idle)
