"""The textbook regression (ordinary least squares), for the trust notebook and the published checks.

The coefficients come from statsmodels (Moore-Penrose by singular value decomposition); everything derived
beyond its table is written out with its equation.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from fleetlib.base.errors import BadQuestion
from fleetlib.shown.sheet import Facts, Sheet, Shown, Table


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class OrdinaryRegression(Shown):
    """Least squares of y (n,) on the columns of a design, p coefficients.

    table: term, coefficient, standard_error, t, p_value, low, high (95% interval). residual_sd is
    sqrt(sum of squares / (n - p)). press is the sum of squared leave-one-out errors e_i / (1 - h_i),
    predictive_r2 = 1 - press / total sum of squares (Allen 1974, Technometrics 16: 125-127); both are missing
    where a row is the only one of its kind. `of_logs`: y are logarithms of amounts of money,
    in `currency` (bare numbers without one).
    """

    table: pd.DataFrame = field(repr=False)
    sales: int
    residual_sd: float
    r2: float
    adjusted_r2: float
    f: float
    press: float
    predictive_r2: float
    fitted: np.ndarray = field(repr=False)
    residuals: np.ndarray = field(repr=False)
    leverage: np.ndarray = field(repr=False)
    design: pd.DataFrame = field(repr=False)
    covariance: np.ndarray = field(repr=False)
    baselines: Mapping[str, str] = field(repr=False)
    kinds: Mapping[str, bool] = field(repr=False)
    notes: tuple[str, ...] = ()
    of_logs: bool = False
    currency: str = ""

    def coefficient(self, term: str) -> float:
        """The coefficient of one term (its name in the table)."""
        return float(self.table.set_index("term")["coefficient"][term])

    def standard_error(self, term: str) -> float:
        """The standard error of one term's coefficient."""
        return float(self.table.set_index("term")["standard_error"][term])

    def predict(self, X: pd.DataFrame | Sequence[Mapping[str, object]]) -> np.ndarray:
        """The fitted value (r,) for new rows with the same columns."""
        return np.asarray(self._design_of(X) @ self.table["coefficient"].to_numpy())

    def mean_interval(self, X: pd.DataFrame, level: float = 0.95) -> np.ndarray:
        """Where the *average* of such rows lies (r, 2). Not a price range: see `predict_interval`."""
        return self._interval(X, level, one_more=0.0)

    def predict_interval(self, X: pd.DataFrame, level: float = 0.95) -> np.ndarray:
        """Where *one* new row lies (r, 2): fitted +- t x s sqrt(1 + x (X'X)^-1 x')."""
        return self._interval(X, level, one_more=1.0)

    def smearing(self) -> float:
        """mean(exp(residual)): exp(fitted log) x this estimates the mean (Duan 1983)."""
        return float(np.mean(np.exp(self.residuals)))

    def _interval(self, X: pd.DataFrame, level: float, *, one_more: float) -> np.ndarray:
        rows = self._design_of(X)
        middle = rows @ self.table["coefficient"].to_numpy()
        own = np.einsum("ij,jk,ik->i", rows, self.covariance, rows)
        width = np.sqrt(own + one_more * self.residual_sd**2)
        t = float(stdtrit(self.sales - len(self.table), (1 + level) / 2))
        return np.column_stack([middle - t * width, middle + t * width])

    def _design_of(self, X: pd.DataFrame | Sequence[Mapping[str, object]]) -> np.ndarray:
        frame = X if isinstance(X, pd.DataFrame) else pd.DataFrame(list(X))
        terms = list(self.design.columns)
        made = np.zeros((len(frame), len(terms)))
        for j, term in enumerate(terms):
            name, _, level = term.partition(" = ")
            if term == CONSTANT:
                made[:, j] = 1.0
            elif self.kinds.get(term, False):
                made[:, j] = frame[term].to_numpy(dtype=float)
            else:
                words = frame[name].astype(str)
                known = {self.baselines[name], *self._levels(name)}
                strange = sorted(set(words) - known)
                if strange:
                    raise BadQuestion(
                        f'{name} is "{strange[0]}", which the regression has never seen. It knows '
                        f"{', '.join(sorted(known))}."
                    )
                made[:, j] = words == level
        return made

    def _levels(self, name: str) -> list[str]:
        return [t.partition(" = ")[2] for t in self.design.columns if t.startswith(f"{name} = ")]

    def sheet(self) -> Sheet:
        """The coefficients, and how well the regression fits."""
        return Sheet("Ordinary regression", (Table(self._shown()), Facts(tuple(self._facts()))))

    def _facts(self) -> list[tuple[str, str]]:
        return [
            ("rows", f"{self.sales}"),
            ("R squared", f"{self.r2:.4f} (adjusted {self.adjusted_r2:.4f})"),
            ("residual standard deviation", f"{self.residual_sd:.5g}"),
            (
                "R squared when each row is left out",
                "-" if np.isnan(self.predictive_r2) else f"{self.predictive_r2:.4f}",
            ),
        ]

    def _shown(self) -> pd.DataFrame:
        shown = self.table.copy()
        for name in shown.columns[1:]:
            shown[name] = [f"{v:.4g}" for v in shown[name]]
        return shown


CONSTANT = "constant"


def ordinary_regression(
    X: pd.DataFrame | np.ndarray,
    y: Sequence[float] | np.ndarray | pd.Series,
    *,
    baselines: Mapping[str, str] | None = None,
    constant: bool = True,
) -> OrdinaryRegression:
    """Regress y (n,) on X by least squares, on whatever scale y is given in (take logs first for prices).

    Number columns enter as they are; text columns as one 0/1 column per level but the baseline (the one
    named in `baselines`, else the first in order). Raises BadQuestion for missing or infinite entries, or
    no more rows than coefficients. Columns that repeat others are reported in `notes`.
    """
    import statsmodels.api as sm
    from statsmodels.tools.sm_exceptions import SingularMatrixWarning

    frame = X if isinstance(X, pd.DataFrame) else pd.DataFrame(np.asarray(X)).add_prefix("x")
    outcome = np.asarray(y, dtype=float)
    if len(frame) != len(outcome):
        raise BadQuestion(f"X has {len(frame)} rows and y has {len(outcome)}; they must match.")
    design, kinds, used = design_columns(frame, baselines or {}, constant)
    values = design.to_numpy()
    if not (np.isfinite(values).all() and np.isfinite(outcome).all()):
        raise BadQuestion("The textbook regression takes no missing or infinite entries.")
    n, p = values.shape
    if n <= p:
        raise BadQuestion(
            f"There are {n} rows for {p} coefficients; the regression needs more rows."
        )
    # Columns of one length first: NIST's Longley loses digits otherwise.
    lengths = np.sqrt((values**2).sum(axis=0))
    lengths[lengths == 0] = 1.0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SingularMatrixWarning)  # said in `notes`
        fit = sm.OLS(outcome, values / lengths).fit()
    coefficients, errors = fit.params / lengths, fit.bse / lengths
    covariance = fit.cov_params() / np.outer(lengths, lengths)
    leverage = np.einsum("ij,ij->i", values @ (covariance / fit.mse_resid), values)
    centre = outcome.mean() if constant else 0.0
    total = float(((outcome - centre) ** 2).sum())
    squares = float((fit.resid**2).sum())
    alone = leverage > 1 - 1e-9
    press = float("nan") if alone.any() else float(((fit.resid / (1 - leverage)) ** 2).sum())
    half = stdtrit(n - p, 0.975) * errors
    table = pd.DataFrame(
        {
            "term": design.columns,
            "coefficient": coefficients,
            "standard_error": errors,
            "t": coefficients / errors,
            "p_value": fit.pvalues,
            "low": coefficients - half,
            "high": coefficients + half,
        }
    )
    rank = int(np.linalg.matrix_rank(values / lengths))
    notes = []
    if rank < p:
        notes.append("some columns repeat others; their coefficients share the effect")
    if count := int(alone.sum()):
        which = "1 row is the only one" if count == 1 else f"{count} rows are the only ones"
        notes.append(f"{which} of its kind, so leaving each row out cannot be judged")
    down = p - 1 if constant else p
    return OrdinaryRegression(
        table,
        n,
        float(np.sqrt(squares / (n - p))),
        1 - squares / total,
        1 - (squares / (n - p)) / (total / (n - (1 if constant else 0))),
        ((total - squares) / down) / (squares / (n - p)) if down else float("nan"),
        press,
        1 - press / total,
        np.asarray(fit.fittedvalues),
        np.asarray(fit.resid),
        leverage,
        design,
        covariance,
        used,
        kinds,
        tuple(notes),
    )


def design_columns(
    frame: pd.DataFrame, baselines: Mapping[str, str], constant: bool
) -> tuple[pd.DataFrame, dict[str, bool], dict[str, str]]:
    """The design's columns, which of them are numbers, and the baseline of each text column."""
    columns: dict[str, np.ndarray] = {CONSTANT: np.ones(len(frame))} if constant else {}
    kinds: dict[str, bool] = {}
    used: dict[str, str] = {}
    for name in map(str, frame.columns):
        if pd.api.types.is_numeric_dtype(frame[name]):
            columns[name] = frame[name].to_numpy(dtype=float)
            kinds[name] = True
            continue
        words = frame[name].astype(str)
        levels = sorted(words.unique())
        baseline = baselines.get(name, levels[0])
        if baseline not in levels:
            raise BadQuestion(
                f'the baseline of {name} is "{baseline}", which never occurs. The levels are '
                f"{', '.join(levels)}."
            )
        used[name] = baseline
        for level in levels:
            if level != baseline:
                columns[f"{name} = {level}"] = (words == level).to_numpy(dtype=float)
    return pd.DataFrame(columns, index=frame.index), kinds, used
