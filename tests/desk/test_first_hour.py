"""The first hour of a person with three sales: command line, form and notebook say one thing, and never nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import fleetlib as fl
from fleetlib import cli
from tests.bench_ranges import World, draw_shop
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


def test_one_sale_more_never_moves_an_ask_by_more_than_its_own_doubt(tmp_path: Path) -> None:
    """From 0 to 8 sales, of a piece with an own price and of one without: the ask moves within the range before it."""
    made, _ = draw_shop(World("", known=1.0, own=0.15), 9, np.random.default_rng([31, 2]))
    flips = made.sort_values("sold_on").drop(
        columns=["style", "construction", "grade", "year_made"]
    )
    flips["asking_price"] = (flips["sale_price"] * 1.08).round()
    flips["piece"] = [f"P{i}" for i in range(len(flips))]
    asked = pd.DataFrame({"piece": ["Own", "Bare"], "furniture_type": "sideboard", "wood": "oak",
                          "gut_price": [420, None], "buy_price": [None, 60]})  # fmt: skip
    was: dict[str, tuple[float, float, float, float]] = {}
    for n in range(9):
        place = tmp_path / str(n)
        place.mkdir()
        pd.concat([flips.head(n), asked]).to_csv(place / "flips.csv", index=False)
        (place / "settings.toml").write_text("as_of = 2026-09-30\n", encoding="utf-8")
        shop = fl.open_shop(place)
        for name in ("Own", "Bare"):
            piece = shop.piece(name)
            told, ask = shop.estimate(piece), float(shop.plan(piece).table["asking_price"].iloc[0])
            assert told.low < told.mid < told.high
            if name in was:
                before, low, mid, high = was[name]
                assert low / mid < ask / before < high / mid, (n, name)
            was[name] = (ask, told.low, told.mid, told.high)


@pytest.mark.parametrize("sales", [0, 2])
def test_every_question_has_an_answer_from_the_first_piece_on(
    tmp_path: Path, sales: int, capsys: pytest.CaptureFixture[str]
) -> None:
    place = folder(tmp_path / "shop", sales)
    (place / "finds.csv").write_text(
        "piece,furniture_type,buy_price,gut_price\nF1,dresser,60,350\nF2,hutch,90,\n",
        encoding="utf-8",
    )
    commands = [["price"], ["price", "--piece", "Next"], ["review"], ["today"], ["buy"]]
    for command in (*commands, *([["earnings"], ["days"]] if sales else [])):
        assert cli.main([command[0], str(place), *command[1:]]) == 0
        said = capsys.readouterr().out
        assert "nan" not in said.casefold().split() and "cannot be judged" not in said
    found = fl.open_shop(place).best_buys(place / "finds.csv")
    assert (found.table["hours"] > 0).all()
    assert any("hours lean on trade guides" in note for note in found.notes)
