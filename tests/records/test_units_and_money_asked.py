"""A record that names neither unit nor money: taken where only one is left, asked about where its habits tell."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from fleetlib.records.asked.answers import Answers
from fleetlib.records.asked.question import Question
from fleetlib.records.cleaning.clean import CleanFlips, read_flips
from fleetlib.records.folder import read_records
from fleetlib.records.log.answers_file import read_answers
from fleetlib.records.piece import Piece

AS_OF = date(2026, 9, 30)
COMMAS = "Kind;Size;Sold for\ndresser;98x46x84;210,-\nbench;120x32x45;80,50\n"
COMMAS += "desk;120x60x76;165,-\nnightstand;42x35x60;70,-\n"


def read(folder: Path, text: str, answers: Answers | None = None) -> CleanFlips:
    (folder / "flips.csv").write_text(text, encoding="utf-8")
    return read_flips(folder / "flips.csv", as_of=AS_OF, answers=answers or Answers())


def asked(found: CleanFlips, about: str) -> Question | None:
    return next((q for q in found.to_answer if q.about == about), None)


def test_sizes_that_fit_centimetres_alone_are_shown_in_them_and_the_money_is_asked(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, COMMAS)
    assert found.settings.length_unit == "cm"
    assert found.flips["width_in"].round(1).tolist() == [38.6, 47.2, 47.2, 16.5]
    assert sum("in centimetres" in n for n in found.notes) == 1
    question = asked(found, "currency")
    assert question is not None and question.options[0].meaning == "EUR"
    assert asked(found, "unit") is None


def test_the_money_is_not_asked_where_a_sign_or_the_settings_say_it(tmp_path: Path) -> None:
    assert asked(read(tmp_path, COMMAS.replace("70,-", "70,- \u20ac")), "currency") is None
    (tmp_path / "settings.toml").write_text('currency = "PLN"\n')
    (tmp_path / "flips.csv").write_text(COMMAS, encoding="utf-8")
    records = read_records(tmp_path, as_of=AS_OF)
    assert records.settings.currency == "PLN" and not records.to_answer


def test_a_shop_in_inches_and_points_is_asked_neither(tmp_path: Path) -> None:
    found = read(tmp_path, "Kind,W,D,H,Sold for\ndresser,48,19,34,1250\ndesk,48,24,30,99.50\n")
    assert not found.to_answer and found.settings.length_unit == "in"
    read_so = read(tmp_path, "Kind,Size,Sold for\ndresser,48x19x34,1250\n")
    assert not read_so.to_answer and read_so.settings.length_unit == "in"


def test_sides_that_make_no_sense_in_inches_are_asked_about_and_the_answer_holds(
    tmp_path: Path,
) -> None:
    text = "Kind,W,D,H,Sold for\nsideboard,160,45,85,300\nnightstand,55,42,62,90\n"
    question = asked(read(tmp_path, text), "unit")
    assert question is not None and question.options[0].meaning == "cm"
    assert "those of 2 only make sense in centimetres" in question.said
    for meaning, wide in (("cm", 62.99), ("in", 160.0)):
        (tmp_path / "answers.csv").write_text(
            f"on,about,text,meaning\n2026-09-30,unit,,{meaning}\n"
        )
        after = read_records(tmp_path, as_of=AS_OF)
        assert after.flips["width_in"][0] == wide and after.settings.length_unit == meaning
        assert not any(q.about == "unit" for q in after.to_answer)
    (tmp_path / "answers.csv").write_text("on,about,text,meaning\n2026-09-30,unit,,yards\n")
    assert any("yards" in n for n in read_records(tmp_path, as_of=AS_OF).notes)
    assert read_answers(tmp_path).of("unit") == "yards"


def test_a_heading_in_centimetres_says_the_unit_of_the_shop(tmp_path: Path) -> None:
    found = read(tmp_path, "Kind,W (cm),Sold for\ndresser,98,$300\n")
    assert found.settings.length_unit == "cm"
    mixed = read(tmp_path, 'Kind,W,Sold for\ndresser,98 cm,$300\ndesk,"48""",$200\n')
    assert mixed.settings.length_unit == "in" and not mixed.to_answer


def test_a_piece_is_said_in_the_unit_of_the_shop() -> None:
    piece = Piece(furniture_type="desk", wood="oak", width_in=48, depth_in=24, height_in=30)
    assert str(piece) == "oak desk, 48 x 24 x 30 in"
    assert piece.said(unit="cm") == "oak desk, 122 x 61 x 76 cm"
