"""The currency and the unit of a whole file: taken where all that is written in it says another one than the settings,
and said so; asked about where only its habits do (decimal commas, sizes that make sense in centimetres alone)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from fleetlib.base.currencies import MEANT_BY, SIGNS
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
_ALONE = re.compile(r"\D{0,4}\d[\d.,' \u00a0]*(?:,-)?\D{0,4}")  # an amount and no more
_MOST_OFFERED = 4


@dataclass(frozen=True, eq=False, slots=True)
class Money:
    """What was said and is asked of the currency or the unit of a file; `signed`: whether any amount bears a sign."""

    notes: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    signed: bool = False


def of_the_file(table: TextTable, settings: Settings) -> tuple[Settings, Money]:
    """`settings` in the currency of the file, where they chose none and its amounts bear one other sign only."""
    if "currency" in settings.chosen:
        return settings, Money()
    cells, over = _signs(table), _signs_of_headings(table)
    found = cells + over
    meant = [MEANT_BY.get(s) or frozenset([s.upper()]) for s in found]
    if not found or any(settings.currency in codes for codes in meant):
        return settings, Money(signed=bool(found))
    codes = sorted(frozenset.intersection(*meant))
    sign, many = ", ".join(found), sum(found.values())
    if len(codes) == 1:
        who = "Every amount with a sign bears" if cells else "The headings of your amounts say"
        said = (
            f"{who} {sign}, so this record is read in {codes[0]}. If that is wrong, set "
            f'currency = "{settings.currency}" in settings.toml.'
        )
        made = replace(settings, currency=codes[0], chosen=settings.chosen | {"currency"})
        return made, Money([said])
    if not codes:
        return settings, Money(signed=True)
    return settings, Money(
        signed=True,
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
        ],
    )


def _signs(table: TextTable) -> Counter[str]:
    """How many cells bear each sign: all under headings of money, elsewhere those that are an amount and no more; and
    the numbers that a workbook shows with one."""
    found: Counter[str] = Counter(table.signs)
    for heading, cells in zip(table.headings, table.columns, strict=True):
        match = match_heading(heading)
        money = (
            match is not None
            and match.column in COLUMN
            and COLUMN[match.column].kind in ("money", "date")
        )
        counts = np.bincount(cells.codes, minlength=len(cells.texts))
        for text, n in zip(cells.texts, counts, strict=True):
            said = any(c.isdigit() for c in text) and (money or _ALONE.fullmatch(text.strip()))
            named = _SIGNED.search(text) if said else None
            if named:
                found[named[1].casefold()] += int(n)
    return found


def _signs_of_headings(table: TextTable) -> Counter[str]:
    """For each sign or code in a heading, as `Cost (£)`, how many amounts stand under it without one of their own."""
    found: Counter[str] = Counter()
    for heading, cells in zip(table.headings, table.columns, strict=True):
        match = match_heading(heading)
        money = (
            match is not None and match.column in COLUMN and COLUMN[match.column].kind == "money"
        )
        named = _SIGNED.search(heading)
        sign = named[1].casefold() if named else match.currency.casefold() if match else ""
        if sign and (money or sign in SIGNS):
            counts = np.bincount(cells.codes, minlength=len(cells.texts))
            bare = (_ALONE.fullmatch(t.strip()) and not _SIGNED.search(t) for t in cells.texts)
            found[sign] += sum(int(n) for n, b in zip(counts, bare, strict=True) if b)
    return +found


def decimal_commas(table: TextTable, places: Iterable[int]) -> bool:
    """Whether amounts in the columns at `places` bear decimal commas, `12,50` or `45,-`, and none bears a point."""
    texts = [t for place in places for t in table.columns[place].texts]
    return any(map(_COMMA.search, texts)) and not any(map(_POINT.search, texts))


_COMMA = re.compile(r"\d,(?:\d\d?(?!\d)|-)")
_POINT = re.compile(r"\d\.\d\d?(?!\d|\.)")


_MANY = 5  # so many times as often as the other unit is named; our own, no source


def of_the_sizes(
    units: Counter[str], odd: np.ndarray, *, commas: bool, signed: bool, settings: Settings
) -> tuple[Settings, Money]:
    """`settings` in centimetres where every size of the file is in them; what is said and asked of unit and money.

    `units`: cells of sizes by unit, "" where none is said; `odd`: for each row with a size, whether it only makes sense
    in centimetres.
    """
    notes: list[str] = []
    questions: list[Question] = []
    habit = "decimal commas are used"
    bare, metric = units[""], units["cm"] > _MANY * units["in"]
    if "length_unit" in settings.chosen:
        metric = settings.length_unit == "cm"
    elif metric and not bare:
        settings = replace(settings, length_unit="cm", chosen=settings.chosen | {"length_unit"})
        notes = [
            "Your sizes are in centimetres, so sizes are shown in them. If that is wrong, set "
            'length_unit = "in" in settings.toml.'
        ]
    elif len(odd) and bare > _MANY * units["in"] and (metric or commas or 2 * odd.sum() > len(odd)):
        metric = True
        made = f"those of {odd.sum()} only make sense in centimetres" if odd.any() else habit
        made = "others are in centimetres" if units["cm"] else made
        said = f"The sizes of {len(odd)} pieces name no unit; {made}. What are they in?"
        offered = (Option("centimetres", "cm"), Option("inches", "in"))
        cost = 4.0 * len(odd)
        questions.append(Question("unit", "", said, offered, "they are read as inches", cost))
    if "currency" not in settings.chosen and not signed and (metric or commas):
        codes = ("EUR", "GBP", "USD") if commas else ("GBP", "EUR", "USD")
        habit = habit if commas else "sizes are in centimetres"
        said = f"No amount bears a sign, and {habit}. Which money is it?"
        options = tuple(Option(c, c) for c in codes)
        meanwhile = f"amounts are shown in {settings.currency}"
        free = "its three-letter code"
        questions.append(Question("currency", "", said, options, meanwhile, 10.0, free))
    return settings, Money(notes, questions)
