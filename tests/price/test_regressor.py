"""The price regressor as a whole: scikit-learn's checks, invariances, honesty and recovery of the truth."""

from __future__ import annotations

import pickle

import numpy as np
import pandas as pd
import pytest
from sklearn.base import BaseEstimator, clone
from sklearn.model_selection import cross_val_score
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import FunctionTransformer
from sklearn.utils.estimator_checks import parametrize_with_checks

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.price.regression.regressor import HedonicRegressor

TYPES = {"dresser": 0.1, "desk": -0.2, "hutch": 0.5, "chair": -0.7, "table": 0.3}
WOODS = {"oak": 0.1, "walnut": 0.25, "pine": -0.25, "maple": 0.0}


@parametrize_with_checks([HedonicRegressor()])
@pytest.mark.slow
def test_scikit_learns_own_checks_pass(estimator: BaseEstimator, check) -> None:  # type: ignore[no-untyped-def]
    check(estimator)


def sales(n: int, seed: int, noise: float = 0.25) -> tuple[pd.DataFrame, np.ndarray]:
    """`n` sales with the effects TYPES and WOODS, size to the power .5."""
    rng = np.random.default_rng(seed)
    X = pd.DataFrame(
        {
            "type": rng.choice(list(TYPES), n),
            "wood": rng.choice(list(WOODS), n, p=[0.5, 0.2, 0.2, 0.1]),
            "size": np.exp(rng.normal(3, 0.5, n)),
            "days": rng.exponential(30, n).round(),
        }
    )
    log_price = 4 + X["type"].map(TYPES) + X["wood"].map(WOODS) + 0.5 * np.log(X["size"])
    return X, np.exp(log_price.to_numpy(dtype=float) + rng.normal(0, noise, n))


@pytest.fixture(scope="module")
def shop() -> tuple[pd.DataFrame, np.ndarray]:
    return sales(80, seed=1)


@pytest.fixture(scope="module")
def fit(shop: tuple[pd.DataFrame, np.ndarray]) -> HedonicRegressor:
    return HedonicRegressor().fit(*shop)


def test_text_columns_are_factors_and_numbers_are_measures(fit: HedonicRegressor) -> None:
    assert [f.name for f in fit.regression_.coding.factors] == ["type", "wood"]
    assert [m.name for m in fit.regression_.coding.measures] == ["size", "days"]


def test_order_of_rows_and_names_of_levels_change_nothing(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, y = shop
    order = np.random.default_rng(2).permutation(len(y))
    turned = HedonicRegressor().fit(X.iloc[order], y[order])
    assert turned.predict_interval(X) == pytest.approx(fit.predict_interval(X), rel=2e-4)
    names = {"dresser": "z", "desk": "b", "hutch": "x", "chair": "c", "table": "a"}
    renamed = X.assign(type=X["type"].map(names))
    again = HedonicRegressor().fit(renamed, y)
    assert again.predict_interval(renamed) == pytest.approx(fit.predict_interval(X), rel=2e-4)


def test_units_of_price_and_size_change_nothing_but_the_units(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, y = shop
    other = HedonicRegressor().fit(X.assign(size=X["size"] * 28.3), y * 7.0)
    assert other.predict(X.assign(size=X["size"] * 28.3)) == pytest.approx(
        7.0 * fit.predict(X), rel=2e-4
    )


@pytest.mark.slow
def test_ranges_cover_what_they_say_over_many_shops() -> None:
    inside: dict[float, list[float]] = {0.80: [], 0.95: []}
    for seed in range(12):
        X, y = sales(160, seed=100 + seed)
        told = HedonicRegressor().fit(X[:60], y[:60]).distribution(X[60:])
        for level, found in inside.items():
            low, high = np.exp(told.interval(level)).T
            found.append(float(np.mean((y[60:] > low) & (y[60:] < high))))
    # 12 shops x 100 pieces; shops differ by about .05 and .025, so the means are known to .015 and .008.
    assert np.mean(inside[0.80]) == pytest.approx(0.80, abs=0.045)
    assert np.mean(inside[0.95]) == pytest.approx(0.95, abs=0.025)


@pytest.mark.slow
def test_effects_are_recovered_with_honest_intervals() -> None:
    held, close = [], []
    for seed in range(10):
        X, y = sales(120, seed=300 + seed)
        table = HedonicRegressor().fit(X, y).effects(0.95).set_index(["feature", "setting"])
        for name, truth in (("type", TYPES), ("wood", WOODS)):
            shares = X[name].value_counts(normalize=True)
            average = sum(shares[k] * v for k, v in truth.items())
            for level, value in truth.items():
                row = table.loc[(name, level)]
                real = 100 * np.expm1(value - average)
                held.append(row["low"] <= real <= row["high"])
                close.append(abs(row["effect"] - real))
        row = table.loc[("size", "each doubling")]
        held.append(row["low"] <= 100 * (2**0.5 - 1) <= row["high"])
    assert np.mean(held) >= 0.90
    assert np.median(close) < 5  # per cent


def test_contributions_add_up_to_the_fit(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, _ = shop
    total = [fit.contributions(X.iloc[[i]])["effect"].sum() for i in (0, 5, 9)]
    member = fit.regression_.pool.gaussian
    from fleetlib.price.regression.pool import at_rows

    S, own = fit.regression_.likeness(X)
    fitted = sum(
        w * at_rows(s, S, own)[0] for w, s in zip(member.weights, member.solutions, strict=True)
    )
    assert total == pytest.approx([fitted[i] - fitted.mean() for i in (0, 5, 9)], abs=1e-9)
    with pytest.raises(BadQuestion, match="there are 2 here"):
        fit.contributions(X.head(2))


def test_what_is_not_known_widens_the_range(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, _ = shop
    one = X.iloc[[0]]
    widths = []
    for change in ({}, {"wood": "teak"}, {"wood": None}, {"size": np.nan}, {"size": 4000.0}):
        low, high = fit.predict_interval(one.assign(**change))[0]
        widths.append(np.log(high / low))
    assert min(widths[1:]) > widths[0]


def test_leave_one_out_agrees_with_fitting_again(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, y = shop
    quick = fit.leave_one_out()
    for i in (3, 30, 60):
        rest = np.arange(len(y)) != i
        slow = HedonicRegressor().fit(X[rest], y[rest]).predict(X.iloc[[i]])[0]
        assert quick.mid[i] == pytest.approx(slow, rel=0.03)
    assert quick.log_sd == pytest.approx(0.25, abs=0.06)
    assert 0.7 < quick.share_inside(0.8) < 0.92
    assert np.abs(quick.z).max() < 4


@pytest.mark.parametrize("n", [5, 6, 9, 13])
def test_few_sales_give_finite_nested_ranges_and_a_note(n: int) -> None:
    X, y = sales(n, seed=n)
    new, _ = sales(50, seed=99)
    small = HedonicRegressor().fit(X, y)
    usual, wide = small.predict_interval(new), small.predict_interval(new, 0.95)
    assert np.isfinite(wide).all() and (wide > 0).all()
    assert (wide[:, 0] < usual[:, 0]).all() and (usual[:, 1] < wide[:, 1]).all()
    assert (usual[:, 0] < small.predict(new)).all() and (small.predict(new) < usual[:, 1]).all()
    assert f"only {n} sales" in small.notes_[0]


def test_odd_tables_do_not_break_it() -> None:
    rng = np.random.default_rng(0)
    y = np.exp(rng.normal(5, 0.3, 20))
    only_words = pd.DataFrame({"a": list("abcde" * 4)})
    nothing = pd.DataFrame({"a": ["same"] * 20, "b": [1.0] * 20})
    holes = pd.DataFrame({"a": [None] * 19 + ["x"], "b": [np.nan] * 18 + [1.0, 2.0]})
    switches = pd.DataFrame({"a": [True, False] * 10, "b": rng.normal(size=20)})
    for X in (only_words, nothing, holes, switches):
        ends = HedonicRegressor().fit(X, y).predict_interval(X, 0.95)
        assert np.isfinite(ends).all() and (ends[:, 0] < ends[:, 1]).all()


def test_beyond_the_most_rows_only_the_newest_are_fitted(
    shop: tuple[pd.DataFrame, np.ndarray],
) -> None:
    X, y = shop
    newest = HedonicRegressor(most_rows=50).fit(X, y)
    assert newest.predict(X) == pytest.approx(HedonicRegressor().fit(X[30:], y[30:]).predict(X))
    assert newest.notes_ == ("only the newest 50 of 80 sales are used; older ones tell little",)


def test_idle_columns_cost_little(shop: tuple[pd.DataFrame, np.ndarray]) -> None:
    X, y = shop
    rng = np.random.default_rng(5)
    idle = {f"idle {k}": rng.normal(size=len(y)) for k in range(12)}
    plain, loaded = HedonicRegressor().fit(X, y), HedonicRegressor().fit(X.assign(**idle), y)
    assert loaded.leave_one_out().log_sd < 1.2 * plain.leave_one_out().log_sd
    assert loaded.leave_one_out().share_inside(0.8) > 0.7


def test_it_is_a_good_citizen_of_scikit_learn(
    shop: tuple[pd.DataFrame, np.ndarray], fit: HedonicRegressor
) -> None:
    X, y = shop
    copy = pickle.loads(pickle.dumps(fit))
    assert (copy.predict(X) == fit.predict(X)).all()
    assert clone(HedonicRegressor(factors=["type"], measures=[])).get_params()["factors"] == [
        "type"
    ]
    chain = make_pipeline(FunctionTransformer(lambda t: t.drop(columns="days")), HedonicRegressor())
    assert cross_val_score(chain, X, y, cv=4).mean() > 0.5


def test_bad_input_is_refused_with_what_was_found(shop: tuple[pd.DataFrame, np.ndarray]) -> None:
    X, y = shop
    with pytest.raises(TooFewSales, match="There are 4 sales"):
        HedonicRegressor().fit(X.head(4), y[:4])
    with pytest.raises(ValueError, match="a sale price of -3"):
        HedonicRegressor().fit(X, np.r_[-3.0, y[1:]])
    with pytest.raises(BadQuestion, match="level is 95"):
        HedonicRegressor().fit(X, y).predict_interval(X, 95)


def test_the_summary_has_the_textbook_regression_beside_it(fit: HedonicRegressor) -> None:
    made = fit.summary()
    hutch = made.table.set_index("setting").loc["hutch"]
    assert hutch["effect"] == pytest.approx(hutch["ordinary"], abs=10)
    # Pooling draws effects toward none.
    assert made.table["effect"].abs().sum() < made.table["ordinary"].abs().sum()
    assert made.ordinary is not None and made.ordinary.sales == 80
    assert max(len(line) for line in str(made).splitlines()) <= 80
    few = HedonicRegressor().fit(*sales(8, seed=3)).summary()
    assert few.ordinary is None and "too few for the textbook regression" in few.notes[-1]
