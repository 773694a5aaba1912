"""The wheel: built, installed into an empty environment and used there, without a connection once installed."""

import email.parser
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# Put before everything else on the path of the installed kit: any connection is an error.
NO_NET = """
import socket
def _refuse(*_, **__):
    raise OSError("the installed kit asked for a connection")
socket.socket.connect = socket.create_connection = socket.getaddrinfo = _refuse
"""


def uv() -> list[str]:
    """How uv is run here; skips, by name, where it is not installed."""
    found = shutil.which("uv")
    if found:
        return [found]
    beside = [sys.executable, "-m", "uv"]
    if subprocess.run([*beside, "--version"], capture_output=True).returncode:
        pytest.skip("uv is not installed, so no wheel can be built in an empty environment")
    return beside


def run_uv(*words: str) -> None:
    """Run uv; skips, by name, where no package index can be reached."""
    done = subprocess.run([*uv(), *words], capture_output=True, text=True, timeout=500)
    if done.returncode:
        no_index = ("Failed to fetch", "error sending request", "dns error", "Could not connect")
        if any(sign in done.stderr for sign in no_index):
            pytest.skip("no package index is reachable, so what the wheel needs cannot be fetched")
        raise AssertionError(done.stderr)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from this source by the build backend it names."""
    out = tmp_path_factory.mktemp("wheel")
    run_uv("build", "--wheel", "--quiet", "--out-dir", str(out), str(ROOT))
    (made,) = out.glob("*.whl")
    return made


def test_the_wheel_says_what_it_is_and_holds_kit_demo_and_licence(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as held:
        names = held.namelist()
        (meta,) = (n for n in names if n.endswith(".dist-info/METADATA"))
        told = email.parser.Parser().parsestr(held.read(meta).decode())
        (licence,) = (n for n in names if n.endswith("licenses/LICENSE"))
        assert held.read(licence) == (ROOT / "LICENSE").read_bytes()
        kit = {n.removeprefix("fleetlib/_kit/") for n in names if n.startswith("fleetlib/_kit/")}
        for path in [*(ROOT / "notebooks").glob("*.ipynb"), *(ROOT / "data_demo").glob("*.csv")]:
            inside = path.relative_to(ROOT).as_posix()
            assert inside in kit
            assert held.read(f"fleetlib/_kit/{inside}") == path.read_bytes()
    assert told["License-Expression"] == "BSD-3-Clause"
    assert told["Author"] == "the fleetlib contributors"
    assert told["Requires-Python"] == "<3.14,>=3.11"
    assert len(told["Summary"]) > 20 and "jupyter" in told["Keywords"]
    assert told.get_all("Classifier") and told["Project-URL"] is None and told["Home-page"] is None
    assert not [n for n in names if n.startswith(("tests/", ".ci/", "notebooks/"))]
    assert not [n for n in names if "__pycache__" in n or "checkpoint" in n]


def test_the_wheel_works_in_an_empty_environment_without_a_connection(
    wheel: Path, tmp_path: Path
) -> None:
    place = tmp_path / "empty"
    run_uv("venv", "--quiet", "--python", sys.executable, str(place))
    scripts = place / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / ("python.exe" if os.name == "nt" else "python")
    exact = str(ROOT / ".ci" / "constraints.txt")
    run_uv("pip", "install", "--quiet", "--python", str(python), "-c", exact, str(wheel))

    blocked = tmp_path / "blocked"
    blocked.mkdir()
    (blocked / "sitecustomize.py").write_text(NO_NET, encoding="utf-8")
    away = tmp_path / "my documents"
    away.mkdir()
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}

    def fleetlib(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(scripts / "fleetlib"), *words],
            cwd=away,
            env=kept | {"PYTHONPATH": str(blocked)},
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=300,
        )

    version = fleetlib("--version")
    assert version.returncode == 0, version.stderr
    assert str(place) in version.stdout and str(ROOT) not in version.stdout
    priced = fleetlib("price", "--piece", "A-257")
    assert priced.returncode == 0, priced.stderr
    assert "A-257" in priced.stdout
    begun = fleetlib("start", "my shop", "--demo")
    assert begun.returncode == 0, begun.stderr
    assert (away / "my shop" / "2_price_a_piece.ipynb").is_file()
    refused = fleetlib("start", str(next(place.rglob("fleetlib/_kit"))))
    assert refused.returncode == 2 and "inside fleetlib's own folder" in refused.stderr
