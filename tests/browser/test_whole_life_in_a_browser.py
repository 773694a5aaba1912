"""From an empty folder a piece is bought, worked on, listed, marked down, offered for, sold, returned and sold again:
by the forms alone in a real browser, and by `log` alone; the books of both quarters are worked out by hand."""

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.quarters import Quarter
from fleetlib.books.accounts import accounts
from fleetlib.cli import main
from fleetlib.desk.forms.clicks import DOUBLE_CLICK_S
from fleetlib.desk.start import start_shop
from fleetlib.records.folder import Records, read_records
from tests.browser.opened import Typed, outside, seen, tab

AS_OF = date(2026, 6, 30)
LINES = [
    "bought A-1 for 80 furniture_type=dresser wood=oak on 2026-01-05",
    "worked A-1 6 h sand on 2026-01-09",
    "cost A-1 12.50 sand on 2026-01-09",
    "listed A-1 at 450 gut_price=430 on 2026-02-01",
    "marked down A-1 to 430 on 2026-02-20",
    "offer A-1 380 on 2026-03-01",
    "sold A-1 for 420 selling_fees=21 at the market on 2026-03-20",
    "returned A-1 on 2026-04-10",
    "sold A-1 for 380 on 2026-05-02",
]


def an_empty_shop(place: Path) -> Path:
    start_shop(place)
    (place / "settings.toml").write_text("as_of = 2026-06-30\ndelivery_cost = 0\n")
    return place


def the_books_are_right(records: Records) -> None:
    assert records.questions.empty
    first, second = (
        accounts(records, start=Quarter(2026, n).start, end=Quarter(2026, n).end) for n in (1, 2)
    )
    # January to March, by hand: 420 taken, 21 in fees, the piece had cost 80 + 12.50
    assert [first.value(k) for k in ("takings", "fees", "cost of pieces sold", "profit")] == [
        420,
        21,
        92.5,
        306.5,
    ]
    # April to June: 380 taken, 420 given back; its cost came back and left again
    assert [second.value(k) for k in ("takings", "returns and refunds", "profit")] == [
        380,
        420,
        -40,
    ]
    assert first.stock.amount("closing") == second.stock.amount("closing") == 0
    assert first.stock.reconciled
    assert second.stock.reconciled


@pytest.mark.browser
def test_a_whole_life_by_the_forms_alone_and_by_log_alone(
    browser, tmp_path: Path, monkeypatch
) -> None:
    forms, lines = an_empty_shop(tmp_path / "forms"), an_empty_shop(tmp_path / "lines")
    typed = Typed(forms, tmp_path / "cache")
    try:
        page, asked = seen(browser, typed.address)

        def log(title: str, form: str, *, said: str, **values: str) -> None:
            """Fill the fields of a form in, press its button, and wait for what it says."""
            tab(page, title)
            part = page.locator(f".fleet-form:has({form})")
            for key, value in values.items():
                field = part.locator(f".f-{key}")
                if field.locator("select").count():
                    field.locator("select").select_option(label=value)
                else:
                    field.locator("input").fill(value)
                    field.locator("input").press("Tab")
            part.locator(".b-log").click()
            part.locator(f'.a-saved:has-text("{said}")').wait_for()
            page.wait_for_function(  # a press before all is answered would be taken for its double
                "() => !document.querySelector('.fleet-tabs').innerText.includes('Working it out')"
            )
            page.wait_for_timeout(1000 * DOUBLE_CLICK_S + 100)

        bought, work, sale, after = ".f-buy_price", ".b-m30", ".f-what", ".f-after"
        log("Bought", bought, piece="A-1", buy_price="80", furniture_type="dresser", wood="oak",
            day="2026-01-05", said="A-1 bought")  # fmt: skip
        in_work, listed = "A-1: oak dresser (in work)", "A-1: oak dresser (listed)"
        log("Work", work, piece=in_work, minutes="6h", step="sand or strip", materials="12.50",
            day="2026-01-09", said="360 minutes")  # fmt: skip
        log("Sale", sale, what="put on the market", piece=in_work, own="430", amount="450",
            day="2026-02-01", said="put on the market")  # fmt: skip
        log("Sale", sale, what="new asking price", piece=listed, amount="430", day="2026-02-20",
            said="new asking price")  # fmt: skip
        log(
            "Sale",
            sale,
            what="an offer",
            piece=listed,
            amount="380",
            day="2026-03-01",
            said="an offer",
        )
        log("Sale", sale, what="sold", piece=listed, amount="420", fees="21", channel="market",
            day="2026-03-20", said="A-1: sold")  # fmt: skip
        log("Sale", after, piece="A-1: oak dresser (sold)", day="2026-04-10", said="returned",
            after="it came back: money given back, blank for the whole price")  # fmt: skip
        log(
            "Sale",
            sale,
            what="sold",
            piece=listed,
            amount="380",
            day="2026-05-02",
            said="A-1: sold",
        )
        tab(page, "Story")
        story = page.locator(".fleet-form:has(.b-tell)")
        story.locator("select").select_option(label="A-1: oak dresser (sold)")
        story.locator(".b-tell").click()
        story.locator('.a-answer:has-text("returned")').wait_for()
        assert outside(asked, typed.address) == []
        page.close()
    finally:
        typed.stop()
    monkeypatch.chdir(lines)
    for line in LINES:
        assert main(["log", line, "--yes"]) == 0
    by_forms, by_lines = (read_records(place, as_of=AS_OF) for place in (forms, lines))
    the_books_are_right(by_forms)
    the_books_are_right(by_lines)
    told = ["on", "piece", "event", "amount"]
    pd.testing.assert_frame_equal(by_forms.logged[told], by_lines.logged[told])
    pd.testing.assert_frame_equal(
        by_forms.flips.drop(columns="line"), by_lines.flips.drop(columns="line")
    )
