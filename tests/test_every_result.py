"""Every result of the public face renders, as text and as HTML, in shops of any size, and both say the same numbers."""

from __future__ import annotations

import html
import random
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pandas as pd
import pytest

import fleetlib as fl
from fleetlib.base.errors import FleetError
from fleetlib.quarter.quarter_review import QuarterReview
from fleetlib.week.piece import story
from fleetlib.week.tag import TagSheet

KINDS = (
    "dresser",
    "desk",
    "nightstand",
    "bookcase",
    "sideboard",
    "hutch",
    "bench",
    "trunk",
    "mirror",
    "stool",
)
WOODS, FINISHES = ("oak", "pine", "walnut", ""), ("oil", "wax", "milk paint", "")
AS_OF = date(2026, 9, 30)


def a_record(flips: int, kinds: int, seed: int) -> str:
    """A record of `flips` pieces of `kinds` kinds over two years, four fifths of them sold."""
    rng = random.Random(seed)
    rows = [
        "piece,type,wood,finish,paid,hours,bought on,listed on,asking,sold on,sale price,own price"
    ]
    for n in range(flips):
        bought = AS_OF - timedelta(days=rng.randrange(60, 730))
        listed = bought + timedelta(days=rng.randrange(1, 40))
        sold = listed + timedelta(days=rng.randrange(1, 60))
        price = rng.randrange(40, 900, 5)
        gone = rng.random() < 0.8 and sold <= AS_OF
        rows.append(
            f"P-{n + 1},{rng.choice(KINDS[:kinds])},{rng.choice(WOODS)},{rng.choice(FINISHES)},{rng.randrange(5, 120)},"
            f"{rng.randrange(2, 40) / 2},{bought},{listed},{price + rng.randrange(0, 60, 5)},"
            f"{sold if gone else ''},{price if gone else ''},{price if rng.random() < 0.5 else ''}"
        )
    return "\n".join(rows) + "\n"


def results(shop: fl.Shop) -> Iterator[tuple[str, Callable[[], object]]]:
    """Every question that can be asked of a shop, by its name."""
    quarters = shop.flips["sold_on"].dropna().dt.to_period("Q").astype(str).unique()
    asked = sorted(quarters) if len(shop.flips) <= 24 else sorted(quarters)[-2:]  # to save time
    for quarter in [*asked, "2020Q1"]:
        yield f"review {quarter}", lambda quarter=quarter: shop.review(quarter)
    for question in ("advise_all", "today", "earnings", "what_next", "days_and_space", "accuracy"):
        yield question, getattr(shop, question)
    find = fl.Piece(furniture_type="desk", wood="oak", buy_price=40.0)
    for question in ("estimate", "what_to_pay", "finish_choice", "plan", "advise"):
        yield f"{question} of a new piece", lambda question=question: getattr(shop, question)(find)
    yield from beside_the_questions(shop, find)
    for name in shop.flips.loc[shop.flips["status"] == "listed", "piece"].head(1):
        for question in ("estimate", "plan", "advise"):
            yield (
                f"{question} of {name}",
                lambda question=question, name=name: getattr(shop, question)(name),
            )


def beside_the_questions(
    shop: fl.Shop, find: fl.Piece
) -> Iterator[tuple[str, Callable[[], object]]]:
    """Results that other functions give: the check, the books, cautions, a tag, a listing, a piece's story, models."""
    records, flips = shop.records, shop.flips
    yield "check", lambda: fl.check_report(records)
    yield "records", lambda: records
    yield "flips as read", lambda: fl.read_flips(records.folder / "flips.csv")
    yield "cautions", lambda: fl.caution_sheet(find)
    yield "all cautions", fl.all_cautions
    yield "listing", lambda: fl.listing_text(find)
    planned = shop.plan(find)
    yield "tag", lambda: fl.price_tag(find, planned)
    yield "tags", lambda: TagSheet((fl.price_tag(find, planned),) * 2)
    finds = pd.DataFrame({"furniture_type": ["desk", "bench"], "buy_price": [40.0, 15.0]})
    yield "best buys", lambda: shop.best_buys(finds, cash=300.0, hours=20.0)
    yield "days to sell", lambda: fl.days_to_sell(flips)
    yield "selling time", lambda: shop.fits.selling
    if shop.fits.prices is not None:
        yield "price model", shop.fits.prices.regressor.summary
    yield "table shown", lambda: fl.show(flips[["piece", "furniture_type", "status"]].head(3))
    yield "benchmark", lambda: fl.benchmark("price")
    for name in flips["piece"].head(2):
        yield f"story of {name}", lambda name=name: story(records, name)


def numbers(text: str) -> set[str]:
    """The amounts and per cents in a text."""
    return set(re.findall(r"[$]\d[\d,]*(?:\.\d\d)?|\d+(?:\.\d+)?%", text))


def held_against_its_page(result: object) -> None:
    """A result's text and its HTML: both there, and every amount and per cent of the text on the page too."""
    text = str(result)
    page = result._repr_html_()  # type: ignore[attr-defined]
    assert text.strip()
    assert page.strip()
    assert not re.search(r"<th[^>]*>\s*</th>", page), "a heading is empty"
    said = html.unescape(re.sub(r"<style.*?</style>|<svg.*?</svg>|<[^>]*>", " ", page, flags=re.S))
    missing = numbers(text) - numbers(said)
    assert not missing, f"{type(result).__name__}: the text alone says {sorted(missing)[:5]}"


@pytest.mark.parametrize(
    ("flips", "kinds", "seed"),
    [
        (1, 1, 1),
        (3, 2, 2),
        (8, 3, 3),
        (24, 2, 4),
        (60, 5, 5),
        pytest.param(400, 10, 6, marks=pytest.mark.slow),
    ],
)
def test_every_result_renders_and_its_page_says_what_its_text_says(
    tmp_path: Path, flips: int, kinds: int, seed: int
) -> None:
    (tmp_path / "flips.csv").write_text(a_record(flips, kinds, seed))
    (tmp_path / "settings.toml").write_text(f"as_of = {AS_OF}\n")
    shop = fl.open_shop(tmp_path)
    answered = 0
    for name, ask in results(shop):
        try:
            result = ask()
        except (
            FleetError
        ) as refused:  # a question that this shop cannot answer yet is refused in a sentence
            assert str(refused).strip().endswith((".", "?", '"')), f"{name}: {refused}"
            continue
        answered += 1
        held_against_its_page(result)
        if isinstance(result, QuarterReview):
            for part in (result.books, result.reserve, result.past):
                held_against_its_page(part)
    assert answered >= 5
