"""The pages in a real browser: no request, no script, readable on paper, on a phone, light and dark."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fleetlib.base.kept_numbers import numbers_kept_for
from fleetlib.care.caution_sheet import all_cautions
from fleetlib.desk.pages import price_tag, save_page
from fleetlib.fits import fit_all
from fleetlib.pay.days_and_space import days_and_space
from fleetlib.quarter.review import review
from fleetlib.records.folder import read_records
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.trust.accuracy import accuracy
from fleetlib.week.advice import advise
from fleetlib.week.listing_text import listing_text
from tests.desk.hostile_shop import AS_OF, write_hostile_shop

pytestmark = pytest.mark.browser
KINDS = ["advice", "tag", "review", "accuracy", "cautions", "listing", "days"]
PAPERS = ["A4", "Letter"]

# Everything that brings a caution at once: the longest sheet there can be.
CROWDED = Piece(
    furniture_type="vanity", wood="rosewood", finish="milk paint", piece="W-1", width_in=40, depth_in=19,
    height_in=60, buy_price=60, materials_cost=20, hours=11, gut_price=480,
    notes="leaded glass, upholstered seat, came with a crib",
)  # fmt: skip


@numbers_kept_for(Path(__file__))  # others ask the same of the demo
def _written(fits, piece: Piece, folder: Path) -> dict[str, Path]:
    advice = advise(fits, piece)
    results = {
        "advice": advice,
        "tag": price_tag(piece, advice.plan),
        "review": review(fits, "2026-Q3"),
        "accuracy": accuracy(fits),
        "cautions": all_cautions(),
        "listing": listing_text(piece, asking_price=420, settings=fits.settings),
        "days": days_and_space(fits, by="finish"),
    }
    return {kind: save_page(made, folder / f"{kind}.html") for kind, made in results.items()}


def _listed(fits) -> Piece:
    flips = fits.records.flips
    return piece_from_row(flips[flips["status"] == "listed"].iloc[0])


@pytest.fixture(scope="module")
def demo_files(browser, demo_fits, tmp_path_factory):
    return _written(demo_fits, _listed(demo_fits), tmp_path_factory.mktemp("pages"))


@pytest.fixture(scope="module")
def hostile_files(browser, tmp_path_factory):
    fits = fit_all(read_records(write_hostile_shop(tmp_path_factory.mktemp("shop")), as_of=AS_OF))
    return _written(fits, _listed(fits), tmp_path_factory.mktemp("hostile"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_asks_for_nothing_but_itself(demo_files, opened, kind):
    page = opened(demo_files[kind])
    outside = [u for u in page.asked if not u.startswith("data:")]
    assert outside == [demo_files[kind].as_uri()]
    assert page.trouble == []


@pytest.mark.parametrize("kind", KINDS)
def test_hostile_text_does_nothing_in_a_browser(hostile_files, opened, kind):
    page = opened(hostile_files[kind])
    outside = [u for u in page.asked if not u.startswith("data:")]
    assert outside == [hostile_files[kind].as_uri()]
    assert page.trouble == []
    assert page.title() not in ("owned", "1")
    assert page.locator("script").count() == 0
    assert page.locator("main").is_visible()


@pytest.mark.parametrize("kind", KINDS)
def test_a_phone_needs_no_sideways_scrolling(demo_files, opened, kind):
    page = opened(demo_files[kind], width=360)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 15


@pytest.mark.parametrize("width", [360, 390, 800, 960])
@pytest.mark.parametrize("kind", ["advice", "review"])
def test_no_column_is_hidden_and_no_word_is_broken_on_a_narrow_screen(
    demo_files, opened, kind, width
):
    page = opened(demo_files[kind], width=width)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    hidden = page.evaluate(
        "[...document.querySelectorAll('.wide')].filter(w => w.scrollWidth > w.clientWidth + 1).length"
    )
    assert hidden == 0
    tallest = page.evaluate(
        "Math.max(...[...document.querySelectorAll('td')].map(t => t.getBoundingClientRect().height))"
    )
    assert tallest < 110  # five lines: a column of single letters is taller


def _printed(page, paper: str) -> int:
    page.emulate_media(media="print")
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))


@pytest.mark.parametrize("paper", PAPERS)
def test_an_advice_sheet_is_one_page_with_its_cautions_on_the_back(
    demo_files, demo_fits, opened, tmp_path, paper
):
    crowded = save_page(advise(demo_fits, CROWDED), tmp_path / "crowded.html")
    assert _printed(opened(demo_files["advice"]), paper) == 2
    assert _printed(opened(crowded), paper) == 2


@pytest.mark.parametrize("paper", PAPERS)
def test_a_tag_sheet_is_one_page_and_a_review_a_handful(demo_files, opened, paper):
    assert _printed(opened(demo_files["tag"]), paper) == 1
    assert 2 <= _printed(opened(demo_files["review"]), paper) <= 7


CONTRAST = """() => {
    const light = c => {
        const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map(v => {
            v /= 255; return v <= .03928 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4; });
        return .2126 * r + .7152 * g + .0722 * b; };
    const back = e => { for (; e; e = e.parentElement) {
        const c = getComputedStyle(e).backgroundColor;
        if (!/rgba\\(.*, 0\\)$/.test(c) && c !== 'transparent') return c; }
        return 'rgb(255,255,255)'; };
    let worst = 99;
    for (const e of document.querySelectorAll('h1,h2,h3,p,td,th,li,dt,dd,span,strong,summary,figcaption')) {
        if (!e.textContent.trim()) continue;
        const a = light(getComputedStyle(e).color), b = light(back(e));
        worst = Math.min(worst, (Math.max(a, b) + .05) / (Math.min(a, b) + .05)); }
    return worst; }"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", KINDS)
def test_text_stands_out_in_light_and_dark(demo_files, opened, kind, scheme):
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1 for text of ordinary size.
    assert opened(demo_files[kind], color_scheme=scheme).evaluate(CONTRAST) >= 4.5


# Of the picture shown: its width as drawn, how wide a letter of 9 points stands there, and its corner's colour.
SHOWN = """() => { const i = document.querySelector('figure img'), c = document.createElement('canvas');
    c.width = i.naturalWidth; c.height = i.naturalHeight; const b = c.getContext('2d');
    b.drawImage(i, 0, 0); const d = b.getImageData(0, 0, c.width, c.height).data;
    return { complete: i.complete, drawn: i.naturalWidth, corner: [...d.slice(0, 3)],
        letter: 9 / 72 * 160 * i.getBoundingClientRect().width / i.naturalWidth }; }"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 800, 1440])
@pytest.mark.parametrize("kind", ["advice", "review", "accuracy"])
def test_the_picture_fits_its_screen_in_size_and_in_light(demo_files, opened, kind, width, scheme):
    page = opened(demo_files[kind], width=width, color_scheme=scheme)
    page.wait_for_function("document.querySelector('figure img').complete")
    shown = page.evaluate(SHOWN)
    narrow = kind == "advice" or width < 704
    assert shown["drawn"] == (656 if narrow else 1280)
    assert shown["letter"] >= 11  # pixels
    assert shown["corner"] == ([255, 255, 255] if scheme == "light" else [0x1C, 0x1A, 0x17])
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("kind", ["advice", "review"])
def test_a_printed_picture_is_the_light_one_with_letters_of_eight_points(demo_files, opened, kind):
    # A4 less the margins of its style: 190 and 188 millimetres, at 96 pixels an inch.
    page = opened(
        demo_files[kind], width=718 if kind == "advice" else 710, color_scheme="dark", media="print"
    )
    page.wait_for_function("document.querySelector('figure img').complete")
    shown = page.evaluate(SHOWN)
    assert shown["corner"] == [255, 255, 255]
    assert shown["letter"] * 72 / 96 >= 8


def test_the_ask_and_why_it_is_out_of_range_are_in_view_on_a_phone(demo_fits, opened, tmp_path):
    flips = demo_fits.records.flips
    for _, row in flips[flips["status"] == "in work"].iterrows():
        advice = advise(demo_fits, piece_from_row(row))
        if advice.outside:
            break
    assert "above the range" in advice.outside
    page = opened(save_page(advice, tmp_path / "above.html"), width=390)
    ask, reason = page.locator(".ask"), page.locator(".ask + p")
    assert reason.inner_text() == advice.outside
    assert ask.bounding_box()["y"] + ask.bounding_box()["height"] < 400
    assert reason.bounding_box()["y"] + reason.bounding_box()["height"] < 844  # a phone's height


def test_the_pieces_behind_a_line_open_with_the_keyboard(demo_files, opened):
    page = opened(demo_files["review"])
    behind = page.locator(".behind details").first
    behind.locator("summary").focus()
    page.keyboard.press("Enter")
    assert behind.locator("table").is_visible()
