"""A shop folder as one dated zip, checked by reading it back; and a shop folder made from such a zip."""

from __future__ import annotations

import contextlib
import io
import re
import zipfile
import zlib
from datetime import date, datetime
from pathlib import Path, PurePosixPath

from fleetlib.base.errors import BadRecords, CannotSave, FleetError, MissingRecords
from fleetlib.base.kit import holds_records
from fleetlib.base.opening import is_folder, is_there
from fleetlib.base.saving import is_half_made, unfinished, write_whole
from fleetlib.desk.launch import launch_file

KEPT = 10  # this many of one shop's own backups stay; older ones are let go
NOTED = (
    "last_backup.txt"  # in the shop folder: the day of the last backup, and where it was written
)
_MOST_BYTES = 2_000_000_000  # a folder of photographs beyond this is named, not packed
_LEFT_OUT = {".ipynb_checkpoints", "__pycache__", ".git", ".venv"}
_DAMAGED = (OSError, zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError)
_STAMP = re.compile(r"-(\d{4}-\d\d-\d\d)(?:-(\d\d))?\.zip$")


def backup_shop(
    folder: str | Path, *, to: str | Path | None = None, on: date | None = None
) -> Path:
    """Everything in the shop `folder` as `NAME-2026-09-30.zip`, in `to` or beside the folder; returns the zip.

    The zip is read back and compared to the byte before it gets its name. The newest ten of this shop stay
    there, older ones are removed; a zip of any other name is never touched. A second one of a day is numbered.

    Raises MissingRecords where `folder` holds no records, CannotSave where the zip can't be written whole.
    """
    place = Path(folder)
    if not holds_records(place):
        raise MissingRecords(
            f"{place} holds no flips.csv or flips.xlsx, so there is nothing to back up."
        )
    name = place.resolve().name
    target = Path(to) if to is not None else place.resolve().parent
    if target.resolve().is_relative_to(place.resolve()):
        raise CannotSave(f"{target} is inside the shop folder. Name another place with --to.")
    contents = _contents(place)
    packed = _packed(contents)
    _check(packed, contents)
    day = (on or datetime.now().date()).isoformat()
    earlier = [p for p in backups_of(place, target) if day in p.name]
    number = max((int(_stamp(p)[1] or 1) for p in earlier), default=0) + 1
    written = write_whole(
        target / f"{name}-{day}{f'-{number:02d}' if number > 1 else ''}.zip", packed, replace=False
    )
    for old in backups_of(place, target)[:-KEPT]:
        old.unlink(missing_ok=True)
    with contextlib.suppress(
        FleetError
    ):  # the backup stands all the same; one is then reminded too early
        write_whole(place / NOTED, f"{day} {written.resolve()}\n")
    return written


def last_backup(folder: str | Path) -> date | None:
    """The day of the last backup of the shop: of those beside it, and the one noted in it, wherever it lies."""
    days = [day_of(path) for path in backups_of(folder)]
    with contextlib.suppress(OSError, ValueError):
        days.append(date.fromisoformat((Path(folder) / NOTED).read_text(encoding="utf-8")[:10]))
    return max(days, default=None)


def backups_of(folder: str | Path, place: str | Path | None = None) -> list[Path]:
    """This shop's own backups in `place` (beside the folder when not named), oldest first."""
    shop = Path(folder).resolve()
    where = Path(place) if place is not None else shop.parent
    own = [p for p in where.glob(f"{_literal(shop.name)}-*.zip") if _STAMP.search(p.name)]
    own = [p for p in own if p.name[: _found(p).start()] == shop.name]
    return sorted(own, key=lambda p: (_stamp(p)[0], int(_stamp(p)[1] or 1)))


def day_of(backup: Path) -> date:
    """The day in a backup's name."""
    return date.fromisoformat(_stamp(backup)[0])


def restore_shop(archive: str | Path, folder: str | Path) -> list[Path]:
    """The shop in the zip `archive`, laid into the new folder `folder`; returns the files written.

    Its file to double-click is written anew, for this folder and this kit (`desk.launch`).

    One that was cut off is finished when it is asked for again. Raises BadRecords for a zip that is damaged or isn't a
    shop's, CannotSave where `folder` holds anything else.
    """
    source, place = Path(archive), Path(folder)
    files = _of_the_zip(source)
    there = _there(place)
    lack = unfinished(place, files) if there <= set(files) else []
    if not lack:
        raise CannotSave(f"{place} is not empty; nothing was written. Choose a new folder.")
    written = [write_whole(place / name, files[name], replace=False) for name in sorted(lack)]
    opens = launch_file(place)
    return [*(p for p in written if p.resolve() != opens), opens]


def _there(place: Path) -> set[str]:
    """The names of what lies in `place`, but for what a write that was cut off has left."""
    if not is_folder(place, refusal=CannotSave):
        return {place.name} if is_there(place) else set()
    found = [p for p in place.rglob("*") if not p.is_dir() and not is_half_made(p.name)]
    return {p.relative_to(place).as_posix() for p in found}


def _of_the_zip(source: Path) -> dict[str, bytes]:
    """The files in a backup, by name. Raises BadRecords for a zip that is damaged or isn't a shop's."""
    try:
        with zipfile.ZipFile(source) as held:
            broken = held.testzip()
            files = (
                {n: held.read(n) for n in held.namelist() if not n.endswith("/")}
                if not broken
                else {}
            )
    except FileNotFoundError:
        raise MissingRecords(f"There is no file {source}.") from None
    except _DAMAGED as problem:
        raise BadRecords(f"{source} cannot be read as a backup: {problem}.") from None
    outside = [
        n
        for n in files
        if ".." in PurePosixPath(n).parts or n.startswith("/") or ":" in n or "\\" in n
    ]
    if broken or outside or not any(n.startswith("flips.") for n in files):
        why = (
            f"{broken} in it is damaged"
            if broken
            else "it holds no flips.csv, or files that lead out of it"
        )
        raise BadRecords(f"{source} is no backup of a shop: {why}. Nothing was written.")
    return files


def _contents(place: Path) -> dict[str, bytes]:
    paths = [
        p
        for p in sorted(place.rglob("*"))
        if p.is_file() and not p.is_symlink() and not _LEFT_OUT & set(p.relative_to(place).parts)
    ]
    try:
        if sum(p.stat().st_size for p in paths) > _MOST_BYTES:
            raise CannotSave(f"{place} holds more than 2 GB; move its photographs elsewhere first.")
        return {p.relative_to(place).as_posix(): p.read_bytes() for p in paths}
    except OSError as problem:
        raise CannotSave(
            f"{place} cannot be read whole: {problem.strerror}. No backup was made."
        ) from problem


def _packed(contents: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as held:
        for name, data in contents.items():
            held.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _check(packed: bytes, contents: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(packed)) as held:
        same = {n: held.read(n) for n in held.namelist()} == contents
    if not same:
        raise CannotSave(
            "The backup does not read back as it was written; nothing was kept. Try again."
        )


def _found(path: Path) -> re.Match[str]:
    found = _STAMP.search(path.name)
    assert found is not None
    return found


def _stamp(path: Path) -> tuple[str, str | None]:
    day, number = _found(path).groups()
    return str(day), number


def _literal(name: str) -> str:
    return re.sub(r"([*?\[])", r"[\1]", name)
