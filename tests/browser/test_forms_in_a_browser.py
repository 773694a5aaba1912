"""The forms, as a person uses them: typed into and pressed in a real JupyterLab in a real browser."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetlib.desk.forms.clicks import DOUBLE_CLICK_S
from fleetlib.desk.start import start_shop
from tests.browser.jupyterlab import COUNT_DARK, Desk, running_lab, troubles

FORMS = "every_week.ipynb"
LONGER_THAN_A_DOUBLE_CLICK_MS = 1000 * DOUBLE_CLICK_S + 100
ORDER = [
    "f-onhand",
    "b-last0",
    "b-last1",
    "b-last2",
    "b-last3",
    "f-piece",
    "f-type",
    "f-wood",
    "f-finish",
    "f-style",
    "f-construction",
    "f-grade",
    "f-year",
    "f-lot",
    "f-width",
    "f-depth",
    "f-height",
    "f-condition",
    "f-route",
    "f-buy",
    "f-materials",
    "f-hours",
    "f-gut",
    "f-noidea",
    "b-price",
    "b-save",
]


@pytest.fixture(scope="module")
def desk(browser, tmp_path_factory) -> Iterator[Desk]:
    """The forms' notebook in a started copy of the demo, run from top to bottom."""
    folder = tmp_path_factory.mktemp("forms") / "shop"
    start_shop(folder, demo=True)
    with running_lab(folder) as lab:
        page = browser.new_page(viewport={"width": 1280, "height": 1000})
        desk = Desk(lab=lab, page=page, name=FORMS)
        desk.open()
        desk.restart_and_run_all()
        page.wait_for_selector(".b-weigh", state="attached")
        yield desk
        page.close()


def form(desk: Desk, button: str):
    """The form that holds `button`; field names such as .f-piece occur in several."""
    return desk.page.locator(f".fleet-form:has(.b-{button})")


def tab(desk: Desk, title: str) -> None:
    """Turn to a form."""
    desk.page.locator(f'.fleet-tabs .lm-TabBar-tab:has-text("{title}")').click()


def choose(part) -> None:
    """The first piece of the form's list."""
    part.locator(".f-piece select").select_option(index=1)


def type_into(part, field: str, text: str) -> None:
    """Type and leave the field: that is when a box sends what it holds."""
    box = part.locator(f".f-{field} input")
    box.fill(text)
    box.press("Tab")


@pytest.mark.browser
def test_a_piece_is_priced_after_the_owners_own_price(desk: Desk) -> None:
    part = form(desk, "price")
    part.locator(".f-type select").select_option(index=1)
    part.locator(".b-price").click()
    part.locator('.m-gut:has-text("before you look")').wait_for(timeout=20_000)
    type_into(part, "height", "tall")
    type_into(part, "gut", "$450")
    desk.page.wait_for_timeout(LONGER_THAN_A_DOUBLE_CLICK_MS)
    part.locator(".b-price").click()
    part.locator('.m-height:has-text("was not understood")').wait_for(timeout=20_000)
    type_into(part, "height", "34 1/2")
    desk.page.wait_for_timeout(LONGER_THAN_A_DOUBLE_CLICK_MS)
    part.locator(".b-price").click()
    picture = part.locator(".a-answer img")
    picture.wait_for(timeout=60_000)
    assert len(picture.get_attribute("alt")) > 40
    assert picture.evaluate(COUNT_DARK) > 0.01
    assert "8 times out of 10" in part.locator(".a-answer").inner_text()


@pytest.mark.browser
def test_the_tab_key_goes_through_the_fields_in_the_order_they_are_read(desk: Desk) -> None:
    part = form(desk, "price")
    part.locator(".f-onhand select").focus()
    passed = []
    for _ in ORDER:
        passed.append(
            desk.page.evaluate(
                '() => { const f = document.activeElement.closest(\'[class*="f-"], [class*="b-"]\');'
                " return f && [...f.classList].find(c => /^[fb]-/.test(c)); }"
            )
        )
        desk.page.keyboard.press("Tab")
    assert passed == ORDER


@pytest.mark.browser
def test_work_is_logged_and_undone_by_one_line_each(desk: Desk) -> None:
    events = Path(desk.lab.folder) / "events.csv"
    before = events.read_bytes()
    tab(desk, "Work")
    part = form(desk, "m30")
    choose(part)
    part.locator(".b-m30").click()
    part.locator(".b-log").click()
    part.locator('.a-saved:has-text("30 minutes")').wait_for(timeout=30_000)
    logged = events.read_bytes()
    assert logged.startswith(before)
    assert logged.count(b"\n") == before.count(b"\n") + 1
    part.locator(".b-undo").click()
    part.locator('.a-saved:has-text("Undone")').wait_for(timeout=30_000)
    undone = events.read_bytes()
    assert undone.startswith(logged)
    assert undone.count(b"\n") == logged.count(b"\n") + 1


@pytest.mark.browser
def test_an_offer_is_answered_and_a_find_weighed_up(desk: Desk) -> None:
    tab(desk, "Sale")
    part = desk.page.locator(".fleet-form:has(.f-what)")
    choose(part)
    part.locator(".f-what select").select_option(label="an offer")
    type_into(part, "amount", "20")
    part.locator(".b-log").click()
    part.locator('.a-answer:has-text("$20")').wait_for(timeout=60_000)
    tab(desk, "Find")
    find = form(desk, "weigh")
    find.locator(".f-type select").select_option(index=1)
    type_into(find, "asked", "60")
    find.locator(".b-weigh").click()
    picture = find.locator(".a-answer img")
    picture.wait_for(timeout=60_000)
    assert len(picture.get_attribute("alt")) > 40
    assert picture.evaluate(COUNT_DARK) > 0.01


@pytest.mark.browser
def test_nothing_complained_and_nothing_was_asked_of_another_machine(desk: Desk) -> None:
    assert troubles(desk.save()) == []
    assert desk.outside_requests() == []


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["Light", "Dark"])
def test_the_forms_can_be_read_in_either_theme(desk: Desk, browser, theme: str) -> None:
    desk.lab.theme(theme)
    page = browser.new_page(viewport={"width": 1280, "height": 1000})
    seen = Desk(lab=desk.lab, page=page, name=FORMS)
    seen.open()
    seen.restart_and_run_all()
    form(seen, "price").locator(".b-price").click()
    page.wait_for_selector(".m-gut span")
    page.wait_for_selector(".jp-OutputArea .a-answer p")  # comes after the words beside the field
    assert page.locator(f'body[data-jp-theme-light="{str(theme == "Light").lower()}"]').count() == 1
    for shown in (
        ".m-gut span",
        ".a-answer p",
        ".widget-label",
        ".jupyter-button",
        ".f-type select",
    ):
        found = seen.contrasts(f".jp-OutputArea {shown}")
        assert found, shown
        assert min(found) >= 4.5, shown  # W3C, WCAG 2.1, 1.4.3; the limit from memory
    first = (
        form(seen, "price")
        .locator("select")
        .evaluate_all(
            "lists => lists.map(s => s.selectedOptions[0]?.text.replaceAll('\\u00a0', ' '))"
        )
    )
    empty = ["(a new piece)", "(choose)", "(not known)", "(not decided)", "(none)", "(not known)"]
    assert first == [*empty, "one piece", "(not known)", "(not known)"]
    unnamed = page.evaluate(
        "() => [...document.querySelectorAll('.jp-OutputArea input, .jp-OutputArea select')]"
        ".filter(e => !e.labels?.[0]?.textContent.trim()).length"
    )
    assert unnamed == 0
    page.close()
