"""Looking at a file and reading it: nothing that is no file is taken for "none", and each fault is one sentence."""

from __future__ import annotations

from pathlib import Path

from fleetlib.base.errors import BadRecords, CannotSave, FleetError


def why(problem: OSError) -> str:
    """An OSError as the end of a sentence: "Permission denied"."""
    return problem.strerror or str(problem) or type(problem).__name__


def is_there(path: str | Path, *, refusal: type[FleetError] = CannotSave) -> bool:
    """Whether a file is at `path`: True for a file, False for nothing at all.

    Raises `refusal` for what is no file (a folder, a pipe, a link to nothing), and where the place cannot be
    looked at, so that none of them is taken for "no file".
    """
    place = Path(path)
    try:
        if place.is_file():
            return True
        if place.is_symlink():
            raise refusal(
                f"{place} is a link to something that is not there. Put the file back, or remove the link."
            )
        if place.exists():
            what = "a folder" if place.is_dir() else "no file but a pipe or a device"
            raise refusal(f"{place} is {what}. Move it away: a file belongs there.")
        place.parent.stat()
    except FileNotFoundError:
        return False
    except FleetError:
        raise
    except OSError as problem:
        raise refusal(f"{place} cannot be looked at: {why(problem)}.") from problem
    return False


def is_folder(path: str | Path, *, refusal: type[FleetError]) -> bool:
    """Whether a folder is at `path`. Raises `refusal` where that cannot be looked at, as for a name too long."""
    try:
        return Path(path).is_dir()
    except OSError as problem:
        raise refusal(f"{path} cannot be looked at: {why(problem)}.") from problem


def names_in(folder: str | Path) -> list[Path]:
    """What lies in `folder`, by name. Raises BadRecords where it cannot be looked into."""
    try:
        return sorted(Path(folder).iterdir())
    except OSError as problem:
        raise BadRecords(f"{folder} cannot be looked into: {why(problem)}.") from problem


def content_of(
    path: Path, *, most: int, whole: bool = True, refusal: type[FleetError] = BadRecords
) -> bytes:
    """The bytes of a file that is there, of `most` bytes at most; not `whole`: the first `most` of it.

    Raises `refusal`, saying why, for a larger one that is wanted whole and for one that cannot be read (no
    permission, held by another program, gone since it was looked for).
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(most + 1)
    except OSError as problem:
        raise refusal(
            f"{path} cannot be read: {why(problem)}. If another program holds it open, close it there."
        ) from problem
    if whole and len(data) > most:
        raise refusal(
            f"{path.name} is larger than {most / 1e6:,.3g} MB, the most that is read of one. Is it the right file?"
        )
    return data[:most]
