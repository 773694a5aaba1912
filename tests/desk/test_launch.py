"""The file to double-click: it runs the kit on the shop it lies in, or says in a sentence what was moved."""

import configparser
import re
import subprocess
import sys
from pathlib import Path

import pytest

from fleetlib.base.errors import CannotSave
from fleetlib.desk.launch import launch_file

ODD = """O'Brien "quoted" $HOME `ls` 100% \\ back;slash & more"""


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    """A stand-in for the Python that fleetlib runs in: it knows fleetlib and tells how it was called."""
    made = tmp_path / "kit's place" / "python"
    made.parent.mkdir()
    made.write_text('#!/bin/sh\n[ "$1" = -c ] && exit 0\nprintf "%s|" "$@"\n')
    made.chmod(0o755)
    return made


def a_shop(place: Path) -> Path:
    place.mkdir(parents=True)
    (place / "flips.csv").write_text("furniture_type,sale_price\n")
    return place


def double_click(file: Path) -> str:
    """What the system would run, run; what it prints."""
    if file.suffix == ".command":
        command = [str(file)]
    else:
        entry = configparser.RawConfigParser(delimiters=("=",), interpolation=None)
        entry.optionxform = str
        entry.read_string(file.read_text())
        line = entry["Desktop Entry"]["Exec"]
        # the specification: first the escapes of any value, then the quotes of Exec, which are those of a shell
        words = re.sub(r"\\(.)", lambda m: {"s": " ", "n": "\n"}.get(m[1], m[1]), line)
        split = subprocess.run(
            ["sh", "-c", f'set -- {words}; for w; do printf "%s\\0" "$w"; done'],
            capture_output=True,
            text=True,
            check=True,
        )
        codes = {"%k": str(file)}
        command = [codes.get(w, w.replace("%%", "%")) for w in split.stdout.split("\0")[:-1]]
    ran = subprocess.run(command, capture_output=True, text=True, input="\n", timeout=60)
    return ran.stdout + ran.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="needs sh")
@pytest.mark.parametrize("system", ["linux", "darwin"])
class TestDoubleClick:
    def test_it_opens_the_shop_it_lies_in_even_after_the_folder_was_moved(
        self, tmp_path: Path, kit: Path, system: str
    ) -> None:
        shop = a_shop(tmp_path / ODD)
        file = launch_file(shop, system=system, kit=str(kit))
        assert double_click(file) == f"-m|fleetlib|lab|{shop}|"
        moved = shop.rename(tmp_path / "moved")
        assert double_click(moved / file.name) == f"-m|fleetlib|lab|{moved}|"

    def test_carried_elsewhere_it_opens_the_shop_it_was_written_for(
        self, tmp_path: Path, kit: Path, system: str
    ) -> None:
        shop = a_shop(tmp_path / ODD)
        file = launch_file(shop, system=system, kit=str(kit))
        (tmp_path / "desktop").mkdir()
        carried = file.rename(tmp_path / "desktop" / file.name)
        assert double_click(carried) == f"-m|fleetlib|lab|{shop}|"
        shop.rename(tmp_path / "moved")
        said = double_click(carried)
        assert said.startswith(f"This file lies in no shop folder, and {shop} is none any more.")
        assert "Press Enter" in said

    def test_a_kit_that_was_moved_is_said_in_a_sentence(
        self, tmp_path: Path, kit: Path, system: str
    ) -> None:
        shop = a_shop(tmp_path / "shop")
        file = launch_file(shop, system=system, kit=str(kit))
        kit.unlink()
        said = double_click(file)
        assert said.startswith(f"fleetlib is no longer at {kit}. Install it again, then type: ")
        assert f"fleetlib start '{shop}' --notebooks" in said

    def test_the_window_stays_when_lab_refuses(
        self, tmp_path: Path, kit: Path, system: str
    ) -> None:
        kit.write_text('#!/bin/sh\n[ "$1" = -c ] && exit 0\necho "fleetlib: no." >&2; exit 2\n')
        file = launch_file(a_shop(tmp_path / "shop"), system=system, kit=str(kit))
        assert "Press Enter" in double_click(file)


def test_the_windows_file_names_kit_and_folder_with_per_cent_signs_doubled(tmp_path: Path) -> None:
    shop = a_shop(tmp_path / "100% oak (new)")
    file = launch_file(shop, system="win32", kit=r"C:\Program Files (x86)\py\python.exe")
    text = file.read_bytes().decode()
    assert text.count("\r\n") == text.count("\n")
    assert 'set "KIT=C:\\Program Files (x86)\\py\\python.exe"\r\n' in text
    assert f'set "HOME_FOLDER={tmp_path}/100%% oak (new)"\r\n' in text
    assert '"%KIT%" -m fleetlib lab "%PLACE%"\r\n' in text
    assert set(re.findall(r"goto (\w+)", text)) == set(re.findall(r"^:(\w+)", text, re.M))


def test_a_path_that_no_such_file_can_hold_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotSave, match="line break"):
        launch_file(tmp_path / "two\nlines", system="linux")
