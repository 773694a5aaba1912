"""The picture of any result, and the words that say the same.

fl.picture(shop.estimate(piece))      # shows itself in a notebook, with its text for screen readers
fl.picture_alt(shop.plan(piece))      # only the words
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules, walk_packages
from typing import Any

from fleetlib.base.errors import BadQuestion
from fleetlib.shown.chart_style import Picture


def picture(result: object) -> Picture:
    """The picture of `result`: a matplotlib Figure that also carries its `title` and `alt` text.

    Raises BadQuestion for something that has no picture, naming what has.
    """
    kind = type(result)
    draw = _drawn_in(_rooms_of(kind.__module__)).get(kind.__name__)
    if draw is None:
        known = ", ".join(sorted(drawn_kinds()))
        raise BadQuestion(
            f"There is no picture of a {kind.__name__}. There is one of each of these: {known}."
        )
    return draw(result)


def drawn_kinds() -> set[str]:
    """The names of all results that have a picture."""
    packages = walk_packages([str(Path(__file__).parents[1])], "fleetlib.")
    return set(_drawn_in([room.name for room in packages if room.ispkg]))


def _rooms_of(module: str) -> list[str]:
    """The packages of fleetlib that `module` lies in, the outermost first; none for anyone else's."""
    parts = module.split(".")
    inside = parts[0] == "fleetlib"
    return [".".join(parts[:n]) for n in range(2, len(parts))] if inside else []


def _drawn_in(rooms: Iterable[str]) -> dict[str, Callable[[Any], Picture]]:
    """What the picture files of `rooms` draw; each says so in its DRAWS. Loads those files alone."""
    found: dict[str, Callable[[Any], Picture]] = {}
    for room in rooms:
        path = getattr(import_module(room), "__path__", [])
        for one in iter_modules(path):
            if one.name == "picture" or one.name.startswith("picture_"):
                found |= import_module(f"{room}.{one.name}").DRAWS
    return found


def picture_alt(result: object) -> str:
    """What the picture of `result` shows, in words with the same numbers."""
    return drawn(result).alt


def picture_png(result: object) -> bytes:
    """The picture of `result` as a PNG image."""
    return drawn(result).png()


def drawn(result: object) -> Picture:
    """The picture of `result`; that of the result last asked for is kept, since a form and its page show the same."""
    if not _LAST or _LAST[0] is not result:
        _LAST[:] = [result, picture(result)]
    kept: Picture = _LAST[1]
    return kept


_LAST: list[Any] = []
