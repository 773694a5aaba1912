"""The currency of a whole file: taken where every sign in it is another one than the settings say, and said so."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from fleetlib.base.currencies import MEANT_BY
from fleetlib.base.settings import Settings
from fleetlib.records.asked.question import Option, Question
from fleetlib.records.files.headings import match_heading
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.schema.columns import COLUMN

_SIGNS = sorted(
    (t for t in MEANT_BY if t not in ("dollars", "bucks", "pounds")), key=len, reverse=True
)
_SIGNED = re.compile(
    rf"(?<![^\W\d_])({'|'.join(map(re.escape, _SIGNS))})(?![^\W\d_])", re.IGNORECASE
)
_MOST_OFFERED = 4


@dataclass(frozen=True, eq=False, slots=True)
class Money:
    """What was said and is asked of the currency of a file."""

    notes: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)


def of_the_file(table: TextTable, settings: Settings) -> tuple[Settings, Money]:
    """`settings` in the currency of the file, where they chose none and its amounts bear one other sign only."""
    if "currency" in settings.chosen:
        return settings, Money()
    found = _signs(table)
    meant = [MEANT_BY[s] for s in found]
    if not found or any(settings.currency in codes for codes in meant):
        return settings, Money()
    codes = sorted(frozenset.intersection(*meant))
    sign, many = ", ".join(found), sum(found.values())
    if len(codes) == 1:
        said = (
            f"Every amount with a sign bears {sign}, so this record is read in {codes[0]}. If that is wrong, set "
            f'currency = "{settings.currency}" in settings.toml.'
        )
        made = replace(settings, currency=codes[0], chosen=settings.chosen | {"currency"})
        return made, Money([said])
    if not codes:
        return settings, Money()
    return settings, Money(
        questions=[
            Question(
                "currency",
                sign,
                f"{many} amounts bear {sign}. Which money is it?",
                tuple(Option(c, c) for c in codes[:_MOST_OFFERED]),
                f"these are left out, as the settings say {settings.currency}",
                float(many) * 12,
                "its three-letter code",
            )
        ]
    )


def _signs(table: TextTable) -> Counter[str]:
    """How many cells under headings of money bear each sign."""
    found: Counter[str] = Counter()
    for heading, cells in zip(table.headings, table.columns, strict=True):
        match = match_heading(heading)
        money = (
            match is not None
            and match.column in COLUMN
            and COLUMN[match.column].kind in ("money", "date")
        )
        if not money:
            continue
        counts = np.bincount(cells.codes, minlength=len(cells.texts))
        for text, n in zip(cells.texts, counts, strict=True):
            named = _SIGNED.search(text) if any(c.isdigit() for c in text) else None
            if named:
                found[named[1].casefold()] += int(n)
    return found
