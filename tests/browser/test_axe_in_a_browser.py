"""Every page and form against the rules of axe-core, an open checker of accessibility (its rules cite WCAG 2).

axe-core is fetched with npm into a folder of its own when the tests run; where that cannot be, they are skipped.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from fleetlib.base.kept_numbers import numbers_kept_for
from fleetlib.buying.best_buys import best_buys
from fleetlib.care.caution_sheet import all_cautions
from fleetlib.desk.pages import price_tag, save_page, save_today
from fleetlib.desk.start import start_shop
from fleetlib.finish.finish_choice import finish_choice
from fleetlib.pay.days_and_space import days_and_space
from fleetlib.pay.earnings import earnings
from fleetlib.pay.work_order import what_next
from fleetlib.quarter.review import review
from fleetlib.records.piece import piece_from_row
from fleetlib.trust.accuracy import accuracy
from fleetlib.week.advice import advise, advise_all
from fleetlib.week.listing_text import listing_text
from tests.browser.jupyterlab import Desk, running_lab

pytestmark = pytest.mark.browser
AXE = "axe-core@4.14.1"
# What a violation is, where, and how it is mended, a line each.
RUN = """where => axe.run(where).then(r => r.violations.map(
    v => `${v.id}: ${v.nodes.length} x ${v.nodes[0].html.slice(0, 160)} ${v.nodes[0].failureSummary}`))"""
PAGES = [
    "today", "advice", "tag", "review", "past_review", "cautions", "accuracy", "earnings", "listing", "finish",
    "space", "list", "work", "buys",
]  # fmt: skip


@pytest.fixture(scope="session")
def axe(tmp_path_factory) -> str:
    """The checker's own text."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm on this machine to fetch axe-core with")
    folder = tmp_path_factory.mktemp("axe")
    asked = [npm, "install", "--no-audit", "--no-fund", "--prefix", str(folder), AXE]
    done = subprocess.run(asked, capture_output=True, text=True, timeout=180, check=False)
    if done.returncode:
        pytest.skip(f"npm could not fetch {AXE}")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
@numbers_kept_for(Path(__file__))  # others ask the same of the demo
def pages(browser, axe, demo_fits, tmp_path_factory) -> dict[str, Path]:
    """One page of each kind, from the demo shop; `axe` first, so that without it nothing is worked out."""
    folder = tmp_path_factory.mktemp("pages")
    flips = demo_fits.records.flips
    piece = piece_from_row(flips[flips["status"] == "listed"].iloc[0])
    advice = advise(demo_fits, piece)
    finds = demo_fits.records.folder / "finds.csv"
    results = {
        "advice": advice,
        "tag": price_tag(piece, advice.plan),
        "review": review(demo_fits, "2026-Q3"),
        "past_review": review(demo_fits, "2026-Q1"),
        "cautions": all_cautions(),
        "accuracy": accuracy(demo_fits),
        "earnings": earnings(demo_fits, by=("furniture_type", "finish")),
        "listing": listing_text(piece),
        "finish": finish_choice(demo_fits, piece),
        "space": days_and_space(demo_fits),
        "list": advise_all(demo_fits),
        "work": what_next(demo_fits),
        "buys": best_buys(demo_fits, finds, cash=300, hours=30),
    }
    written = {name: save_page(made, folder / f"{name}.html") for name, made in results.items()}
    return written | {"today": save_today(demo_fits, folder)[0]}


@pytest.mark.parametrize("kind", PAGES)
def test_no_page_breaks_a_rule_of_axe(pages, browser, axe, kind):
    found = []
    for width, scheme in ((390, "light"), (800, "dark"), (1440, "light")):
        page = browser.new_page(viewport={"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        page.goto(pages[kind].as_uri())
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        page.evaluate(axe)
        found += [f"{width} {scheme} {line}" for line in page.evaluate(RUN, "html")]
        page.close()
    assert found == []


def test_axe_sees_a_rule_broken(pages, browser, axe):
    page = browser.new_page()
    page.goto(pages["tag"].as_uri())
    page.evaluate("document.documentElement.removeAttribute('lang')")
    page.evaluate(axe)
    assert [line.partition(":")[0] for line in page.evaluate(RUN, "html")] == ["html-has-lang"]
    page.close()


def test_no_form_breaks_a_rule_of_axe(axe, browser, tmp_path_factory):
    folder = tmp_path_factory.mktemp("axe_forms") / "shop"
    start_shop(folder, demo=True)
    with running_lab(folder) as lab:
        page = browser.new_page(viewport={"width": 1280, "height": 1000})
        desk = Desk(lab=lab, page=page, name="every_week.ipynb")
        desk.open()
        desk.restart_and_run_all()
        page.wait_for_selector(".b-weigh", state="attached")
        page.evaluate(axe)
        titles = page.locator(".fleet-tabs .lm-TabBar-tab").all_inner_texts()
        assert len(titles) >= 4
        found = []
        for title in titles:
            page.locator(f'.fleet-tabs .lm-TabBar-tab:has-text("{title}")').click()
            found += [f"{title}: {line}" for line in page.evaluate(RUN, ".fleet-tabs")]
        page.close()
    assert found == []
