"""The owner's own price: one rule for the record, the selling time and the plan."""

from datetime import date

import pandas as pd
import pytest

from fleetlib.records.own_price import first_advice, own_price

LISTED = date(2026, 7, 1)


@pytest.mark.parametrize(
    ("gut", "ask", "listed", "advised", "price"),
    [
        (300.0, 400.0, LISTED, LISTED, 300.0),
        (None, 400.0, LISTED, None, 400.0),
        (float("nan"), 400.0, LISTED, date(2026, 7, 2), 400.0),
        (None, 400.0, LISTED, LISTED, None),  # advice of that day counts as before it
        (None, 400.0, None, date(2026, 7, 2), None),
        (None, float("nan"), LISTED, None, None),
    ],
)
def test_a_first_ask_stands_in_only_while_it_was_their_own_idea(
    gut, ask, listed, advised, price
) -> None:
    assert own_price(gut, ask, listed_on=listed, advised_on=advised) == price


def test_the_first_advice_counts_whatever_the_case_of_a_name() -> None:
    log = pd.DataFrame(
        {"date": pd.to_datetime(["2026-08-01", "2026-07-01"]), "piece": ["a-1", "A-1"]}
    )
    assert first_advice(log) == {"a-1": LISTED}
    assert first_advice(None) == {}
