"""The price model as a scikit-learn estimator: `Regression` behind its interface, for any table of data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Self

import numpy as np
import pandas as pd
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils import Tags
from sklearn.utils.validation import check_is_fitted, check_X_y, validate_data

from fleetlib.base.level import USUAL_LEVEL
from fleetlib.price.regression.leave_one_out import LeftOut
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.regression import MOST_SALES, fit_regression
from fleetlib.price.regression.summary import HedonicSummary


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
    most_rows : beyond this many rows only the last ones are fitted; put the newest sales last.

    After `fit`: `regression_` (the fitted `Regression`), `notes_` (tuple of sentences), `n_features_in_`.
    Raises TooFewSales (a ValueError) under 5 rows and ValueError for prices that are not above 0.
    """

    def __init__(
        self,
        *,
        factors: Sequence[str] | None = None,
        measures: Sequence[str] | None = None,
        cycles: Sequence[str] = (),
        most_rows: int = MOST_SALES,
    ) -> None:
        self.factors = factors
        self.measures = measures
        self.cycles = cycles
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
        factors, measures = self._roles(frame)
        self.regression_ = fit_regression(
            frame,
            prices,
            factors=factors,
            measures=measures,
            cycles=self.cycles,
            most_rows=self.most_rows,
        )
        self.notes_ = self.regression_.notes
        return self

    def predict(self, X: pd.DataFrame | np.ndarray) -> np.ndarray:
        """The median sale price (r,) of each row."""
        check_is_fitted(self)
        return self.regression_.predict(self._rows(X))

    def predict_interval(
        self, X: pd.DataFrame | np.ndarray, level: float = USUAL_LEVEL
    ) -> np.ndarray:
        """Lowest and highest price (r, 2) of the central interval that holds `level` of such sales."""
        check_is_fitted(self)
        return self.regression_.predict_interval(self._rows(X), level)

    def distribution(self, X: pd.DataFrame | np.ndarray) -> Mixture:
        """The distribution of the log price of each row."""
        check_is_fitted(self)
        return self.regression_.distribution(self._rows(X))

    def leave_one_out(self) -> LeftOut:
        """Each fitted sale estimated from the others."""
        check_is_fitted(self)
        return self.regression_.leave_one_out()

    def effects(self, level: float = 0.95) -> pd.DataFrame:
        """Each level's and each slope's effect on the price in per cent (`Regression.effects`)."""
        check_is_fitted(self)
        return self.regression_.effects(level)

    def contributions(
        self, X: pd.DataFrame | np.ndarray, level: float = USUAL_LEVEL
    ) -> pd.DataFrame:
        """What each feature of one row adds, compared with the average sale (`Regression.contributions`)."""
        check_is_fitted(self)
        return self.regression_.contributions(self._rows(X), level)

    def summary(self, level: float = 0.95, *, currency: str = "") -> HedonicSummary:
        """Every effect in per cent, the textbook regression's beside it; amounts are shown in `currency`."""
        check_is_fitted(self)
        return self.regression_.summary(level, currency=currency)

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
