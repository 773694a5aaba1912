"""A real JupyterLab on this machine, and what a person does in it, for the browser tests."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

TOKEN = "only-for-the-tests"
SETTINGS = {
    # The news pop-up asks an outside host; "no update check" belongs to it.
    "apputils-extension/notification.jupyterlab-settings": {
        "fetchNews": "false",
        "checkForUpdates": False,
    },
    # Every cell is kept in the page, so that a picture far down can be looked at.
    "notebook-extension/tracker.jupyterlab-settings": {"windowingMode": "none"},
}
COUNT_DARK = """img => {
    const page = document.createElement('canvas');
    page.width = img.naturalWidth; page.height = img.naturalHeight;
    const brush = page.getContext('2d');
    brush.fillStyle = '#fff'; brush.fillRect(0, 0, page.width, page.height);
    brush.drawImage(img, 0, 0);
    const dots = brush.getImageData(0, 0, page.width, page.height).data;
    let dark = 0;
    for (let i = 0; i < dots.length; i += 4)
        if (dots[i] + dots[i + 1] + dots[i + 2] < 3 * 160) dark += 1;
    return dark / (page.width * page.height);
}"""

CONTRASTS = """selector => {
    const read = text => (text.match(/[\\d.]+/g) || []).map(Number);
    const light = c => c.slice(0, 3).map(v => v / 255)
        .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const behind = element => {
        for (let e = element; e; e = e.parentElement) {
            const c = read(getComputedStyle(e).backgroundColor);
            if (c.length === 3 || (c.length === 4 && c[3] > 0.5)) return c;
        }
        return [255, 255, 255];
    };
    return [...document.querySelectorAll(selector)].filter(e => e.textContent.trim()).map(e => {
        const [a, b] = [light(read(getComputedStyle(e).color)), light(behind(e))];
        return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    });
}"""


@dataclass
class Lab:
    """One JupyterLab server whose files are in `folder`; nothing of the person's own set-up is used."""

    folder: Path
    port: int
    settings: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def ask(self, path: str) -> Any:
        """The server's own answer to `path`, as JSON."""
        call = urllib.request.Request(
            f"{self.address}/{path}", headers={"Authorization": f"token {TOKEN}"}
        )
        with urllib.request.urlopen(call, timeout=10) as answer:
            return json.load(answer)

    def theme(self, name: str) -> None:
        """Light or dark, as a person chooses it in the settings."""
        _write(
            self.settings / "@jupyterlab/apputils-extension/themes.jupyterlab-settings",
            {"theme": f"JupyterLab {name}"},
        )

    def notebook(self, name: str) -> dict[str, Any]:
        """The notebook as it is saved on disk."""
        return json.loads((self.folder / name).read_text(encoding="utf-8"))


@dataclass
class Desk:
    """One browser page with one notebook open; everything the page asks for is written down."""

    lab: Lab
    page: Any
    name: str
    asked: list[str] = field(default_factory=list)

    def open(self) -> None:
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("websocket", lambda socket: self.asked.append(socket.url))
        self.page.goto(f"{self.lab.address}/lab/tree/{self.name}?token={TOKEN}&reset")
        self.page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=60_000)
        self._until_kernel_is_ready()

    def restart_and_run_all(self, seconds: float = 90) -> None:
        """Clear the stored outputs, restart and run all, and wait until every cell has its number.

        Without the clearing, the stored numbers 1..n would look like a finished run.
        """
        self.page.click('.lm-MenuBar-item >> text="View"')  # folded code shows no number
        self.page.click('.lm-Menu-item[data-command="notebook:show-all-cell-code"]')
        self.page.click('.lm-MenuBar-item >> text="Edit"')
        self.page.click('.lm-Menu-item[data-command="editmenu:clear-all"]')
        self.page.wait_for_function(
            "() => [...document.querySelectorAll('.jp-Notebook .jp-CodeCell .jp-InputPrompt')]"
            ".every(p => p.textContent.trim() === '[ ]:')"
        )
        self.page.click(
            '.jp-NotebookPanel-toolbar [data-command="notebook:restart-run-all"], '
            '.jp-NotebookPanel-toolbar [data-jp-item-name="restart-and-run"] jp-button'
        )
        self.page.click(".jp-Dialog button.jp-mod-accept")
        self.page.wait_for_function(
            """() => {
                const cells = [...document.querySelectorAll('.jp-Notebook .jp-CodeCell')]
                    .filter(c => c.querySelector('.cm-content').textContent.trim() !== '');
                const said = cells.map(c => c.querySelector('.jp-InputPrompt').textContent.trim());
                return said.length > 0 && said.every((text, i) => text === `[${i + 1}]:`);
            }""",
            timeout=seconds * 1000,
        )
        self.idle()
        self.page.wait_for_function(
            "() => [...document.querySelectorAll('.jp-OutputArea img')].every(i => i.complete)"
        )

    def idle(self, seconds: float = 90) -> None:
        """Wait until the bottom line says Idle, as the guide tells people to."""
        self.page.wait_for_function(
            "() => document.querySelector('#jp-bottom-panel, .jp-StatusBar-Widget')"
            "?.innerText.includes('| Idle')",
            timeout=seconds * 1000,
        )

    def save(self) -> dict[str, Any]:
        """Save with the keyboard and read what is then on disk."""
        place = self.lab.folder / self.name
        before = place.stat().st_mtime_ns
        self.page.keyboard.press("Control+s")
        _until(lambda: place.stat().st_mtime_ns != before, "the notebook was not saved")
        time.sleep(0.2)
        return self.lab.notebook(self.name)

    def outside_requests(self) -> list[str]:
        """Everything asked of another machine than this one."""
        own = (f"127.0.0.1:{self.lab.port}/", f"127.0.0.1:{self.lab.port}?")
        return [
            url
            for url in self.asked
            if not url.startswith(("data:", "blob:", "about:"))
            and not url.split("://", 1)[-1].startswith(own)
        ]

    def pictures(self) -> list[tuple[str, float]]:
        """Alt text of each picture in the outputs, and the share of its dots that are dark."""
        found = self.page.query_selector_all(".jp-OutputArea img")
        return [(img.get_attribute("alt") or "", img.evaluate(COUNT_DARK)) for img in found]

    def contrasts(self, selector: str) -> list[float]:
        """Contrast of the letters of each such element with what is behind them (formula of WCAG 2.1)."""
        return list(self.page.evaluate(CONTRASTS, selector))

    def shot(self, path: Path) -> Path:
        """The whole notebook, top to bottom, as a picture."""
        height = self.page.evaluate(
            "() => { const n = document.querySelector('.jp-WindowedPanel-outer');"
            " return n.scrollHeight; }"
        )
        self.page.set_viewport_size({"width": 1280, "height": min(int(height) + 160, 16_000)})
        self.page.wait_for_timeout(500)
        self.page.screenshot(path=path)
        return path

    def _until_kernel_is_ready(self) -> None:
        """ "Run All" pressed while the kernel is still starting can do nothing at all."""

        def ready() -> bool:
            try:
                kernels = self.lab.ask("api/kernels")
            except (urllib.error.URLError, OSError):
                return False  # half-way through starting it may answer 500
            return any(k["execution_state"] == "idle" and k["connections"] >= 1 for k in kernels)

        _until(ready, "the kernel did not start")
        self.idle()


def troubles(notebook: dict[str, Any]) -> list[str]:
    """Error and stderr outputs of a saved notebook; an empty list is a clean run."""
    found = []
    for cell in notebook["cells"]:
        for output in cell.get("outputs", []):
            if output["output_type"] == "error":
                found.append(f"{output['ename']}: {output['evalue']}")
            elif output.get("name") == "stderr":
                found.append("".join(output["text"]))
    return found


@contextlib.contextmanager
def running_lab(folder: Path) -> Iterator[Lab]:
    """Start JupyterLab on `folder` with a home of its own, and stop it and its kernels afterwards."""
    with tempfile.TemporaryDirectory(prefix="lab-home-", ignore_cleanup_errors=True) as place:
        home = Path(place)
        lab = Lab(folder=folder, port=_free_port(), settings=home / "settings")
        for name, content in SETTINGS.items():
            _write(lab.settings / "@jupyterlab" / name, content)
        command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"]
        command += ["--ip=127.0.0.1", f"--port={lab.port}", "--ServerApp.port_retries=0"]
        command += [f"--ServerApp.root_dir={folder}", "--LabApp.extension_manager=readonly"]
        command += ["--KernelManager.transport=ipc"]
        log = (home / "log.txt").open("wb")
        server = subprocess.Popen(
            command,
            env=_environment(home),
            cwd=home,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            _until(lambda: _answers(lab, server), "JupyterLab did not start")
            yield lab
        finally:
            _stop(server)
            log.close()


def _environment(home: Path) -> dict[str, str]:
    env = {k: v for k, v in os.environ.items() if not k.startswith(("JUPYTER", "MPLBACKEND"))}
    env |= {"HOME": str(home), "JUPYTER_TOKEN": TOKEN, "OPENBLAS_NUM_THREADS": "1"}
    env |= {
        f"JUPYTER_{kind}_DIR": str(home / kind.lower()) for kind in ("CONFIG", "DATA", "RUNTIME")
    }
    return env | {
        "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"),
        "IPYTHONDIR": str(home / "ipython"),
    }


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _answers(lab: Lab, server: subprocess.Popen[bytes]) -> bool:
    if server.poll() is not None:
        raise RuntimeError(f"JupyterLab ended with status {server.returncode}")
    try:
        return "version" in lab.ask("api")
    except (urllib.error.URLError, OSError):
        return False


def _stop(server: subprocess.Popen[bytes]) -> None:
    group = server.pid  # start_new_session made it the leader of its own group
    for sign, seconds in ((signal.SIGINT, 0.5), (signal.SIGTERM, 8), (signal.SIGKILL, 5)):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(group, sign)
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(seconds)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(group, signal.SIGKILL)


def _until(true: Any, complaint: str, seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            raise TimeoutError(complaint)
        time.sleep(0.2)


def _write(path: Path, content: dict[str, Any]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")
