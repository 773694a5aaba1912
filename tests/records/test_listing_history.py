"""One piece's time on the market: the days it was up and what was asked, by hand-made listings."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.records.listing_history import (
    AskSteps,
    ListingEvents,
    events_of_piece,
    listed_so_far,
    listing_events,
    real_asks,
)
from fleetlib.records.piece import Piece

LISTED = date(2026, 7, 1)


def table(*rows: tuple[str, str, str, float]) -> pd.DataFrame:
    made = pd.DataFrame(rows, columns=["on", "piece", "event", "amount"])
    return made.assign(on=pd.to_datetime(made["on"]))


AWAY = table(
    ("2026-07-11", "A-1", "paused", np.nan),
    ("2026-07-21", "A-1", "relisted", 350.0),
    ("2026-07-31", "A-1", "withdrawn", np.nan),
)


@pytest.mark.parametrize(
    ("day", "days", "off"),
    [("07-11", 10, True), ("07-20", 10, True), ("07-21", 10, False), ("07-30", 19, False),
     ("08-09", 20, True), ("06-20", 0, False)],
)  # fmt: skip
def test_days_taken_down_are_not_on_the_market(day: str, days: int, off: bool) -> None:
    own = events_of_piece(AWAY, "a-1")
    on = date.fromisoformat(f"2026-{day}")
    assert own.days_on_market(LISTED, on) == days
    assert own.is_off_market(LISTED, on) == off


def test_a_stop_before_the_listing_is_no_time_off_it() -> None:
    early = table(("2026-06-01", "A-1", "paused", np.nan))
    assert events_of_piece(early, "A-1").days_on_market(LISTED, date(2026, 7, 8)) == 7


def test_asks_begin_on_the_listing_day_and_the_last_of_a_day_counts() -> None:
    own = ListingEvents(
        prices=(
            (date(2026, 6, 1), 500.0), (date(2026, 7, 9), 380.0), (date(2026, 7, 9), 370.0)
        )
    )  # fmt: skip
    steps = AskSteps((LISTED, date(2026, 7, 9)), (400.0, 370.0))
    assert own.asks(LISTED, 400.0) == steps
    assert own.asks(LISTED, None) == AskSteps(steps.days, (380.0, 370.0))
    assert own.until(date(2026, 6, 2)).asks(LISTED, None) == AskSteps((LISTED,), (500.0,))
    assert ListingEvents().asks(LISTED, None) is None


def test_what_was_not_yet_known_is_left_out() -> None:
    own = events_of_piece(AWAY, "A-1").until(date(2026, 7, 12))
    assert own.prices == ()
    assert own.is_off_market(LISTED, date(2026, 8, 1))


def test_the_plan_and_the_review_read_the_same_asks() -> None:
    events = table(
        ("2026-07-09", "A-1", "asking_price", 380.0), ("2026-07-23", "a-1", "asking_price", 350.0)
    )
    row = {
        "piece": "A-1", "listed_on": pd.Timestamp(LISTED), "asking_price": 400.0, "last_asking_price": 350.0
    }  # fmt: skip
    steps = real_asks(row, events)
    so_far = listed_so_far(
        Piece(furniture_type="desk", piece="A-1", listed_on=LISTED, asking_price=400.0),
        events,
        date(2026, 8, 1),
    )
    assert steps is not None and so_far is not None
    assert so_far.asks == steps.prices
    assert so_far.since == tuple((d - LISTED).days for d in steps.days)


def test_events_without_a_day_or_of_another_piece_tell_nothing() -> None:
    events = table(
        ("2026-07-09", "B-2", "asking_price", 380.0), ("2026-07-09", "A-1", "enquiry", np.nan)
    )
    events.loc[2] = [pd.NaT, "A-1", "offer", 300.0]
    assert listing_events(events)["a-1"] == ListingEvents(enquiries=(date(2026, 7, 9),))
    assert events_of_piece(events, None) == ListingEvents()
    assert events_of_piece(None, "A-1") == ListingEvents()
