"""Pieces bought together for one price."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.records.cleaning.clean import CleanFlips, read_flips, write_flips
from fleetlib.records.cleaning.lots import parts_in_cents


def read(folder: Path, *rows: str) -> CleanFlips:
    head = "piece,type,lot,paid,gut price,asking,price"
    (folder / "x.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return read_flips(folder / "x.csv", as_of=date(2026, 9, 30))


def test_the_odd_cent_goes_to_the_largest_remainder() -> None:
    # 10.00 in the proportion 300 : 100 : 50 is 6.666..., 2.222..., 1.111...
    assert parts_in_cents(10.0, [300, 100, 50]) == [6.67, 2.22, 1.11]
    assert parts_in_cents(10.0, [50, 100, 300]) == [1.11, 2.22, 6.67]
    assert parts_in_cents(0.01, [1, 1, 1]) == [0.01, 0, 0]


@given(st.integers(0, 10_000_000), st.lists(st.floats(0.01, 1e5), min_size=1, max_size=12))
def test_the_parts_are_whole_cents_that_add_up(cents: int, weights: list[float]) -> None:
    parts = parts_in_cents(cents / 100, weights)
    assert sum(round(p * 100) for p in parts) == cents
    assert all(abs(p * 100 - round(p * 100)) < 1e-6 and p >= 0 for p in parts)
    share = cents / 100 / sum(weights)
    assert all(abs(p - w * share) < 0.0101 for p, w in zip(parts, weights, strict=True))


@pytest.mark.parametrize(
    ("rows", "prices"),
    [
        (("A,desk,L,90,200,,", "B,desk,L,,100,,"), [60, 30]),
        (("A,desk,L,,200,,", "B,desk,L,90,,400,"), [45, 45]),
        (("A,desk,L,90,,100,80", "B,desk,L,,,200,"), [30, 60]),
        (("A,desk,L,0,200,,", "B,desk,L,,100,,"), [0, 0]),
    ],
)
def test_a_lot_is_split_by_the_owners_own_prices_or_evenly(
    tmp_path: Path, rows: tuple[str, ...], prices: list[float]
) -> None:
    assert read(tmp_path, *rows).flips["buy_price"].tolist() == prices


def test_a_lot_with_prices_on_several_pieces_is_not_split(tmp_path: Path) -> None:
    found = read(
        tmp_path, "A,desk,L,90,,,", "B,desk,L,30,,,", "C,desk,L,,,,", "D,desk,M,,,,", "E,desk,M,,,,"
    )
    assert found.flips["buy_price"].tolist()[:2] == [90, 30]
    assert found.flips["buy_price"].isna().tolist() == [False, False, True, True, True]
    said = " ".join(found.notes)
    assert "Lot L: 2 of its 3 pieces carry a buy price, so none was split" in said
    assert "Lot M: no buy price on any of its 2 pieces" in said


def test_what_was_split_is_not_split_again(tmp_path: Path) -> None:
    once = read(tmp_path, "A,desk,L,10,,,", "B,desk,L,,,,", "C,desk,L,,,,")
    (tmp_path / "y.csv").write_text(write_flips(once.flips), encoding="utf-8", newline="")
    again = read_flips(tmp_path / "y.csv", as_of=date(2026, 9, 30))
    assert (
        again.flips["buy_price"].tolist() == once.flips["buy_price"].tolist() == [3.34, 3.33, 3.33]
    )
