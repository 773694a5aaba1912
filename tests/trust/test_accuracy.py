"""The tool's own grade, on shops whose truth is known."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.proportion import proportion_confint

from fleetlib.base.errors import TooFewSales
from fleetlib.base.quarters import quarter_of, read_quarter
from fleetlib.base.settings import Settings
from fleetlib.price.fit import fit_prices
from fleetlib.trust.accuracy import EARLIER, OTHERS, SAYS_FEW, accuracy, share_range
from fleetlib.trust.backtest import from_earlier_sales
from fleetlib.trust.borrowing import quarter_sentence, quarters_ways
from tests.histories import flips_of
from tests.true_records import records_of, shop_of

TYPES = {"dresser": 350.0, "desk": 240.0, "chair": 90.0, "sideboard": 420.0}
AS_OF = date(2026, 9, 30)


def _flips(n, seed=3, spread=0.2, haggle=0.9):
    rng = np.random.default_rng(seed)
    rows = []
    for k in range(n):
        kind = list(TYPES)[int(rng.integers(len(TYPES)))]
        sold = AS_OF - timedelta(days=int(rng.integers(1, 900)))
        hidden = rng.normal(0, spread)
        price = TYPES[kind] * float(np.exp(hidden))
        rows.append(
            {"piece": f"P{k}", "furniture_type": kind, "wood": "oak", "finish": "oil",
             "listed_on": sold - timedelta(days=int(rng.integers(3, 60))), "sold_on": sold,
             "width_in": 40.0, "depth_in": 20.0, "height_in": 30.0,
             "sale_price": round(price, 2), "gut_price": round(price / haggle * float(np.exp(rng.normal(0, 0.05))), 0)}
        )  # fmt: skip
    return flips_of(rows)


def _fits(flips):
    try:
        prices = fit_prices(flips, as_of=AS_OF)
    except TooFewSales:
        prices = None
    return shop_of(records_of(flips, settings=Settings(), as_of=AS_OF), prices=prices)


@pytest.fixture(scope="module")
def study():
    return accuracy(_fits(_flips(90)))


def _row(study, check, group="all sales"):
    t = study.table
    return t[(t["check"] == check) & (t["group"] == group)].iloc[0]


def test_every_sale_is_checked_once_from_the_others(study):
    assert _row(study, OTHERS)["sales"] == 90
    assert len(study.sales) == 90
    by_type = study.table[(study.table["check"] == OTHERS) & (study.table["by"] == "type")]
    by_band = study.table[(study.table["check"] == OTHERS) & (study.table["by"] == "price band")]
    assert by_type["sales"].sum() == by_band["sales"].sum() == 90


def test_ranges_cover_about_what_they_say(study):
    for check in (OTHERS, EARLIER):
        row = _row(study, check)
        assert row["inside_80_low"] < 0.80 < row["inside_80_high"]
        assert row["inside_95_low"] < 0.95 < row["inside_95_high"]


def test_the_usual_error_is_that_of_the_noise(study):
    # prices scatter by exp(N(0, .2)) about their type: the median absolute error is .2 * .6745 = 13.5%.
    assert _row(study, OTHERS)["median_error"] == pytest.approx(0.135, abs=0.04)
    assert abs(_row(study, OTHERS)["bias"]) < 0.03
    assert (
        abs(_row(study, OTHERS)["prb"]) < 0.1
    )  # a little below 0: estimates are drawn to the middle


def test_the_owner_who_sees_the_hidden_quality_is_closer_and_is_told_so(study):
    gut = study.gut[study.gut["check"] == OTHERS].set_index("way")
    scaled = gut.loc["your own price, usual discount off"]
    assert scaled["median_error"] < gut.loc["the tool", "median_error"]
    assert scaled["closer"] > 0.6
    assert gut.loc["your own price", "bias"] == pytest.approx(1 / 0.9 - 1, abs=0.02)
    assert set(gut["sales"]) == {90}


def test_a_quarter_is_priced_from_what_was_known_before_it_and_nothing_else():
    flips = _flips(40)
    before = from_earlier_sales(flips)
    changed = flips.copy()
    last = changed["sold_on"] >= pd.Timestamp("2026-07-01")
    changed.loc[last, "sale_price"] *= 3
    after = from_earlier_sales(changed)
    assert last.sum() > 2
    np.testing.assert_allclose(before["estimate"], after["estimate"])
    np.testing.assert_allclose(before["low_80"], after["low_80"])


def test_the_first_quarters_are_not_priced_from_fewer_than_five_sales():
    earlier = from_earlier_sales(_flips(40))
    assert (earlier["sales_known"] >= 5).all()
    assert len(earlier) < 40


def test_under_fifteen_sales_it_is_too_few_to_judge():
    study = accuracy(_fits(_flips(12)))
    assert _row(study, OTHERS)["says"] == SAYS_FEW
    assert study.shown().iloc[0]["in 80%"] == SAYS_FEW
    assert "too few to judge" in study.sentence()
    assert any("12 sales: too few to judge" in n for n in study.notes)
    assert "%" not in " ".join(study.shown().iloc[0][["usual error", "lean", "COD"]])


def test_small_groups_are_too_few_even_when_the_whole_is_not(study):
    small = study.table[study.table["sales"] < 15]
    assert len(small)
    assert (small["says"] == SAYS_FEW).all()


def test_the_early_sales_are_priced_with_and_without_borrowing_on_the_same_footing(study):
    flips = _flips(90)
    first = flips.sort_values("sold_on").head(60)
    with_it, alone = study.ways.itertuples()
    assert (with_it.way, alone.way) == ("borrowing", "your own sales alone")
    for row, borrow in ((with_it, True), (alone, False)):
        told = from_earlier_sales(first, borrow=borrow)
        inside = told["sale_price"].between(told["low_80"], told["high_80"])
        assert (row.sales, row.inside_80) == (len(told), pytest.approx(inside.mean()))
    assert any(
        "from your own sales alone" in n and f"the {alone.sales} that" in n for n in study.notes
    )
    # The settings' way is the table's own: of its first sales the figures are the same.
    told = study.backtest.head(int(with_it.sales))
    assert with_it.median_error == pytest.approx(
        (told["estimate"] / told["sale_price"] - 1).abs().median()
    )


def test_a_review_counts_the_prices_of_its_quarter_both_ways_while_sales_are_few():
    flips = _flips(40)
    sold = pd.Series([str(quarter_of(d.date())) for d in flips["sold_on"]])
    last = read_quarter(
        max(q for q in sold if (flips["sold_on"] < pd.Timestamp(read_quarter(q).start)).sum() >= 5)
    )
    for borrow in (True, False):
        ways = quarters_ways(flips, last, borrow=borrow).set_index("way")
        assert set(ways["sales"]) == {(sold == str(last)).sum()}
        for way, row in ways.iterrows():
            told = from_earlier_sales(flips, only=last, borrow=way == "borrowing")
            inside = told["sale_price"].between(told["low_80"], told["high_80"])
            assert row["inside_80"] == pytest.approx(inside.mean())
    (said,) = quarter_sentence(ways.reset_index())
    assert said.index("when borrowing") < said.index("from your own sales alone")
    # With 60 and more before it what is borrowed hardly counts, and nothing is said.
    assert quarter_sentence(quarters_ways(_flips(200), last, borrow=True)) == ()


def test_under_five_sales_there_is_nothing_to_grade():
    with pytest.raises(TooFewSales, match="under 5 sales"):
        accuracy(_fits(_flips(4)))


def test_a_share_has_wilsons_range():
    # Wilson 1927, JASA 22, 209-212; the figures from memory, and statsmodels works out the same.
    assert share_range(8, 10) == pytest.approx((0.490, 0.943), abs=5e-4)
    assert share_range(0, 20) == pytest.approx((0.0, 0.161), abs=5e-4)
    for hits, n in ((8, 10), (0, 20), (37, 45)):
        outside = proportion_confint(hits, n, alpha=0.05, method="wilson")
        assert share_range(hits, n) == pytest.approx(outside, abs=1e-7)


def test_the_study_reads_aloud_and_never_moves(study):
    assert study._repr_html_() == accuracy(_fits(_flips(90)))._repr_html_()
    assert "fell inside their 80% range" in study.sentence()
    assert max(len(line) for line in str(study).splitlines()) <= 80
