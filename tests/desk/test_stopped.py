"""Ctrl+C while the weekly page is being opened: one sentence, exit code 130, nothing left running or half-made."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from fleetlib.base.saving import is_half_made
from fleetlib.desk.start import start_shop

pytestmark = pytest.mark.skipif(os.name == "nt", reason="a console's Ctrl+C cannot be sent to one")


# What runs in the background ignores Ctrl+C, and so would what these tests start.
AS_AT_A_TERMINAL = (
    "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "from fleetlib.cli import main; sys.exit(main())"
)


@pytest.mark.parametrize(
    "after", [0.0, 1.0]
)  # seconds: before the server is there, and while it starts
def test_ctrl_c_while_the_page_opens_is_one_sentence_and_leaves_nothing(
    tmp_path: Path, after: float
) -> None:
    start_shop(tmp_path / "shop")
    before = {p.name: p.read_bytes() for p in (tmp_path / "shop").iterdir() if p.is_file()}
    process = subprocess.Popen(
        [sys.executable, "-c", AS_AT_A_TERMINAL, "lab", str(tmp_path / "shop"), "--no-browser"],
        env={**os.environ, "FLEETLIB_CACHE": str(tmp_path / "cache")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Opening the weekly page")
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    try:
        _, err = process.communicate(timeout=120)
    finally:
        process.kill()
    assert (process.returncode, err) == (130, "fleetlib: stopped.\n")
    assert not [p for p in psutil.process_iter(["cmdline"]) if _speaks_of(p, tmp_path)]
    assert not [p for p in (tmp_path / "cache").rglob("*") if is_half_made(p.name)]
    after_it = {p.name: p.read_bytes() for p in (tmp_path / "shop").iterdir() if p.is_file()}
    assert after_it == before


def _speaks_of(process: psutil.Process, place: Path) -> bool:
    return any(str(place / "cache") in part for part in process.info["cmdline"] or [])
