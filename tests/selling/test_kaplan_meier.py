"""Days to sell against published survival tables."""

from datetime import date

import lifelines
import numpy as np
import pandas as pd
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from fleetlib.selling.kaplan_meier import days_to_sell, survival_curve

# Remission times in weeks, 6-MP against placebo: Freireich et al. 1963, Blood 21, 699-716, as tabled in
# Cox 1972. A negative time was censored.
TREATED = (6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35)
PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
# Kaplan-Meier estimate and Greenwood standard error of the treated, as remembered from textbooks
# (no page looked up); lifelines works out the same below.
PRINTED = (
    (6, 21, 3, 0.8571, 0.0764),
    (7, 17, 1, 0.8067, 0.0869),
    (10, 15, 1, 0.7529, 0.0963),
    (13, 12, 1, 0.6902, 0.1068),
    (16, 11, 1, 0.6275, 0.1141),
    (22, 7, 1, 0.5378, 0.1282),
    (23, 6, 1, 0.4482, 0.1346),
)


def curve_of(times: tuple[int, ...]):
    signed = np.array(times, dtype=float)
    return survival_curve(np.abs(signed), sold=signed > 0)


def test_curve_is_the_published_one_with_greenwood_errors():
    table = curve_of(TREATED).table
    assert table[["days", "at_risk", "sold"]].to_numpy().tolist() == [list(r[:3]) for r in PRINTED]
    np.testing.assert_allclose(table["unsold"], [r[3] for r in PRINTED], atol=5e-5)
    np.testing.assert_allclose(table["error"], [r[4] for r in PRINTED], atol=5e-5)


def test_curve_is_that_of_another_library():
    for times in (TREATED, PLACEBO):
        signed = np.array(times, dtype=float)
        outside = lifelines.KaplanMeierFitter().fit(np.abs(signed), signed > 0)
        left = outside.survival_function_["KM_estimate"]
        table = curve_of(times).table
        np.testing.assert_allclose(table["unsold"], left.loc[table["days"]], atol=1e-12)
        assert curve_of(times).median == outside.median_survival_time_


def test_curve_is_that_of_statsmodels_to_the_last_digit():
    rng = np.random.default_rng(11)
    for n in (1, 2, 7, 40, 200, 1500):
        days, sold = rng.integers(0, 90, n).astype(float), rng.random(n) < 0.7
        sold[0] = True
        outside = SurvfuncRight(np.maximum(days, 0.5), sold.astype(int))
        table = survival_curve(days, sold=sold).table
        names = ("surv_times", "n_risk", "n_events", "surv_prob", "surv_prob_se")
        for name, column in zip(names, table, strict=True):
            np.testing.assert_array_equal(table[column], getattr(outside, name))


def test_medians_are_the_published_23_and_8_weeks():
    assert curve_of(TREATED).median == 23
    assert curve_of(PLACEBO).median == 8


def test_leaving_the_unsold_out_more_than_halves_the_median():
    sold_only = tuple(t for t in TREATED if t > 0)
    assert curve_of(sold_only).median == 10


def test_median_is_not_reached_when_fewer_than_half_have_sold():
    found = survival_curve(np.array([5.0, 9.0, 30.0, 40.0, 50.0]), sold=np.array([1, 1, 0, 0, 0]))
    assert found.median is None
    assert "not reached" in str(found)
    assert any("Median not reached" in n for n in found.notes)


def test_share_sold_within_is_known_only_as_far_as_anything_was_watched():
    found = curve_of(TREATED)
    assert found.share_sold_within(5) == 0.0
    assert found.share_sold_within(10) == pytest.approx(1 - 0.7529, abs=5e-5)
    assert found.share_sold_within(36) is None
    assert curve_of(PLACEBO).share_sold_within(400) == 1.0


def test_nothing_sold_yet_says_so():
    found = survival_curve(np.array([5.0, 9.0]), sold=np.array([False, False]))
    assert found.median is None
    assert found.share_sold_within(4) == 0.0
    assert "Nothing has sold yet" in str(found)
    assert survival_curve(np.zeros(0), sold=np.zeros(0, dtype=bool)).share_sold_within(30) is None


def test_flips_are_counted_as_known_on_the_day():
    flips = pd.DataFrame(
        {
            "listed_on": pd.to_datetime(
                ["2026-01-01", "2026-01-01", "2026-01-01", "2026-05-01", None]
            ),
            "sold_on": pd.to_datetime(["2026-01-11", "2026-03-02", None, None, None]),
            "withdrawn_on": pd.to_datetime([None, None, "2026-01-21", None, None]),
            "sale_price": [100.0, 120.0, np.nan, np.nan, np.nan],
            "days_listed": [10.0, 60.0, 20.0, 40.0, np.nan],
        }
    )
    now = days_to_sell(flips)
    assert (now.listings, now.sold, now.median) == (4, 2, 60)
    then = days_to_sell(flips, as_of=date(2026, 2, 1))
    assert (then.listings, then.sold, then.longest) == (3, 1, 31)


def test_shown_the_same_every_time_and_in_plain_words():
    found = curve_of(TREATED)
    assert found._repr_html_() == found._repr_html_()
    assert "Half have sold by: 23 days" in str(found)
    assert max(map(len, str(found).splitlines())) <= 80
