"""`fleetlib lab` as a person meets it: the page opens with its forms live, again and again."""

import json
import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetlib.desk.start import start_shop
from tests.browser.opened import NEAR, READY, Typed, outside, seen, tab


@pytest.fixture(scope="module")
def place(browser, tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("lab")
    start_shop(folder / "shop", demo=True)
    return folder


@pytest.fixture(scope="module")
def first(place: Path) -> Iterator[Typed]:
    typed = Typed(place / "shop", place / "cache")
    yield typed
    typed.stop()


@pytest.fixture
def typed(tmp_path: Path) -> Iterator:
    """Type `lab` for the shop in this test's folder, as often as wanted; all of them are stopped in the end."""
    made: list[Typed] = []

    def again() -> Typed:
        made.append(Typed(tmp_path / "shop", tmp_path / "cache"))
        return made[-1]

    yield again
    for one in reversed(made):
        one.stop()


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def a_press_is_answered(page) -> None:
    """The proof that the forms are live: a press that lacks the own price is answered beside the field."""
    tab(page, "Price")
    page.locator(".b-last0").click()
    page.locator(".fleet-form:has(.b-price) .f-noidea input").uncheck()
    page.locator(".f-gut input").first.fill("")
    page.locator(".f-gut input").first.press("Tab")
    page.locator(".b-price").click()
    page.locator('.m-gut:has-text("before you look")').first.wait_for()


@pytest.mark.browser
def test_the_forms_are_live_without_a_click_and_nothing_is_asked_of_another_machine(
    browser, place: Path, first: Typed
) -> None:
    assert first.address, first.said
    before = files(place / "shop")
    page, asked = seen(browser, first.address)
    assert page.locator(".jp-Dialog").count() == 0
    tab(page, "Price")
    part = page.locator(".fleet-form:has(.b-price)")
    part.locator(".f-onhand select").select_option(index=1)
    part.locator(".f-noidea input").check()
    part.locator(".b-price").click()
    part.locator(".a-answer img").wait_for()
    short = part.locator(".a-tryask p")
    said = short.inner_text()
    part.locator(".b-more").click()
    page.wait_for_function(
        "was => document.querySelector('.a-tryask p').innerText !== was", arg=said
    )
    assert re.search(r"sold within 4 weeks \d+%, 8 weeks \d+%, 12 weeks \d+%", short.inner_text())
    assert outside(asked, first.address) == []
    page.reload()
    page.wait_for_selector(READY)
    a_press_is_answered(page)
    assert files(place / "shop") == before
    page.close()


@pytest.mark.browser
def test_a_second_one_joins_the_first(browser, place: Path, first: Typed) -> None:
    second = Typed(place / "shop", place / "cache")
    assert "open already" in second.ended()
    assert second.address == first.address, second.said


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(820, 1180), (390, 844)])
def test_every_form_fits_a_tablet_and_a_phone_and_can_be_hit_with_a_thumb(
    browser, first: Typed, width: int, height: int
) -> None:
    page, _ = seen(browser, first.address, width, height)
    titles = page.locator(".fleet-tabs .lm-TabBar-tab").all_inner_texts()
    assert [t.strip() for t in titles] == [
        "Price",
        "Work",
        "Sale",
        "Find",
        "Bought",
        "A line",
        "Story",
    ]
    for title in titles:
        tab(page, title.strip())
        wrong = page.evaluate(
            """([width]) => {
                const seen = [...document.querySelectorAll('.fleet-tabs input, .fleet-tabs select,'
                    + ' .fleet-tabs button, .fleet-tabs .lm-TabBar-tab')].filter(e => e.offsetParent);
                return seen.map(e => {
                    const box = e.getBoundingClientRect();
                    const target = e.type === 'checkbox' ? e.closest('label').getBoundingClientRect() : box;
                    const name = e.closest('[class*="f-"], [class*="b-"]')?.className || e.innerText;
                    if (target.height < 43.5) return `${name}: ${target.height} high`;
                    if (box.left < 0 || box.right > width + 0.5) return `${name}: ${box.left} to ${box.right}`;
                    return '';
                }).filter(Boolean).concat(seen.length < 3 ? ['too few fields to be true'] : []);
            }""",
            [width],
        )
        assert wrong == [], title
    page.close()


@pytest.mark.browser
def test_double_clicks_do_once_what_one_click_does(browser, place: Path, first: Typed) -> None:
    page, _ = seen(browser, first.address)
    events, log = place / "shop" / "events.csv", place / "shop" / "advice_log.csv"

    def rows(file: Path) -> int:
        return file.read_bytes().count(b"\n")

    tab(page, "Sale")
    sale = page.locator(".fleet-form:has(.f-what)")
    piece = sale.locator(".f-piece select")
    piece.wait_for()
    before, listed = rows(events), piece.locator("option").count()
    piece.select_option(index=1)
    sale.locator(".f-what select").select_option(label="kept for yourself")
    sale.locator(".b-log").dblclick()
    sale.locator('.a-saved:has-text("Logged for")').wait_for()
    page.wait_for_timeout(1500)
    assert rows(events) == before + 1
    assert "Logged for" in sale.locator(".a-saved").inner_text()  # and not "Nothing was done"
    assert piece.locator("option").count() == listed - 1
    assert piece.input_value() != ""
    assert piece.locator("option:checked").inner_text() == "(choose)"
    sale.locator(".f-what select").select_option(label="someone asked about it")
    piece.select_option(index=1)
    sale.locator(".b-log").click()
    page.wait_for_function(
        "() => document.querySelector('.fleet-form:has(.f-what) .a-saved').innerText.includes('asked')",
    )
    sale.locator(".b-undo").dblclick()
    sale.locator('.a-saved:has-text("Undone: enquiry")').wait_for()
    page.wait_for_timeout(1500)
    assert rows(events) == before + 3  # kept, asked, one undo
    tab(page, "Price")
    price = page.locator(".fleet-form:has(.b-price)")
    price.locator(".f-onhand select").select_option(index=2)
    price.locator(".f-noidea input").check()
    price.locator(".b-price").click()
    price.locator(".a-answer img").wait_for()
    advised = rows(log)
    price.locator(".b-save").dblclick()
    price.locator('.a-saved:has-text("and logged")').wait_for()
    page.wait_for_timeout(1500)
    assert rows(log) == advised + 1
    assert "and logged" in price.locator(".a-saved").inner_text()
    page.close()


@pytest.mark.browser
def test_mistakes_are_marked_for_readers_and_the_first_has_the_cursor(
    browser, first: Typed
) -> None:
    page, _ = seen(browser, first.address)
    tab(page, "Work")
    work = page.locator(".fleet-form:has(.b-m30)")
    work.locator(".f-day input").fill("some day")
    work.locator(".f-day input").press("Tab")
    work.locator(".b-log").click()
    work.locator('.m-piece:has-text("Choose")').wait_for()
    page.wait_for_function("() => document.activeElement.closest('.f-piece') !== null")
    told = page.evaluate(
        """() => [...document.querySelectorAll('.fleet-form:has(.b-m30) [aria-invalid=true]')].map(
            e => document.getElementById(e.getAttribute('aria-describedby')).innerText)"""
    )
    assert len(told) == 3
    assert "some day" in told[2]
    page.close()


@pytest.mark.browser
def test_a_dead_kernel_a_taken_port_and_the_next_day_bring_the_forms_back(
    browser, tmp_path: Path, typed
) -> None:
    start_shop(tmp_path / "shop", demo=True)
    one = typed()
    page, asked = seen(browser, one.address)
    running = next((tmp_path / "cache").glob("*/running.json"))
    kernel = json.loads(running.read_text())["kernel"]
    # A kernel that died: what the page held is gone, and the next `lab` says nothing of it but mends it.
    page.evaluate(
        "id => fetch(`/api/kernels/${id}/restart`, {method: 'POST', headers:"
        " {'X-XSRFToken': document.cookie.match(/_xsrf=([^;]+)/)[1]}})",
        kernel,
    )
    page.wait_for_timeout(3000)
    again = typed()
    again.ended()
    assert again.address == one.address
    page.reload()
    page.wait_for_selector(READY)
    a_press_is_answered(page)
    # Left running overnight: what the page was made of is yesterday's.
    kept = json.loads(running.read_text())
    running.write_text(json.dumps(kept | {"made_of": "yesterday"}))
    typed().ended()
    assert json.loads(running.read_text())["kernel"] != kept["kernel"]
    page.reload()
    page.wait_for_selector(READY)
    a_press_is_answered(page)
    # Closed in the evening, opened the next day: the tab that was left open finds its page where it was.
    one.stop()
    two = typed()
    assert two.port == one.port
    page.reload()
    page.wait_for_selector(READY)
    a_press_is_answered(page)
    two.stop()
    # Another program has taken the port meanwhile.
    with socket.socket() as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        other.bind(("127.0.0.1", one.port))
        other.listen()
        three = typed()
        assert three.port != one.port, three.said
        elsewhere, asked_elsewhere = seen(browser, three.address)
        a_press_is_answered(elsewhere)
        three.stop()
    assert outside(asked, one.address) == []
    assert outside(asked_elsewhere, three.address) == []
    # Everything that the servers and their kernels asked for over these starts, counted.
    heard = [line.split(" ", 2) for line in one.heard.read_text().splitlines()]
    started = [what for _, said, what in heard if said == "'started'"]
    assert sum("fleetlib.desk.serving" in what for what in started) == 3
    assert sum("ipykernel" in what for what in started) >= 4
    assert sum(said != "'started'" for _, said, _ in heard) > 0
    far = [(said, what) for _, said, what in heard if said != "'started'" and not NEAR.match(what)]
    assert far == []
    elsewhere.close()
    page.close()
