"""Listing histories: which weeks count, and what was asked in each."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.selling.sale_to_ask import fit_haggle
from fleetlib.selling.weeks_at_risk import DATED, LAST_ONLY, NEITHER, Listings, listing_histories

AS_OF = date(2026, 9, 30)
COLUMNS = {
    "piece": "A",
    "furniture_type": "desk",
    "listed_on": pd.Timestamp("2026-06-01"),
    "asking_price": 400.0,
    "last_asking_price": np.nan,
    "gut_price": np.nan,
    "sold_on": pd.NaT,
    "sale_price": np.nan,
    "withdrawn_on": pd.NaT,
}


def flips(*rows: dict) -> pd.DataFrame:
    made = [{**COLUMNS, "piece": f"P{i}", **row} for i, row in enumerate(rows)]
    frame = pd.DataFrame(made, columns=list(COLUMNS))
    for day in ("listed_on", "sold_on", "withdrawn_on"):
        frame[day] = pd.to_datetime(frame[day])
    return frame


def events(*rows: tuple) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["on", "piece", "event", "amount"])
    frame["on"] = pd.to_datetime(frame["on"])
    frame["amount"] = frame["amount"].astype(float)
    return frame


def histories(*rows: dict, log: pd.DataFrame | None = None, **more) -> Listings:
    table = flips(*rows)
    return listing_histories(
        table, log, usual_price=np.full(len(table), 350.0), as_of=more.pop("as_of", AS_OF), **more
    )


@pytest.mark.parametrize(
    ("day", "weeks"), [("2026-06-01", 1), ("2026-06-07", 1), ("2026-06-08", 2), ("2026-06-30", 5)]
)
def test_the_week_of_sale_counts(day, weeks):
    found = histories({"sold_on": day, "sale_price": 380.0})
    assert found.table["weeks"].tolist() == [weeks]
    assert found.table["sold"].tolist() == [True]


def test_an_unsold_listing_counts_the_weeks_it_got_through():
    found = histories(
        {"listed_on": "2026-09-01"},
        {"listed_on": "2026-09-01", "withdrawn_on": "2026-09-15"},
        {"listed_on": "2026-09-27"},
    )
    assert found.table["weeks"].tolist() == [4, 2, 0]
    assert not found.table["sold"].any()
    assert [len(a) for a in found.asks] == [4, 2, 0]


def test_what_happened_after_the_day_is_not_known_on_it():
    found = histories(
        {"sold_on": "2026-08-30", "sale_price": 300.0},
        {"listed_on": "2026-08-01"},
        as_of=date(2026, 6, 20),
    )
    assert found.table["piece"].tolist() == ["P0"]
    assert found.table["weeks"].tolist() == [2]
    assert found.table["sale_price"].isna().all()


def test_dated_changes_set_the_ask_of_each_week():
    log = events(
        ("2026-06-15", "P0", "asking_price", 350), ("2026-07-01", "P0", "asking_price", 300)
    )
    found = histories({"sold_on": "2026-07-08", "sale_price": 290.0}, log=log)
    # Weeks begin on 1, 8, 15, 22, 29 June and 6 July; 1 July is before the middle of the fifth.
    assert found.asks[0].tolist() == [400, 400, 350, 350, 300, 300]
    assert found.table["asks_from"].tolist() == [DATED]
    assert found.table["changed"].tolist() == [True]


def test_a_last_asking_price_is_reached_in_equal_per_cent_steps():
    found = histories({"sold_on": "2026-06-20", "sale_price": 320.0, "last_asking_price": 324.0})
    np.testing.assert_allclose(found.asks[0], [400, 360, 324])
    assert found.table["asks_from"].tolist() == [LAST_ONLY]


def test_a_first_ask_is_held_for_a_quarter_of_the_time_where_changes_are_not_dated():
    found = histories({"sold_on": "2026-07-25", "sale_price": 300.0, "last_asking_price": 300.0})
    assert found.asks[0][:3].tolist() == [400, 400, 400]
    np.testing.assert_allclose(found.asks[0][2:], 400 * 0.75 ** (np.arange(6) / 5))


def test_with_neither_a_sold_piece_came_down_to_its_sale_price_over_93_per_cent():
    found = histories({"sold_on": "2026-06-20", "sale_price": 301.32})
    np.testing.assert_allclose(found.asks[0], [400, 360, 324])
    assert found.table["asks_from"].tolist() == [NEITHER]
    assert found.table["changed"].tolist() == [False]
    assert any("only a first asking price" in n for n in found.notes)


def test_a_sale_near_the_first_ask_means_no_markdown():
    found = histories({"sold_on": "2026-06-20", "sale_price": 395.0})
    assert found.asks[0].tolist() == [400, 400, 400]


def test_with_neither_an_unsold_piece_came_down_as_fast_as_the_sold_ones():
    found = histories(
        {"sold_on": "2026-06-20", "sale_price": 301.32},  # 10% a week
        {"sold_on": "2026-06-20", "sale_price": 400.0},  # not at all
        {"listed_on": "2026-09-16"},
    )
    rate = np.log(0.81) / 4
    np.testing.assert_allclose(found.asks[2], 400 * np.exp(rate * np.arange(2)))


def test_a_complete_ledger_means_that_a_piece_without_a_change_kept_its_price():
    log = events(("2026-05-20", "P1", "asking_price", 350))
    held = {"sold_on": "2026-06-20", "sale_price": 301.32}
    other = {"listed_on": "2026-05-01", "sold_on": "2026-06-20", "sale_price": 330.0}
    found = histories(held, other, log=log)
    assert found.asks[0].tolist() == [400, 400, 400]
    assert found.table["asks_from"].tolist() == [DATED, DATED]
    # One later piece that is known to have come down without a dated change: the ledger is not complete.
    slipped = {"sold_on": "2026-06-20", "sale_price": 301.32, "last_asking_price": 320.0}
    found = histories(held, other, slipped, log=log)
    assert found.table["asks_from"].tolist() == [NEITHER, DATED, LAST_ONLY]


def test_weeks_off_the_market_are_no_exposure_and_relisting_is_the_same_listing():
    log = events(
        ("2026-06-15", "P0", "paused", np.nan),
        ("2026-07-13", "P0", "relisted", 360),
    )
    found = histories({"sold_on": "2026-07-20", "sale_price": 350.0}, log=log)
    assert found.table["weeks"].tolist() == [4]  # 14 days before and 7 after
    assert found.asks[0].tolist() == [400, 400, 360, 360]


def test_gut_price_is_kept_and_the_first_ask_stands_in_only_before_any_advice():
    advice = pd.DataFrame(
        {"date": pd.to_datetime(["2026-05-30", "2026-06-20"]), "piece": ["P1", "P2"]}
    )
    found = histories({"gut_price": 450.0}, {}, {}, advice_log=advice)
    assert found.table["gut_price"].tolist()[0] == 450
    assert np.isnan(found.table["gut_price"].iloc[1])
    assert found.table["gut_price"].iloc[2] == 400


def test_what_cannot_be_used_is_left_out_and_said():
    found = histories(
        {"listed_on": None, "sold_on": "2026-06-20", "sale_price": 300.0},
        {"listed_on": None},  # still in work: nothing to say
        {"asking_price": np.nan, "sold_on": "2026-06-20", "sale_price": 300.0},
        {"sale_price": 300.0},
    )
    assert len(found) == 0
    assert found.notes == (
        "1 piece left out of the selling time: no listing date.",
        "1 piece left out of the selling time: no asking price.",
        "1 piece left out of the selling time: no date of sale.",
    )


def test_beyond_the_most_the_listings_put_up_last_are_used_and_the_rest_is_counted(monkeypatch):
    monkeypatch.setattr("fleetlib.selling.weeks_at_risk.MOST_LISTINGS", 2)
    days = ("2026-06-01", "2026-08-01", None, "2026-07-01")
    found = histories(*({"listed_on": day} for day in days))
    assert found.table["piece"].tolist() == ["P1", "P3"]
    assert found.notes[0].startswith("1 piece left out of the selling time: only the newest 2")
    assert len(histories(*({"listed_on": day} for day in days[:3]))) == 2


def test_no_flips_at_all_is_an_answer():
    found = histories()
    assert len(found) == 0
    assert found.asks == ()


def test_haggle_is_drawn_toward_93_per_cent_and_capped_at_the_ask():
    rows = [
        {"sold_on": "2026-06-20", "sale_price": p, "last_asking_price": 400.0}
        for p in (400.0, 360.0, 440.0)
    ]
    haggle = fit_haggle(histories(*rows))
    assert haggle.share_paid == pytest.approx((1 + 0.9 + 1 + 5 * 0.93) / 8)
    assert (haggle.sales, haggle.above) == (3, 1)
    nobody = fit_haggle(histories())
    assert (nobody.share_paid, nobody.sales) == (0.93, 0)


def test_the_note_says_what_was_made_of_a_lone_first_ask():
    unsold = histories({}, {})
    assert unsold.notes == (
        "2 pieces with only a first asking price: it is taken as never changed.",
    )
    for asks in unsold.asks:
        assert set(asks) == {400.0}
    sold = histories({}, {"sold_on": "2026-08-01", "sale_price": 300.0})
    assert "filled in from what such pieces sold for" in sold.notes[0]
    assert sold.asks[0][-1] < 400.0
