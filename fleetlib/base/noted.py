"""A note with a code beside its words: what another room acts on is the code, never the sentence."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

Code = Literal["no sale prices", "unpriced sales", "unread leaving", "asked"]


class Noted(str):
    """A sentence that others may act on; `code` says which."""

    __slots__ = ("code",)
    code: Code

    def __new__(cls, words: str, code: Code) -> Noted:
        """`words` with their `code`."""
        made = super().__new__(cls, words)
        made.code = code
        return made


def coded(notes: Iterable[str], code: Code) -> list[str]:
    """Those of `notes` that bear `code`."""
    return [n for n in notes if isinstance(n, Noted) and n.code == code]
