"""What a walk over shops kept by others found of sizes, their order and of words for woods and finishes, as tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.answering import answer_check
from fleetlib.records.files.headings import match_heading
from fleetlib.records.folder import Records, read_records
from tests.records.answered import AS_OF, asked, read

IN_CM = (
    "Item,W,D,H,Listed,Asked,Date sold,Sold for\n"
    "chest of drawers,92,45,98,29/09/24,£145,12/10/24,£135\n"
    "bedside cabinet,42,36,61,02/10/24,£95,05/10/24,£95\n"
    "desk,122,61,77,09/02/25,£195,23/03/25,£160\n"
    "side table,46,46,70,02/03/25,£60,15/03/25,£55\n"
    "bench,98,46,48,06/10/24,£110,17/11/24,£85\n"
    "wardrobe,118,50,196,08/10/24,£180,19/11/24,£170\n"
)


def widths(found: Records) -> list[float]:
    return found.flips["width_in"].tolist()


def test_sizes_that_speak_for_centimetres_are_one_question_of_all_rows(tmp_path: Path) -> None:
    found = read(tmp_path, IN_CM)
    (question,) = asked(found, "unit")
    assert "Are your sizes in centimetres?" in question.said
    assert question.options[0].meaning == "cm"
    assert not [q for q in asked(found, "cell") if "width" in q.text]
    after = read(tmp_path, IN_CM, "unit,,cm")
    assert widths(after) == [36.22, 16.54, 48.03, 18.11, 38.58, 46.46]
    assert after.settings.length_unit == "cm" and not asked(after, "unit")


def test_the_rows_left_are_asked_about_once_where_some_were_answered_one_by_one(
    tmp_path: Path,
) -> None:
    """Answers of rows that were given before the whole was asked leave none of the others in inches unsaid."""
    each = "cell,bench of 17 nov 2024: width: 98,cm"
    found = read(tmp_path, IN_CM, each)
    assert widths(found)[4] == 38.58
    (question,) = asked(found, "unit")
    assert "you answered that 1 are in centimetres" in question.said
    assert widths(read(tmp_path, IN_CM, each, "unit,,cm"))[4] == 38.58  # not made smaller twice


@pytest.mark.parametrize(
    ("rows", "asks"),
    [
        # Pounds and the usual centimetres of the kinds, none of which is beyond an inch size.
        ("nightstand,42,36,61,£60\nside table,46,46,70,£55\n", True),
        ("box,40,38,66,£60\n", True),  # nothing speaks for either but the money
        ("dresser,48,18,34,£60\ndesk,44,22,30,£55\n", False),  # inches, in pounds
        ("dresser,48,18,34,$60\ndesk,44,22,30,$55\n", False),
        ("box,40,38,66,$60\n", False),
        ("nightstand,42,36,61,$60\nside table,46,46,70,$55\n", True),
    ],
)
def test_the_unit_is_asked_where_kinds_or_habits_speak_for_centimetres(
    tmp_path: Path, rows: str, asks: bool
) -> None:
    assert bool(asked(read(tmp_path, f"Type,W,D,H,Sold for\n{rows}"), "unit")) == asks


STRAY = "Type,W,D,H,Sold for\n" + "dresser,48,18,34,$60\n" * 12
STRAY += "desk,122,61,77,$90\nchair,106,51,104,$80\n"


@pytest.mark.parametrize(
    ("answer", "read_as"), [("some", [48.03, 41.73]), ("in", [122, 106]), ("cm", [48.03, 41.73])]
)
def test_a_few_rows_in_another_unit_are_one_question_and_every_answer_settles_it(
    tmp_path: Path, answer: str, read_as: list[float]
) -> None:
    (question,) = asked(read(tmp_path, STRAY), "unit")
    assert question.options[0].meaning == "some" and "line 14, 15" in question.options[0].shown
    after = read(tmp_path, STRAY, f"unit,,{answer}")
    assert widths(after)[-2:] == read_as
    assert widths(after)[0] == (18.9 if answer == "cm" else 48)
    assert not asked(after, "unit") and not [q for q in asked(after, "cell") if "width" in q.text]


def test_an_answered_unit_goes_before_the_usual_sizes_of_the_kinds(tmp_path: Path) -> None:
    text = "Type,Size,Sold for\n" + "nightstand,45x36x66,£60\n" * 5
    assert widths(read(tmp_path, text))[0] == 17.72
    assert widths(read(tmp_path, text, "unit,,in"))[0] == 45


@pytest.mark.parametrize(
    ("heading", "order"),
    [
        ("WHD", "whd"),
        ("whd", "whd"),
        ("Size WHD", "whd"),
        ("Dims (WDH)", "wdh"),
        ("W x D x H", "wdh"),
        ("HxWxD", "hwd"),
        ("W\u00d7H\u00d7D (cm)", "whd"),
        ("LxWxH", "wdh"),
        ("LWH", "wdh"),
        ("B x D x H", "wdh"),
        ("BTH", "wdh"),
        ("LxPxH", "wdh"),
        ("L x P x A", "wdh"),
        ("HxBxT", "hwd"),
        ("width x height x depth", "whd"),
        ("Height by width by depth", "hwd"),
        ("length x width x height", "wdh"),
        ("Breite x Tiefe x H\u00f6he", "wdh"),
        ("H\u00f6jd x Bredd x Djup", "hwd"),
        ("Hoogte x Breedte x Diepte (cm)", "hwd"),
        ("Largeur x Profondeur x Hauteur", "wdh"),
        ("Alto x Ancho x Fondo", "hwd"),
        ("Size", ""),
    ],
)
def test_a_heading_that_spells_the_order_of_the_sides_is_the_order_of_its_cells(
    heading: str, order: str
) -> None:
    found = match_heading(heading)
    assert found is not None and found.column == "size"
    assert "".join(s[0] for s in found.order) == order


@pytest.mark.parametrize("heading", ["HDW", "Tall", "wxwxh", "Width x width x height", "PTD"])
def test_what_names_no_three_sides_is_no_order(heading: str) -> None:
    found = match_heading(heading)
    assert found is None or not found.order or heading == "HDW"


def test_three_letters_over_money_are_no_size(tmp_path: Path) -> None:
    found = read(tmp_path, "Type,HDW,Sold for\ndesk,12.50,$90\nchair,4.00,$60\n")
    assert "HDW" in found.flips and found.flips["width_in"].isna().all()


BOXES = "what,{},sold for\ndresser,34x42x18,$130\nbookcase,30x60x11,$80\narmoire,42x74x22,$90\n"
BOXES += "sideboard,62x33x18,$70\ncoffee table,46x17x24,$95\ndesk,44x30x22,$150\n"


@pytest.mark.parametrize(
    ("heading", "answer"),
    [
        ("WHD", ""),
        ("box", "size WxHxD"),
        ("box", "width x height x depth"),
        ("box", "size (WHD)"),
        ("Size", "size WxHxD"),
        ("Size (WxDxH)", "size WxHxD"),  # the answer goes before the heading
    ],
)
def test_an_order_is_read_from_the_heading_or_from_the_answer(
    tmp_path: Path, heading: str, answer: str
) -> None:
    (tmp_path / "flips.csv").write_text(BOXES.format(heading), encoding="utf-8")
    if answer:
        answer_check(tmp_path, [f"{heading}={answer}"])
    found = read_records(tmp_path, as_of=AS_OF)
    sides = found.flips[["width_in", "depth_in", "height_in"]]
    assert sides.iloc[1].tolist() == [30, 11, 60]
    assert not asked(found, "heading")


def test_the_orders_are_offered_the_one_that_suits_the_kinds_first(tmp_path: Path) -> None:
    found = read(tmp_path, BOXES.format("box"))
    (question,) = asked(found, "heading")
    assert question.options[0] == ("width x height x depth", "size WxHxD")
    assert {o.meaning for o in question.options} >= {"size WxDxH", "size HxWxD", "nothing"}
    for option in question.options:
        after = read(tmp_path, BOXES.format("box"), f"heading,box,{option.meaning}")
        assert not asked(after, "heading")
    with pytest.raises(BadQuestion, match="no column"):
        answer_check(tmp_path, ["box=size WxWxD"])


def test_two_headings_answered_to_be_one_column_are_said_where_they_differ(tmp_path: Path) -> None:
    text = "Type,Price,Tag,Sold on,Sold for\ndesk,90,120,2025-03-01,85\nchair,40,60,2025-04-01,35\n"
    both = ("heading,Tag,asking price", "heading,Price,asking price")
    said = [n for n in read(tmp_path, text, *both).notes if "You answered that" in n]
    assert len(said) == 1 and '"Tag" is carried along' in said[0]


WORDS_SHORT = (
    "what,wood,did,sold for\ndesk,mah,white,$130\nchair,mpl,strip/oil,$30\ndesk,cdr,black,$90\n"
    "bench,wal,navy eggshell,$70\nchair,chy,waxed,$45\ndesk,mah,waxed,$140\n"
)


def test_woods_cut_short_are_one_question_with_the_likeliest_meaning_of_each(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, WORDS_SHORT, "heading,did,finish")
    (question,) = asked(found, "words")
    assert not asked(found, "wood")
    assert question.options[0].meaning == "mahogany | maple | cedar | walnut | cherry"
    assert not [n for n in found.notes if n.startswith("Woods that are not known")]
    after = read(
        tmp_path,
        WORDS_SHORT,
        "heading,did,finish",
        f"words,{question.text},{question.options[0].meaning}",
    )
    woods = ["mahogany", "maple", "cedar", "walnut", "cherry", "mahogany"]
    assert after.flips["wood"].tolist() == woods and not asked(after, "words")


def test_one_word_of_a_list_can_be_answered_by_its_name_and_the_others_stay_asked(
    tmp_path: Path,
) -> None:
    read(tmp_path, WORDS_SHORT, "heading,did,finish")
    answer_check(tmp_path, ["mah=mahogany chy=cherry"])
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.flips["wood"].tolist()[0] == "mahogany" and found.flips["wood"][4] == "cherry"
    (question,) = asked(found, "words")
    assert question.text == "wood: mpl | cdr | wal"
    answer_check(tmp_path, ["1b"])  # one by one
    left = asked(read_records(tmp_path, as_of=AS_OF), "wood")
    assert [q.text for q in left] == ["cdr", "mpl", "wal"]
    assert left[0].options[0].meaning == "cedar" and "line 4: cdr" in left[0].said


def test_kinds_near_known_ones_or_cut_short_are_one_question(tmp_path: Path) -> None:
    text = "what,wood,sold for\ndrsr,oak,$130\ncof tbl,oak,$30\nbkcs,pine,$90\nns x2,pine,$70\n"
    (question,) = asked(read(tmp_path, text), "words")
    after = read(tmp_path, text, f"words,{question.text},{question.options[0].meaning}")
    assert after.flips["furniture_type"].tolist() == [
        "dresser",
        "coffee table",
        "bookcase",
        "nightstand",
    ]
    assert after.flips["pieces_in_lot"].tolist()[3] == 2
    assert not asked(after, "words") and not asked(after, "kind")


def test_a_list_of_words_with_another_number_of_meanings_is_refused(tmp_path: Path) -> None:
    found = read(tmp_path, WORDS_SHORT, "words,wood: mah | mpl,mahogany")
    assert any("each word must have one meaning" in n for n in found.notes)
    assert "mah" in found.flips["wood"].tolist()


@pytest.mark.parametrize(
    ("typed", "meant", "offered"),
    [
        ("black", "paint", ()),
        ("navy eggshell", "paint", ()),
        ("off white", "paint", ()),
        ("white", "white", ("paint",)),  # a whitewash, perhaps
        ("brown", "brown", ("paint",)),  # a stain may be so too
        ("base sage green, top waxed", None, ("paint", "wax")),
        ("off white eggshell, waxed tops", None, ("paint", "wax")),
        ("white/strip top", None, ("paint", "stripped")),
        ("strip/stain/poly", None, ("stain", "polyurethane", "stripped")),
        ("olie", "oil", ()),
        ("hout geolied", "oil", ()),
        ("gestript, was", "wax", ()),
        ("schellak", "shellac", ()),
        ("lak", None, ("lacquer", "paint")),
        ("it was painted", None, ("paint",)),  # formerly, perhaps: was is no Dutch wax there
    ],
)
def test_colours_and_more_words_for_finishes(
    tmp_path: Path, typed: str, meant: str | None, offered: tuple[str, ...]
) -> None:
    found = read(tmp_path, f'what,finish,sold for\ndesk,"{typed}",$130\n')
    assert found.flips["finish"][0] == (meant or typed)
    questions = asked(found, "finish")
    assert [o.meaning for q in questions for o in q.options][: len(offered)] == [*offered]
    assert bool(questions) == bool(offered)
    assert any("a colour alone was read as paint" in n for n in found.notes) == (meant == "paint")


def test_a_question_about_a_word_names_its_line_and_cell(tmp_path: Path) -> None:
    found = read(tmp_path, "what,sold for\nCampaign chest,$130\n")
    (question,) = asked(found, "kind")
    assert "line 2: Campaign chest" in question.said


ONE_OF_SEVERAL = (
    "what,paid,sold for,notes\nelm kitchen chair,£10 each,£110,three\noak desk,£30,£160,\n"
)


def test_the_price_of_one_piece_takes_a_count_for_an_answer(tmp_path: Path) -> None:
    found = read(tmp_path, ONE_OF_SEVERAL)
    (question,) = asked(found, "cell")
    assert [o.meaning for o in question.options] == [
        "2 pieces", "3 pieces", "4 pieces", "10", "nothing",
    ]  # fmt: skip
    assert question.options[1].shown == "3 pieces, 30 in all" and "5 pieces" in question.free
    n = found.to_answer.index(question) + 1
    answer_check(tmp_path, [f"{n}=5 pieces"])
    after = read_records(tmp_path, as_of=AS_OF)
    assert after.flips["buy_price"].tolist() == [50, 30]
    assert after.flips["pieces_in_lot"].tolist()[0] == 5
    assert not asked(after, "cell")
    three = f'cell,"{question.text}",3 pieces,'
    assert read(tmp_path, ONE_OF_SEVERAL, three).flips["buy_price"].tolist() == [30, 30]


@pytest.mark.parametrize("typed", ["35 p/s", "35 per stuk", "35 pro Stück", "35 each", "35 c/u"])
def test_the_price_of_one_in_other_languages_is_that_of_all_pieces_of_the_row(
    tmp_path: Path, typed: str
) -> None:
    found = read(tmp_path, f"what,asking,sold for\n4 stoelen,{typed},130\ndesk,90,80\n")
    assert found.flips["asking_price"].tolist() == [140, 90]


ALIKE = "what,wood,finish,W,D,H,paid,sold for\nchair,oak,oil,,,,20,90\nchair,oak,poly,,,,20,120\n"


@pytest.mark.parametrize(
    ("rows", "names"),
    [
        (ALIKE, ["oak chair paid 20, oil", "oak chair paid 20, polyurethane"]),
        (
            ALIKE.replace(",,,,20,90", ",18,18,36,20,90"),
            ["oak chair paid 20, 18x18x36", "oak chair paid 20"],
        ),
    ],
)
def test_rows_whose_columns_differ_are_told_apart(
    tmp_path: Path, rows: str, names: list[str]
) -> None:
    found = read(tmp_path, rows)
    assert found.flips["piece"].tolist() == names
    assert not asked(found, "rows") and not found.alike
    same = read(tmp_path, rows.replace("poly", "oil").replace(",18,18,36,", ",,,,"))
    assert len(asked(same, "rows")) == 1
    # One of them alone: its longer name is known again.
    (tmp_path / "flips.csv").write_text("\n".join(rows.split("\n")[:2]) + "\n", encoding="utf-8")
    logged = f'on,piece,event,amount,note\n2026-09-30,"{names[0]}",offer,70,\n'
    (tmp_path / "events.csv").write_text(logged, encoding="utf-8")
    again = read_records(tmp_path, as_of=AS_OF)
    assert again.events["piece"].tolist() == ["oak chair paid 20"]


def test_where_a_piece_stands_is_read_in_other_languages(tmp_path: Path) -> None:
    rows = (
        "1;stoel;5;20;verkocht;3-5-2025;30\n2;kast;10;60;te koop;;\n3;tafel;gratis;80;werkplaats;;\n"
        "4;bank;5;40;houden;;\n5;krukje;5;15;weggegeven;;\n6;kist;5;30;geruild;;\n7;bed;5;30;weggegooid;;\n"
    )
    found = read(
        tmp_path, f"Nr;Meubel;Inkoopprijs;Vraagprijs;Status;Verkocht op;Verkoopprijs\n{rows}"
    )
    assert not asked(found, "state")
    assert found.flips["outcome"].fillna("").tolist()[3:] == [
        "kept",
        "given away",
        "sold",
        "scrapped",
    ]
    assert found.flips["buy_price"].tolist()[2] == 0
    assert found.flips["status"].tolist()[:2] == ["sold", "listed"]


IN_MM = (
    "dresser,1200{0}450{0}800,90\nnightstand,450{0}400{0}600,40\ndesk,1200{0}600{0}750,90\n"
    "coffee table,1100{0}600{0}420,90\nbookcase,800{0}300{0}1800,80\n"
)


@pytest.mark.parametrize(("heading", "between"), [("Size", "x"), ("Width,Depth,Height", ",")])
def test_numbers_that_can_only_be_millimetres_are_read_so_and_told(
    tmp_path: Path, heading: str, between: str
) -> None:
    found = read(tmp_path, f"Kind,{heading},Sold for\n{IN_MM.format(between)}")
    assert widths(found) == [47.24, 17.72, 47.24, 43.31, 31.5]
    assert found.flips["depth_in"].tolist()[-1] == 11.81
    assert not asked(found, "unit") and found.settings.length_unit == "cm"
    assert any(" in mm" in n or "in millimetres" in n for n in found.notes)


def test_the_question_of_the_unit_counts_the_rows_that_name_none(tmp_path: Path) -> None:
    rows = "".join(f"box,{n}x60x75,90\n" for n in range(120, 126))
    found = read(tmp_path, f"Type,Size,Sold for\nbox,120x60x75 cm,90\n{rows}")
    (question,) = asked(found, "unit")
    assert question.said.startswith("The sizes of 6 pieces name no unit; others are in centimetres")
