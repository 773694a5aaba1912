"""Files are written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from fleetlib.base.errors import CannotSave


def write_whole(path: str | Path, content: str | bytes, *, replace: bool = True) -> Path:
    """Write `content` (text as UTF-8) to `path` through a temporary file in the same folder.

    Either the old file stays as it was or the new one is there whole. The mode of a file that is
    replaced is kept. With `replace=False` a file that exists is refused, never overwritten.

    Returns the path written. Raises CannotSave, saying which place and why.
    """
    target = Path(path)
    data = content.encode("utf-8") if isinstance(content, str) else content
    if target.exists() and not replace:
        raise CannotSave(f"{target} is already there and is not overwritten. Give another name.")
    if target.parent.is_file():
        raise CannotSave(f"{target.parent} cannot be written into: it is a file. Name a folder.")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    except OSError as problem:
        raise CannotSave(f"{target} cannot be written: {problem.strerror}.") from problem
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).chmod(target.stat().st_mode & 0o777 if target.exists() else 0o644)
        os.replace(temporary, target)  # noqa: PTH105 - the one call that is atomic on every system
    except OSError as problem:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        raise CannotSave(f"{target} cannot be written: {problem.strerror}.") from problem
    return target
