"""The weekly page, opened ready: its forms live in the browser, with nothing to press first.

What opens is the kit's own copy of the page, laid into a cache folder that may be deleted at any time; the
shop's folder is told to the page by the environment and is not written to by opening. The page's cells are
run here before the browser sees them, and only cells read from the kit itself are ever run or marked as
trusted. The server listens on this machine alone, asks for a token and asks nothing of any other machine.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import queue
import secrets
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from fleetlib.base.errors import CannotSave, FleetError, MissingRecords
from fleetlib.base.kit import SHOP_FOLDER, cache_folder, holds_records, notebooks_folder
from fleetlib.base.saving import write_whole

PAGE = "every_week.ipynb"
_HOST = "127.0.0.1"
_LONGEST_PLACE = 45  # a socket's path may have about 104 letters, and ours adds 58
_STARTING_S, _RUNNING_S = 60.0, 120.0
_NO_NEWS = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    },
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
    "@jupyterlab/statusbar-extension:plugin": {"visible": False},
    "@jupyterlab/apputils-extension:themes": {"adaptive-theme": True},
}
_OFF = (
    "@jupyterlab/apputils-extension:announcements",
    "@jupyterlab/extensionmanager-extension",
    "@jupyterlab/debugger-extension",
    "@jupyterlab/cell-toolbar-extension",
    # Would warn at every reload that changes may be lost; none are: what is logged is in the shop's folder.
    "@jupyterlab/application-extension:dirty",
)


# What one page of forms has no use for; each takes its time to load.
_OFF_ON_THE_PAGE = (
    "celltags", "csvviewer", "hub", "htmlviewer", "imageviewer", "inspector", "json", "launcher", "logconsole",
    "mermaid", "pdf", "pluginmanager", "terminal", "vega5",
)  # fmt: skip


class CannotOpen(FleetError, OSError):
    """The page could not be opened: the server did not start or stopped."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


@dataclass(frozen=True, slots=True)
class Desk:
    """A running server for one shop: where it is, its token, its process and what its page was made of."""

    port: int
    token: str
    pid: int
    made_of: str
    kernel: str = ""

    def ask(self, path: str, *, method: str = "GET", content: Any = None) -> Any:
        """The server's answer to `path` as JSON, None when it is empty. Raises OSError when there is none."""
        call = urllib.request.Request(
            f"http://{_HOST}:{self.port}/{path}",
            method=method,
            data=None if content is None else json.dumps(content).encode(),
            headers={"Authorization": f"token {self.token}", "Content-Type": "application/json"},
        )
        # No proxy is asked: the server is on this machine.
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with direct.open(call, timeout=30) as answer:
            text = answer.read()
        return json.loads(text) if text else None

    def answers(self) -> bool:
        """True when this very server is there and knows the token."""
        try:
            return "started" in self.ask("api/status")
        except (OSError, ValueError):
            return False

    def address(self, path: str) -> str:
        """The address of `path` for the browser."""
        return f"http://{_HOST}:{self.port}/{path}?token={self.token}"


@dataclass(frozen=True, slots=True)
class Opened:
    """What `open_page` did: the address, whether a running page was joined, and what the page complained of."""

    address: str
    joined: bool
    complaint: str
    log: Path
    desk: Desk
    process: Any = None

    def wait(self) -> None:
        """Stay until the server ends or is interrupted, then stop it and forget it."""
        if self.process is None:
            return
        for name in ("SIGTERM", "SIGHUP"):  # the window is closed, the machine goes down
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), signal.default_int_handler)
        try:
            self.process.wait()
        finally:
            _stop(self.process)


def open_page(
    folder: str | Path,
    *,
    files: bool = False,
    show: Callable[[str], object] = lambda address: None,
) -> Opened:
    """Bring up the weekly page of the shop in `folder`, its forms live; a page that is open is joined.

    `show` is given the page's address as soon as a browser may go there: it starts while the page is made ready,
    and waits for it. With `files` JupyterLab opens on the folder itself with its file list, and nothing is run.
    Raises MissingRecords for a folder without records, CannotOpen with the log's place when no server starts.
    """
    shop = Path(folder).resolve()
    if not shop.is_dir():
        raise MissingRecords(f"There is no folder at {folder}. Was it moved or renamed?")
    if not files and not holds_records(shop):
        raise MissingRecords(
            f"{folder} holds no flips.csv or flips.xlsx. Name the folder that holds your records."
        )
    place = _place(shop, files=files)
    made_of = "files" if files else _made_of(shop)
    running = _known(place)
    process = None
    if running is None or not running.answers():
        running, process = _start(place, shop if files else place / "page", shop, made_of)
    address = running.address("lab" if files else f"doc/tree/{PAGE}")
    try:
        complaint = ""
        if not files and (running.made_of != made_of or not _alive(running, place)):
            running, complaint = _lay_page(running, place, made_of, lambda: show(address))
        else:
            show(address)
    except BaseException as problem:
        if process is not None:
            _stop(process)
        if not isinstance(problem, OSError | ValueError | RuntimeError):
            raise  # stopped by the person, most likely
        raise CannotOpen(
            f"The page could not be made ready ({problem}). {_log_says(place)}"
        ) from problem
    return Opened(address, process is None, complaint, place / "server.log", running, process)


def _place(shop: Path, *, files: bool) -> Path:
    """This shop's part of the cache; it can be read by nobody else."""
    key = hashlib.sha256(str(shop).encode()).hexdigest()[:8]
    place = cache_folder() / (f"{key}f" if files else key)
    try:
        (place / "page").mkdir(parents=True, exist_ok=True)
        place.chmod(0o700)
    except OSError as problem:
        raise CannotSave(f"{place} cannot be written: {problem.strerror}.") from problem
    return place


def _made_of(shop: Path) -> str:
    """What the open page depends on: the kit, the day, the records. The log is read again by the forms."""
    parts = [date.today().isoformat(), hashlib.sha256(_kit_page()).hexdigest()]
    kit = Path(__file__).resolve().parent.parent
    named = sorted(p for p in shop.iterdir() if p.stem == "flips" or p.name == "settings.toml")
    for file in (*named, *sorted(kit.rglob("*.py"))):
        seen = file.stat()
        parts.append(f"{file.name} {seen.st_mtime_ns} {seen.st_size}")
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _kit_page() -> bytes:
    return (notebooks_folder() / PAGE).read_bytes()


def _known(place: Path) -> Desk | None:
    """The server last started for this place, running or not."""
    try:
        return Desk(**json.loads((place / "running.json").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def _remember(place: Path, desk: Desk) -> None:
    kept = {name: getattr(desk, name) for name in Desk.__slots__}
    write_whole(place / "running.json", json.dumps(kept)).chmod(0o600)


def _free_port(wanted: int) -> int:
    """The wanted port if it is free, so that a tab left open finds its page again; else any free one."""
    for port in (wanted, 0):
        with socket.socket() as probe, contextlib.suppress(OSError):
            if os.name != "nt":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((_HOST, port))
            return int(probe.getsockname()[1])
    raise CannotOpen("No port of this machine is free. Close some programs and try again.")


def _start(place: Path, root: Path, shop: Path, made_of: str) -> tuple[Desk, Any]:
    """Start a server and wait until it answers."""
    _write_settings(place, page=root == place / "page")
    before = _known(place)
    wanted = before.port if before else 20_000 + int(place.name[:6], 16) % 20_000
    token = secrets.token_hex(24)
    for attempt in range(3):
        port = _free_port(wanted if attempt == 0 else 0)
        with (place / "server.log").open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "fleetlib.desk.serving", *_options(port, root, place)],
                env=_environment(place, shop, token),
                cwd=place,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                **_apart(),
            )
        desk = Desk(port, token, process.pid, "" if made_of != "files" else made_of)
        try:
            if _until(desk, process):
                _remember(place, desk)
                return desk, process
        except BaseException:
            _stop(process)
            raise
        _stop(process)
    raise CannotOpen(f"The page's server did not start. {_log_says(place)}")


def _until(desk: Desk, process: Any) -> bool:
    end = time.monotonic() + _STARTING_S
    while time.monotonic() < end and process.poll() is None:
        if desk.answers():
            return True
        time.sleep(0.05)
    return False


def _apart() -> dict[str, Any]:
    """Ctrl+C in the terminal is for us alone; we then stop the server and its kernels."""
    if os.name == "nt":
        return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    return {"start_new_session": True}


def _options(port: int, root: Path, place: Path) -> list[str]:
    options = [
        "--no-browser",
        f"--ip={_HOST}",
        f"--port={port}",
        "--ServerApp.port_retries=0",
        "--ServerApp.log_level=WARN",
        f"--ServerApp.root_dir={root}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
    ]
    # Server and kernel talk through socket files, not ports, where the path is short enough for the system.
    if os.name != "nt" and len(str(place)) < _LONGEST_PLACE:
        options.append("--KernelManager.transport=ipc")
    if root == place / "page":
        options.append("--ServerApp.contents_manager_class=fleetlib.desk.serving.Pages")
    root_user = hasattr(os, "geteuid") and os.geteuid() == 0
    return [*options, "--allow-root"] if root_user else options


def _environment(place: Path, shop: Path, token: str) -> dict[str, str]:
    """The person's own JupyterLab, its settings and extensions, is neither used nor touched."""
    own = {k: v for k, v in os.environ.items() if not k.startswith(("JUPYTER", "MPLBACKEND"))}
    own |= {
        f"JUPYTER_{kind}_DIR": str(place / name)
        for kind, name in (("CONFIG", "config"), ("DATA", "data"), ("RUNTIME", "run"))
    }
    kit = str(Path(__file__).resolve().parent.parent.parent)
    path = [kit, *filter(None, [own.get("PYTHONPATH", "")])]
    return own | {
        SHOP_FOLDER: str(shop),
        "JUPYTER_TOKEN": token,
        "JUPYTERLAB_SETTINGS_DIR": str(cache_folder() / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(place / "workspaces"),
        "IPYTHONDIR": str(place / "ipython"),
        "PYTHONPATH": os.pathsep.join(path),
    }


def _write_settings(place: Path, *, page: bool) -> None:
    config = place / "config" / "labconfig"
    write_whole(config / "default_setting_overrides.json", json.dumps(_NO_NEWS))
    off = [*_OFF, *(f"@jupyterlab/{name}-extension" for name in _OFF_ON_THE_PAGE if page)]
    write_whole(
        config / "page_config.json", json.dumps({"disabledExtensions": dict.fromkeys(off, True)})
    )


def _alive(desk: Desk, place: Path) -> bool:
    """True when the page's kernel is the one that was made ready: a restarted one knows no shop."""
    if not desk.kernel:
        return False
    with contextlib.suppress(OSError, ValueError, KeyError, RuntimeError):
        if desk.kernel in [k["id"] for k in desk.ask("api/kernels")]:
            with _kernel(place, desk.kernel) as client:
                return _run(client, "'shop' in globals()", keep=False) == ["True"]
    return False


def _lay_page(
    desk: Desk, place: Path, made_of: str, begun: Callable[[], object]
) -> tuple[Desk, str]:
    """The kit's page with its forms live in a fresh kernel; returns the desk and what the page complained of.

    `begun` is called once the old page is deleted: from then on whoever asks for the page waits for the new one.
    """
    for session in desk.ask("api/sessions"):
        desk.ask(f"api/sessions/{session['id']}", method="DELETE")
    (place / "page" / PAGE).unlink(missing_ok=True)
    asked = {"path": PAGE, "type": "notebook", "name": PAGE, "kernel": {"name": "python3"}}
    session = desk.ask("api/sessions", method="POST", content=asked)
    ready = replace(desk, made_of=made_of, kernel=session["kernel"]["id"])
    _remember(place, replace(ready, made_of="", kernel=""))
    begun()
    notebook = json.loads(_kit_page())
    cells = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    complaint = ""
    with _kernel(place, ready.kernel) as client:
        for count, cell in enumerate(cells, start=1):
            cell["outputs"] = _run(client, "".join(cell["source"]))
            cell["execution_count"] = count
            # Widgets show in a trusted page only; these cells are the kit's own, just read from it.
            cell["metadata"]["trusted"] = True
            errors = [o for o in cell["outputs"] if o["output_type"] == "error"]
            if errors:
                complaint = str(errors[0]["evalue"])
                break
    content = {"type": "notebook", "format": "json", "content": notebook}
    desk.ask(f"api/contents/{PAGE}", method="PUT", content=content)
    if not complaint:
        _remember(place, ready)
    return ready, complaint


@contextlib.contextmanager
def _kernel(place: Path, kernel: str) -> Iterator[Any]:
    """A client of the page's kernel, through the connection file that its server keeps."""
    from jupyter_client.blocking.client import BlockingKernelClient

    file = place / "run" / f"kernel-{kernel}.json"
    client = BlockingKernelClient(connection_file=str(file))
    client.load_connection_file()
    client.start_channels(hb=False)
    try:
        _until_heard(client)
        yield client
    finally:
        client.stop_channels()


def _until_heard(client: Any) -> None:
    """Wait until the kernel answers and its outputs are heard: what it says before that would be lost."""
    end = time.monotonic() + _STARTING_S
    while time.monotonic() < end:
        client.kernel_info()
        with contextlib.suppress(queue.Empty):
            client.get_iopub_msg(timeout=0.5)
            client.get_shell_msg(timeout=_STARTING_S)
            return
    raise RuntimeError("its kernel did not start")


def _run(client: Any, code: str, *, keep: bool = True) -> list[Any]:
    """Run `code` in the kernel: its outputs as a notebook stores them, or without `keep` its value as text."""
    outputs: list[Any] = []

    def take(message: dict[str, Any]) -> None:
        kind, content = message["header"]["msg_type"], dict(message["content"])
        if kind in ("execute_result", "display_data", "error", "stream"):
            content.pop("transient", None)
            outputs.append({"output_type": kind, **content})

    client.execute_interactive(
        code, store_history=keep, output_hook=take, timeout=_RUNNING_S, allow_stdin=False
    )
    return outputs if keep else [o["data"]["text/plain"] for o in outputs if "data" in o]


def _stop(process: Any) -> None:
    """End a server started here, and with it its kernels."""
    if process.poll() is not None:
        return
    process.terminate()
    try:
        process.wait(8)
    except subprocess.TimeoutExpired:
        if os.name == "nt":
            process.kill()
        else:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
        process.wait(5)


def _log_says(place: Path) -> str:
    log = place / "server.log"
    return (
        f"What the server wrote is in {log}. Run the command again; if that fails, delete {place}."
    )
