"""Numbers that took long to work out, kept in the kit's cache and taken from there when the same is asked again.

A number is kept under the content of everything it was worked out from (to the last bit), the kit's own code, and what
computes beneath it; so a kept answer is the one that would be worked out, to the last digit, and nothing is ever begun
from another's result. One file a shop, in a folder that may be deleted at any time: a line of JSON an answer, nothing
but numbers, written whole. A file that is broken, foreign, of another kit or too large is passed over; where none can
be written, none is.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import hashlib
import json
import os
import platform
from collections.abc import Callable, Iterator, Mapping
from contextvars import ContextVar
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from fleetlib.base.errors import CannotSave
from fleetlib.base.kit import cache_folder, kit_version
from fleetlib.base.saving import write_whole
from fleetlib.base.threads import linear_algebra

if TYPE_CHECKING:
    import pandas as pd

Numbers = Mapping[str, np.ndarray]
Made = TypeVar("Made")

MOST_KEPT = 600  # answers of one shop; the ones asked for longest ago go first
MOST_BYTES = 4_000_000  # of one shop's file
MOST_SHOPS = 40  # files; those written longest ago go first
# Whose code the numbers are worked out by.
_ROOMS = ("base", "records/schema", "work", "price", "selling", "plan", "trust")
_FOLDER = "numbers"
_PLAIN = {str, float, int, bool, type(None)}  # a list of these is told from any other by its repr


# What numbers that are not those that were kept make of being read.
_BROKEN = (LookupError, ValueError, TypeError, AttributeError, ArithmeticError, RecursionError)


class _Shelf:
    """One shop's kept numbers, read once and written once, at the end."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.grown = False

    @functools.cached_property
    def held(self) -> dict[str, str]:
        """The numbers of each question by its key, as JSON, the last asked for at the end; read when first needed."""
        return _read(self.path)

    def put_away(self) -> None:
        """Write what was added; a place that cannot be written to keeps nothing."""
        if not self.grown:
            return
        entries = [f"{key} {numbers}" for key, numbers in self.held.items()]
        kept, size = [], 0
        for entry in reversed(entries[-MOST_KEPT:]):
            size += len(entry)
            if size > MOST_BYTES - 1000:
                break
            kept.append(entry)
        body = "\n".join(reversed(kept))
        head = json.dumps({"fleetlib numbers": 2, "made by": _maker(), "sum": _sum(body)})
        with contextlib.suppress(OSError, CannotSave):
            if any(p.is_symlink() for p in (self.path.parent, self.path)):
                return
            write_whole(self.path, f"{head}\n{body}\n", lasting=False)
            _sweep(self.path.parent)


_shelf: ContextVar[_Shelf | None] = ContextVar("kept numbers", default=None)


@contextlib.contextmanager
def numbers_kept_for(folder: Path | None) -> Iterator[None]:
    """While inside, what `kept` works out for the shop in `folder` is kept from run to run; None keeps nothing.

    Inside another one for the same shop it is that one. What was worked out before a stop by Ctrl+C is kept too.
    """
    path = None if folder is None else _place(folder)
    open_one = _shelf.get()
    if path is None or (open_one is not None and open_one.path == path):
        yield
        return
    mine = _Shelf(path)
    before = _shelf.set(mine)
    try:
        yield
    finally:
        _shelf.reset(before)
        mine.put_away()


def keeping(shop: type[Made]) -> type[Made]:
    """A class that has `records`, its questions and properties asked with `numbers_kept_for` its folder.

    Records that were made and not read (`given` is None) keep nothing.
    """

    def asked(question: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(question)
        def answer(self: Any, *args: Any, **kwargs: Any) -> Any:
            with numbers_kept_for(self.records.given and self.records.folder):
                return question(self, *args, **kwargs)

        return answer

    for name, member in list(vars(shop).items()):
        if name.startswith("_"):
            continue
        if isinstance(member, property) and member.fget is not None:
            setattr(shop, name, property(asked(member.fget)))
        elif callable(member):
            setattr(shop, name, asked(member))
    return shop


def kept(
    what: str,
    given: object,
    work: Callable[[], Made],
    *,
    numbers: Callable[[Made], Numbers],
    again: Callable[[Numbers], Made],
) -> Made:
    """What `work()` makes of `given`, or what `again` makes of the numbers it came to before.

    given: everything that `work` depends on but the code: arrays, numbers, texts, days, dataclasses and tuples of
    them. numbers: what is kept of the made thing, float arrays by name, from which `again` makes the very same.
    Outside of `numbers_kept_for` it is worked out and nothing is kept.
    """
    shelf = _shelf.get()
    if shelf is None:
        return work()
    try:
        key = _key(what, given)
    except TypeError:
        return work()
    if key in shelf.held:
        with contextlib.suppress(*_BROKEN):
            made = again(_arrays(json.loads(shelf.held[key])))
            shelf.held[key] = shelf.held.pop(key)  # last asked for
            return made
    made = work()
    told = {n: [list(a.shape), a.ravel().tolist()] for n, a in numbers(made).items()}
    shelf.held[key] = json.dumps(told, separators=(",", ":"))
    shelf.grown = True
    return made


def told_by(frame: pd.DataFrame) -> tuple[object, ...]:
    """A table as something that `kept` can be given: its rows' order, names and content."""

    def told(column: pd.Series) -> object:
        if column.dtype.kind in "biufmM":
            return column.to_numpy()
        cells = column.tolist()
        return repr(cells) if set(map(type, cells)) <= _PLAIN else cells

    return tuple((str(name), told(column)) for name, column in frame.items())


def _key(what: str, given: object) -> str:
    found = hashlib.blake2b(f"{what}\n".encode(), digest_size=16)
    _feed(found, given)
    return found.hexdigest()


def _arrays(entry: Any) -> Numbers:
    return {
        name: np.array(values, dtype=float).reshape(shape)
        for name, (shape, values) in entry.items()
    }


def _place(folder: Path) -> Path:
    mark = hashlib.sha256(os.path.realpath(folder).encode("utf-8", "surrogatepass")).hexdigest()
    return cache_folder() / _FOLDER / f"{mark[:16]}.json"


def _read(path: Path) -> dict[str, str]:
    """What the file holds; {} for none, a link, a broken or foreign file, or one of another kit."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        if path.parent.is_symlink() or path.is_symlink():
            return {}
        with os.fdopen(os.open(path, flags), "rb") as stream:
            text = stream.read(MOST_BYTES + 1)
        if len(text) > MOST_BYTES:
            return {}
        first, _, body = text.decode("utf-8").partition("\n")
        head, body = json.loads(first), body.rstrip("\n")
        if head["made by"] != _maker() or head["sum"] != _sum(body):
            return {}
        return dict(line.split(" ", 1) for line in body.splitlines())
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}


def _sum(body: str) -> str:
    return hashlib.blake2b(body.encode(), digest_size=16).hexdigest()


def _sweep(place: Path) -> None:
    """Let go of the files written longest ago, beyond MOST_SHOPS."""
    files = [p for p in place.glob("*.json") if not p.is_symlink()]
    for old in sorted(files, key=lambda p: p.stat().st_mtime_ns)[:-MOST_SHOPS]:
        old.unlink(missing_ok=True)


@functools.cache
def _maker() -> str:
    """The kit, its code, and what it computes with: another of them may come to another last digit."""
    import scipy  # not above: the kit's help needs none of it

    made = hashlib.blake2b(digest_size=16)
    parts = (
        kit_version(),
        platform.python_version(),
        np.__version__,
        scipy.__version__,
        platform.system(),
        platform.machine(),
        linear_algebra(),
    )
    made.update("\n".join(parts).encode())
    kit = Path(__file__).resolve().parent.parent
    for room in _ROOMS:
        for file in sorted((kit / room).rglob("*.py")):
            made.update(file.relative_to(kit).as_posix().encode() + b"\n" + file.read_bytes())
    return made.hexdigest()


def _feed(found: Any, given: object) -> None:
    """Add the content of `given` to a hash, kind and length with it, so that no two contents are the same."""
    if given is None or isinstance(given, str | bytes | bool | int | float | date | np.generic):
        found.update(f"{type(given).__name__} {given!r}\n".encode("utf-8", "surrogatepass"))
    elif isinstance(given, np.ndarray):
        if given.dtype == object:
            raise TypeError("an array of objects has no content of its own")
        found.update(f"array {given.dtype.str} {given.shape}\n".encode())
        found.update(np.ascontiguousarray(given).reshape(-1).view(np.uint8).data)
    elif isinstance(given, tuple | list):
        found.update(f"row {len(given)}\n".encode())
        for part in given:
            _feed(found, part)
    elif dataclasses.is_dataclass(given):
        kind: Any = type(given)
        head, names = _shape(kind)
        found.update(head)
        for name in names:
            _feed(found, getattr(given, name))
    elif isinstance(given, Mapping):
        _feed(found, tuple(given.items()))
    elif isinstance(given, frozenset):
        _feed(found, tuple(sorted(given, key=repr)))
    else:
        raise TypeError(f"{type(given).__name__} has no content that could be told from another's")


@functools.cache
def _shape(kind: type) -> tuple[bytes, list[str]]:
    """What a dataclass is called and its fields are, as bytes; the fields."""
    names = [f.name for f in dataclasses.fields(kind)]
    return f"{kind.__name__} {names}\n".encode(), names
