"""The one line under an ask: how it stands to the best of its kind, and how often such an ask was met."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from fleetlib.plan.best_of_kind import best_of_kind, standing
from fleetlib.plan.markdowns import plan
from tests.plan.plan_shop import DRESSER, LISTED, KnownPace, shop

FLIPS = pd.DataFrame(
    {
        "piece": ["A", "B", "C", "D", "E"],
        "furniture_type": ["dresser", "dresser", "dresser", "dresser", "desk"],
        "asking_price": [300.0, 420.0, 400.0, np.nan, 900.0],
        "sale_price": [290.0, 310.0, 370.0, np.nan, np.nan],
        "status": "sold",
        "sold_on": pd.Timestamp("2026-01-01"),
        "withdrawn_on": pd.NaT,
    }
)


@pytest.mark.parametrize(
    ("kind", "ask", "said"),
    [
        ("dresser", 350.0, "You have sold a dresser for more: $370."),
        ("dresser", 370.0, "You have sold a dresser for as much: $370."),
        # 420 and 400 were asked as much as 400; 310 is not nine tenths of it, 370 is
        ("dresser", 400.0, "(sold $370); so much was asked 2 times and met once"),
        ("dresser", 420.0, "so much was asked once and never met"),
        (
            "dresser",
            430.0,
            "No dresser of yours was ever asked that much (best asked $420, sold $370).",
        ),
        (
            "desk",
            950.0,
            "No desk of yours was ever asked that much (best asked $900, none has sold yet).",
        ),
        (
            "armoire",
            950.0,
            "No piece of yours was ever asked that much (best asked $900, sold $370).",
        ),
    ],
)
def test_how_an_ask_stands_to_the_best_of_its_kind(kind, ask, said):
    assert said in standing(best_of_kind(FLIPS, kind, ask), ask, "USD")


def test_the_piece_itself_is_no_precedent():
    assert best_of_kind(FLIPS, "dresser", 410.0).asked == 420.0
    assert best_of_kind(FLIPS, "dresser", 410.0, but="b").asked == 400.0
    assert best_of_kind(FLIPS.iloc[:1], "dresser", 410.0, but="A") is None


def test_a_set_is_held_against_sets_alone():
    lots = [np.nan, 4.0, 4.0, np.nan, 1.0]
    chairs = FLIPS.assign(furniture_type="chair", pieces_in_lot=lots)

    def said(ask: float, lot: float | None) -> str:
        return standing(best_of_kind(chairs, "chair", ask, lot=lot), ask, "USD")

    sets = "No set of 4 chairs of yours was ever asked that much (best asked $420, sold $370)."
    assert said(950.0, 4) == sets
    assert said(950.0, None) == (
        "No chair of yours was ever asked that much (best asked $900, sold $290)."
    )
    assert said(350.0, 4) == "You have sold a set of 4 chairs for more: $370."
    assert said(950.0, 2) == "Nothing else on your records is a pair of chairs."


def test_with_nothing_on_record_nothing_is_said():
    for none in (None, FLIPS.iloc[:0], FLIPS[["piece"]], FLIPS.iloc[3:4]):
        assert best_of_kind(none, "dresser", 300.0) is None
    assert standing(None, 300.0, "USD") == ""
    assert plan(shop(), DRESSER).standing == ""


def test_every_ask_above_its_range_says_why_in_the_same_line():
    flips = FLIPS.assign(line=range(2, 2 + len(FLIPS)))
    fits = shop(flips=flips)
    bold = plan(fits, replace(DRESSER, gut_price=500.0), alternatives=False)
    assert "No dresser of yours was ever asked that much" in bold.standing
    assert "your own price of $500 says that it is better than the records can see" in bold.standing
    one = shop(flips=flips.iloc[:1])
    plain = plan(one, replace(DRESSER, gut_price=300.0), alternatives=False)
    assert "leaves room for the buyer who would pay more" in plain.standing
    low = plan(shop(flips=flips, pace=KnownPace(sensitivity=9.0)), DRESSER, alternatives=False)
    assert low.table["asking_price"].iloc[0] <= 370
    assert low.standing == "You have sold a dresser for more: $370."
    own = plan(fits, replace(LISTED, asking_price=450.0), alternatives=False)
    assert own.standing.endswith("It is the ask you set; the plan starts from there.")
    for made in (bold, plain, low, own):
        lines = str(made).splitlines()
        assert max(map(len, lines)) <= 80
        assert made.standing.split(".")[0] in " ".join(lines)
        assert made.standing.split(".")[0] in made._repr_html_()
