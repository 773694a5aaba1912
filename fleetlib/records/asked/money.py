"""The currency and the unit of a whole file: taken where all that is written in it says another one than the settings,
and said so; asked about where only its habits do (decimal commas, sizes that make sense in centimetres alone)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
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
            said = any(map(str.isdigit, text)) and (money or _ALONE.fullmatch(text.strip()))
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
SOME = "some"  # the answer that sizes are in centimetres where they look so, and else in inches
_INCH_MONEY = ("USD", "CAD")  # where furniture is measured in inches: common usage, no source


@dataclass(frozen=True, eq=False, slots=True)
class Sized:
    """What the rows with a size look like: `odd`, the lines of those that only make sense in centimetres; `rows`, how
    many have a size that names no unit; `as_in` and `as_cm`, how many are of the usual size of their kind in each;
    `told`, how many were answered to be in centimetres, one by one."""

    odd: Sequence[int]
    rows: int
    as_in: int
    as_cm: int
    told: int = 0


@dataclass(frozen=True, slots=True)
class Habits:
    """How the file writes: decimal `commas`, `signed` amounts, days with the day first."""

    commas: bool
    signed: bool
    day_first: bool = False


def of_the_sizes(
    units: Counter[str], sized: Sized, habits: Habits, settings: Settings, said: str
) -> tuple[Settings, Money]:
    """`settings` in centimetres where every size of the file is in them; what is said and asked of unit and money.

    `units`: cells of sizes by unit, "" where none is said; `said`: what was answered of the unit, "" for nothing.
    """
    notes: list[str] = []
    questions: list[Question] = []
    bare, metric = units[""], units["cm"] > _MANY * units["in"]
    if "length_unit" in settings.chosen:
        metric = settings.length_unit == "cm"
    elif metric and not bare:
        settings = replace(settings, length_unit="cm", chosen=settings.chosen | {"length_unit"})
        notes = [
            "Your sizes are metric, so sizes are shown in centimetres. If that is wrong, set "
            'length_unit = "in" in settings.toml.'
        ]
    elif said != SOME and bare > _MANY * units["in"]:
        why = _why_centimetres(units, sized, habits, settings)
        metric = bool(why) and (len(sized.odd) > 1 or sized.as_cm >= sized.as_in)
        questions = [_about_unit(sized, why)] if why else []
    if "currency" not in settings.chosen and not habits.signed and (metric or habits.commas):
        codes = ("EUR", "GBP", "USD") if habits.commas else ("GBP", "EUR", "USD")
        habit = "decimal commas are used" if habits.commas else "sizes are in centimetres"
        asked = f"No amount bears a sign, and {habit}. Which money is it?"
        options = tuple(Option(c, c) for c in codes)
        meanwhile = f"amounts are shown in {settings.currency}"
        free = "its three-letter code"
        questions.append(Question("currency", "", asked, options, meanwhile, 10.0, free))
    return settings, Money(notes, questions)


def _why_centimetres(units: Counter[str], sized: Sized, habits: Habits, settings: Settings) -> str:
    """What speaks for centimetres where no unit is named; "" where too little does."""
    odd, as_cm, as_in = len(sized.odd), sized.as_cm, sized.as_in
    abroad = "currency" in settings.chosen and settings.currency not in _INCH_MONEY
    if not sized.rows:
        return ""
    if sized.told:
        return f"you answered that {sized.told} are in centimetres"
    if units["cm"]:
        return "others are in centimetres"
    if odd > 1 or (odd and (abroad or habits.commas or habits.day_first)):
        return f"those of {odd} only make sense in centimetres"
    if as_cm > max(as_in, 1):
        return f"those of {as_cm} are usual for their kind in centimetres, of {as_in} in inches"
    if as_cm < as_in:
        return ""
    habit = "the days are written with the day first" if habits.day_first else ""
    habit = f"the money is {settings.currency}" if abroad else habit
    return "decimal commas are used" if habits.commas else habit


def _about_unit(sized: Sized, why: str) -> Question:
    """One question on the unit of all sizes that name none, the likeliest answer first."""
    cm, inches = Option("yes, all in centimetres", "cm"), Option("no, all in inches", "in")
    lines = ", ".join(map(str, sized.odd[:_MOST_OFFERED]))
    more = " and more" * (len(sized.odd) > _MOST_OFFERED)
    some = Option(f"only where they look so (line {lines}{more}), else inches", SOME)
    stray = sized.as_in > _MANY * (len(sized.odd) + sized.told)
    few = () if not sized.odd or len(sized.odd) == sized.rows else (some,)
    return Question(
        "unit",
        "",
        f"The sizes of {sized.rows} pieces name no unit; {why}. Are your sizes in centimetres?",
        (*few, cm, inches) if stray else (cm, inches, *few),
        "they are read as inches",
        4.0 * sized.rows,
    )
