"""What a fourth walk over five shops kept by others found: each finding as a test."""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path

import pytest

from fleetlib.cli import main
from fleetlib.records.asked.remarks import remark_said
from fleetlib.records.blank_sheet import settings_text
from fleetlib.records.parsing.amounts import read_prices
from fleetlib.records.parsing.sizes import split_sizes
from tests.records import answered
from tests.records.answered import asked

read = partial(answered.read, as_of=date(2026, 9, 30))


def test_sizes_with_letters_are_seen_to_be_centimetres_though_one_is_in_feet(
    tmp_path: Path,
) -> None:
    sizes = ("138w x 46d x 195h", "152w x 45d x 110h", "112w x 88d x 177h", "120w x 66d x 90h")
    rows = "".join(f"sideboard,{s},100\n" for s in (*sizes, *sizes, "3ft wide x 6ft 2 tall"))
    found = read(tmp_path, "Type,Size,Got\n" + rows)
    metric = (
        found.settings.length_unit == "cm" or asked(found, "unit")[0].options[0].meaning == "cm"
    )
    assert metric


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("90w x 42d closed x 74h", (90, 42, 74)),
        ("40w x 35d x 58h each", (40, 35, 58)),
        ("54w x 40d x 48h biggest", (54, 40, 48)),
        ("11w x 48d x 77h (mirror up to 90)", (11, 48, 77)),
    ],
)
def test_plain_words_beside_a_size_leave_it(text: str, sides: tuple[float, ...]) -> None:
    found = split_sizes([text], unit="in").sides
    assert tuple(found[s][0] for s in ("width_in", "depth_in", "height_in")) == sides


PHONE = (
    "what,paid,posted,price,sold\n"
    "dresser oak 52x19x33 painted white,40,3/8/25,225,210 3/22\n"
    "oak end table 22x26x21,10,3/15/25,65,60 3/20\n"
    "2 nightstands pine 20w 16d 26h,25,11/29/25,140 for both,140 1/10\n"
    "desk maple,20,4/8/26,90 now 80 5/1,\n"
)


def test_a_column_of_amounts_and_days_is_two_columns_and_price_is_what_was_asked(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, PHONE)
    assert found.flips["sale_price"].tolist()[:3] == [210, 60, 140]
    assert found.flips["asking_price"].tolist() == [225, 65, 140, 90]
    assert found.flips["last_asking_price"].tolist()[3] == 80
    assert found.flips["status"].tolist() == ["sold", "sold", "sold", "listed"]
    assert any("holds two things in a cell" in n for n in found.notes)
    days = [str(d)[:10] for d in found.flips["sold_on"][:3]]  # of the year that the listing tells
    assert days == ["2025-03-22", "2025-03-20", "2026-01-10"] and not asked(found, "year")


def test_a_size_among_the_words_of_a_kind_is_its_size(tmp_path: Path) -> None:
    flips = read(tmp_path, PHONE).flips
    assert flips["furniture_type"].tolist() == ["dresser", "side table", "nightstand", "desk"]
    assert flips["width_in"].tolist()[:3] == [52, 22, 20]
    assert flips["height_in"].tolist()[:3] == [33, 21, 26]


def test_wood_and_finish_in_one_column_are_two(tmp_path: Path) -> None:
    text = 'Piece,Type,Wood / finish,Sold for\nA,desk,"maple, painted white",90\nB,desk,oak,80\nC,desk,painted,70\n'
    flips = read(tmp_path, text).flips
    assert flips["wood"].fillna("").tolist() == ["maple", "oak", ""]
    assert flips["finish"].fillna("").tolist() == ["paint", "", "paint"]


def test_amounts_and_days_in_few_cells_stay_one_column(tmp_path: Path) -> None:
    text = "Type,Sold for\ndesk,90\ndesk,80 3/22\ndesk,70\n"
    found = read(tmp_path, text)
    assert found.flips["sale_price"].tolist()[::2] == [90, 70]
    assert not any("two things" in n for n in found.notes)


def test_a_price_and_the_cut_with_its_day_are_read_and_no_day_is_offered_as_an_amount(
    tmp_path: Path,
) -> None:
    for text in (
        "375 dropped to 325 6/7",
        "375 now 325 on 6/7",
        "375 -> 325 6/7/26",
    ):
        price = read_prices([text])[0]
        assert (price.cell.value, price.before) == (325, 375)
    found = read(tmp_path, 'Type,Asking,Sold for\ndesk,"450, 400 8/9, 360 9/13",\ndesk,90,80\n')
    offered = ["450 now 360", "450", "400", "360", "nothing"]
    assert [o.meaning for o in asked(found, "cell")[0].options] == offered


def test_a_sign_under_a_heading_that_is_not_known_says_the_currency(tmp_path: Path) -> None:
    text = "Type,Prix de v,Asking\ndesk,200 \u20ac,\ndesk,180 \u20ac,\n"
    found = read(tmp_path, text, "heading,Prix de v,sale price")
    assert found.settings.currency == "EUR"
    assert found.flips["sale_price"].tolist() == [200, 180]


def test_the_settings_that_are_laid_leave_open_what_the_record_says(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(settings_text(), encoding="utf-8")
    found = read(tmp_path, "Type,W (cm),Sold for\ndesk,120,\u00a3200\n")
    assert (found.settings.currency, found.settings.length_unit) == ("GBP", "cm")


FRENCH = (
    "Meuble;Bois;Dimensions;Prix d'achat;Finition;Fournitures;Heures;Mis en vente le;Prix affich\u00e9;Vendu le;"
    "Prix de vente\n"
    "Commode 3 tiroirs;ch\u00eane;98 x 46 x 82;60,00 \u20ac;peinte;14,50;11;24/02/2025;220 \u20ac;25/03/2025;"
    "200 \u20ac\n"
    "Table de chevet;pin;41 x 33 x 60;gratuit;cir\u00e9;6,20;4,5;12/02/2025;45 \u20ac;15/02/2025;45 \u20ac\n"
)


def test_a_french_record_is_read_by_its_headings_and_plain_words(tmp_path: Path) -> None:
    found = read(tmp_path, FRENCH)
    row = found.flips.iloc[0]
    assert (row["furniture_type"], row["wood"], row["finish"]) == (
        "chest of drawers",
        "oak",
        "paint",
    )
    assert (row["buy_price"], row["hours"], row["asking_price"], row["sale_price"]) == (
        60,
        11,
        220,
        200,
    )
    assert found.flips["buy_price"][1] == 0 and found.settings.currency == "EUR"
    assert not asked(found, "kind") and not asked(found, "heading")


@pytest.mark.parametrize(
    ("typed", "count"),
    [
        ("Ladderback chairs x 4", 4), ("Dining chairs - set of 6", 6), ("Chaises bistrot (lot de 4)", 4),
        ("Chaises paill\u00e9es x6", 6), ("Paire de chevets", 2), ("bar stools set of 3 painted red", 3),
        ("4 dining chairs oak new seats", 4), ("Kitchen stools x3", 3), ("Set of 4 ladderback chairs", 4),
        ("6 drawer dresser thing", None), ("Nest of 3 tables", None), ("1950s thing", None),
    ],
)  # fmt: skip
def test_the_count_typed_in_a_kind_stays_when_the_kind_is_answered(
    tmp_path: Path, typed: str, count: float | None
) -> None:
    found = read(tmp_path, f"Type,Sold for\n{typed},90\n", f"kind,{typed},chair")
    assert found.flips["furniture_type"][0] == "chair"
    counted = found.flips["pieces_in_lot"][0]
    assert counted == count if count else counted != counted


def test_what_several_cost_is_no_price_of_one(tmp_path: Path) -> None:
    text = "Type,Paid,Sold for\nend table,3 for $45,65\nend tables,3 for $45,165\n"
    found = read(tmp_path, text)
    assert (
        found.flips["buy_price"].tolist()[1] == 45 and found.flips["pieces_in_lot"].tolist()[1] == 3
    )
    assert found.flips[["buy_price", "pieces_in_lot"]].iloc[0].isna().all()
    assert "price of 3 pieces" in asked(found, "cell")[0].said


def test_a_row_of_profit_is_no_sale(tmp_path: Path) -> None:
    found = read(tmp_path, "Type,Paid,Sold for\ndesk,10,90\nhutch,20,200\nProfit,,260\n")
    assert len(found.flips) == 2 and found.set_aside["line"].tolist() == [4]


def test_a_record_of_another_name_is_named_and_neither_passed_over_nor_shown_as_the_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "meubles.csv").write_text(FRENCH, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 2
    refused = capsys.readouterr()
    assert "fleetlib check meubles.csv" in refused.err
    assert "Commode" not in refused.out
    assert main(["start", "."]) == 0
    assert "If meubles.csv is your record" in capsys.readouterr().out
    assert main(["check"]) == 0  # of the blank record that was laid
    assert "If meubles.csv is your record" in capsys.readouterr().out
    assert main(["check", "meubles.csv"]) == 0
    assert "If meubles.csv" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        (("stripped, clear wax", "painted sage", "danish oil", "glued, waxed"), "finish"),
        (("oak, brass pulls", "pine and ply", "walnut", "some cherry"), "wood"),
    ],
)
def test_a_column_under_an_own_heading_that_names_finishes_or_woods_is_asked_about(
    tmp_path: Path, cells: tuple[str, ...], column: str
) -> None:
    rows = "".join(f'desk,{90 + i},"{c}"\n' for i, c in enumerate(cells))
    found = read(tmp_path, "Type,Sold for,My doings\n" + rows)
    assert [o.meaning for o in asked(found, "heading")[0].options] == [column, "nothing"]
    assert found.flips[column].isna().all()
    after = read(tmp_path, "Type,Sold for,My doings\n" + rows, f"heading,My doings,{column}")
    assert after.flips[column].notna().sum() >= 2


def test_a_column_of_remarks_is_not_taken_for_finishes(tmp_path: Path) -> None:
    rows = "desk,90,knob lost\ndesk,80,painted\ndesk,70,buyer late\n"
    assert not asked(read(tmp_path, "Type,Sold for,My doings\n" + rows), "heading")


MONTHS_OF_A_YEAR = (
    "My flips 2024\nType,Listed,Sold on,Sold for\ndesk,March,mid May,90\ndesk,late March,April,80\n"
    "desk,June,end of June,70\ndesk,Nov,Jan,60\ndesk,Oct,Jan 2025,50\ndesk,July,July,40\n"
)


def test_months_without_a_day_are_one_question_with_the_year_that_stands_above(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, MONTHS_OF_A_YEAR)
    assert found.flips["sold_on"].isna().all()
    months = asked(found, "months")
    assert [(q.text, q.options[0].meaning) for q in months] == [("2024", "2024")]
    assert not asked(found, "cell")


def test_answered_months_are_their_middles_and_what_that_puts_out_of_order_stays_asked(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, MONTHS_OF_A_YEAR, "months,2024,2024")
    sold, listed = (
        [str(d)[:10] if d == d else "" for d in found.flips[c]] for c in ("sold_on", "listed_on")
    )
    assert sold == ["2024-05-15", "2024-04-15", "2024-06-25", "", "2025-01-15", "2024-07-15"]
    assert listed[:3] == ["2024-03-15", "2024-03-25", "2024-06-15"]
    assert listed[5] == ""  # sold in the month it was listed: after how long is not told
    assert len(found.flips) == 6
    left = {q.text.split(": ", 1)[1] for q in asked(found, "cell")}
    assert left == {"sold on: Jan", "listed on: July"}
    assert not asked(found, "months")


def test_months_may_be_asked_one_by_one_or_left_out(tmp_path: Path) -> None:
    each = read(tmp_path, MONTHS_OF_A_YEAR, "months,2024,each")
    assert len(asked(each, "cell")) == 12
    none = read(tmp_path, MONTHS_OF_A_YEAR, "months,2024,nothing")
    assert not asked(none, "cell") and none.flips["sold_on"].isna().all()


def test_months_under_no_year_offer_the_last_three(tmp_path: Path) -> None:
    found = read(tmp_path, MONTHS_OF_A_YEAR.split("\n", 1)[1])
    assert [o.meaning for o in asked(found, "months")[0].options[:3]] == ["2026", "2025", "2024"]


REMARKS = (
    "Piece,Type,Listed,Asked,Sold on,Sold for,Comments\n"
    "A,hutch,2025-10-01,400,,,gave to my sister in the end\n"
    "B,desk,2026-03-01,260,2026-03-03,250,came back a week later\n"
    "C,chair,2026-03-01,60,2026-03-08,50,came back wobbly; fixed and resold\n"
    "D,desk,2026-04-01,200,2026-04-09,190,kept original hardware\n"
    "E,desk,2026-04-01,200,,,came back when the buyer moved\n"
)


def test_a_remark_of_a_gift_or_a_return_is_asked_about_once_and_acted_on_by_the_answer(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, REMARKS)
    assert found.flips["status"].tolist() == ["listed", "sold", "sold", "sold", "listed"]
    first = {q.text.split(":")[0]: q.options[0].meaning for q in asked(found, "cell")}
    assert first == {"A": "given away", "B": "on hand", "C": "right", "E": "on hand"}
    after = read(
        tmp_path,
        REMARKS,
        "cell,A: notes: gave to my sister in the end,given away",
        "cell,B: notes: came back a week later,on hand",
        "cell,C: notes: came back wobbly; fixed and resold,right",
        "cell,E: notes: came back when the buyer moved,right",
    )
    assert after.flips["status"].tolist() == ["withdrawn", "listed", "sold", "sold", "listed"]
    assert after.flips["outcome"][0] == "given away"
    assert after.flips["asking_price"].tolist() == [400, 260, 60, 200, 200]
    assert after.flips["sale_price"].isna().tolist() == [True, True, False, False, True]
    assert not asked(after, "cell")
    told = after.changes[after.changes["line"] == 3]
    assert dict(zip(told["column"], told["was"], strict=True))["sale_price"] == "250"
    assert after.past_sales["sale_price"].tolist() == [250]


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("donated", "given away"), ("kept it for the hall", "kept"), ("to the dump", "scrapped"),
        ("kept for our bedroom", "kept"), ("kept for the weekend sale", None),
        ("he brought it back", "on hand"), ("gave it two coats", None), ("she gave it to me", None),
        ("kept top wood", None), ("returned to original colour", None), ("sanded, took it back to bare wood", None),
        ("buyer came back next day and paid", None), ("free, given away by a neighbour", None),
        ("back 4/15", "on hand"), ("sanded back 2 coats", None), ("gave back the 460", "on hand"),
    ],
)  # fmt: skip
def test_what_a_remark_tells_of_the_piece(note: str, said: str | None) -> None:
    assert remark_said(note) == said


def test_a_remark_that_the_log_has_told_already_is_not_asked_about(tmp_path: Path) -> None:
    (tmp_path / "events.csv").write_text(
        "on,piece,event,amount,note\n2026-08-01,A,withdrawn,,gave it away\n", encoding="utf-8"
    )
    assert {q.text.split(":")[0] for q in asked(read(tmp_path, REMARKS), "cell")} == {*"BCE"}
