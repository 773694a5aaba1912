"""`fleetlib lab` typed in a terminal, its page in a browser, and every address asked for written down."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

READY = ".fleet-tabs .lm-TabBar-tab"  # the page stands on the tab that was used last
PATIENCE_MS = 180_000  # a machine that does much else at once is slow, not wrong
# Run first by every Python started below: it writes down each address that is asked for or connected to.
LISTENER = """
import os, sys
log = os.open(os.environ["FLEETLIB_HEARD"], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
def note(*said):
    os.write(log, (" ".join(map(repr, (os.getpid(), *said))) + "\\n").encode())
def hear(event, args):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg"):
        note(event, args[1])
    elif event in ("socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr"):
        note(event, args[0])
note("started", " ".join(sys.orig_argv))
sys.addaudithook(hear)
"""
NEAR = re.compile(r"(None|b?''|'(127\.0\.0\.1|localhost|::1)'|\('(127\.0\.0\.1|::1)', .*|b?'/.*')$")


class Typed:
    """`fleetlib lab FOLDER` typed in a terminal, its browser left out."""

    def __init__(self, folder: Path, cache: Path) -> None:
        ears = cache.parent / "ears"
        ears.mkdir(exist_ok=True)
        (ears / "sitecustomize.py").write_text(LISTENER)
        self.heard = cache.parent / "heard"
        path = os.pathsep.join([str(ears), os.environ.get("PYTHONPATH", "")])
        self.process = subprocess.Popen(
            [sys.executable, "-m", "fleetlib", "lab", str(folder), "--no-browser"],
            env=os.environ
            | {
                "FLEETLIB_CACHE": str(cache),
                "FLEETLIB_HEARD": str(self.heard),
                "PYTHONPATH": path,
            },
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

    def ended(self) -> str:
        """All it said, once it has ended by itself."""
        self.said += self.process.stdout.read()
        self.process.wait(30)
        self.process.stdout.close()
        return self.said

    def stop(self) -> str:
        """Ctrl+C."""
        if self.process.stdout.closed:
            return self.said
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        return self.ended()

    @property
    def port(self) -> int:
        return int(self.address.split(":")[2].split("/")[0])


def seen(browser: Any, address: str, width: int = 1280, height: int = 900) -> tuple[Any, list[str]]:
    """A page of the browser on `address`, its forms there, and the list of what it asks for."""
    page = browser.new_page(viewport={"width": width, "height": height})
    page.set_default_timeout(PATIENCE_MS)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.goto(address)
    page.wait_for_selector(READY)
    return page, asked


def outside(asked: list[str], address: str) -> list[str]:
    """What was asked of another server than that of `address`."""
    own = address.split("://")[1].split("/")[0]
    return [
        url
        for url in asked
        if not url.startswith(("data:", "blob:", "about:"))
        and url.split("://", 1)[-1].split("/")[0].split("?")[0] != own
    ]


def tab(page: Any, title: str) -> None:
    """Turn to a form."""
    page.locator(f'.fleet-tabs .lm-TabBar-tab:has-text("{title}")').click()
