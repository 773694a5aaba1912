"""What is kept but asked about: each rule with a piece on either side of its line."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.records.asked.usual_sizes import BANDS
from fleetlib.records.cleaning.clean import CleanFlips, read_flips
from fleetlib.records.parsing.vocabulary import known_words

AS_OF = date(2026, 9, 30)


def read(folder: Path, head: str, *rows: str) -> CleanFlips:
    (folder / "x.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return read_flips(folder / "x.csv", as_of=AS_OF)


def asked(found: CleanFlips, column: str) -> list[int]:
    return found.questions.loc[found.questions["column"] == column, "line"].tolist()


@pytest.mark.parametrize(("price", "odd"), [(24.9, True), (25, False), (130, False), (130.1, True)])
def test_a_sale_far_from_the_asking_price(tmp_path: Path, price: float, odd: bool) -> None:
    found = read(tmp_path, "type,asking,price", f"desk,100,{price}")
    assert bool(asked(found, "sale_price")) == odd
    assert found.flips["sale_price"][0] == price


def test_the_last_asking_price_is_what_a_sale_is_held_against(tmp_path: Path) -> None:
    found = read(tmp_path, "type,asking,last asking,price", "desk,400,90,80")
    assert not asked(found, "sale_price")


# With the sixth desk the median of the kind is 102.5 (a dear one) or 97.5 (a cheap one).
@pytest.mark.parametrize(
    ("price", "odd"), [("1025", False), ("1026", True), ("9.75", False), ("9.74", True)]
)
def test_a_price_ten_times_off_the_usual_of_its_kind(tmp_path: Path, price: str, odd: bool) -> None:
    rows = [f"desk,{p}" for p in (90, 95, 100, 105, 110)]
    found = read(tmp_path, "type,price", *rows, f"desk,{price}")
    assert asked(found, "sale_price") == ([7] if odd else [])
    assert found.flips["sale_price"][5] == float(price)


def test_a_kind_with_few_pieces_is_held_against_all_of_them(tmp_path: Path) -> None:
    rows = [f"desk,{p}" for p in (90, 95, 100, 105, 110, 100, 100)]
    found = read(tmp_path, "type,price", *rows, "bench,1100")
    assert asked(found, "sale_price") == [9]


@pytest.mark.parametrize(("hours", "odd"), [(60, False), (61, True)])
def test_many_hours_are_asked_about_as_drying_time(tmp_path: Path, hours: int, odd: bool) -> None:
    found = read(tmp_path, "type,hours,price", f"desk,{hours},100")
    assert bool(asked(found, "hours")) == odd
    assert found.flips["hours"][0] == hours


def test_sizes_like_centimetres_by_the_bands_of_their_kind(tmp_path: Path) -> None:
    head = "type,width,depth,height,price"
    small, large = "nightstand,52,40,60,90", "nightstand,53,41,61,90"
    found = read(tmp_path, head, small, large, "dining table,108,44,30,500", "desk,101,24,30,100")
    (unit,) = (q for q in found.to_answer if q.about == "unit")
    assert any("line 3, 5)" in o.shown for o in unit.options)
    assert found.flips["width_in"].tolist() == [52, 53, 108, 101]


def test_every_band_is_of_a_known_kind_and_runs_upward() -> None:
    assert set(BANDS) <= set(known_words("furniture_type"))
    assert all(low < high for band in BANDS.values() for low, high in band)


def test_a_note_says_each_rule_once_with_its_lines(tmp_path: Path) -> None:
    found = read(tmp_path, "type,asking,price", *["desk,100,10"] * 9)
    said = [n for n in found.notes if "Sold far" in n]
    assert said == [
        "Sold far from the asking price (line 2, line 3, line 4, line 5, line 6, line 7, line 8, line 9 and 1 more)."
    ]


def test_twins_without_a_name_are_asked_about_but_bare_kinds_are_not(tmp_path: Path) -> None:
    found = read(tmp_path, "type,price,paid", "desk,,20", "desk,,20", "bench,,", "bench,,")
    assert asked(found, "piece") == [2, 3]
    assert len(found.flips) == 4
