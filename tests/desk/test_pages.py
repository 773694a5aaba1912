"""Pages: well-formed, self-contained, and text from the records stays text."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from pathlib import Path

import html5lib
import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion, CannotSave
from fleetlib.base.kept_numbers import numbers_kept_for
from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.care.caution_sheet import all_cautions, caution_sheet
from fleetlib.desk.pages import page_html, price_tag, safe_name, save_advice, save_page
from fleetlib.fits import fit_all
from fleetlib.pay.days_and_space import days_and_space
from fleetlib.quarter.hindsight import hindsight
from fleetlib.quarter.review import review
from fleetlib.records.folder import read_records
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.trust.accuracy import accuracy
from fleetlib.week.advice import advise
from fleetlib.week.listing_text import listing_text
from fleetlib.week.log_advice import log_advice
from tests.desk.hostile_shop import AS_OF, HOSTILE, write_hostile_shop

NS = "{http://www.w3.org/1999/xhtml}"


@numbers_kept_for(Path(__file__))  # others ask the same of the demo
def pages_of(fits, name: str, quarter: str = "2026-Q3") -> dict[str, str]:
    """Every kind of page for one piece and one quarter, as text."""
    flips = fits.records.flips
    piece = piece_from_row(flips[flips["piece"] == name].iloc[0])
    advice = advise(fits, piece)
    results = {
        "advice": advice,
        "tag": price_tag(piece, advice.plan),
        "review": review(fits, quarter),
        "accuracy": accuracy(fits),
        "cautions": all_cautions(),
        "care": caution_sheet(piece),
        "estimate": advice.estimate,
        "plan": advice.plan,
        "listing": listing_text(piece),
        "days": days_and_space(fits, by="finish"),
    }
    return {kind: page_html(result) for kind, result in results.items()}


def _listed(fits) -> str:
    flips = fits.records.flips
    return str(flips.loc[flips["status"] == "listed", "piece"].iloc[0])


@pytest.fixture(scope="module")
def demo_pages(demo_fits):
    return pages_of(demo_fits, _listed(demo_fits))


@pytest.fixture(scope="module")
def hostile_fits(tmp_path_factory):
    folder = write_hostile_shop(tmp_path_factory.mktemp("hostile"))
    return fit_all(read_records(folder, as_of=AS_OF))


@pytest.fixture(scope="module")
def hostile_pages(hostile_fits):
    return pages_of(hostile_fits, _listed(hostile_fits))


def _tree(page: str) -> ET.Element:
    return html5lib.HTMLParser(strict=True).parse(page)


def _assert_plain(page: str) -> None:
    """Nothing in it runs, nothing in it comes from elsewhere, every picture says what it shows."""
    tree = _tree(page)
    tags = {e.tag.removeprefix(NS) for e in tree.iter() if isinstance(e.tag, str)}
    assert not tags & {
        "script",
        "iframe",
        "object",
        "embed",
        "link",
        "base",
        "form",
        "a",
        "svg",
        "audio",
        "video",
    }
    for element in tree.iter():
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert name not in ("href", "action", "id")
            if name in ("src", "srcset"):
                assert value.startswith("data:image/png;base64,")
        if element.tag == f"{NS}img":
            assert len(element.attrib["alt"]) > 20
        if element.tag == f"{NS}th":
            assert element.attrib["scope"] in ("col", "row")
    css = "".join(e.text or "" for e in tree.iter(f"{NS}style"))
    assert "url(" not in css
    assert "@import" not in css
    assert "default-src 'none'" in page


KINDS = [
    "advice",
    "tag",
    "review",
    "accuracy",
    "cautions",
    "care",
    "estimate",
    "plan",
    "listing",
    "days",
]


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_is_valid_html_and_asks_for_nothing_outside(demo_pages, kind):
    _assert_plain(demo_pages[kind])


@pytest.mark.parametrize("kind", KINDS)
def test_hostile_text_stays_text(hostile_pages, kind):
    _assert_plain(hostile_pages[kind])


def test_hostile_text_is_shown_as_it_was_typed(hostile_pages, hostile_fits):
    made = review(hostile_fits, "2026-Q3")
    names = {n for line in made.table["line"] for n in made.pieces(line)["piece"] if n}
    assert len({h for h in HOSTILE if any(n.startswith(" ".join(h.split())) for n in names)}) >= 6
    text = " ".join(_tree(hostile_pages["review"]).itertext())
    for name in names:
        assert name in text
    name = _listed(hostile_fits)
    assert name in " ".join(_tree(hostile_pages["advice"]).itertext())
    assert name in " ".join(_tree(hostile_pages["tag"]).itertext())


def test_the_same_result_gives_the_same_page(demo_fits, demo_pages):
    flips = demo_fits.records.flips
    piece = piece_from_row(flips[flips["piece"] == _listed(demo_fits)].iloc[0])
    assert page_html(advise(demo_fits, piece)) == demo_pages["advice"]
    assert page_html(review(demo_fits, "2026-Q3")) == demo_pages["review"]


def test_the_tag_carries_neither_cost_nor_floor_nor_notes(demo_fits):
    piece = Piece(
        furniture_type="dresser", wood="oak", finish="wax", width_in=44, height_in=33, piece="T-1", buy_price=87.65,
        materials_cost=13.57, other_costs=24.68, hours=9.75, gut_price=431, notes="paid 87.65 floor 222",
    )  # fmt: skip
    advice = advise(demo_fits, piece)
    metric = price_tag(piece, advice.plan, settings=Settings(length_unit="cm"))
    assert metric.size == "112 cm wide, 84 cm high"
    tag = price_tag(piece, advice.plan, repaired="two drawer runners renewed")
    for text in (page_html(tag), str(tag), tag._repr_html_()):
        for secret in ("87.65", "13.57", "24.68", "9.75", "431", "222", f"{advice.plan.floor:.0f}"):
            assert secret not in re.sub(r"<style>.*?</style>", "", text, flags=re.S)
        assert tag.price() in text
        assert "two drawer runners renewed" in text
        assert "anti-tip kit" in text.replace("\n  ", " ")


def test_an_unknown_repair_is_left_as_a_line_to_write_on(demo_fits):
    piece = Piece(furniture_type="desk", gut_price=300)
    page = page_html(price_tag(piece, advise(demo_fits, piece).plan))
    assert 'class="blank"' in page
    assert "Repaired" in page


def test_a_pair_is_called_a_pair(demo_fits):
    piece = Piece(furniture_type="nightstand", wood="oak", pieces_in_lot=2, gut_price=300)
    assert price_tag(piece, advise(demo_fits, piece).plan).what == "pair of oak nightstands"


def test_the_advice_sheet_says_the_price_the_plan_and_the_cautions(demo_fits):
    flips = demo_fits.records.flips
    piece = piece_from_row(flips[flips["status"] == "listed"].iloc[0])
    advice = advise(demo_fits, piece)
    text = " ".join(_tree(page_html(advice)).itertext())
    assert f"{advice.estimate.low:,.0f}" in text
    assert day_said(advice.plan.table["from_date"].iloc[0], weekday=True) in text
    for caution in advice.cautions:
        assert caution.line in text
        assert caution.cited() in text


def test_without_an_estimate_the_sheet_still_stands(demo_fits):
    flips = demo_fits.records.flips
    piece = piece_from_row(flips[flips["status"] == "listed"].iloc[0])
    bare = replace(
        advise(demo_fits, piece), estimate=None, hourly=None, notes=("Under 5 sales <b>.",)
    )
    page = page_html(bare)
    _tree(page)
    assert "Why this price" not in page
    assert "Under 5 sales &lt;b&gt;." in page


def test_the_review_page_holds_the_pieces_behind_every_count(demo_fits, demo_pages):
    made = review(demo_fits, "2026-Q3")
    tree = _tree(demo_pages["review"])
    heads = ["".join(s.itertext()) for s in tree.iter(f"{NS}summary")]
    for line in made.table["line"]:
        behind = made.pieces(line)
        if len(behind):
            assert any(h.startswith(f"{line}: ") for h in heads), line
    text = " ".join(tree.itertext())
    for name in made.pieces("sold")["piece"]:
        assert name in text


def test_saved_advice_is_logged_and_can_be_graded_later(tmp_path, hostile_fits):
    folder = write_hostile_shop(tmp_path)
    fits = fit_all(read_records(folder, as_of=AS_OF))
    name = _listed(fits)
    piece = piece_from_row(fits.records.flips[fits.records.flips["piece"] == name].iloc[0])
    before = sorted(p.name for p in folder.iterdir())
    advice = advise(fits, piece)
    assert sorted(p.name for p in folder.iterdir()) == before  # asking writes nothing
    written = save_advice(advice, tmp_path / "out")
    assert [p.suffix for p in written] == [".html", ".ics", ".html"]
    assert all(p.exists() and p.parent == tmp_path / "out" for p in written)
    assert not (folder / "advice_log.csv").exists()  # writing a page logs nothing
    assert log_advice(fits.records, advice) == folder / "advice_log.csv"
    again = read_records(folder, as_of=date(2026, 12, 31))
    assert list(again.advice_log["piece"]) == [name]
    assert again.advice_log["low"][0] == pytest.approx(advice.estimate.low, abs=1e-3)
    graded = hindsight(fit_all(again), start=date(2026, 10, 1), end=date(2026, 12, 31))
    assert list(graded.table["piece"]) == [name]
    last = advice.plan.table.iloc[-1]
    by = pd.Timestamp(advice.plan.ends_on)
    if by <= pd.Timestamp("2026-12-31"):
        # Still unsold: each day's chance given that it had not sold before, added up.
        assert last["chance_sold"] < graded.expected_sold <= -np.log1p(-last["chance_sold"])


def test_a_piece_without_a_name_cannot_be_logged(demo_fits, tmp_path):
    nameless = advise(demo_fits, Piece(furniture_type="desk", gut_price=200))
    with pytest.raises(BadQuestion, match="name"):
        save_advice(nameless, tmp_path)
    with pytest.raises(BadQuestion, match="name"):
        log_advice(demo_fits.records, nameless)
    assert not list(tmp_path.iterdir())


def test_the_demo_is_never_logged_to(demo_fits):
    log = (demo_fits.records.folder / "advice_log.csv").read_bytes()
    named = piece_from_row(demo_fits.records.flips.iloc[-1])
    advice = advise(demo_fits, replace(named, listed_on=None, piece="ZZ-1", gut_price=300.0))
    assert log_advice(demo_fits.records, advice) is None
    assert (demo_fits.records.folder / "advice_log.csv").read_bytes() == log


@pytest.mark.parametrize(
    "name", [*HOSTILE, "..", "/", "CON", "nul", "a" * 300, "Ä Ö", "", "a/b", "a\\b", ".hidden"]
)
def test_file_names_are_safe_on_any_system(name):
    made = safe_name(name)
    assert re.fullmatch(r"[A-Za-z0-9_-]{1,50}", made)
    assert made.lower() not in ("con", "nul", "aux", "prn", "com1")
    assert Path("x", made).parent == Path("x")


def test_different_names_never_share_a_file():
    names = ["a/b", "a\\b", "a b", "a-b", "A-113", "a" * 41, "a" * 42]
    assert len({safe_name(n) for n in names}) == len(names)
    assert safe_name("A-113") == "A-113"


@pytest.mark.parametrize("thing", [1, "text", pd.DataFrame({"a": [1]}), object()])
def test_what_is_no_answer_has_no_page(thing):
    with pytest.raises(BadQuestion, match=f"no page for a {type(thing).__name__}"):
        page_html(thing)


def test_a_page_that_cannot_be_written_says_where(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotSave, match="cannot be written"):
        save_page(all_cautions(), tmp_path / "file" / "x.html")


def test_a_page_is_never_saved_over_a_file_of_ones_own(tmp_path):
    record, page = tmp_path / "flips.csv", tmp_path / "review.html"
    record.write_text("piece,sale_price\nA-1,200\n")
    with pytest.raises(CannotSave, match=r"flips\.csv is no name for a page"):
        save_page(all_cautions(), record)
    page.write_text("<p>my own notes</p>")
    with pytest.raises(CannotSave, match="not made by fleetlib"):
        save_page(all_cautions(), page)
    assert record.read_text() == "piece,sale_price\nA-1,200\n"
    assert page.read_text() == "<p>my own notes</p>"
    ours = save_page(all_cautions(), tmp_path / "cautions.html")
    assert save_page(all_cautions(), ours).read_text() == page_html(all_cautions())
