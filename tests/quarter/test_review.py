"""The quarterly review on the invented demo shop and on shops at the edge."""

import re
from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.kept_numbers import numbers_kept_for
from fleetlib.books.tax_reserve import WORDING
from fleetlib.fits import fit_all
from fleetlib.quarter.next_steps import _move_hours, _names
from fleetlib.quarter.review import review
from fleetlib.quarter.types import TOO_FEW_TO_SAY, pay_by_type
from fleetlib.quarter.which_quarter import last_whole_quarter
from fleetlib.records.folder import read_records
from tests.histories import flips_of
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece

HEAD = "piece,furniture_type,wood,buy_price,hours,bought_on,listed_on,asking_price,sold_on,sale_price\n"


def _fits(folder, lines, as_of):
    (folder / "flips.csv").write_text(HEAD + lines, encoding="utf-8")
    return fit_all(read_records(folder, as_of=as_of))


@pytest.fixture(scope="module")
def demo(demo_fits):
    with numbers_kept_for(demo_fits.records.folder):
        return review(demo_fits, "2026-Q3")


def test_counts_are_those_of_the_records(demo, demo_fits):
    flips = demo_fits.records.flips
    start, end = pd.Timestamp("2026-07-01"), pd.Timestamp("2026-09-30")
    values = demo.table.set_index("line")["this"]
    sold = flips[flips["sold_on"].between(start, end)]
    assert values["sold"] == len(sold)
    assert values["listed"] == flips["listed_on"].between(start, end).sum()
    assert values["bought"] == flips["bought_on"].between(start, end).sum()
    assert values["withdrawn"] == flips["withdrawn_on"].between(start, end).sum()
    assert values["takings"] == pytest.approx(sold["sale_price"].sum())
    assert values["profit"] == pytest.approx(sold["profit"].sum(), abs=0.01)
    assert values["pay per hour"] == pytest.approx(
        sold.loc[sold["hours"] > 0, "profit"].sum() / sold["hours"].sum(), abs=0.01
    )


def test_each_count_has_its_pieces(demo):
    for line, value, unit in zip(
        demo.table["line"], demo.table["this"], demo.table["unit"], strict=True
    ):
        if unit == "pieces":
            assert len(demo.pieces(line)) == value


def test_stock_on_the_demo_adds_up_to_the_cent(demo):
    stock = demo.books.stock
    assert stock.unexplained == 0
    assert demo.books.part_three.cost_42 == pytest.approx(
        stock.amount("cost of pieces sold")
        + stock.way("scrapped")
        + stock.explained["amount"].sum()
    )


def test_every_listed_piece_is_on_the_ageing_list_with_todays_plan(demo, demo_fits):
    flips = demo_fits.records.flips
    assert set(demo.ageing["piece"]) == set(flips.loc[flips["status"] == "listed", "piece"])
    assert demo.ageing["days_listed"].is_monotonic_decreasing
    assert demo.ageing["says"].str.len().gt(0).all()
    planned = demo.ageing[demo.ageing["expected_net"].notna()]
    assert (planned["gain_over_holding"] >= -0.01 * planned["expected_net"]).all()
    assert (planned["lowest_offer"] <= planned["asking_price"] + 1e-9).all()


def test_three_things_are_worth_doing_and_each_stands_on_numbers(demo):
    assert len(demo.next_steps) == 3
    for step in demo.next_steps:
        assert re.search(r"\d", step.why)
    worths = [s.worth for s in demo.next_steps if s.worth == s.worth]
    assert worths == sorted(worths, reverse=True)


@pytest.mark.slow
def test_the_next_steps_are_not_stock_phrases(demo, demo_fits):
    earlier = review(demo_fits, "2025-Q3")
    assert [str(s) for s in earlier.next_steps] != [str(s) for s in demo.next_steps]


def test_the_review_never_says_you_owe_and_keeps_the_usual_sentence(demo):
    assert "not tax advice" in str(demo).lower()
    assert WORDING in demo.reserve.notes
    for text in (str(demo), demo._repr_html_()):
        assert not re.search(r"\bowe\b|guaranteed|market value", text, re.I)


def test_it_fits_a_terminal(demo):
    assert max(len(line) for line in str(demo).splitlines()) <= 80


def test_a_quarter_with_nothing_sold_still_reviews(tmp_path):
    lines = "A,desk,oak,20,3,2026-07-02,2026-07-20,200,,\nB,chair,oak,5,2,2026-08-02,,,,\n"
    made = review(_fits(tmp_path, lines, date(2026, 9, 30)), "2026-Q3")
    assert any("Nothing sold in 2026-Q3" in n for n in made.notes)
    assert any("first quarter on record" in n for n in made.notes)
    assert made.by_type.empty
    assert made.books.value("profit") == 0
    assert made.books.stock.amount("closing") == 25
    assert str(made)
    assert made._repr_html_()


def test_a_quarter_still_running_says_how_far_it_is(tmp_path):
    lines = "A,desk,oak,20,3,2026-03-02,2026-03-20,200,2026-07-04,180\n"
    made = review(_fits(tmp_path, lines, date(2026, 8, 15)), "2026-Q3")
    assert made.running
    assert "46 of its 92 days" in made.notes[0]
    assert "still running" in str(made)


def test_an_empty_shop_has_a_review_without_advice(tmp_path):
    made = review(_fits(tmp_path, "", date(2026, 8, 15)), "2026-Q2")
    assert made.next_steps == () or all(s.why for s in made.next_steps)
    assert "first quarter on record" in str(made)


def test_a_quarter_that_has_not_begun_is_refused_with_its_day(demo_fits):
    with pytest.raises(BadQuestion, match=r"2026-Q4 begins on 2026-10-01, after 2026-09-30"):
        review(demo_fits, "2026-Q4")
    with pytest.raises(BadQuestion, match='"last" is not a quarter'):
        review(demo_fits, "last")


def test_the_last_whole_quarter_counts_its_own_last_day():
    assert str(last_whole_quarter(date(2026, 9, 30))) == "2026-Q3"
    assert str(last_whole_quarter(date(2026, 9, 29))) == "2026-Q2"
    assert str(last_whole_quarter(date(2026, 1, 1))) == "2025-Q4"


@pytest.mark.slow
def test_price_drift_is_measured_against_what_was_known_before(demo_fits):
    made = review(demo_fits, "2026-Q2")
    whole = made.drift.iloc[0]
    assert whole["type"] == "all types"
    assert whole["sales"] == made.table.set_index("line").loc["sold", "this"]
    assert whole["low"] <= whole["drift"] <= whole["high"]
    assert (made.drift.loc[made.drift["sales"] < 3, "says"] == "too few to say").all()


def test_a_quarter_before_the_first_record_is_refused_with_its_day(demo_fits):
    with pytest.raises(BadQuestion, match="before your first record"):
        review(demo_fits, "2020-Q1")


def test_three_pieces_with_hours_say_something_and_two_do_not():
    rows = [piece("desk", 100, 4)] * 3 + [piece("bench", 60, 2)] * 2 + [piece("bench", 60, 0)]
    made = pay_by_type(flips_of(rows), start=date(2026, 4, 1), end=date(2026, 6, 30))
    assert made["type"].tolist() == ["desk", "bench"]  # what says too little comes last
    assert made["says"].tolist() == ["", TOO_FEW_TO_SAY]
    assert made["per_hour"].tolist() == pytest.approx([25.0, 30.0])  # of those with hours


def test_the_profit_by_type_is_that_of_every_sale_hours_known_or_not():
    days = pd.to_datetime(["2026-08-01", "2026-08-02"])
    flips = pd.DataFrame(
        {
            "furniture_type": ["desk", "hutch"],
            "sold_on": days,
            "sale_price": [180.0, 425.0],
            "profit": [100.0, 295.0],
            "hours": [5.0, float("nan")],
        }
    )
    made = pay_by_type(flips, start=date(2026, 7, 1), end=date(2026, 9, 30)).set_index("type")
    assert made.loc["hutch", "profit"] == 295
    assert made["per_hour"].isna().tolist() == [kind == "hutch" for kind in made.index]
    assert made["profit"].sum() == flips["profit"].sum()


def test_many_pieces_are_named_by_the_first_four_and_counted():
    names = [f"A-{n}" for n in range(1, 8)]
    assert _names(pd.Series(names[:4])) == "A-1, A-2, A-3, A-4"
    assert _names(pd.Series(names)) == "A-1, A-2, A-3, A-4 and 3 more"


@pytest.mark.parametrize(("desk", "told"), [(60, False), (240, True)])
def test_hours_are_moved_only_to_what_likely_pays_more(desk: float, told: bool):
    rng = np.random.default_rng(3)
    rows = [piece("desk", desk + 25 * x, 4) for x in rng.standard_normal(8)]
    rows += [piece("bench", 56 + 25 * x, 4) for x in rng.standard_normal(8)]
    fits = fits_of(rows, selling=KnownSelling(), hours=KnownHours(4.0))
    step = _move_hours(fits, fits.records.flips)
    assert (step is not None) is told
    if step is not None:
        assert step.what == "Put hours into desk pieces before bench ones."
        assert step.worth == pytest.approx(32 * 46, rel=0.2)  # 32 hours at (240 - 56)/4 more
