"""What a fifth walk over shops kept by others found: each finding as a test."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl
import pytest
from dateutil.easter import easter

from fleetlib.base.errors import BadQuestion
from fleetlib.books.accounts import accounts
from fleetlib.cli import main
from fleetlib.desk.answering import answer_check
from fleetlib.quarter.ageing import ageing
from fleetlib.records.asked.months import easter_sunday
from fleetlib.records.folder import read_records
from fleetlib.records.piece import piece_named
from fleetlib.records.report import check_report
from fleetlib.shop import open_shop
from tests.records.answered import AS_OF, asked, read

NOTED = (
    "Piece,Type,Listed,Asked,Sold on,Sold for,Comments\n"
    "A,desk,2026-10-01,640,,,dropped to 590 on 7/11\n"
    "B,desk,2025-03-01,340,2025-11-03,290,reduced from 340 to 310 in Oct\n"
    'C,desk,2025-03-01,320,2025-08-03,220,"came down twice, 280 and 250"\n'
    'D,desk,2025-03-01,320,2025-05-03,250,"came back 5/6, fixed it and resold 5/17 for 230"\n'
    "E,desk,2025-03-01,420,2025-05-03,350,delivery $40 included\n"
    'F,desk,2025-03-01,220,2025-05-03,200,"delivered it, $15 on top"\n'
    'G,desk,2026-03-01,220,,,"put $40 down 11/22, picks up next week"\n'
    'H,desk,2025-03-01,210,2025-06-03,190,"sanded down to 120 grit, $100 deposit 6/10, delivered 12 miles"\n'
)


def test_amounts_in_notes_are_asked_about_and_never_used_before(tmp_path: Path) -> None:
    found = read(tmp_path, NOTED)
    assert found.flips["last_asking_price"].isna().all()
    assert found.flips["delivery_charged"].isna().all()
    assert found.flips["sale_price"].tolist()[1:6] == [290, 220, 250, 350, 200]
    first = {q.text.split(": ")[0]: q.options[0].meaning for q in asked(found, "cell")}
    assert first == {"C": "250", "D": "230 on 2025-05-17", "E": "40 within", "F": "15"}
    assert "line 2: 590, line 3: 310" in asked(found, "remarks")[0].said  # the plain ones at once
    told = [n for n in found.notes if "deposit" in n]
    assert len(told) == 1
    assert told[0].endswith('fleetlib log "deposit G 40"')
    (tmp_path / "events.csv").write_text("on,piece,event,amount\n2026-11-22,G,deposit,40\n")
    assert not [n for n in read_records(tmp_path, as_of=AS_OF).notes if "deposit" in n]


def test_what_was_answered_of_amounts_in_notes_is_what_counts(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        NOTED,
        "remarks,price came down,read",
        'cell,"C: last asking price: came down twice, 280 and 250",280',
        'cell,"D: notes: came back 5/6, fixed it and resold 5/17 for 230",230 on 2025-05-17',
        "cell,E: delivery charged: delivery $40 included,40 within",
        'cell,"F: delivery charged: delivered it, $15 on top",15',
    )
    flips = found.flips.set_index("piece")
    assert flips["last_asking_price"].dropna().to_dict() == {"A": 590, "B": 310, "C": 280}
    assert flips["sale_price"].dropna().to_dict() == {
        **{"B": 290, "C": 220, "D": 230, "E": 310, "F": 200, "H": 190}
    }
    assert str(flips["sold_on"]["D"])[:10] == "2025-05-17"
    assert flips["delivery_charged"].dropna().to_dict() == {"E": 40, "F": 15}
    assert not asked(found, "cell")
    assert not asked(found, "remarks")
    was = found.changes[found.changes["why"] == "your answer, in answers.csv"]
    assert ("sale_price", "350", "310") in set(
        zip(was["column"], was["was"], was["now"], strict=True)
    )


@pytest.mark.parametrize(("answer", "about"), [("each", {"A", "B", "C"}), ("nothing", set())])
def test_cuts_in_notes_may_be_asked_one_by_one_or_left_alone(
    tmp_path: Path, answer: str, about: set[str]
) -> None:
    found = read(tmp_path, NOTED, f"remarks,price came down,{answer}")
    cells = {q.text.split(": ")[0] for q in asked(found, "cell") if "last asking" in q.text}
    assert cells == about
    assert found.flips["last_asking_price"].isna().all()


@pytest.mark.parametrize(
    ("typed", "count"),
    [
        ("Table gigogne (3)", None), ("Nest of 3 tables", None), ("set of 3 nesting tables", None),
        ("Nesting tables (3)", None), ("2 nests of tables", 2), ("pair of nests of tables", 2),
    ],
)  # fmt: skip
def test_a_nest_is_one_piece_however_many_tables_it_is_of(
    tmp_path: Path, typed: str, count: float | None
) -> None:
    flips = read(tmp_path, f"Type,Sold for\n{typed},90\ndesk,80\n").flips
    assert flips["furniture_type"][0] == "nest of tables"
    assert flips["pieces_in_lot"].dropna().tolist() == ([] if count is None else [count])


@pytest.mark.parametrize(
    ("typed", "finish"),
    [
        ("painted blush", "paint"), ("peinte gris perle", "paint"), ("cleaned and waxed", "wax"),
        ("stripped and waxed", "wax"), ("sanded back, oiled", "oil"), ("painted teal, gold handles", "paint"),
        ("stain and poly", None), ("legs painted", None), ("paint stripped, waxed", None), ("to be waxed", None),
        ("paint peeling", None), ("varnish scratched", None),
    ],
)  # fmt: skip
def test_a_finish_with_one_reading_left_is_used_and_one_with_two_is_asked_about(
    tmp_path: Path, typed: str, finish: str | None
) -> None:
    found = read(tmp_path, f'Type,Finish,Sold for\ndesk,"{typed}",90\ndesk,wax,80\n')
    assert found.flips["finish"][0] == (finish or typed)
    assert bool(asked(found, "finish")) == (finish is None)
    how = found.changes.set_index("column")["why"].get("finish", "")
    assert (how == "found in what was typed") == (finish is not None)


@pytest.mark.parametrize(
    ("shown", "currency"),
    [
        ('"\u00a3"#,##0', "GBP"), ("#,##0.00 [$\u20ac-407]", "EUR"), ("[$$-C09]#,##0", "AUD"), ("[$NOK] #,##0", "NOK"),
        ('0.0 "h"', "USD"),
    ],
)  # fmt: skip
def test_the_sign_in_a_workbooks_number_format_says_the_currency(
    tmp_path: Path, shown: str, currency: str
) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Type", "Paid", "Sold for"], ["desk", 20, 90], ["chair", 10, 45.5]):
        sheet.append(row)
    for cell in (*sheet["B"][1:], *sheet["C"][1:]):
        cell.number_format = shown
    book.save(tmp_path / "flips.xlsx")
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.settings.currency == currency
    assert found.flips["sale_price"].tolist() == [90, 45.5]
    assert not asked(found, "currency")


def test_a_shop_in_centimetres_reads_of_no_inches(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "".join(
        f"A{i},desk,{100 + 5 * i} x 50 x 75 cm,2026-0{i}-01,2026-0{i}-20,{90 + i}\n"
        for i in range(1, 9)
    )
    text = (
        "Piece,Type,Size,Listed,Sold on,Sold for\n"
        + rows
        + "B,desk,200 x 90 x 80 cm,2026-11-01,,\n"
    )
    read(tmp_path, text)
    assert main(["check", str(tmp_path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "105 x 50 x 75" in said
    assert "in inches" not in said
    assert main(["price", str(tmp_path), "--piece", "B"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "width 200 cm" in said
    assert "1.44 m\u00b3" in said  # 2 x 0.9 x 0.8 m
    assert "cu ft" not in said
    assert "in wide" not in said


def test_months_that_meet_and_feasts_are_asked_about_with_the_other_months(tmp_path: Path) -> None:
    text = (
        "My flips 2025\nType,Listed,Sold on,Sold for\ndesk,June/July,Sept,90\ndesk,1 Apr 2025,about Easter,80\n"
        "desk,Nov,around Christmas,70\n"
    )
    assert not asked(read(tmp_path, text), "cell")
    flips = read(tmp_path, text, "months,2025,2025").flips
    assert [str(d)[:10] for d in flips["listed_on"]] == ["2025-07-01", "2025-04-01", "2025-11-15"]
    assert [str(d)[:10] for d in flips["sold_on"]] == ["2025-09-15", "2025-04-20", "2025-12-25"]


def test_easter_is_where_a_general_library_has_it() -> None:
    assert all(easter_sunday(y) == easter(y) for y in range(1900, 2100))  # python-dateutil's


def test_a_piece_that_is_a_number_is_said_with_its_kind_and_a_size_in_centimetres_is_in_the_list(
    tmp_path: Path,
) -> None:
    text = "No,Type,Size,Sold for\n21,sideboard,183 x 44 x 74,120/140\n22,desk,48 x 24 x 30,90\n"
    found = read(tmp_path, text)
    said = [q.said for q in asked(found, "cell")]
    assert 'Line 2, piece 21 (sideboard): sale price is "120/140"' in said[0]
    assert "Line 2, piece 21 (sideboard): size is 183 x 44 x 74. These look like" in said[1]
    assert asked(found, "cell")[1].options[0].meaning == "cm"
    after = read(tmp_path, text, "cell,21: width: 183,cm")
    assert after.flips["width_in"].tolist() == [72.05, 48]  # 183 / 2.54
    assert after.flips["height_in"].tolist() == [29.13, 30]
    assert len(asked(after, "cell")) == 1


HEADED = (
    'Piece,Type,Timber & coat,Price,Sold\nA,desk,"oak, wax",90,80\n'
    'B,desk,"pine, painted",80,75\nC,desk,"oak, oil",70,65\n'
)


def test_several_headings_are_answered_in_one_and_one_column_may_be_the_wood_and_the_finish(
    tmp_path: Path,
) -> None:
    both = next(q for q in asked(read(tmp_path, HEADED), "heading") if q.text == "Timber & coat")
    assert both.options[0].meaning == "wood and finish"
    (tmp_path / "answers.csv").unlink()
    answer_check(tmp_path, ['price=asking price sold="sale price" Timber & coat=wood and finish'])
    flips = read_records(tmp_path, as_of=AS_OF).flips
    assert flips["asking_price"].tolist() == [90, 80, 70]
    assert flips["sale_price"].tolist() == [80, 75, 65]
    assert flips["wood"].tolist() == ["oak", "pine", "oak"]
    assert flips["finish"].tolist() == ["wax", "paint", "oil"]
    with pytest.raises(BadQuestion, match=r"Several at once: --answer \"Price=asking price"):
        answer_check(tmp_path, ["price=what I hoped for"])


def test_a_kind_answered_with_an_underscore_or_in_quotes_is_the_word_itself(tmp_path: Path) -> None:
    text = "Type,Sold for\ngizmo,90\nsofatisch,80\ndesk,80\n"
    read(tmp_path, text)
    answer_check(tmp_path, ['1=coffee_table 2="side table"'])
    assert read_records(tmp_path, as_of=AS_OF).flips["furniture_type"].tolist() == [
        *("coffee table", "side table", "desk")
    ]


def test_the_note_on_a_heading_goes_when_the_heading_was_answered(tmp_path: Path) -> None:
    text = "Type,Sold,Price\n" + "".join(f"desk,{n} dollars or so?,90\n" for n in "abc")
    note = "sold_on: 3 of 3 cells could not be read as dates; is the heading right?"
    assert note in read(tmp_path, text).notes
    assert note not in read(tmp_path, text, "heading,Sold,sold on").notes


LOTS = (
    "Lot,Article,Timber,Dressing,Outlay,Put out,Tag,Last tag,Left,Realised,Fate,Remarks\n"
    '24/01,"Chest, 4-drawer",map.,Fr. polish,nil,2025-02-03,185,165,2025-03-02,160,S,\n'
    '24/02,"Bedside tables, pr",wal.,"stain & poly",10,2025-02-03,185,170,2025-02-10,170,S,\n'
    '24/03,"Table, drop-leaf",cher.,stain/poly,60,2025-03-02,260,230,2025-04-20,225,R,refunded in full\n'
    "24/04,Trunk,mah.,wax,30,2025-05-02,150,150,,,G,to the grandson\n"
    "24/05,Secretary,oak,wax,85,,,,,,W,hinges to find\n"
    "\nFate: S sold; H in hand; W in the works; R returned by buyer; G given; K kept\n"
)
LOTS_TOLD = tuple(
    f"heading,{h},{m}"
    for h, m in (
        *(("Outlay", "buy price"), ("Put out", "listed on"), ("Left", "sold on")),
        *(("Realised", "sale price"), ("Dressing", "finish"), ("Last tag", "last asking price")),
    )
)


def test_letters_are_read_by_the_key_that_stands_in_the_file(tmp_path: Path) -> None:
    found = read(tmp_path, LOTS, *LOTS_TOLD)
    assert found.flips["status"].tolist() == ["sold", "sold", "listed", "withdrawn", "in work"]
    assert found.set_aside["reason"].tolist() == ["the key to your letters, not a piece"]
    assert any("R returned by buyer" in n for n in found.notes)
    assert not asked(found, "state")
    unknown = read(tmp_path, LOTS.replace("G given; K kept", "G green tag"), *LOTS_TOLD)
    assert "Fate" in unknown.flips  # a key with a word that says nothing is none


def test_a_tag_of_amounts_that_repeat_is_what_is_asked_and_a_lot_of_its_own_the_name(
    tmp_path: Path,
) -> None:
    flips = read(tmp_path, LOTS, *LOTS_TOLD).flips
    assert flips["piece"].tolist() == ["24/01", "24/02", "24/03", "24/04", "24/05"]
    assert flips["asking_price"].tolist()[:4] == [185, 185, 230, 150]  # up again at its last
    text = "Lot,Type,Tag,Sold for\n1,desk,101,90\n1,chair,102,80\n2,desk,103,70\n2,chair,104,60\n"
    flips = read(tmp_path, text).flips  # each its own tag, and lots of several pieces
    assert flips["piece"].tolist() == ["101", "102", "103", "104"]
    assert flips["bought_lot"].tolist() == ["1", "1", "2", "2"]


def test_short_forms_turned_words_pairs_and_nil_are_read_as_what_they_say(tmp_path: Path) -> None:
    found = read(tmp_path, LOTS, *LOTS_TOLD)
    flips = found.flips
    assert flips["wood"].tolist() == ["maple", "walnut", "cherry", "mahogany", "oak"]
    assert flips["furniture_type"].tolist()[:3] == [
        "chest of drawers",
        "nightstand",
        "dining table",
    ]
    assert flips["pieces_in_lot"].tolist()[1] == 2
    assert flips["buy_price"].tolist()[0] == 0
    assert flips["finish"][0] == "shellac"
    both = asked(found, "finish")
    assert [q.text for q in both] == ["stain and polyurethane"]  # one question, however it is typed
    assert "(2 pieces; line " in both[0].said
    after = read(tmp_path, LOTS, *LOTS_TOLD, "finish,stain and polyurethane,polyurethane")
    assert after.flips["finish"].tolist()[1:3] == ["polyurethane", "polyurethane"]
    assert not asked(after, "finish")


@pytest.mark.parametrize(
    ("typed", "kind", "count"),
    [
        ("pr nightstands", "nightstand", 2), ("chairs (set/4)", "chair", 4), ("chairs 4", "chair", 4),
        ("Nightstands - pair", "nightstand", 2), ("half dozen chairs", "chair", 6),
        ('"Chairs, dining (6)"', "chair", 6),
        ("chest of drawers 4", "chest of drawers", None), ("bookcase 2 doors", "bookcase", None),
        ("coffee table 2", "coffee table", None), ("nightstands pair maple poly", "nightstand", 2),
        ("Paire de fauteuils", "chair", 2), ("Set of 4 ladderback chairs", "chair", 4),
        ("armoire pair of doors", "armoire pair of doors", None),
        ("Coffee table glass top", "coffee table", None), ("Sideboard 1930s", "sideboard", None),
    ],
)  # fmt: skip
def test_counts_however_they_are_typed(
    tmp_path: Path, typed: str, kind: str, count: float | None
) -> None:
    flips = read(tmp_path, f"Type,Sold for\n{typed},90\ndesk,80\n").flips
    assert flips["furniture_type"][0] == kind
    assert flips["pieces_in_lot"].dropna().tolist() == ([] if count is None else [count])


def test_a_price_cell_that_tells_of_a_return_offers_that(tmp_path: Path) -> None:
    cell = "$225 23/11/25 came back 30/11/25"
    text = f"Piece,Type,Listed,Sold for\nA,desk,2025-11-01,{cell}\nB,desk,2025-11-01,90\n"
    question = asked(read(tmp_path, text), "cell")[0]
    assert question.options[0].meaning == "225, came back"
    after = read(tmp_path, text, f"cell,A: sale price: {cell},on hand")
    assert after.flips["status"].tolist() == ["listed", "sold"]


def test_material_over_woods_is_the_wood_and_a_sum_in_swedish_is_a_total(tmp_path: Path) -> None:
    text = "Type,Material,Supplies,Sold for\ndesk,oak,5,90\nchair,pine,4,80\nSumma,,9,170\n"
    found = read(tmp_path, text)
    assert found.flips["wood"].tolist() == ["oak", "pine"]
    assert found.flips["materials_cost"].tolist() == [5, 4]
    assert found.set_aside["reason"].tolist() == ["a line of totals, not a piece"]


def test_a_piece_is_spoken_of_in_the_owners_own_word_and_priced_by_ours(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "".join(f"A{i},dresser,oak,2026-0{i}-01,2026-0{i}-20,{90 + i},\n" for i in range(1, 9))
    text = "No,Type,Wood,Listed,Sold on,Sold for,Asking\n" + rows
    text += "B,China cabinet,walnut,2026-11-01,,,300\nC,Commode 3 tiroirs,oak,2026-11-01,,,200\n"
    text += "D,Night stand,oak,2026-11-02,,,80\n"
    found = read(tmp_path, text)
    assert found.flips["furniture_type"].tolist()[8:] == ["hutch", "chest of drawers", "nightstand"]
    pieces = [piece_named(found.flips, n) for n in "BCD"]
    assert [p.kind_said for p in pieces] == ["china cabinet", "commode", "nightstand"]
    assert pieces[0].what == "walnut china cabinet"
    assert main(["today", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "walnut china cabinet" in said
    assert "oak commode" in said
    assert main(["listing", "B", "--in", str(tmp_path)]) == 0
    assert "Walnut china cabinet" in capsys.readouterr().out
    shop = open_shop(tmp_path, as_of=date(2026, 11, 20))
    assert "walnut china cabinet" in ageing(shop.fits)["what"].tolist()
    listed = accounts(shop.records, start=date(2026, 10, 1), end=date(2026, 12, 31)).pieces(
        "listed"
    )
    assert "walnut china cabinet" in listed["what"].tolist()


def test_words_between_that_change_nothing_leave_the_kind_its_wood_and_its_finish(
    tmp_path: Path,
) -> None:
    text = 'Type,Sold for\noak end table stripped n poly,90\n"trunk, pine, painted and lined",80\n'
    flips = read(tmp_path, text).flips
    assert flips["furniture_type"].tolist() == ["side table", "trunk"]
    assert flips["wood"].tolist() == ["oak", "pine"]
    assert flips["finish"].tolist() == ["polyurethane", "paint"]


def test_the_check_shows_every_other_word_that_was_taken_for_a_kind(tmp_path: Path) -> None:
    found = read(tmp_path, "Type,Sold for\nrocker,90\nend table,80\nhope chest,70\nend table,60\n")
    rows = check_report(found).reworded.set_index("how")
    said = rows.loc["another word", "for example"]
    assert said == '"rocker" is chair; "end table" is side table; "hope chest" is trunk'
