"""Amounts, hours, sizes and finishes as they are typed in other languages, and of round and several pieces."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from fleetlib.records.parsing.amounts import read_hours, read_prices
from fleetlib.records.parsing.outcomes import remark_said
from fleetlib.records.parsing.sizes import split_sizes
from fleetlib.records.parsing.vocabulary import look_up
from tests.records.answered import asked, read


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


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("regalato a mia figlia", "given away"), ("regalato da una zia", None), ("la tengo io", "kept"),
        ("reso il 18/03, piede rotto. restituiti i soldi", "on hand"), ("reso il colore originale", None),
        ("verschenkt", "given away"), ("geschenkt bekommen", None), ("selbst behalten", "kept"),
        ("Originalgriffe behalten", None), ("zurückgegeben", "on hand"), ("zurück zum Händler", None),
        ("alte Rückwand entsorgt", None), ("entsorgt", "scrapped"),
        ("bortskänkt till grannen", "given away"), ("behåller den själv", "kept"), ("behåller patinan", None),
        ("returnerad 3/5", "on hand"), ("slängd", "scrapped"),
        ("donné à ma sœur", "given away"), ("offert par une amie", None), ("je la garde", "kept"),
        ("gardé les poignées", None), ("rendu par la cliente", "on hand"), ("rendu plus clair", None),
        ("jeté les vieux tiroirs", None), ("jetée", "scrapped"),
        ("regalada a mi hermana", "given away"), ("regalado por un vecino", None), ("me lo quedo", "kept"),
        ("devuelto, pata rota", "on hand"), ("weggegeven", "given away"), ("zelf gehouden", "kept"),
        ("teruggebracht", "on hand"),
    ],
)  # fmt: skip
def test_what_a_remark_in_another_language_tells_of_the_piece(note: str, said: str | None) -> None:
    """From general dictionaries as remembered, no source."""
    assert remark_said(note) == said


def test_a_remark_in_another_language_is_asked_about_and_not_used_before(tmp_path: Path) -> None:
    text = (
        "Nr;Tipo;In vendita dal;Chiesto;Venduto il;Prezzo di vendita;Note\n"
        "A;scrittoio;2026-02-21;340;2026-03-14;330;reso il 2026-03-18, piede rotto. restituiti i soldi\n"
        "B;armadio;2026-02-21;340;;;regalato a mia figlia\n"
        "C;sedia;2026-02-21;40;;;la tengo io\n"
    )
    found = read(tmp_path, text, "heading,Chiesto,asking price")
    assert found.flips["status"].tolist() == ["sold", "listed", "listed"]
    first = {q.text[0]: q.options[0].meaning for q in asked(found, "cell")}
    assert first == {"A": "2026-03-18", "B": "given away", "C": "kept"}


def test_the_day_a_note_says_a_piece_was_listed_is_asked_about_where_none_is_known(
    tmp_path: Path,
) -> None:
    text = (
        "Piece,Type,Bought,Asked,Listed,Sold on,Sold for,Where\n"
        'A,desk,2026-09-26,340,,,,"garage, listed 10/10"\n'
        "B,desk,2026-09-26,340,2026-10-01,,,listed 10/10\n"
        "C,desk,2026-01-26,340,2026-02-01,2026-02-09,300,market\n"
    )
    found = read(tmp_path, text)
    assert found.flips["channel"].isna().tolist() == [True, True, False]
    (question,) = asked(found, "cell")
    assert question.options[0].meaning == "2026-10-10"
    assert found.flips["listed_on"].isna().tolist() == [True, False, False]
    key = f'cell,"{question.text}",'
    after = read(tmp_path, text, key + "2026-10-10")
    assert str(after.flips["listed_on"][0].date()) == "2026-10-10" and after.to_answer == ()
    before = read(tmp_path, text, key + "2026-09-01")  # before it was bought: left out
    assert before.flips["listed_on"].isna()[0]
