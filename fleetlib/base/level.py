"""The share of pieces that a range is said to hold."""

from __future__ import annotations

from fleetlib.base.errors import BadQuestion

USUAL_LEVEL = 0.80  # 8 times out of 10, unless asked otherwise


def check_level(level: float) -> None:
    """Raise BadQuestion unless `level` is a share strictly between 0 and 1."""
    if not 0 < level < 1:
        raise BadQuestion(f"level is {level:g}; it must be between 0 and 1, such as 0.80.")
