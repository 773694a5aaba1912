"""`fleetlib lab` as a person meets it: the page opens with its forms live, again and again."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetlib.desk.start import start_shop

READY = ".b-price"


class Typed:
    """`fleetlib lab FOLDER` typed in a terminal, its browser left out."""

    def __init__(self, folder: Path, cache: Path) -> None:
        self.began = time.monotonic()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "fleetlib", "lab", str(folder), "--no-browser"],
            env=os.environ | {"FLEETLIB_CACHE": str(cache)},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said = ""
        self.address = ""
        for line in self.process.stdout:
            self.said += line
            if found := re.search(r"http://127\.0\.0\.1:\S+", line):
                self.address = found[0]
                break

    def stop(self) -> None:
        """Ctrl+C; a second `lab` that only joined has ended by itself."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        self.said += self.process.stdout.read()
        self.process.wait(30)


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


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def seen(browser, address: str):
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.goto(address)
    page.wait_for_selector(READY, timeout=60_000)
    return page, asked


def outside(asked: list[str], address: str) -> list[str]:
    own = address.split("://")[1].split("/")[0]
    return [
        url
        for url in asked
        if not url.startswith(("data:", "blob:", "about:"))
        and url.split("://", 1)[-1].split("/")[0].split("?")[0] != own
    ]


@pytest.mark.browser
def test_the_forms_are_live_without_a_click_and_nothing_is_asked_of_another_machine(
    browser, place: Path, first: Typed
) -> None:
    assert first.address, first.said
    before = files(place / "shop")
    page, asked = seen(browser, first.address)
    assert page.locator(".jp-Dialog").count() == 0
    part = page.locator(".jp-OutputArea:has(.b-price)").first
    part.locator(".f-onhand select").select_option(index=1)
    part.locator(".f-noidea input").check()
    part.locator(".b-price").click()
    part.locator(".a-answer img").wait_for(timeout=60_000)
    assert outside(asked, first.address) == []
    page.reload()
    page.wait_for_selector(READY, timeout=60_000)
    assert files(place / "shop") == before
    page.close()


@pytest.mark.browser
def test_a_second_one_joins_the_first(browser, place: Path, first: Typed) -> None:
    second = Typed(place / "shop", place / "cache")
    second.stop()
    assert second.address == first.address, second.said
    assert "open already" in second.said
    page, _ = seen(browser, second.address)
    page.close()
