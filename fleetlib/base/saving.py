"""Files are written whole or not at all, and one after the other."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from fleetlib.base.errors import CannotSave
from fleetlib.base.opening import content_of, is_there, why

LOCK = ".fleetlib-lock"  # the kit's own empty file; the system lets go of it when a process dies
MADE = (
    ".fleetlib-made"  # lists the tables written into a folder, so that they can be told from yours
)
PRIVATE, PRIVATE_FOLDER = 0o600, 0o700  # read and written by the person alone, where the system can
MOST_WAIT = 60.0  # seconds for another window to finish writing a line or a page
_MOST_OF_OURS = 1_000_000_000  # bytes of a table that is compared before it is replaced
_LOOK_AT = 4096  # bytes at the start of a file that tell whether it is one of ours
_HALF_MADE = re.compile(r"\.fleetlib-(\d+)-.*\.part")
_NO_LOCKS = {getattr(errno, name, -1) for name in ("ENOLCK", "ENOTSUP", "EOPNOTSUPP", "ENOSYS")}
_held = threading.local()
_threads: dict[str, threading.Lock] = {}


def write_whole(
    path: str | Path,
    content: str | bytes,
    *,
    replace: bool = True,
    over: tuple[bytes, ...] = (),
    lasting: bool = True,
) -> Path:
    """Write `content` (text as UTF-8) to `path` through a temporary file in the same folder.

    Either the old file stays as it was or the new one is there whole. The mode of a file that is
    replaced is kept; a new one, and a folder made for it, is for the person alone (0600, 0700). With
    `replace=False` a file that exists is refused, never overwritten; with `over` a file that holds none of these
    marks near its start is taken for the person's own and refused. A link is never replaced. What an interrupted
    write left behind in the folder is removed. Without `lasting` it isn't waited until it is on the disk: for what may
    be lost when the power fails.

    Returns the path written. Raises CannotSave, saying which place and why.
    """
    target = Path(path)
    try:
        data = content.encode("utf-8") if isinstance(content, str) else content
    except UnicodeEncodeError as problem:
        raise CannotSave(
            f"{target} cannot be written: it would hold half a character."
        ) from problem
    temporary = ""
    try:
        if target.parent.is_file():
            raise CannotSave(
                f"{target.parent} cannot be written into: it is a file. Name a folder."
            )
        if is_there(target):
            _refuse_what_is_there(target, replace, over)
        target.parent.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
        sweep(target.parent)
        handle, temporary = tempfile.mkstemp(
            dir=target.parent, prefix=f".fleetlib-{os.getpid()}-", suffix=".part"
        )
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            if lasting:
                os.fsync(stream.fileno())
        Path(temporary).chmod(target.stat().st_mode & 0o777 if target.exists() else PRIVATE)
        if replace:
            os.replace(temporary, target)  # noqa: PTH105 - the one call that is atomic on every system
        else:
            _put_where_nothing_is(temporary, target)
    except CannotSave:
        _remove(temporary)
        raise
    except OSError as problem:
        _remove(temporary)
        raise CannotSave(f"{target} cannot be written: {why(problem)}.") from problem
    except BaseException:
        _remove(temporary)
        raise
    return target


def unfinished(folder: str | Path, files: Mapping[str, bytes]) -> list[str]:
    """The names of `files` that a folder lacks, as one whose making was cut off lacks some; [] where all are there.

    Raises CannotSave where one of them is there with another content: then the folder is somebody's own.
    """
    lack = []
    for name, content in files.items():
        path = Path(folder) / name
        if not is_there(path):
            lack.append(name)
        elif _content(path) != content:
            raise CannotSave(
                f"{folder} already holds {name}; nothing was written. Choose a new folder."
            )
    return lack


def write_own(folder: str | Path, files: Mapping[str, str]) -> list[Path]:
    """Write `files` (text by name) into `folder`; a file that is there is replaced only if it is as this wrote it.

    What was written is told by a list in the folder (its name is MADE): a line a file, its SHA-256 and name.
    Returns the paths. Raises CannotSave before anything is written where one would be refused.
    """
    place = Path(folder)
    data = {name: text.encode("utf-8", "replace") for name, text in files.items()}
    listed = _listed(place)
    for name in data:
        if is_there(place / name) and (_mark(_content(place / name)), name) not in listed:
            raise CannotSave(
                f"{place / name} is already there, and is yours or was changed since it was written, so it is not "
                "overwritten. Name another folder; nothing was written."
            )
    made = {(_mark(content), name) for name, content in data.items()}
    kept = {(mark, name) for mark, name in listed if is_there(place / name)}
    write_whole(place / MADE, "".join(f"{m}  {n}\n" for m, n in sorted(made | kept)))
    return [write_whole(place / name, content) for name, content in data.items()]


def _listed(place: Path) -> set[tuple[str, str]]:
    if not is_there(place / MADE):
        return set()
    lines = _content(place / MADE).decode("utf-8", "replace").splitlines()
    return {(mark, name) for mark, gap, name in (line.partition("  ") for line in lines) if gap}


def _content(path: Path) -> bytes:
    return content_of(path, most=_MOST_OF_OURS, refusal=CannotSave)


def _mark(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _refuse_what_is_there(target: Path, replace: bool, over: tuple[bytes, ...]) -> None:
    if target.is_symlink():
        raise CannotSave(
            f"{target} is a link, which is never replaced. Name the file itself, or another one."
        )
    if not replace:
        raise CannotSave(f"{target} is already there and is not overwritten. Give another name.")
    if over:
        with target.open("rb") as stream:
            start = stream.read(_LOOK_AT)
        if start and not any(mark in start for mark in over):
            raise CannotSave(
                f"{target} is already there and was not made by fleetlib, so it is not overwritten. Give another "
                "name."
            )


def _put_where_nothing_is(temporary: str, target: Path) -> None:
    """The whole file under its name, only where nothing is yet; of two at once one is refused."""
    try:
        os.link(temporary, target)
    except FileExistsError:
        raise CannotSave(
            f"{target} is already there and is not overwritten. Give another name."
        ) from None
    except OSError:  # a file system without hard links; there two at once may meet
        if target.exists():
            raise CannotSave(
                f"{target} is already there and is not overwritten. Give another name."
            ) from None
        os.replace(temporary, target)  # noqa: PTH105
        return
    _remove(temporary)


def _remove(temporary: str) -> None:
    if temporary:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()


def is_half_made(name: str) -> bool:
    """True for the name of a file that a write of ours makes and gives its own name only when it is whole."""
    return _HALF_MADE.fullmatch(name) is not None


def sweep(folder: Path) -> None:
    """Remove what writes of ours that were cut off have left in `folder`; those still at work stay."""
    with contextlib.suppress(OSError):
        for place in folder.iterdir():
            made = _HALF_MADE.fullmatch(place.name)
            if made and not _at_work(int(made[1]), place):
                _remove(str(place))


def _at_work(process: int, place: Path) -> bool:
    if os.name == "nt":  # asking for a process by signal 0 would end it there; age decides
        return time.time() - place.stat().st_mtime < 3600
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


@contextlib.contextmanager
def locked(folder: str | Path) -> Iterator[None]:
    """Hold the folder's one lock: nothing of the kit's looks and then appends there meanwhile.

    The same thread may enter again. Raises CannotSave where the lock cannot be had within MOST_WAIT seconds or
    its file not be made. On a file system that knows no locks nothing is held.
    """
    place = os.path.realpath(folder)
    depth: dict[str, int] = _held.__dict__.setdefault("depth", {})
    if depth.get(place):
        depth[place] += 1
        try:
            yield
        finally:
            depth[place] -= 1
        return
    own = _threads.setdefault(place, threading.Lock())
    if not own.acquire(timeout=MOST_WAIT):
        raise _busy(place)
    try:
        handle = _taken(place)
        depth[place] = 1
        try:
            yield
        finally:
            depth[place] = 0
            if handle >= 0:
                _let_go(handle)
    finally:
        own.release()


def _busy(place: str) -> CannotSave:
    return CannotSave(
        f"Another window has been writing in {place} for {MOST_WAIT:.0f} seconds, so nothing was written. Close it "
        "and try again."
    )


def _taken(place: str) -> int:
    """The handle of the lock's file, locked; -1 where the file system knows no locks."""
    path = Path(place) / LOCK
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
    try:
        handle = os.open(path, flags | getattr(os, "O_NONBLOCK", 0), PRIVATE)
    except OSError as problem:
        raise CannotSave(
            f"Nothing can be written in {place}: {why(problem)}. Nothing was written."
        ) from problem
    until = time.monotonic() + MOST_WAIT
    while True:
        try:
            _try(handle)
        except OSError as problem:
            if problem.errno in _NO_LOCKS:
                os.close(handle)
                return -1
            if time.monotonic() > until:
                os.close(handle)
                raise _busy(place) from None
            time.sleep(0.01)
        except BaseException:
            os.close(handle)
            raise
        else:
            return handle


if os.name == "nt":
    import msvcrt

    def _try(handle: int) -> None:
        os.lseek(handle, 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]

    def _let_go(handle: int) -> None:
        with contextlib.suppress(OSError):
            os.lseek(handle, 0, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]
        os.close(handle)

else:
    import fcntl

    def _try(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _let_go(handle: int) -> None:
        os.close(handle)  # and with it the lock


def add_bytes(path: Path, data: bytes) -> None:
    """Add `data` at the end of the file at `path`, whole or not at all; call it with the folder `locked`.

    Only bytes of its own are ever cut off again. Raises CannotSave, saying whether anything was left there.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0))
    except OSError as problem:
        raise CannotSave(
            f"{path} cannot be written: {why(problem)}. Nothing was written; close the file where it is open, or "
            "let it be written to, and try again."
        ) from problem
    try:
        before = os.fstat(handle).st_size
        try:
            rest = data
            while rest:
                rest = rest[os.write(handle, rest) :]
            os.fsync(handle)
        except OSError as problem:
            left = _cut_back(path, before, data)
            raise CannotSave(f"{path} cannot be written: {why(problem)}. {left}") from problem
    finally:
        os.close(handle)


def _cut_back(path: Path, size: int, data: bytes) -> str:
    """Take one's own bytes off the end again, and only those; what is said of it."""
    whole = "Nothing was written."
    try:
        with path.open("rb") as stream:
            stream.seek(size)
            tail = stream.read(len(data) + 1)
        if not tail:
            return whole
        if data.startswith(tail):
            os.truncate(path, size)
            return whole
    except OSError:
        pass
    return (
        "A part of a line may have been written; it is told from a whole one when the file is read."
    )
