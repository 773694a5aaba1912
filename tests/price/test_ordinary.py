"""The textbook regression against published tables, digit by digit."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.price.regression.ordinary import ordinary_regression
from tests.price import published_regressions as published
from tests.price.published_regressions import Published, half_a_digit


@pytest.mark.parametrize("table", published.TABLES, ids=lambda t: t.name)
def test_printed_coefficients_standard_errors_and_fits_are_reproduced(table: Published) -> None:
    X, y = table.data()
    fit = ordinary_regression(X, y, baselines=table.baselines)
    assert len(table.pairs) == len(fit.table), table.source
    for (coefficient, error), row in zip(table.pairs, fit.table.itertuples(), strict=True):
        for text, found in ((coefficient, row.coefficient), (error, row.standard_error)):
            value, tolerance = half_a_digit(text, table.units)
            assert found == pytest.approx(value, abs=tolerance), (table.source, row.term, text)
    for name, text in table.fit.items():
        value, tolerance = half_a_digit(text)
        assert getattr(fit, name) == pytest.approx(value, abs=tolerance), (table.source, name)


@pytest.mark.parametrize(("columns", "outcome", "printed", "r2"), published.DIFFERENCES)
def test_the_effect_of_an_incinerator_on_house_prices_as_in_wooldridge_table_13_2(
    columns: str, outcome: str, printed: str, r2: str | None
) -> None:
    X, y = published.kielmc(columns, outcome)()
    fit = ordinary_regression(X, y)
    coefficient, error = printed.replace(")", "").split(" (")
    value, tolerance = half_a_digit(coefficient)
    assert fit.coefficient("y81nrinc") == pytest.approx(value, abs=tolerance)
    value, tolerance = half_a_digit(error)
    assert fit.standard_error("y81nrinc") == pytest.approx(value, abs=tolerance)
    if r2:
        assert fit.r2 == pytest.approx(float(r2), abs=0.0005)


def test_standardised_coefficients_as_in_wooldridge_example_6_1() -> None:
    fit = ordinary_regression(*published.boston_scores())
    printed = {"nox": -0.340, "crime": -0.143, "rooms": 0.514, "dist": -0.235, "stratio": -0.270}
    for name, value in printed.items():
        assert fit.coefficient(name) == pytest.approx(value, abs=0.0005)


def test_log_house_prices_to_full_precision() -> None:
    # hprice1, Wooldridge eq. 8.18, full-precision values of an independent computation.
    fit = ordinary_regression(*published.TABLES[1].data())
    assert list(fit.table["coefficient"]) == pytest.approx(
        [-1.297042, 0.1679667, 0.7002324, 0.0369584], rel=2e-6
    )
    assert list(fit.table["standard_error"]) == pytest.approx(
        [0.6512836, 0.0382812, 0.0928652, 0.0275313], rel=2e-6
    )
    assert (fit.residuals**2).sum() == pytest.approx(2.862563, rel=1e-6)
    assert (fit.press, fit.predictive_r2) == pytest.approx((3.231394, 0.596963), rel=2e-6)
    assert fit.leverage.max() == pytest.approx(0.318774, abs=5e-7)


def test_nist_norris_to_ten_digits() -> None:
    y, x = published.NORRIS.T
    fit = ordinary_regression(pd.DataFrame({"x": x}), y)
    assert list(fit.table["coefficient"]) == pytest.approx(published.NORRIS_COEFFICIENTS, rel=1e-10)
    assert list(fit.table["standard_error"]) == pytest.approx(published.NORRIS_ERRORS, rel=1e-10)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-10)
    assert fit.r2 == pytest.approx(0.999993745883712, rel=1e-12)
    assert fit.f == pytest.approx(5436385.54079785, rel=1e-9)


def test_nist_longley_to_seven_digits() -> None:
    from statsmodels.datasets import longley

    data = longley.load_pandas().data
    X = data[["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]]
    fit = ordinary_regression(X, data["TOTEMP"])
    assert list(fit.table["coefficient"]) == pytest.approx(published.LONGLEY_COEFFICIENTS, rel=1e-7)
    assert list(fit.table["standard_error"]) == pytest.approx(published.LONGLEY_ERRORS, rel=1e-7)
    assert fit.residual_sd == pytest.approx(304.854073561965, rel=1e-7)
    assert (fit.r2, fit.f) == pytest.approx((0.995479004577296, 330.285339234588), rel=1e-7)


def test_nist_wampler1_and_no_intercept() -> None:
    x = np.arange(21.0)
    powers = pd.DataFrame({f"x{k}": x**k for k in range(1, 6)})
    fit = ordinary_regression(powers, sum(x**k for k in range(6)))
    assert list(fit.table["coefficient"]) == pytest.approx([1.0] * 6, rel=1e-6)
    line = ordinary_regression(
        pd.DataFrame({"x": np.arange(60.0, 71)}), np.arange(130.0, 141), constant=False
    )
    assert line.coefficient("x") == pytest.approx(2.07438016528926, rel=1e-12)


def test_delivery_times_fit_intervals_and_press() -> None:
    # Montgomery, Peck & Vining: fit 19.22, mean 17.66-20.78, one delivery 12.28-26.16 (printed, from memory).
    y, cases, distance = published.DELIVERY.T
    X = pd.DataFrame({"cases": cases, "distance": distance})
    fit = ordinary_regression(X, y)
    assert list(fit.table["coefficient"]) == pytest.approx([2.341231, 1.615907, 0.014385], abs=5e-7)
    assert list(fit.table["standard_error"]) == pytest.approx(
        [1.096730, 0.170735, 0.003613], abs=5e-7
    )
    assert fit.residual_sd**2 == pytest.approx(10.6241672, abs=5e-8)
    assert (fit.r2, fit.adjusted_r2) == pytest.approx((0.9595937, 0.9559205), abs=5e-8)
    assert fit.f == pytest.approx(261.2351, abs=5e-5)
    new = pd.DataFrame({"cases": [8.0], "distance": [275.0]})
    assert fit.predict(new)[0] == pytest.approx(19.224316, abs=5e-7)
    assert fit.mean_interval(new)[0] == pytest.approx([17.6539, 20.7947], abs=5e-5)
    assert fit.predict_interval(new)[0] == pytest.approx([12.2846, 26.1641], abs=5e-5)
    # The book prints PRESS 457.4000 from rounded leverages (from memory, page not known); refitting 25
    # times gives 459.0393.
    assert (fit.press, fit.predictive_r2) == pytest.approx((459.039315, 0.9206438), abs=5e-7)
    one_by_one = []
    for i in range(len(y)):
        rest = np.arange(len(y)) != i
        again = ordinary_regression(X[rest], y[rest])
        one_by_one.append(y[i] - again.predict(X.iloc[[i]])[0])
    assert fit.residuals / (1 - fit.leverage) == pytest.approx(one_by_one)
    assert fit.leverage[8] == pytest.approx(0.498292, abs=5e-7)
    assert fit.residuals[8] == pytest.approx(7.419706, abs=5e-7)


def test_the_range_of_one_is_far_wider_than_that_of_the_average() -> None:
    # gpa2, Wooldridge examples 6.5 and 6.6: 2.66-2.74 for the average, 1.60-3.80 for one student.
    X, y = published.TABLES[9].data()
    fit = ordinary_regression(X, y)
    student = pd.DataFrame({"sat": [1200.0], "hsperc": [30.0], "hsize": [5.0], "hsizesq": [25.0]})
    assert fit.predict(student)[0] == pytest.approx(2.700075, abs=5e-7)
    assert fit.mean_interval(student)[0] == pytest.approx([2.661104, 2.739047], abs=1e-6)
    assert fit.predict_interval(student)[0] == pytest.approx([1.601749, 3.798402], abs=1e-6)


def test_smearing_back_from_logs_as_in_wooldridge_section_6_4() -> None:
    # ceosal2: smearing factor 1.136 (Duan 1983), fitted log 7.013; the text works from rounded figures.
    X, y = published.TABLES[7].data()
    fit = ordinary_regression(X, y)
    assert fit.smearing() == pytest.approx(1.13566, abs=5e-6)
    who = pd.DataFrame({"lsales": [np.log(5000.0)], "lmktval": [np.log(10000.0)], "ceoten": [10.0]})
    logged = fit.predict(who)[0]
    assert logged == pytest.approx(7.01408, abs=5e-6)
    assert np.exp(logged) * fit.smearing() == pytest.approx(1263.06, abs=0.005)
    # hprice1: the ends of an interval are exponentiated, never smeared: 274.885 to 583.734 thousand.
    houses = ordinary_regression(*published.TABLES[1].data())
    house = pd.DataFrame(
        {"llotsize": [np.log(20000.0)], "lsqrft": [np.log(2500.0)], "bdrms": [4.0]}
    )
    assert np.exp(houses.predict_interval(house)[0]) == pytest.approx([274.885, 583.734], abs=5e-4)
    assert np.exp(houses.predict(house)[0]) * houses.smearing() == pytest.approx(407.122, abs=5e-4)


def test_the_baseline_of_a_factor_changes_its_coefficients_and_nothing_else() -> None:
    # Chu's diamonds with certifier IGI instead of HRD as the baseline.
    table = published.TABLES[13]
    X, y = table.data()
    one = ordinary_regression(X, y, baselines=table.baselines)
    two = ordinary_regression(X, y, baselines={**table.baselines, "certification": "IGI"})
    assert two.coefficient("constant") == pytest.approx(5.90338, abs=5e-6)
    assert two.coefficient("certification = GIA") == pytest.approx(0.182711, abs=5e-7)
    assert two.coefficient("certification = HRD") == pytest.approx(0.173855, abs=5e-7)
    assert two.fitted == pytest.approx(one.fitted)
    assert (two.r2, two.press) == pytest.approx((one.r2, one.press))
    assert two.predict_interval(X.head(9)) == pytest.approx(one.predict_interval(X.head(9)))


def test_auction_duration_is_no_evidence_and_condition_halves_beside_other_features() -> None:
    full = ordinary_regression(*published.auctions("cond_new sp duration wheels")())
    duration = full.table.set_index("term").loc["duration"]
    assert duration["t"] == pytest.approx(-0.14, abs=0.005)
    assert duration["low"] < 0 < duration["high"]
    alone = ordinary_regression(*published.auctions("cond_new")())
    assert alone.coefficient("cond_new") > 2 * full.coefficient("cond_new")
    assert (full.press, full.predictive_r2) == pytest.approx((3515.6699, 0.697660), rel=1e-6)


def test_uneven_spread_of_house_price_errors_as_in_wooldridge_example_8_4() -> None:
    """Breusch-Pagan and special White tests by statsmodels, on our residuals (figures from memory)."""
    from statsmodels.stats.diagnostic import het_breuschpagan

    houses = published.wooldridge("hprice1")
    plain = ordinary_regression(houses[["lotsize", "sqrft", "bdrms"]], houses["price"])
    lm, p, f, f_p = het_breuschpagan(plain.residuals, plain.design.to_numpy())
    assert (lm, p, f, f_p) == pytest.approx((14.09, 0.0028, 5.34, 0.002), abs=0.005)
    logs = pd.DataFrame(
        {
            "lot": np.log(houses["lotsize"]),
            "size": np.log(houses["sqrft"]),
            "bdrms": houses["bdrms"],
        }
    )
    logged = ordinary_regression(logs, np.log(houses["price"]))
    lm, p, f, f_p = het_breuschpagan(logged.residuals, logged.design.to_numpy())
    assert lm == pytest.approx(4.22, abs=0.005)
    assert p == pytest.approx(0.2383, abs=5e-5)  # the book prints .239
    assert (f, f_p) == pytest.approx((1.41, 0.245), abs=0.005)
    powers = np.column_stack([np.ones(len(houses)), logged.fitted, logged.fitted**2])
    assert het_breuschpagan(logged.residuals, powers)[3] == pytest.approx(0.183, abs=5e-4)


def test_per_cent_effects_are_exact_as_in_wooldridge_examples_6_7_and_7_5() -> None:
    rooms = published.wooldridge("hprice2")
    X = pd.DataFrame({"nox": np.log(rooms["nox"]), "rooms": rooms["rooms"]})
    fit = ordinary_regression(X, np.log(rooms["price"]))
    assert 100 * np.expm1(fit.coefficient("rooms")) == pytest.approx(35.8, abs=0.05)
    wages = next(t for t in published.TABLES if "7.5" in t.name or "wage" in t.name.lower())
    female = ordinary_regression(*wages.data()).coefficient("female")
    assert 100 * np.expm1(female) == pytest.approx(-25.7, abs=0.05)


def test_influence_of_the_ninth_delivery_as_published() -> None:
    """Cook's distance of observation 9 from our residuals, leverage and spread (Montgomery, Peck, Vining)."""
    data = published.DELIVERY
    fit = ordinary_regression(pd.DataFrame(data[:, 1:], columns=["cases", "distance"]), data[:, 0])
    h, e = fit.leverage[8], fit.residuals[8]
    standardised = e / (fit.residual_sd * np.sqrt(1 - h))
    assert standardised == pytest.approx(3.213763, abs=5e-7)
    assert standardised**2 * h / (1 - h) / 3 == pytest.approx(3.419318, abs=5e-7)


def test_what_cannot_be_regressed_is_refused_with_the_reason() -> None:
    X = pd.DataFrame({"wood": ["oak", "pine", "oak"], "size": [1.0, 2.0, 3.0]})
    with pytest.raises(BadQuestion, match="3 rows for 3 coefficients"):
        ordinary_regression(X, [1.0, 2.0, 3.0])
    with pytest.raises(BadQuestion, match='baseline of wood is "teak"'):
        ordinary_regression(X, [1.0, 2.0, 3.0], baselines={"wood": "teak"})
    with pytest.raises(BadQuestion, match="missing"):
        ordinary_regression(X[["size"]], [1.0, np.nan, 3.0])
    fit = ordinary_regression(X[["wood"]], [1.0, 2.0, 3.0])
    with pytest.raises(BadQuestion, match='wood is "teak"'):
        fit.predict(pd.DataFrame({"wood": ["teak"]}))
    assert "R squared when each row is left out" in str(fit)
    assert "<table>" in fit._repr_html_()


def test_a_kind_seen_once_leaves_the_left_out_figure_open_and_warns_nobody(recwarn) -> None:
    X = pd.DataFrame({"wood": ["oak", "oak", "pine", "pine", "teak"], "size": [1.0, 2, 3, 5, 4]})
    fit = ordinary_regression(X, [1.0, 2.1, 2.9, 4.2, 3.0])
    assert np.isnan(fit.press)
    assert any(n.startswith("1 row is the only one of its kind") for n in fit.notes)
    assert "R squared when each row is left out: -" in str(fit).replace("  ", " ")
    repeated = X.assign(again=2 * X["size"])
    twice = ordinary_regression(pd.concat([repeated] * 3), [1.0, 2.1, 2.9, 4.2, 3.0] * 3)
    assert any("repeat others" in n for n in twice.notes)
    assert not [w for w in recwarn if "rank" in str(w.message) or "divide" in str(w.message)]
