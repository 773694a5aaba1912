"""Amounts, hours, sizes and finishes as they are typed in other languages, and of round and several pieces."""

from __future__ import annotations

import math

import pytest

from fleetlib.records.parsing.amounts import read_hours, read_prices
from fleetlib.records.parsing.sizes import split_sizes
from fleetlib.records.parsing.vocabulary import look_up


@pytest.mark.parametrize(
    "text", ["480 VB", "480,- VB", "VB 480", "480 \u20ac VHB", "480 Festpreis"]
)
def test_a_german_note_on_haggling_leaves_the_amount(text: str) -> None:
    assert read_prices([text], currency="EUR")[0].cell.value == 480


def test_a_price_of_each_of_a_pair_is_that_of_two() -> None:
    for text in ("90 ea (pair)", "90 each pr", "90 je (Paar)"):
        found = read_prices([text])[0]
        assert (found.cell.value, found.count, found.each) == (180, 2, False)
    for text in ("90 ea", "90 pro St\u00fcck", "90/Stk."):
        found = read_prices([text])[0]
        assert (found.cell.value, found.count, found.each) == (90, None, True)


def test_hours_at_the_least_are_approximate_and_a_sum_is_a_sum() -> None:
    cells = read_hours(["15+", "3+ h", "15+3", "8,5 Std.", "2 Stunden", "+"])
    assert [c.value for c in cells] == [15, 3, 18, 8.5, 2, None]
    assert "approximate" in cells[0].why and "approximate" not in cells[2].why


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("1,20x0,60x0,75 m", (47.24, 23.62, 29.53)),
        ("20 dia x 26", (20, 20, 26)),
        ("26h x 20 round", (20, 20, 26)),
        ("\u00d8 60 x 75 cm", (23.62, 23.62, 29.53)),
        ("52, 18, 34", (52, 18, 34)),
    ],
)
def test_decimal_commas_and_round_tops_keep_what_they_say(
    text: str, sides: tuple[float, ...]
) -> None:
    found = split_sizes([text], unit="in").sides
    assert tuple(found[s][0] for s in ("width_in", "depth_in", "height_in")) == sides


@pytest.mark.parametrize(
    "text", ["1,200 x 600 x 750 mm", "20 dia x 20 dia", "20 dia x 26 w", "20 dia", "120x60"]
)
def test_sizes_that_leave_two_readings_are_left_out(text: str) -> None:
    found = split_sizes([text], unit="in")
    assert all(math.isnan(v) for side in found.sides.values() for v in side)
    assert found.why[0].startswith("left out")


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("gewachst", "wax"), ("Ge\u00f6lt", "oil"), ("lackiert", "lacquer"), ("gestrichen", "paint"),
        ("Kreidefarbe", "chalk-type paint"), ("gebeizt", "stain"), ("abgebeizt", "stripped"),
        ("cir\u00e9", "wax"), ("peinte", "paint"), ("lasiert", "lasiert"),
    ],
)  # fmt: skip
def test_a_plain_word_for_a_finish_in_another_language_is_understood(text: str, meant: str) -> None:
    assert look_up("finish", text).value == meant
