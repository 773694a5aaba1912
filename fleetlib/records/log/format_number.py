"""The format number that the kit's own files carry in their heading, so that an older kit knows a newer file.

It is a last heading of its own, `format 2`, with nothing under it: every version reads past a heading it does not
know. Without one a file is of the first format. Raise FORMAT when a reader of the format before would take a row
for something else than it says; a new event word or a new column needs none, since both are kept and said.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from fleetlib.base.errors import BadRecords, CannotSave
from fleetlib.base.opening import content_of, is_there

FORMAT = 2  # 2: an undo names the entry it takes back
OWN_FILES = ("events.csv", "answers.csv", "advice_log.csv")
HEADING = f"format {FORMAT}"
_NUMBER = re.compile(r"\s*format[ _-]?(\d{1,4})\s*", re.IGNORECASE)
_LOOK_AT = 4096  # bytes in which the first line lies


def format_of(headings: Sequence[str]) -> int:
    """The format number among the headings of one of the kit's own files; 1 where there is none."""
    found = [_NUMBER.fullmatch(h.strip('"')) for h in headings]
    return max([int(m[1]) for m in found if m], default=1)


def newer(name: str, headings: Sequence[str]) -> str:
    """What to say of the file `name` where a newer kit began it; "" where this one knows its format."""
    number = format_of(headings)
    if number <= FORMAT:
        return ""
    return (
        f"{name} was begun by a newer fleetlib (format {number}; this one knows {FORMAT}): what could be read was, and "
        "nothing is written into it. Upgrade fleetlib to add to it."
    )


def refuse_newer(path: Path, headings: Sequence[str]) -> None:
    """Refuse, with CannotSave, to add to a file that a newer kit began; nothing is written."""
    said = newer(path.name, headings)
    if said:
        raise CannotSave(f"{said} Nothing was written.")


def newest_format(folder: Path) -> int:
    """The highest format number among the kit's own files in `folder`."""
    numbers = [1]
    for name in OWN_FILES:
        path = folder / name
        if is_there(path, refusal=BadRecords):
            start = content_of(path, most=_LOOK_AT, whole=False)
            lines = start.decode("utf-8", "replace").splitlines()
            head = [n for n in lines if not n.startswith("# ")]
            numbers.append(format_of(re.split(r"[,;\t|]", head[0] if head else "")))
    return max(numbers)
