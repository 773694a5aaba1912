"""The first hour of a person with three sales: command line, form and notebook say one thing, and never nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib import cli
from tests.desk.test_forms import fill, inside, press, words

HEAD = "piece,furniture_type,wood,buy_price,hours,gut_price,listed_on,asking_price,sold_on,sale_price\n"
SALES = (
    "One,dresser,oak,60,9,320,2026-05-01,340,2026-05-20,310\n",
    "Two,nightstand,pine,15,4,110,2026-06-03,120,2026-06-09,105\n",
    "Three,desk,oak,40,7,230,2026-07-02,240,2026-08-14,215\n",
)
NEXT = "Next,sideboard,oak,70,8,420,,,,\n"


def folder(place: Path, sales: int, settings: str = "") -> Path:
    place.mkdir()
    (place / "flips.csv").write_text(HEAD + "".join(SALES[:sales]) + NEXT, encoding="utf-8")
    (place / "settings.toml").write_text(f"as_of = 2026-09-30\n{settings}", encoding="utf-8")
    return place


def test_the_three_ways_to_ask_give_one_answer_after_three_sales(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = folder(tmp_path / "shop", 3)
    shop = fl.open_shop(place)
    made = shop.advise("Next")
    assert made.estimate is not None
    low, high = (f"${round(v):,}" for v in (made.estimate.low, made.estimate.high))
    ask = f"${made.plan.table['asking_price'].iloc[0]:,.0f}"
    # How the range was come by, and what would narrow it most where it isn't written down, in a sentence each.
    said = " ".join(made.estimate.notes)
    assert "(3 public sources), since you have 3 sales" in said
    bare = shop.estimate(replace(shop.piece("Next"), gut_price=None))
    assert any(n.startswith("what to write down first: your own price") for n in bare.notes)
    assert made.estimate.high > 1.3 * made.estimate.low
    # A plan with dates and a lowest offer.
    assert made.plan.lowest_now > 0 and made.plan.ends_on > shop.fits.as_of

    assert cli.main(["price", str(place), "--piece", "Next"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    form = fl.price_form(shop)
    fill(form, onhand="Next")
    press(form, "price")
    shown = words(inside(form, "a-answer"))
    for answer in (printed, shown):
        assert low in answer and high in answer and ask in answer
        assert re.search(r"8 times out of 10", answer)


@pytest.mark.parametrize("sales", [0, 1])
def test_from_no_sale_on_there_is_a_wide_range_and_a_plan(tmp_path: Path, sales: int) -> None:
    shop = fl.open_shop(folder(tmp_path / "shop", sales))
    made = shop.advise("Next")
    assert made.estimate is not None
    assert made.estimate.low < 420 * 0.9 < made.estimate.high
    assert made.estimate.alone.high > 2 * made.estimate.alone.low  # called wide, and wide
    assert 0.7 * 420 < made.plan.table["asking_price"].iloc[0] < 1.5 * 420
    assert len(made.plan.table) >= 2 and made.plan.lowest_now > 0


def test_nothing_borrowed_is_said_and_the_plan_works_from_the_own_price(tmp_path: Path) -> None:
    made = fl.open_shop(folder(tmp_path / "shop", 3, "borrow = false\n")).advise("Next")
    assert made.estimate is None
    assert any("There are 3 sales with a price" in n for n in made.notes)
    assert made.plan.lowest_now > 0
