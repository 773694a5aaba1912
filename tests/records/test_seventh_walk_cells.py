"""What a seventh walk over shops kept by others found of cells, sizes and amounts: each finding as a test."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.answering import answer_check
from fleetlib.records.folder import Records, read_records
from fleetlib.records.parsing.sizes import split_sizes
from fleetlib.records.parsing.vocabulary import look_up
from fleetlib.records.piece import piece_from_row
from fleetlib.week.piece import story
from tests.records.answered import AS_OF, asked, read

WHAT = "what,paid,asked,sold for,sold\n"


def one(folder: Path, what: str) -> dict[str, object]:
    """The piece that stands first among others, read from a file in which `what` is all that is said of it."""
    others = "pine desk 42x20x30,20,150,140,2026-02-03\noak chair 18x18x36,5,40,35,2026-03-03\n"
    found = read(folder, f'{WHAT}"{what}",50,350,320,2026-01-06\n{others}')
    assert not asked(found, "kind")
    row = found.flips.iloc[0]
    return {str(c): None if pd.isna(v) else v for c, v in row.items()}


@pytest.mark.parametrize(
    ("what", "kind", "hours"),
    [
        ("oak dresser 6 drawers 54x18x32 sanded + poly, 8 hrs", "dresser", 8),
        ("maple hutch 15 hrs 48x17x74", "hutch", 15),
        ("mahogany secretary, shellac, 32x18x80, (16 1/2 hours)", "desk", 16.5),
        ("cherry sideboard 60x18x36 5.5 hr, waxed", "sideboard", 5.5),
        ("set of 4 pine chairs 12 hrs 18x18x36", "chair", 12),
        ("3 drawer oak nightstand, sanded and oiled, took 5 hrs", "nightstand", 5),
        ("pair of walnut end tables about 5 hrs for both", "side table", 5),
        ("kids dresser painted mint green, new knobs, 2 hrs work", "dresser", 2),
        ("rocking chair, re-caned, 1 hr 30 min", "chair", 1.5),
        ("pine bench, 45 min total", "bench", 0.75),
    ],
)
def test_hours_beside_a_kind_of_piece_are_read_and_listed(
    tmp_path: Path, what: str, kind: str, hours: float
) -> None:
    piece = one(tmp_path, what)
    assert (piece["furniture_type"], piece["hours"]) == (kind, hours)
    changes = read(tmp_path, (tmp_path / "flips.csv").read_text(encoding="utf-8")).changes
    listed = changes[(changes["column"] == "hours") & (changes["line"] == 2)]
    assert listed["why"].tolist() == ["the hours named in the type"]


@pytest.mark.parametrize(
    "what", ["oak desk 30-40 hrs", "oak desk 2 hrs away", "oak desk, 8 hrs, 9 hrs"]
)
def test_hours_of_two_readings_or_of_the_road_are_none_of_the_work(
    tmp_path: Path, what: str
) -> None:
    found = read(tmp_path, f'{WHAT}"{what}",50,350,320,2026-01-06\n')
    assert found.flips["hours"].isna().all()
    assert asked(found, "kind")[0].options[0].meaning == "desk"


def test_hours_of_their_own_column_stand_over_those_beside_the_kind(tmp_path: Path) -> None:
    rows = "oak desk 8 hrs,9,320,2026-01-06\npine desk 7 hrs,,140,2026-02-06\n"
    found = read(tmp_path, f"what,hours,sold for,sold\n{rows}")
    assert found.flips["hours"].tolist() == [9, 7]


@pytest.mark.parametrize(
    ("what", "kind", "wood", "finish"),
    [
        ("4 oak chairs reseated, waxed", "chair", "oak", "wax"),
        ("birch vanity and stool, painted pink", "vanity", "birch", "paint"),
        ("cherry dining table + leaf poly", "dining table", "cherry", "polyurethane"),
        ("cherry end table just cleaned and waxed", "side table", "cherry", "wax"),
        ("Bookcase, glazed, mahogany", "bookcase", "mahogany", None),
        ("Pedestal desk oak reglued", "desk", "oak", None),
        ("dresser, pine, 4 dr", "dresser", "pine", None),
        ("Oak mirror dresser", "dresser", "oak", None),
        ("walnut desk chair", "chair", "walnut", None),
        ("hutch, glass doors, oak", "hutch", "oak", None),
        ("arts and crafts oak sideboard", "sideboard", "oak", None),
        ("cedar chest stripped and oiled", "trunk", "cedar", "oil"),
        ("walnut cedar chest", "trunk", "walnut", None),
        ("armadio 2 ante", "armoire", None, None),
        ("toeletta con specchio", "vanity", None, None),
    ],
)
def test_a_known_kind_is_read_through_what_was_done_to_it_and_what_came_with_it(
    tmp_path: Path, what: str, kind: str, wood: str | None, finish: str | None
) -> None:
    piece = one(tmp_path, what)
    assert [piece[c] for c in ("furniture_type", "wood", "finish")] == [kind, wood, finish]


@pytest.mark.parametrize(
    ("what", "offered"),
    [
        ("walnut record cabinet oil", "cabinet"),
        ("dresser and nightstand", "dresser"),
        ("writing desk and chair", "desk"),
        ("nesting tables for vanity", "nest of tables"),
        ("hutch top only", "hutch"),
        ("desk, chair", "desk"),
        ("desk drawer", "desk"),
        ("kitchen hutch base", "hutch"),
    ],
)
def test_a_kind_in_doubt_is_asked_about_with_the_known_one_in_it_first(
    tmp_path: Path, what: str, offered: str
) -> None:
    found = read(tmp_path, f'{WHAT}"{what}",50,350,320,2026-01-06\n')
    assert asked(found, "kind")[0].options[0].meaning == offered


def test_a_kind_of_its_own_is_told_without_its_wood_and_finish_and_settles_the_others(
    tmp_path: Path,
) -> None:
    text = f'{WHAT}walnut record cabinet oil,50,350,320,2026-01-06\n"record cabinet, teak",9,90,80,2026-02-06\n'
    first, second = asked(read(tmp_path, text), "kind")
    assert {o.meaning for o in (first.options[1], second.options[1])} == {"record cabinet"}
    after = read(tmp_path, text, f'kind,"{first.text}",record cabinet')
    assert after.flips["furniture_type"].tolist() == ["record cabinet"] * 2
    assert after.flips["wood"].tolist() == ["walnut", "teak"] and not asked(after, "kind")


@pytest.mark.parametrize(
    "what",
    [
        "comodino (coppia)",
        "coppia di comodini",
        "paio di comodini",
        "par de mesillas",
        "nachtkastjes, paar",
    ],
)
def test_a_pair_in_other_languages_is_two(tmp_path: Path, what: str) -> None:
    piece = one(tmp_path, what)
    assert (piece["furniture_type"], piece["pieces_in_lot"]) == ("nightstand", 2)


def test_measures_in_words_beside_a_kind_are_its_size(tmp_path: Path) -> None:
    piece = one(tmp_path, "oak coffee table with the round top, 36 across 18 tall, stained dark")
    assert [piece[s] for s in ("width_in", "depth_in", "height_in")] == [36, 36, 18]
    assert (piece["furniture_type"], piece["finish"]) == ("coffee table", "stain")
    piece = one(tmp_path, "oak desk 44 wide and 30 tall")
    assert [piece["width_in"], piece["height_in"]] == [44, 30]


def test_one_size_beside_a_kind_is_read_where_no_column_holds_sizes(tmp_path: Path) -> None:
    rows = "".join(f"pine desk,20,150,140,2026-0{n}-03\n" for n in range(1, 8))
    found = read(tmp_path, f"{WHAT}oak bench 48x14x18,50,350,320,2026-01-06\n{rows}")
    assert (
        found.flips["width_in"].tolist()[0] == 48
        and found.flips["furniture_type"].iloc[0] == "bench"
    )


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("46 x 21 x 34 w/o mirror", "46 x 21 x 34"),
        ("42x18x30 (mirror not counted)", "42 x 18 x 30"),
        ("60x40x30 with leaf", "60 x 40 x 30"),
        ("36 across 18 tall", "36 x 36 x 18"),
        ("60 x 20 x 30 w/ mirror 66 h", ""),
        ("30 x 20 x 15 w", ""),
    ],
)
def test_what_is_not_counted_in_a_size_does_not_unsettle_it(typed: str, read_as: str) -> None:
    assert split_sizes([typed], unit="in").shown == [read_as]


def test_a_cedar_chest_is_of_cedar() -> None:
    assert look_up("furniture_type", "Cedar chest").wood == "cedar"
    assert look_up("furniture_type", "hope chest").wood == ""


def priced(folder: Path, column: str, *typed: str) -> Records:
    """A record in which only the column `column` of its pieces is typed in many ways."""
    rows = "".join(f'desk,P{n},2026-02-1{n},90,"{t}"\n' for n, t in enumerate(typed, 1))
    return read(folder, f"Type,Piece,Sold on,Sold for,{column}\n{rows}")


@pytest.mark.parametrize(
    ("typed", "first", "last"),
    [
        ("110 then 95", 110, 95),
        ("695, 640, 595", 695, 595),
        ("$1,200, then $1,100", 1200, 1100),
        ("120, 105", 120, 105),
        ("475 > 450 > 425", 475, 425),
        ("95 then 110", None, None),
        ("105, 120", None, None),
        ("650/595", None, None),
    ],
)
def test_prices_asked_one_after_the_other_are_the_first_and_the_last(
    tmp_path: Path, typed: str, first: float | None, last: float | None
) -> None:
    row = priced(tmp_path, "Asked", "300", typed).flips.iloc[1]
    got = [None if pd.isna(row[c]) else row[c] for c in ("asking_price", "last_asking_price")]
    assert got == [first, last]


def test_no_sum_and_no_week_is_offered_as_a_price_asked(tmp_path: Path) -> None:
    typed = ("350, lowered to 325 and 300", "350->300 after 2 wks")
    for q in asked(priced(tmp_path, "Asked", "300", *typed), "cell"):
        assert q.options[0].meaning == "350 now 300"


def test_an_answer_holds_the_first_price_asked_and_the_last(tmp_path: Path) -> None:
    open_one = asked(priced(tmp_path, "Asked", "300", "$650/$595", "$720/$600"), "cell")
    assert open_one[0].options[0].shown == "650 first, 595 last"
    answer_check(tmp_path, ["1a", "2=700, 640, 600"])
    after = read_records(tmp_path, as_of=AS_OF)
    assert after.flips["asking_price"].tolist() == [300, 650, 700]
    assert after.flips["last_asking_price"].tolist()[1:] == [595, 600]
    assert not [q for q in after.to_answer if "asking price" in q.text]


def test_two_prices_under_the_last_price_asked_are_the_last_beside_the_first_one_of_the_row(
    tmp_path: Path,
) -> None:
    text = (
        'Type,Asked,Last asking price,Sold for,Sold on\nhutch,525,"475, then 425",410,2026-02-02\n'
    )
    row = read(tmp_path, text).flips.iloc[0]
    assert [row["asking_price"], row["last_asking_price"]] == [525, 425]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("140 (bank transfer)", 140),
        ("$50 both", 50),
        ("$180 for all", 180),
        ("free (curb)", 0),
        ("free/roadside", 0),
        ("ten bucks", 10),
        ("two hundred and fifty", 250),
        ("forty-five", 45),
        ("$5 yard sale", 5),
        ("35 - estate sale", 35),
        ("12 at the flea market", 12),
        ("auction 45", 45),
        ("had it already", 0),
        ("$40 + tax", None),
        ("$30 w/ chair", None),
        ("2 cans", None),
        ("60 cash, talked down from 80", None),
        ("140 (deposit)", None),
        ("140 (she traded a lamp)", None),
        ("four eighty", None),
        ("110 then 95", None),  # two payments, or one that came down
    ],
)
def test_what_stands_beside_one_amount_and_changes_nothing_leaves_it_one(
    tmp_path: Path, typed: str, meant: float | None
) -> None:
    paid = priced(tmp_path, "Paid", "30", typed).flips["buy_price"].iloc[1]
    assert (None if pd.isna(paid) else paid) == meant


def test_what_was_spent_is_read_behind_what_it_was_spent_on_and_added_up_to_be_offered(
    tmp_path: Path,
) -> None:
    found = priced(
        tmp_path, "Materials", "foam and fabric 36", "paint: $12.50", "sandpaper $6, poly $14", "30"
    )
    assert found.flips["materials_cost"].fillna(-1).tolist() == [36, 12.5, -1, 30]
    assert [o.meaning for o in asked(found, "cell")[0].options][:3] == ["20", "6", "14"]


@pytest.mark.parametrize(
    ("typed", "likely"), [("40 + 10 gas", "50"), ("$1 40", "140"), ("four eighty", "480")]
)
def test_the_likeliest_amount_is_offered_first(tmp_path: Path, typed: str, likely: str) -> None:
    found = priced(tmp_path, "Paid", "30", typed)
    assert asked(found, "cell")[0].options[0].meaning == likely


ROWS_OF_DAYS = "Type,Bought on,Listed on,Sold on,Sold for\n"


def of_days(found: Records) -> list[list[str]]:
    columns = ("bought_on", "listed_on", "sold_on")
    return [[str(row[c])[:10] for c in columns] for _, row in found.flips.iterrows()]


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("8 Nov 2025,6 Dec,10 Jan", ["2025-11-08", "2025-12-06", "2026-01-10"]),
        ("Nov 8 25,Dec 6,Jan 10", ["2025-11-08", "2025-12-06", "2026-01-10"]),
        ("2 Mar,20 Mar,2025-04-03", ["2025-03-02", "2025-03-20", "2025-04-03"]),
        ("20 Dec,5 Jan 2026,", ["2025-12-20", "2026-01-05", "NaT"]),
        ("2025-01-05,30 Nov,", ["2025-01-05", "NaT", "NaT"]),  # so long after, it may be the next
        ("2026-06-05,30 May,", ["2026-06-05", "NaT", "NaT"]),
        ("5 May,30 May,", ["NaT", "NaT", "NaT"]),
    ],
)
def test_a_known_day_of_a_row_tells_the_year_of_its_others(
    tmp_path: Path, typed: str, read_as: list[str]
) -> None:
    found = read(tmp_path, f"{ROWS_OF_DAYS}dresser,{typed},90\n")
    assert of_days(found) == [read_as]
    whys = found.changes.loc[found.changes["why"].str.contains("other days of its row"), "now"]
    days = zip(read_as, typed.split(","), strict=True)
    assert set(whys) == {d for d, t in days if d != "NaT" and not re.search(r"20\d\d| 25$", t)}


@pytest.mark.parametrize("typed", ["12/20/25,1/3,2/1", "12/20/25,Jan 3,Feb 1"])
def test_the_days_of_a_row_stand_over_those_of_the_rows_around_it(
    tmp_path: Path, typed: str
) -> None:
    beside = "chair,3/25/25,3/30/25,4/20/25,40\n"
    found = read(tmp_path, f"{ROWS_OF_DAYS}desk,{typed},90\n{beside}")
    assert of_days(found)[0] == ["2025-12-20", "2026-01-03", "2026-02-01"]
    assert not len(found.set_aside) and not found.to_answer
    told = found.changes[found.changes["line"] == 2]
    assert told["now"].tolist() == ["2025-12-20", "2026-01-03", "2026-02-01"]


def test_one_answer_settles_the_days_of_its_row(tmp_path: Path) -> None:
    text = f"{ROWS_OF_DAYS}vanity,late summer,Sept 20,Oct 18,275\n"
    before = asked(read(tmp_path, text), "cell")
    assert [q.text.split(": ")[1] for q in before] == ["bought on"]
    answer_check(tmp_path, ["1=2025-08-30"])
    after = read_records(tmp_path, as_of=AS_OF)
    assert of_days(after) == [["2025-08-30", "2025-09-20", "2025-10-18"]]
    assert not asked(after, "cell")


def test_a_month_is_an_answer_where_the_day_is_not_known(tmp_path: Path) -> None:
    text = f"{ROWS_OF_DAYS}desk,April 2026,2026-05-02,2026-05-09,335\nbench,in the spring,2026-05-02,2026-06-09,35\n"
    bench, first = asked(read(tmp_path, text), "cell")
    assert (
        first.options[0].meaning == "2026-04-15" and first.options[0].shown == "about 15 Apr 2026"
    )
    answer_check(tmp_path, ["2=April 2026", "1=last week of April 2026"])
    after = read_records(tmp_path, as_of=AS_OF)
    assert [d[0] for d in of_days(after)] == ["2026-04-15", "2026-04-27"]
    assert bench.options[0].meaning == "nothing"


def test_months_that_name_their_year_are_one_question_of_the_day_alone(tmp_path: Path) -> None:
    text = f"{ROWS_OF_DAYS}desk,April 2026,2026-05-02,2026-05-09,335\nbench,last week of Oct 2025,2026-05-02,,\n"
    (question,) = asked(read(tmp_path, text), "months")
    assert question.options[0].shown == "the middle of the month (early: the 5th, late: the 25th)"
    after = read(tmp_path, text, f"months,,{question.options[0].meaning}")
    assert [d[0] for d in of_days(after)] == ["2026-04-15", "2025-10-27"]


def test_one_answer_that_cannot_be_read_does_not_lose_the_others(tmp_path: Path) -> None:
    text = "Type,Sold for,Paid\ndesk,90 or 80,about a lot\nbench,9 or 8,20\n"
    assert len(asked(read(tmp_path, text), "cell")) == 3
    with pytest.raises(BadQuestion, match=r"no answer to .* The other 2 answers were written"):
        answer_check(tmp_path, ["1a", "2=plenty", "3a"])
    kept = (tmp_path / "answers.csv").read_text(encoding="utf-8")
    assert kept.count("\n") == 3 and "plenty" not in kept
    with pytest.raises(BadQuestion, match=r"is no answer: .* Nothing was written"):
        answer_check(tmp_path, ["1a", "9a"])


@pytest.mark.parametrize("heading", ["Pezzo", "thing", "Piece", "that which I did up"])
def test_a_column_full_of_known_kinds_is_the_kind_without_a_question(
    tmp_path: Path, heading: str
) -> None:
    rows = "oak desk,2025-03-01,85\npine chair,2025-04-01,35\nTotals,,120\nvanity,2025-05-01,60\nbench,2025-06-02,70\n"
    found = read(tmp_path, f"{heading},Sold on,Sold for\n{rows}")
    assert found.flips["furniture_type"].tolist() == ["desk", "chair", "vanity", "bench"]
    assert not asked(found, "heading")


def test_kinds_in_half_of_a_column_or_in_two_are_asked_about(tmp_path: Path) -> None:
    half = "thing,Sold on,Sold for\noak desk,2025-03-01,85\nthe blue one,2025-04-01,35\npine chair,2025-05-01,60\n"
    assert [q.text for q in asked(read(tmp_path, half), "heading")] == ["thing"]
    two = "thing,which,Sold on,Sold for\noak desk,chair,2025-03-01,85\nbench,desk,2025-04-01,35\n"
    assert asked(read(tmp_path, two), "heading")


@pytest.mark.parametrize(
    ("heading", "sides"),
    [
        ("Misure LxPxH (cm)", [110, 50, 95]),
        ("Ma\u00dfe BxTxH (cm)", [110, 50, 95]),
        ("HxWxD (cm)", [50, 95, 110]),
    ],
)
def test_the_order_of_sides_is_read_in_other_languages(
    tmp_path: Path, heading: str, sides: list[float]
) -> None:
    found = read(tmp_path, f"Type,{heading},Sold for\ndesk,110x50x95,90\n").flips.iloc[0]
    got = [round(2.54 * float(found[c])) for c in ("width_in", "depth_in", "height_in")]
    assert got == sides


def test_a_finish_of_two_meanings_in_another_language_is_asked_about(tmp_path: Path) -> None:
    text = "Type,Finish,Wood,Sold for\nscrivania,verniciata bianca,castagno,90\ncomodino,vernice trasparente,noce,40\n"
    found = read(tmp_path, text)
    assert [o.meaning for o in asked(found, "finish")[0].options][:2] == ["paint", "varnish"]
    assert found.flips["finish"].tolist()[1] == "varnish"
    assert found.flips["wood"].tolist() == ["chestnut", "walnut"]


@pytest.mark.parametrize(
    ("typed", "finish"),
    [
        ("haven't touched it", None),
        ("cleaned up", None),
        ("reupholstered", None),
        ("not started yet", None),
        ("cleaned & waxed", "wax"),
        ("reupholstered, painted", "paint"),
        ("scorched", "scorched"),
    ],
)
def test_work_that_is_no_finish_is_left_out_of_the_finishes_and_listed(
    tmp_path: Path, typed: str, finish: str | None
) -> None:
    found = read(tmp_path, f'Type,Finish,Sold for\ndesk,"{typed}",90\nchair,wax,40\n')
    got = found.flips["finish"].iloc[0]
    assert (None if pd.isna(got) else got) == finish
    listed = found.changes[(found.changes["column"] == "finish") & (found.changes["line"] == 2)]
    assert len(listed) == (finish != "scorched")


def test_the_wood_of_a_piece_is_not_said_twice(tmp_path: Path) -> None:
    text = f"{WHAT}oak whatnot dresser,50,350,320,2026-01-06\ncedar chest,50,350,,\n"
    found = read(tmp_path, text, "kind,oak whatnot dresser,dresser")
    said = [piece_from_row(row).said() for _, row in found.flips.iterrows()]
    assert "oak whatnot dresser" in said[0] and "oak oak" not in said[0]
    assert "cedar chest" in said[1] and "cedar cedar" not in said[1]


@pytest.mark.parametrize(("unit", "width"), [("in", "42 in"), ("cm", "107 cm")])
def test_the_story_of_a_piece_says_its_sides_in_the_unit_of_the_shop(
    tmp_path: Path, unit: str, width: str
) -> None:
    (tmp_path / "settings.toml").write_text(f'length_unit = "{unit}"\n', encoding="utf-8")
    typed = "42" if unit == "in" else "106.7"
    found = read(tmp_path, f"Piece,Type,Width ({unit}),Sold for\nA-1,desk,{typed},90\n")
    known = story(found, "A-1").known
    assert known.loc[known["what"] == "width", "value"].tolist() == [width]


def test_years_are_asked_about_once_it_is_said_which_columns_hold_the_other_days(
    tmp_path: Path,
) -> None:
    rows = "desk,2025-11-08,Jan 10,480\nbench,2025-08-30,Oct 18,275\nchair,2026-03-01,Apr 18,90\n"
    text = f"Type,when I got it,Sold on,Sold for\n{rows}"
    assert [q.about for q in read(tmp_path, text).to_answer] == ["heading"]
    after = read(tmp_path, text, "heading,when I got it,bought on")
    assert [d[2] for d in of_days(after)] == ["2026-01-10", "2025-10-18", "2026-04-18"]
    assert not after.to_answer
    carried = read(tmp_path, text, "heading,when I got it,nothing")
    assert [q.about for q in carried.to_answer] == ["year"]


def test_two_days_of_one_cell_are_offered_as_two(tmp_path: Path) -> None:
    found = read(tmp_path, "Type,Listed on,Sold for\ndesk,2/19 or 2/26,90\nchair,2026-03-01,40\n")
    assert [o.meaning for o in asked(found, "cell")[0].options] == ["2/19", "2/26", "nothing"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("200 (balance)", None),
        ("150 (first payment)", None),
        ("$150 (1st of two)", None),
        ("100 (part payment)", None),
        ("90 (installment)", None),
        ("80 (rest due Friday)", None),
        ("120 (so far)", None),
        ("210 (paypal)", 210),
        ("210 (credit card)", 210),
        ("210 (porch pickup)", 210),
    ],
)
def test_a_part_payment_is_not_taken_for_the_price(
    tmp_path: Path, typed: str, meant: float | None
) -> None:
    rows = f"desk,2026-02-10,90\nchair,2026-02-11,{typed}\n"
    found = read(tmp_path, f"Type,Sold on,Sold for\n{rows}")
    price = found.flips["sale_price"].iloc[1]
    assert (None if pd.isna(price) else price) == meant
    assert bool(asked(found, "cell")) == (meant is None)


@pytest.mark.parametrize(
    ("typed", "is_sold"),
    [
        ("trade pending", False),
        ("swap offered", False),
        ("trade, maybe", False),
        ("traded for a lathe", True),
        ("swap with a neighbour", True),
    ],
)
def test_a_trade_that_was_only_talked_of_is_no_sale(
    tmp_path: Path, typed: str, is_sold: bool
) -> None:
    head = "Type,Bought,Listed,Sold on,Sold for\n"
    rows = f'desk,2026-01-02,2026-01-10,2026-02-10,90\nchair,2026-01-03,2026-01-11,,"{typed}"\n'
    found = read(tmp_path, head + rows)
    assert found.flips["status"].tolist() == ["sold", "sold" if is_sold else "listed"]
    assert bool(asked(found, "cell")) == (not is_sold)


@pytest.mark.parametrize(
    ("what", "kind", "hours"),
    [
        ("dresser (12h)", "dresser", 12),
        ("pair of nightstands (6h)", "nightstand", 6),
        ("coffee table (2h sanding)", "coffee table", 2),
        ("dresser 12h", "dresser", 12),
        ("dresser 12 h", "dresser", 12),
        ("4h coffee table", "coffee table", 4),
        ("coffee table - 3h30", "coffee table", 3.5),
        ("desk [5 hrs]", "desk", 5),
        ("oak dresser (about 8 hrs of sanding)", "dresser", 8),
    ],
)
def test_hours_in_brackets_or_glued_to_their_letter_are_read(
    tmp_path: Path, what: str, kind: str, hours: float
) -> None:
    piece = one(tmp_path, what)
    assert (piece["furniture_type"], piece["hours"]) == (kind, hours)


@pytest.mark.parametrize(
    ("what", "typed"),
    [
        ("desk (3-4 hrs)", "3-4 hrs"),
        ("desk (30h)", "30h"),
        ("desk [3 to 4 hours]", "3 to 4 hours"),
        ("desk (3 - 4 h)", "3 - 4 h"),
        ("desk (8 hrs, 9 hrs)", "8 hrs, 9 hrs"),
    ],
)
def test_hours_of_two_readings_beside_a_kind_are_asked_about(
    tmp_path: Path, what: str, typed: str
) -> None:
    text = f'{WHAT}"{what}",50,350,320,2026-01-06\nchair,5,40,35,2026-03-03\n'
    found = read(tmp_path, text)
    assert found.flips["furniture_type"].tolist()[0] == "desk"
    (question,) = asked(found, "cell")
    assert f'hours is "{typed}"' in question.said
    answer_check(tmp_path, ["1=3.5"])
    after = read_records(tmp_path, as_of=AS_OF)
    assert after.flips["hours"].tolist()[0] == 3.5 and not asked(after, "cell")


@pytest.mark.parametrize(
    "what", ["oak desk 60w 30d 12h", "oak desk 60x30x12h", "oak desk 2 hrs away"]
)
def test_a_height_or_a_drive_is_no_hours_of_work(tmp_path: Path, what: str) -> None:
    text = f'{WHAT}"{what}",50,350,320,2026-01-06\nchair,5,40,35,2026-03-03\n'
    found = read(tmp_path, text)
    assert found.flips["hours"].isna().all()
    assert not [q for q in asked(found, "cell") if "hours" in q.text]


TRADE = "Piece,Kind,Bought,Paid,Listed,Asking,Sold on,Sold for"
SALES = (
    "P-1,dresser,2026-01-05,60,2026-02-01,320,2026-02-20,300",
    "P-2,nightstand,2026-01-08,15,2026-02-03,90,2026-02-25,80",
    "P-3,desk,2026-01-09,25,2026-02-04,190,2026-02-27,180",
    "P-4,desk,2026-01-10,25,2026-02-04,190,,",
    "P-5,chair,2026-01-11,5,2026-02-06,60,2026-03-09,50",
    "P-6,chair,2026-01-12,7,2026-02-06,60,,",
)


def trade(folder: Path, column: str, *cells: str) -> Records:
    """Six pieces, of which two are unsold, with one column more."""
    rows = "\n".join(f"{row},{cell}" for row, cell in zip(SALES, cells, strict=True))
    return read(folder, f"{TRADE},{column}\n{rows}\n")


def test_letters_of_where_a_piece_stands_are_asked_about_whatever_their_case(
    tmp_path: Path,
) -> None:
    open_ones = asked(trade(tmp_path, "Status", *"SSSLsK"), "state")
    assert {q.text: q.options[0].meaning for q in open_ones} == {"K": "kept", "L": "on hand"}


def test_a_column_of_yes_and_no_beside_the_sale_says_whether_it_sold(tmp_path: Path) -> None:
    found = trade(tmp_path, "Sold?", "Y", "Y", "Y", "N", "Y", "n")
    assert not found.to_answer and not [n for n in found.notes if "withdrawn" in n]
    assert found.flips["status"].tolist() == ["sold", "sold", "sold", "listed", "sold", "listed"]


def test_a_word_beside_a_day_is_what_a_state_most_likely_means(tmp_path: Path) -> None:
    typed = ("Sold", "Sold", "Sold", "Listed 10/10", "Sold", "Kept on 11/2")
    open_ones = asked(trade(tmp_path, "Status", *typed), "state")
    assert [q.options[0].meaning for q in open_ones] == ["kept", "on hand"]


@pytest.mark.parametrize("typed", ["0", "$0.00", "0,00"])
def test_a_sale_for_nothing_may_have_been_given_away(tmp_path: Path, typed: str) -> None:
    text = f'Type,Piece,Sold on,Sold for\ndesk,P1,2026-02-11,90\ndesk,P2,2026-02-12,"{typed}"\n'
    found = read(tmp_path, text)
    assert [o.meaning for o in asked(found, "cell")[0].options][:2] == ["given away", "no price"]


def test_headings_without_their_vowels_are_asked_about_as_what_they_shorten(
    tmp_path: Path,
) -> None:
    text = (
        "Piec,Kind,Wood,Bght,Pd,Lstd,Askng,Sld on,Sld for,Hrs\n"
        "D-1,dresser,oak,2026-01-05,60,2026-02-01,320,2026-02-20,300,12\n"
        "N-1,nightstand,pine,2026-01-08,15,2026-02-03,90,2026-02-25,80,4\n"
        "C-1,coffee table,walnut,2026-02-02,40,2026-03-01,220,2026-03-15,200,8\n"
        "E-1,desk,oak,2026-02-04,45,2026-03-02,240,2026-03-19,240,9\n"
    )
    assert {q.text: q.options[0].meaning for q in asked(read(tmp_path, text), "heading")} == {
        "Piec": "piece",
        "Bght": "bought on",
        "Pd": "buy price",
        "Lstd": "listed on",
        "Askng": "asking price",
        "Sld on": "sold on",
        "Sld for": "sale price",
    }


def test_a_heading_that_begins_the_name_of_a_piece_is_no_other_column(tmp_path: Path) -> None:
    found = trade(tmp_path, "Piec", *"ABCDEF")
    assert not asked(found, "heading")  # the names stand in Piece
