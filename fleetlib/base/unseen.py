"""Characters that cannot be seen and can do harm: control characters, direction marks, half characters.

What they are: Unicode's categories Cc (C0 and C1, but not tab and line breaks), the bidirectional controls of
Unicode Standard Annex 9, and unpaired surrogates. A terminal obeys the first, the second turn the order of the
letters around, the third can be written to no file.
"""

from __future__ import annotations

import re

_DIRECTION = "\\u061c\\u200e\\u200f\\u202a-\\u202e\\u2066-\\u2069"
UNSEEN = re.compile(
    f"[\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f{_DIRECTION}\\ud800-\\udfff]"  # not tab, LF, CR
)


_BREAKS = "\x0b\x0c\x85"  # a line's or a page's end, between words: a space stands for it
_PLAIN_TEXT = str.maketrans("", "", "\t\n\r")


def has_unseen(text: str) -> bool:
    """Whether `text` holds any of them; quick for a long text that holds none."""
    if text.isascii():
        return not text.translate(_PLAIN_TEXT).isprintable()
    return UNSEEN.search(text) is not None


def without_unseen(text: str) -> str:
    """`text` without any of them."""
    return UNSEEN.sub(lambda m: " " if m.group() in _BREAKS else "", text)


def made_visible(text: str) -> str:
    """`text` with each of them written out as Unicode numbers it: `oak<U+001B>`."""
    return UNSEEN.sub(lambda m: f"<U+{ord(m.group()):04X}>", text)


def named(text: str) -> str:
    """The first of them in `text`, as Unicode numbers it: `U+001B`; empty where there is none."""
    found = UNSEEN.search(text)
    return f"U+{ord(found.group()):04X}" if found else ""
