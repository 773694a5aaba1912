"""Shop: a thin front over records, models and advice."""

from datetime import date
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib.base.errors import BadQuestion, MissingRecords, UnknownPiece
from fleetlib.base.kit import demo_folder

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def shop():
    return fl.open_shop(demo_folder())


def test_every_public_name_is_there_and_explains_itself() -> None:
    for name in fl.__all__:
        assert getattr(fl, name).__doc__, name
    with pytest.raises(AttributeError, match=r"it has .*open_shop"):
        _ = fl.no_such_name


def test_the_shop_class_stays_thin() -> None:
    assert len((ROOT / "fleetlib" / "shop.py").read_text().splitlines()) < 220


def test_the_demo_is_worked_out_for_the_day_its_settings_say(shop) -> None:
    assert shop.records.as_of == date(2026, 9, 30)
    assert "sold" in repr(shop)
    assert fl.open_shop(demo_folder(), as_of=date(2026, 6, 30)).records.as_of == date(2026, 6, 30)


def test_the_demo_knows_that_it_is_invented_and_one_s_own_folder_that_it_is_not(shop, tmp_path):
    (tmp_path / "flips.csv").write_text(
        "piece,furniture_type,gut_price\nA-1,dresser,300\n", encoding="utf-8"
    )
    own = fl.open_shop(tmp_path)
    assert shop.is_demo
    assert not own.is_demo
    assert "the invented demo shop" in repr(shop)
    assert "your own folder" in repr(own)


def test_a_piece_may_be_asked_about_by_its_name(shop) -> None:
    name = str(shop.flips.loc[shop.flips["status"].eq("in work"), "piece"].iloc[0])
    piece = shop.piece(name)
    for question in ("estimate", "plan", "advise", "what_to_pay", "finish_choice"):
        asked = getattr(shop, question)
        assert str(asked(name)) == str(asked(piece)), question
    with pytest.raises(UnknownPiece, match="no piece called"):
        shop.plan("no such piece")
    with pytest.raises(BadQuestion, match=r"not as Series: shop\.plan\("):
        shop.plan(shop.flips.iloc[0])


def test_a_piece_is_found_by_its_name_whatever_the_case(shop) -> None:
    name = str(shop.flips["piece"].dropna().iloc[0])
    assert shop.piece(name.lower()).piece == name
    with pytest.raises(UnknownPiece, match="no piece called"):
        shop.piece("Z-999-x")


def test_a_folder_that_is_not_there_is_refused() -> None:
    with pytest.raises(MissingRecords, match="nowhere"):
        fl.open_shop("nowhere")


def test_a_piece_not_on_record_can_be_priced_and_planned(shop) -> None:
    piece = fl.Piece(
        furniture_type="sideboard",
        wood="oak",
        finish="oil",
        width_in=60,
        depth_in=18,
        height_in=34,
        buy_price=80,
        materials_cost=35,
        hours=9,
        gut_price=450,
    )
    sheet = shop.advise(piece)
    assert sheet.estimate.low < sheet.estimate.mid < sheet.estimate.high
    asks = sheet.plan.table["asking_price"]
    assert asks.is_monotonic_decreasing
    assert (asks >= sheet.plan.floor).all()
    spent = 80 + 35
    # Money by the hour: the cost of waiting, 1% of the usual price a week, changes no hands.
    waiting = 0.01 * shop.fits.prices.usual([piece])[0] * sheet.plan.expected_days / 7
    in_hand = sheet.plan.expected_net + waiting
    assert sheet.hourly.per_hour == pytest.approx((in_hand - spent) / 9)
    for text in (str(sheet), sheet._repr_html_()):
        assert "oak sideboard" in text
    assert all(len(line) <= 80 for line in str(sheet).split("\n"))


def test_the_list_of_pieces_on_hand_agrees_with_each_pieces_own_advice(shop) -> None:
    listed = shop.advise_all().table
    row = listed.iloc[0]
    piece = shop.piece(row["piece"])
    assert shop.estimate(piece).mid == pytest.approx(row["mid"], rel=1e-6)
    plan = shop.plan(piece)
    assert plan.table["asking_price"].iloc[0] == row["asking_price"]
    assert plan.table["lowest_offer"].iloc[0] == row["lowest_offer"]


def test_hours_and_costs_not_on_record_are_said(shop) -> None:
    sheet = shop.advise(fl.Piece(furniture_type="dresser", wood="pine", gut_price=300))
    assert "price paid, materials" in sheet.hourly.sentence("USD")
    assert "expect" in sheet.hourly.basis


def test_no_name_means_the_first_piece_on_hand_and_no_quarter_the_last_whole_one(shop) -> None:
    first = shop.piece()
    row = shop.flips[shop.flips["piece"] == first.piece].iloc[0]
    assert row["status"] == "listed"
    assert "2026-Q3" in str(shop.review())


def test_a_piece_asked_for_without_a_listing_day_is_never_put_up(shop) -> None:
    piece = fl.Piece(furniture_type="sideboard", wood="oak", asking_price=300, gut_price=450)
    plan = shop.plan(piece)
    assert plan.table["asking_price"].max() <= 300
    assert any("no listing day" in note for note in plan.notes)
