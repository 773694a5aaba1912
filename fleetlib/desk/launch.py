"""A file to double-click in the shop folder, that opens its weekly page; written by `fleetlib start`.

It opens the shop it lies in, wherever that folder was moved; lying elsewhere, the shop it was written for. Where
neither is a shop folder, or the kit was moved, it says so in a sentence and waits. The Linux one follows the
Desktop Entry Specification of freedesktop.org (quoting of Exec, field code %k: from memory); Windows' and
macOS' own ways of running a file (.cmd, .command) likewise.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

from fleetlib.base.errors import CannotSave
from fleetlib.base.saving import PRIVATE_FOLDER, write_whole

_NAME = "Open the weekly page"
_LOST = "This file lies in no shop folder, and {home} is none any more. Put it into your shop folder, beside flips.csv."
_GONE = "fleetlib is no longer at {kit}. Install it again, then type: fleetlib start {place} --notebooks"
_WAIT = "Press Enter to close this window."

# `$1` is this very file. One line, since it must fit into a desktop entry; no per cent sign for the same reason.
_SH = (
    "kit={kit}; home={home}; "
    'shop() {{ [ -e "$1/flips.csv" ] || [ -e "$1/flips.xlsx" ] || [ -e "$1/flips.tsv" ] || [ -e "$1/flips.txt" ]; }}; '
    'say() {{ echo "$1"; echo "{wait}"; read -r _; exit 2; }}; '
    'place=$(cd "$(dirname "$1")" 2>/dev/null && pwd); shop "$place" || place=$home; '
    'shop "$place" || say "{lost}"; '
    '"$kit" -c "import fleetlib" 2>/dev/null || say "{gone}"; '
    '"$kit" -m fleetlib lab "$place"; case $? in 1|2) echo "{wait}"; read -r _;; esac'
)
_CMD = """@echo off
chcp 65001 >nul
set "KIT={kit}"
set "HOME_FOLDER={home}"
set "PLACE=%~dp0."
if not exist "%PLACE%\\flips.*" set "PLACE=%HOME_FOLDER%"
if not exist "%PLACE%\\flips.*" goto lost
"%KIT%" -c "import fleetlib" 2>nul || goto gone
"%KIT%" -m fleetlib lab "%PLACE%"
if %ERRORLEVEL% EQU 1 pause
if %ERRORLEVEL% EQU 2 pause
exit /b
:lost
echo {lost}
pause
exit /b 2
:gone
echo {gone}
pause
exit /b 2
"""
_DESKTOP = """[Desktop Entry]
Type=Application
Version=1.0
Name={name}
Comment=The weekly page of this shop, its forms ready to use
Terminal=true
Exec=sh -c {script} sh %k
"""


def opens_with(folder: str | Path) -> Path | None:
    """The file to double-click that lies in `folder`; None where there is none."""
    return next(iter(sorted(Path(folder).glob(f"{_NAME}.*"))), None)


def launch_file(folder: str | Path, *, system: str = sys.platform, kit: str = "") -> Path:
    """Write the file to double-click for `system` (as sys.platform) into the shop `folder`; returns it.

    `kit` is the Python that fleetlib runs in, this one when left out. One that is there already is the kit's
    own and is written anew. Raises CannotSave where the path holds a line break, which no such file can hold.
    """
    home = Path(folder).resolve()
    kit = kit or sys.executable
    if "\n" in f"{kit}{home}" or "\r" in f"{kit}{home}":
        raise CannotSave(f"The path of {home} holds a line break. Rename that folder.")
    if system == "win32":
        return write_whole(home / f"{_NAME}.cmd", _cmd(kit, str(home)))
    script = _SH.format(
        kit=shlex.quote(kit),
        home=shlex.quote(str(home)),
        wait=_WAIT,
        lost=_LOST.format(home="$home"),
        gone=_GONE.format(kit="$kit", place="'$place'"),
    )
    if system == "darwin":
        path = write_whole(home / f"{_NAME}.command", f'#!/bin/sh\nset -- "$0"\n{script}\n')
    else:
        text = _DESKTOP.format(name=_NAME, script=_as_one_word(script))
        path = write_whole(home / f"{_NAME}.desktop", text)
    path.chmod(PRIVATE_FOLDER)  # the person alone may run it
    return path


def _as_one_word(script: str) -> str:
    """One argument of a desktop entry's Exec: quoted, and once more escaped as every value of the file is."""
    for mark in '\\"`$':
        script = script.replace(mark, f"\\{mark}")
    return f'"{script}"'.replace("\\", "\\\\").replace("%", "%%")


def _cmd(kit: str, home: str) -> str:
    text = _CMD.format(
        kit=kit.replace("%", "%%"),
        home=home.replace("%", "%%"),
        lost=_LOST.format(home='"%HOME_FOLDER%"'),
        gone=_GONE.format(kit='"%KIT%"', place='"%PLACE%"'),
    )
    return text.replace("\n", "\r\n")
