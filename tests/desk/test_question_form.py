"""The form that asks about the record: buttons answer, a line takes another word, the demo is never written to."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import fleetlib as fl

AS_OF = date(2026, 9, 30)
TEXT = "Type,Price,Sold on\nbureau,90,2026-03-01\nbuffet,120/140,2026-04-02\n"


def parts(box: Any) -> list[Any]:
    return [box, *(p for child in getattr(box, "children", ()) for p in parts(child))]


def press(form: Any, label: str, nth: int = 0) -> None:
    [b for b in parts(form) if getattr(b, "description", "") == label][nth].click()


def said(form: Any) -> str:
    return " ".join(str(p.value) for p in parts(form) if isinstance(getattr(p, "value", None), str))


def shop(folder: Path) -> fl.Shop:
    (folder / "flips.csv").write_text(TEXT)
    (folder / "settings.toml").write_text("as_of = 2026-09-30\n")
    return fl.open_shop(folder)


def test_a_button_answers_and_the_question_is_gone(tmp_path: Path) -> None:
    one = shop(tmp_path)
    form = fl.question_form(one)
    assert "can be dresser or desk" in said(form) and "120/140" in said(form)
    press(form, "desk")
    press(form, "sideboard")
    assert one.flips["furniture_type"].tolist() == ["desk", "sideboard"]
    assert "can be dresser or desk" not in said(form) and "1 left to answer" in said(form)
    press(form, "140")
    assert one.flips["sale_price"].tolist() == [90, 140]
    assert "Nothing is left to ask" in said(form)
    assert len((tmp_path / "answers.csv").read_text().splitlines()) == 4


def test_another_word_is_taken_from_the_line_and_a_blank_one_is_not(tmp_path: Path) -> None:
    one = shop(tmp_path)
    form = fl.question_form(one)
    press(form, "Say so")
    assert "Write your own answer in the line first" in said(form)
    assert not (tmp_path / "answers.csv").exists()
    lines = [p for p in parts(form) if getattr(p, "description", "") == "or"]
    place = next(n for n, line in enumerate(lines) if line.placeholder == "the amount")
    lines[place].value = "$131.50"
    press(form, "Say so", place)
    assert one.flips["sale_price"].tolist() == [90, 131.5]


def test_the_demo_is_never_written_to() -> None:
    from fleetlib.base.kit import demo_folder

    before = {p.name: p.read_bytes() for p in demo_folder().iterdir() if p.is_file()}
    form = fl.question_form(fl.open_shop(demo_folder()))
    press(form, "120")
    assert "never written to" in said(form)
    assert {p.name: p.read_bytes() for p in demo_folder().iterdir() if p.is_file()} == before
