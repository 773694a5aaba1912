"""A piece as a question is asked about it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.records.folder import read_records
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.shop import open_shop


def test_known_words_come_in_the_kits_spelling_and_others_stay() -> None:
    piece = Piece(furniture_type="Credenza", wood="mahagony", finish="Poly", style="MCM")
    assert (piece.furniture_type, piece.wood, piece.finish, piece.style) == (
        "sideboard", "mahogany", "polyurethane", "mid-century",
    )  # fmt: skip
    assert Piece(furniture_type="coffee_table").furniture_type == "coffee table"
    assert Piece(furniture_type="Buffet").furniture_type == "buffet"
    assert Piece(furniture_type="whatnot").furniture_type == "whatnot"


def test_a_blank_or_missing_value_is_none() -> None:
    piece = Piece(
        furniture_type="desk", wood="", hours=np.nan, listed_on=pd.NaT, buy_price=np.float64(80)
    )
    assert (piece.wood, piece.hours, piece.listed_on, piece.buy_price) == (None, None, None, 80.0)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"furniture_type": ""}, "needs its furniture_type"),
        ({"furniture_type": None}, "needs its furniture_type"),
        ({"width_in": -3}, "width_in is -3; it must be from 1 to 300"),
        ({"buy_price": "cheap"}, 'buy_price is "cheap"; it must be a number'),
        ({"grade": 9}, "grade is 9; it must be from 1 to 5"),
        ({"hours": float("inf")}, "hours is inf"),
        ({"listed_on": "soon"}, 'listed_on is "soon"; write the day as 2026-09-30'),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_a_sentence(
    given: dict[str, object], said: str
) -> None:
    with pytest.raises(BadQuestion) as refusal:
        Piece(**{"furniture_type": "desk", **given})  # type: ignore[arg-type]
    assert said in str(refusal.value)


def test_size_and_name_and_text() -> None:
    piece = Piece(
        furniture_type="desk", wood="oak", finish="oil", width_in=48, depth_in=24, height_in=30
    )
    assert piece.size_cuft == 20
    assert (piece.name, str(piece)) == ("oak desk", "oak desk, oil, 48 x 24 x 30 in")
    assert Piece(furniture_type="desk").size_cuft is None
    assert Piece(furniture_type="desk", piece="A-1").name == "A-1"


def test_every_row_that_is_kept_makes_a_piece(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(
        "piece,type,dims,year,grade,listed,asking,price,mine\n"
        "A-1,buffet,60 x ? x 34,1960s,4,2026-03-01,450,,x\nA-2,desk,,,,,,,\n"
    )
    flips = read_records(tmp_path, as_of=date(2026, 9, 30)).flips
    first, second = (piece_from_row(row) for _, row in flips.iterrows())
    assert (first.piece, first.furniture_type, first.width_in, first.depth_in) == (
        "A-1",
        "buffet",
        60,
        None,
    )
    assert (first.year_made, first.listed_on, first.gut_price) == (1965, date(2026, 3, 1), 450)
    assert second == Piece(furniture_type="desk", piece="A-2")


@pytest.mark.parametrize(
    ("kind", "lot", "wood", "called", "what"),
    [
        ("nightstand", 2, "oak", None, "pair of oak nightstands"),
        ("dining chair", 4, "beech", None, "set of 4 beech chairs"),
        ("chest of drawers", 2, None, None, "pair of chests of drawers"),
        ("bench", 3, "pine", None, "set of 3 pine benches"),
        ("dining chair", 4, "beech", "stoel", "beech stoel (set of 4)"),
        ("bench", 1, "pine", None, "pine bench"),
        ("bench", None, "unknown", "settle", "settle"),
    ],
)
def test_a_lot_says_how_many_it_is(kind, lot, wood, called, what) -> None:
    piece = Piece(furniture_type=kind, pieces_in_lot=lot, wood=wood, called=called)
    assert piece.what == piece.name == what


def test_the_price_list_says_how_many_stand_behind_a_price(tmp_path) -> None:
    (tmp_path / "flips.csv").write_text(
        "furniture_type,wood,pieces_in_lot,gut_price,listed_on\ndining chair,beech,4,160,2026-05-01\n"
    )
    listed = open_shop(tmp_path, as_of=date(2026, 6, 1)).advise_all()
    assert list(listed.table["what"]) == ["beech dining chair (set of 4)"]
