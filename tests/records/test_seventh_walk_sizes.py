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
