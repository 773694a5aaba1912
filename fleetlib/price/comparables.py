"""The sales grid: the past sales that count most in an estimate, each brought to the piece in question."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.base.measured import measured
from fleetlib.price.features import FACTORS, model_columns
from fleetlib.price.fit import PriceFit
from fleetlib.price.regression.pool import at_rows

MOST_SHOWN = 6
_SHOWN_MEASURES = {
    "size_cuft": "{}",
    "width_in": "{} wide",
    "height_in": "{} high",
    "grade": "grade {}",
    "pieces_in_lot": "lot of {}",
    "year_made": "made {}",
}
_SAME_WITHIN = 0.05  # measures this close, relatively, don't count as different


def comparable_sales(
    fit: PriceFit, columns: pd.DataFrame, *, factor: float = 1.0, unit: str = "in"
) -> pd.DataFrame:
    """The sales that speak most for the estimate of the one row `columns`: those of its kind, if there are any.

    Columns: piece, sold_on, sale_price, weight (share of all positive weights, so that the shares of all sales
    add up to 1; the weights of the estimate itself may be negative), differs (in words), adjusted_price: the
    sale price times exp(mu(this piece) - mu(that sale)), times `factor` for the owner's own adjustment.
    """
    solution = fit.pool.gaussian.mode
    S, own = fit.regressor.likeness(columns)
    weights = np.maximum(fit.regressor.weights(columns)[0], 0.0)
    weights = weights / max(float(weights.sum()), 1e-12)
    here = at_rows(solution, S, own)[0][0] + fit.regressor.believed(columns)[0]
    theirs = fit.pool.y - solution.d * solution.Py  # y less the fitted noise: mu of the fitted rows
    theirs = theirs + fit.regressor.fitted_believed
    used = model_columns(fit.sales, as_of=fit.as_of)
    same = (used["furniture_type"] == columns["furniture_type"].iloc[0]).to_numpy()
    order = _most_telling(weights, same)
    chosen = fit.sales.iloc[order]
    names = {name for name, _ in fit.regressor.coding.blocks}
    return pd.DataFrame(
        {
            "piece": chosen["piece"].astype(str).to_numpy() if "piece" in chosen else order,
            "sold_on": pd.to_datetime(chosen["sold_on"]).to_numpy(),
            "sale_price": chosen["sale_price"].to_numpy(dtype=float),
            "weight": weights[order],
            "differs": [
                differences(columns.iloc[0], used.iloc[i], names, unit=unit) for i in order
            ],
            "adjusted_price": chosen["sale_price"].to_numpy(dtype=float)
            * np.exp(here - theirs[order])
            * factor,
        }
    )


def _most_telling(weights: np.ndarray, same: np.ndarray) -> np.ndarray:
    """Positions of the sales of most weight above 0, at most 6: of its kind, where any of those has some."""
    speaks = (weights > 0) & (same if (same & (weights > 0)).any() else True)
    return np.argsort(np.where(speaks, -weights, np.inf), kind="stable")[
        : min(MOST_SHOWN, speaks.sum())
    ]


def differences(piece: pd.Series, sale: pd.Series, names: set[str], *, unit: str = "in") -> str:
    """How a sale differs from the piece, in words; only what it states of the features the model uses."""
    said = []
    for name in FACTORS:
        theirs = _text(sale[name])
        if name in names and theirs and theirs != _text(piece[name]):
            said.append(theirs)
    for name, pattern in _SHOWN_MEASURES.items():
        size, ours = sale[name], piece[name]
        if name not in names or pd.isna(size):
            continue
        if pd.isna(ours) or abs(size - ours) > _SAME_WITHIN * max(abs(ours), 1e-9):
            said.append(pattern.format(measured(name, float(size), unit)))
    return ", ".join(said) or "alike"


def _text(value: object) -> str:
    return "" if pd.isna(value) else str(value).strip()  # type: ignore[call-overload]
