"""A listing says what is on record and nothing that is the seller's own affair."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from fleetlib.base.settings import Settings
from fleetlib.records.piece import Piece
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


MONEY = (
    "buy_price",
    "materials_cost",
    "other_costs",
    "gut_price",
    "asking_price",
    "last_asking_price",
)
SECRET = st.floats(1000, 9999).map(lambda v: round(v) + 0.37)


@given(
    st.fixed_dictionaries(dict.fromkeys(MONEY, SECRET)),
    st.sampled_from(["buyer Ambrose, 555 0123", "paid too much", "take 300 if she calls"]),
)  # fmt: skip
def test_no_cost_own_price_or_note_reaches_a_listing(secrets: dict[str, float], notes: str) -> None:
    piece = replace(
        PIECE, notes=notes, bought_lot="from Ambrose", channel="Ambrose", hours=87.3, **secrets
    )
    made = listing_text(piece)
    assert (str(made), made._repr_html_()) == (
        str(listing_text(PIECE)),
        listing_text(PIECE)._repr_html_(),
    )
