"""A listing says what is on record and nothing that is the seller's own affair."""

import re
from dataclasses import fields, replace
from datetime import date
from typing import get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.base.settings import Settings
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.week.advice import advise
from fleetlib.week.listing_text import listing_text

PIECE = Piece(
    piece="K-7",
    furniture_type="dresser",
    wood="oak",
    construction="solid",
    finish="oil",
    style="mid-century",
    width_in=52,
    depth_in=18,
    height_in=32,
    year_made=1962,
)


def test_a_listing_says_what_is_on_record_in_the_readers_units() -> None:
    made = listing_text(PIECE, repaired="two runners replaced", asking_price=450)
    assert made.title == "Mid-century oak dresser, oil finish"
    assert "$450" in made.text
    assert "Size: 52 in wide, 18 in deep, 32 in high." in made.text
    assert "Made of: solid oak." in made.text
    assert "Done to it: two runners replaced." in made.text
    assert "anti-tip kit" in made.text
    assert (
        "Size: 132 cm wide, 46 cm deep, 81 cm high."
        in listing_text(PIECE, settings=Settings(length_unit="cm")).text
    )


def test_what_is_not_on_record_is_asked_for_and_never_claimed() -> None:
    made = listing_text(Piece(furniture_type="bookcase"))
    for word in ("Size", "Made of", "Year", "Finish", "Done to it", "Not perfect", "Delivery", "$"):
        assert word not in made.text
    assert len(made.missing) == 6
    assert (
        "missing" not in str(listing_text(PIECE, repaired="x", flaws="y", delivery="z")).casefold()
    )


def test_a_dresser_gets_its_drawers_photographed_and_a_table_its_legs() -> None:
    assert any("drawer open" in shot for shot in listing_text(PIECE).photographs)
    table = listing_text(Piece(furniture_type="dining table")).photographs
    assert any("legs" in shot for shot in table)
    assert not any("drawer" in shot for shot in table)


# All that a buyer may be told; whatever else a piece holds, now or later, is the seller's own affair.
TOLD = {
    "piece", "furniture_type", "wood", "construction", "finish", "style", "pieces_in_lot", "width_in", "depth_in",
    "height_in", "year_made", "called",
}  # fmt: skip
OWN = sorted({f.name for f in fields(Piece)} - TOLD)
AMOUNT = st.floats(1000, 9999).map(lambda v: round(v) + 0.37)
WORDS = st.sampled_from(["buyer Ambrose, 555 0123", "paid too much", "take 300 if she calls"])
DAY = st.dates(min_value=date(2001, 1, 1), max_value=date(2002, 1, 1))


@pytest.mark.parametrize("name", OWN)
@given(data=st.data())
def test_no_field_of_the_sellers_own_changes_a_listing(name: str, data: st.DataObject) -> None:
    kind = get_type_hints(Piece)[name]
    usual = WORDS if str in get_args(kind) else DAY if date in get_args(kind) else AMOUNT
    values = {"grade": st.integers(1, 5), "hours": st.floats(1, 300)}.get(name, usual)
    made = listing_text(replace(PIECE, **{name: data.draw(values)}))
    assert (str(made), made._repr_html_()) == (
        str(listing_text(PIECE)),
        listing_text(PIECE)._repr_html_(),
    )


def test_no_amount_of_the_advice_reaches_the_listing_of_any_piece_on_hand(demo_fits) -> None:
    flips = demo_fits.records.flips
    on_hand = flips[flips["status"].isin(["listed", "in work"])]
    for _, row in on_hand.iterrows():
        piece = piece_from_row(row)
        plan = advise(demo_fits, piece).plan
        ask = piece.last_asking_price or piece.asking_price
        text = str(listing_text(piece, asking_price=ask))
        asked = {str(v) for v in re.findall(r"[$]([\d,.]+\d)", text)}
        assert asked == ({f"{ask:,.0f}"} if ask else set())
        secret = (
            plan.floor,
            plan.salvage,
            *plan.table["lowest_offer"],
            piece.gut_price,
            piece.buy_price,
        )
        for amount in {v for v in secret if v and v == v and v != ask}:
            assert not re.search(rf"(?<![\d.,]){amount:,.0f}(?![\d.,]*\d)(?! in )", text), amount


def test_a_listing_is_pasted_as_it_stands_and_headed_by_the_sellers_name_for_it() -> None:
    made = listing_text(
        PIECE, delivery="within thirty miles, a day of your choice, for a little more " * 3
    )
    assert made.text in str(made)  # no line of it is broken, however narrow the terminal
    assert made.sheet().heading == "A listing to paste: K-7"
    assert "K-7" not in made.title + made.text
