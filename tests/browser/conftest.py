"""JupyterLab and Chromium for the browser tests; both are started once."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.browser.jupyterlab import Desk, Lab, running_lab

ROOT = Path(__file__).resolve().parent.parent.parent


FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
]


@pytest.fixture(scope="session")
def browser():
    """Chromium; the test is skipped without one, or fails when FLEETLIB_NEED_BROWSER is set."""
    from playwright.sync_api import sync_playwright

    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        if os.environ.get("FLEETLIB_NEED_BROWSER"):
            pytest.fail("FLEETLIB_NEED_BROWSER is set, but there is no chromium on this machine")
        pytest.skip("no chromium on this machine")
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=found, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory, browser) -> Iterator[Lab]:
    """A server on a copy of the notebooks; `browser` first, so that without one nothing is started."""
    folder = tmp_path_factory.mktemp("shop")
    for notebook in sorted((ROOT / "notebooks").glob("*.ipynb")):
        shutil.copy(notebook, folder)
    with running_lab(folder) as started:
        yield started


@pytest.fixture
def open_notebook(lab: Lab, browser) -> Iterator[Callable[[str], Desk]]:
    """Open a notebook of the lab's folder on a page of its own."""
    pages = []

    def opened(name: str, theme: str = "Light") -> Desk:
        lab.theme(theme)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        pages.append(page)
        desk = Desk(lab=lab, page=page, name=name)
        desk.open()
        return desk

    yield opened
    for page in pages:
        page.close()


@pytest.fixture
def opened(browser):
    """Open a page file; what it asks for, says on the console or pops up is written down."""
    pages = []

    def at(path: Path, width: int = 1100, **media):
        page = browser.new_page(viewport={"width": width, "height": 900})
        page.asked, page.trouble = [], []
        page.on("request", lambda r: page.asked.append(r.url))
        page.on("dialog", lambda d: (page.trouble.append(d.message), d.dismiss()))
        page.on("pageerror", lambda e: page.trouble.append(str(e)))
        page.on("console", lambda m: page.trouble.append(m.text))
        page.emulate_media(**media)
        page.goto(path.as_uri())
        pages.append(page)
        return page

    yield at
    for page in pages:
        page.close()
