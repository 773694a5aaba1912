"""What a walk over shops kept by others found of sizes, their order and of words for woods and finishes, as tests."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlib.records.folder import Records
from tests.records.answered import asked, read

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
