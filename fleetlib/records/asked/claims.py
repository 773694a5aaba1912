"""Which column is which: by its heading, by what was answered, and by its cells where the heading leaves two readings.

Nothing here stops a file. Of two columns that claim one meaning the cells decide which is used, or neither is; a
column that nobody claimed and that holds days, money or hours is asked about.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from fleetlib.base.currencies import SIGNS
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answers
from fleetlib.records.asked.looks import LIKE, Look, hinted, ranked_roles
from fleetlib.records.asked.question import (
    NOTHING,
    Question,
    column_in_words,
    column_options,
    weight,
)
from fleetlib.records.files.headings import (
    SIZE,
    Heading,
    Headings,
    carried_name,
    marks_of,
    match_heading,
)
from fleetlib.records.files.not_pieces import TOTALS
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.vocabulary import word_key
from fleetlib.records.schema.columns import COLUMN, COLUMNS, SIZES

_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")
_MONEY = (
    "buy_price",
    "asking_price",
    "last_asking_price",
    "sale_price",
    "materials_cost",
    "other_costs",
    "gut_price",
)
_PRICES = ("sale_price", "asking_price", "buy_price")
_OTHER_SORT = {
    "bought_on": "buy_price", "listed_on": "asking_price", "sold_on": "sale_price",
    "buy_price": "bought_on", "asking_price": "listed_on", "sale_price": "sold_on",
}  # fmt: skip
_WORKED_OUT = re.compile(
    r"profit|margin|\bnet\b|\broi\b|total|balance|gain|markup|mark up|%|per hour|/ ?h|drawers?\b|miles?\b|phone|zip"
    r"|views|likes|watch|days|weeks|weight|tax\b|rent\b|page|row|\bline|#",
    re.IGNORECASE,
)  # what is worked out from other columns, or counts something that no answer needs


@dataclass(frozen=True, eq=False, slots=True)
class Claimed:
    """The columns of a file as they are read, what is asked about them, and notes."""

    headings: Headings
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def claim_headings(
    table: TextTable, *, answers: Answers, settings: Settings, as_of: date, asks: bool = True
) -> Claimed:
    """Which place of `table` holds which column. With `asks` False nothing is asked about columns without a claim."""
    work = _Claiming(table, answers, settings, as_of)
    work.by_heading()
    work.drop_blank()
    work.names_by_cells()
    for column in dict.fromkeys(c.column for c in work.claims.values()):
        work.contest(column)
    work.kind_by_cells()
    if asks:
        work.ask_unclaimed()
    return work.result()


class _Claiming:
    """Goes through the places of one table; `claims` maps a place to what it holds."""

    def __init__(self, table: TextTable, answers: Answers, settings: Settings, as_of: date) -> None:
        self.table, self.answers = table, answers
        self.claims: dict[int, Heading] = {}
        self.settled: set[int] = set()  # places that an answer speaks of
        self.asked: set[int] = set()
        self.named: set[str] = set()  # the columns that headings name
        self.questions: list[Question] = []
        self.notes: list[str] = []
        own = settings.words.get("furniture_type", {})
        self.letters = {w for w in settings.words.get("outcome", {}) if len(w) < 4}  # by a key
        self.looks = [Look(c, as_of, settings.currency, own) for c in table.columns]
        self.labels = _labels(table.headings)

    def by_heading(self) -> None:
        """What the headings say, and over them what was answered."""
        meant = {p: match_heading(t) for p, t in enumerate(self.table.headings)}
        meant |= {p: _numbered(f, p, meant, self.table.columns) for p, f in meant.items()}
        meant |= _twins(self.table.headings, meant)
        self.named = {found.column for found in meant.values() if found}
        for place, found in meant.items():
            said = self.answers.heading(self.labels[place])
            if said is not None:
                self.settled.add(place)
                typed = self.table.headings[place]
                found = None if said == NOTHING else marks_of(typed, said)
            elif self._is_state(place):
                found = Heading("outcome")
            elif found is not None:
                found = self._of_its_sort(place, found)
            if found is not None:
                self.claims[place] = found

    def _is_state(self, place: int) -> bool:
        """`Status` or `State` over cells such as sold, listed, kept, where no other column says what became of it."""
        if "outcome" in self.named:
            return False
        named = word_key(self.table.headings[place].strip("?")) in _STATES
        cells = {t.casefold() for t in self.looks[place].texts if t}
        by_key = bool(cells) and cells <= self.letters and len(self.letters) > 1
        return (named and self.looks[place].is_states) or by_key

    def _of_its_sort(self, place: int, found: Heading) -> Heading:
        """`Sold` over amounts is a price, `Sale` over days a day, `Labor` over money other costs."""
        look, column = self.looks[place], found.column
        other = _OTHER_SORT.get(column, "")
        kind = COLUMN[column].kind if column in COLUMN else ""
        swaps = (kind == "date" and look.is_money and not look.is_day_numbers) or (
            kind == "money" and look.is_days
        )
        if other and swaps and other not in self.named:
            typed = self.table.headings[place].strip()
            sort = "amounts" if kind == "date" else "days"
            self.notes.append(
                f'"{typed}" holds {sort}, so it was read as {column_in_words(other)}.'
            )
            return Heading(other, "", found.currency)
        if column == "route" and "finish" not in self.named:
            shares = [look.words(c) for c in ("finish", "route")]
            if shares[0] >= KINDS_NEEDED and shares[0] > shares[1]:
                self.notes.append(
                    f'"{self.table.headings[place].strip()}" holds finishes, so it was read as finish.'
                )
                return Heading("finish")
        if kind == "money" and "wood" not in self.named and look.words("wood") >= KINDS_NEEDED:
            self.notes.append(f"{self._typed(place)} holds woods, so it was read as wood.")
            return Heading("wood")
        if column == "hours" and look.is_signed and look.is_money:
            self.notes.append(
                f'"{self.table.headings[place].strip()}" holds money, not hours, so it was read as other costs.'
            )
            return Heading("other_costs", "", found.currency)
        return found

    def names_by_cells(self) -> None:
        """`Tag` over amounts of which some stand in several rows is what is asked, not the piece's name; a `Lot` that
        is another one in every row is its name where nothing else is."""
        open_places = [p for p in self.claims if p not in self.settled]
        for place in [p for p in open_places if self.claims[p].column == "piece"]:
            look = self.looks[place]
            different = len({t for t in look.texts if t})
            priced = look.is_money and word_key(self.table.headings[place]) in _PRICE_TAGS
            if priced and different < int(look.filled.sum()) and "asking_price" not in self.named:
                self.claims[place] = Heading("asking_price")
                self.notes.append(
                    f"{self._typed(place)} holds amounts, some in several rows, so it was read as asking price."
                )
        for place in [p for p in open_places if self.claims[p].column == "bought_lot"]:
            named = any(c.column == "piece" for c in self.claims.values())
            look = self.looks[place]
            alone = len({t for t in look.texts if t}) == int(look.filled.sum()) >= _FEWEST_NAMED
            if not named and alone and look.filled_share > LEAST_NAMED:
                self.claims[place] = Heading("piece")
                self.notes.append(
                    f"{self._typed(place)} is another one in every row, so it was read as your name of the piece."
                )

    def drop_blank(self) -> None:
        """A column without a cell gives way where another one claims the same."""
        held = [c.column for p, c in self.claims.items() if self.looks[p].filled.any()]
        blank = [
            p for p, c in self.claims.items() if c.column in held and not self.looks[p].filled.any()
        ]
        for place in blank:
            del self.claims[place]

    def contest(self, column: str) -> None:
        """Where several places claim `column`, let their cells decide; ask, and read nothing twice."""
        places = [p for p, c in self.claims.items() if c.column == column]
        if len(places) < 2:
            return
        answered = [p for p in places if p in self.settled]
        if answered:
            for p in places:
                if p != answered[0]:
                    del self.claims[p]
            return
        kind = COLUMN[column].kind if column in COLUMN else ""
        if column in ("furniture_type", "piece"):
            self._names_and_kinds(places)
        elif kind in ("date", "money"):
            self._told_apart(places, column)
        else:
            kept = max(places, key=lambda p: int(self.looks[p].filled.sum()))
            for p in places:
                if p != kept:
                    del self.claims[p]
                    self._ask(
                        p, [column, "notes"], f"is carried along; {self._typed(kept)} is used"
                    )

    def _names_and_kinds(self, places: Sequence[int]) -> None:
        """Of two columns of kinds or names, the one with more known kinds says the kind, the other names the piece."""
        shares = {p: self.looks[p].words("furniture_type") for p in places}
        column = self.claims[places[0]].column
        kept = max(places, key=lambda p: shares[p]) if column == "furniture_type" else places[0]
        for p in places:
            if p == kept:
                continue
            heading = self.claims.pop(p)
            free = not any(c.column == "piece" for c in self.claims.values())
            names = column == "furniture_type" and free and shares[p] <= 0.5 and self._tells(p)
            if names:
                self.claims[p] = Heading("piece")
                self.notes.append(
                    f"{self._typed(p)} was read as your name of the piece, {self._typed(kept)} as its kind."
                )
            elif shares[p] > 0.5 or column == "piece":
                self._ask(
                    p,
                    [heading.column, "piece", "notes"],
                    f"is carried along; {self._typed(kept)} is used",
                )

    def _tells(self, place: int) -> bool:
        """Most cells are filled, and differ from each other."""
        look = self.looks[place]
        return look.filled_share > LEAST_NAMED and len({t for t in look.texts if t}) > (
            LEAST_NAMED * int(look.filled.sum())
        )

    def _told_apart(self, places: Sequence[int], column: str) -> None:
        """Two columns of prices or days under one heading: each the role that its cells suit, if one does clearly."""
        everyone = _DAYS if COLUMN[column].kind == "date" else _PRICES
        held = {c.column for p, c in self.claims.items() if p not in places}
        roles = [column, *(r for r in everyone if r not in held and r != column)]
        if column not in everyone:
            roles = [column]
        ranked, clear = ranked_roles(
            [self.looks[p] for p in places],
            [self.table.headings[p] for p in places],
            roles,
            self._known(places),
        )
        clear = clear and len(roles) >= len(places)
        for place, order in zip(places, ranked, strict=True):
            heading = self.claims.pop(place)
            if clear:
                self.claims[place] = Heading(order[0], "", heading.currency)
                done = f"is read as {column_in_words(order[0])}, as its cells suit that best"
            else:
                done = "is carried along unread"
            self._ask(place, order, done)

    def _known(self, but: Sequence[int] = ()) -> dict[str, Look]:
        return {c.column: self.looks[p] for p, c in self.claims.items() if p not in but}

    def kind_by_cells(self) -> None:
        """Where no heading says the kind of piece, the column with most known kinds does, and is asked about."""
        if any(c.column == "furniture_type" for c in self.claims.values()):
            return
        free = [
            p
            for p in range(len(self.looks))
            if p not in self.settled and self.claims.get(p, _NAME).column in ("piece", "notes", "")
        ]
        shares = {p: self.looks[p].words("furniture_type") for p in free}
        best = max(shares, key=lambda p: shares[p], default=None)
        if best is None or shares[best] < KINDS_NEEDED:
            return
        self.claims[best] = Heading("furniture_type")
        self._ask(best, ["furniture_type", "piece", "notes"], "is read as the kind of piece")

    def ask_unclaimed(self) -> None:
        """Ask about columns without a claim that hold days, money or hours, and those that hold kinds of word."""
        held = {c.column for c in self.claims.values()}
        free = [
            p
            for p in range(len(self.looks))
            if p not in self.claims
            and p not in self.settled
            and p not in self.asked
            and not _WORKED_OUT.search(self.table.headings[p])
        ]
        no_price = "sale_price" not in held
        boxes = [p for p in free if self.looks[p].is_sizes] if SIZE not in held else []
        for place in boxes[:1] if not held & set(SIZES) else ():
            self._ask(place, [SIZE], "is carried along unread")
        free = [p for p in free if p not in boxes]
        sides = [p for p in free if self._unit(p) in _LENGTHS and self.looks[p].is_money]
        days = [p for p in free if self.looks[p].is_days]
        hours = [p for p in free if p not in days and self._is_hours(p)]
        told = {*sides, *days, *hours}
        money = [p for p in free if p not in told and self.looks[p].is_money]
        open_sides = [s for s in SIZES if s not in held]
        for place in sides if open_sides else ():
            self._ask(place, open_sides, "is carried along unread")
        for places, roles in ((days, _DAYS), (money, _MONEY), (hours, ("hours",))):
            open_roles = [r for r in roles if r not in held]
            if not places or not open_roles:
                continue
            names = [self.table.headings[p] for p in places]
            ranked, _ = ranked_roles(
                [self.looks[p] for p in places], names, open_roles, self._known()
            )
            for place, order in zip(places, ranked, strict=True):
                if len(order) and (roles is not _MONEY or no_price or self._worth_asking(place)):
                    self._ask(place, order, "is carried along unread")
        states = [p for p in free if self.looks[p].is_states and not self.looks[p].is_days]
        if states and "outcome" not in held:
            self._ask(states[0], ["outcome"], "is carried along unread")
        for place in (p for p in free if p not in self.asked):
            named = {c: self.looks[place].names(c) for c in ("wood", "finish") if c not in held}
            likely = [c for c in named if named[c] >= KINDS_NEEDED]
            if likely:
                likely.sort(key=lambda c: -named[c])
                both = ["wood_and_finish"] if len(likely) > 1 else []
                self._ask(place, [*both, *likely], "is carried along unread")
                held |= {*likely} if both else {likely[0]}

    def _unit(self, place: int) -> str:
        typed = self.table.headings[place]
        if any(sign in typed for sign in SIGNS):  # "$ in" is money, not inches
            return ""
        return marks_of(typed, SIZE).unit or marks_of(typed, "hours").unit

    def _is_hours(self, place: int) -> bool:
        """Says hours or minutes, or its heading hints at work and its cells are few hours each."""
        look = self.looks[place]
        if look.is_timed or (self._unit(place) in _TIMES and look.share(look.hours) >= LIKE):
            return True
        likely = "hours" in hinted(self.table.headings[place]) and not look.is_signed
        known = look.hours[~np.isnan(look.hours)]
        return likely and len(known) > 0 and float(np.median(known)) <= 60 and not look.is_days

    def _worth_asking(self, place: int) -> bool:
        """Bears a sign of money or a heading that hints at some; bare numbers alone may be anything."""
        if any(sign in self.table.headings[place] for sign in SIGNS):
            return True
        return self.looks[place].is_signed or bool(hinted(self.table.headings[place]) - {"hours"})

    def _ask(self, place: int, roles: Sequence[str], done: str) -> None:
        look = self.looks[place]
        self.asked.add(place)
        share = len(self.table.lines) / max(len(look.codes), 1)
        cells = float(look.filled.sum()) * share
        typed = self.labels[place]
        self.questions.append(
            Question(
                "heading",
                typed,
                f'"{typed}": {self._described(place, roles[0])}. What is it?',
                column_options(dict.fromkeys(roles)),
                f"it {done}",
                cells * weight(roles[0]),
                "another column, such as notes",
            )
        )

    def _described(self, place: int, role: str) -> str:
        """What its cells are, and how they stand to another column."""
        look = self.looks[place]
        filled = int(look.filled.sum())
        example = next((t for t in look.texts if t), "")
        kind = COLUMN[role].kind if role in COLUMN else ""
        if kind == "date" and look.is_days:
            n = int((~np.isnan(look.days[look.filled])).sum())
            before = {
                "sold_on": "listed_on",
                "withdrawn_on": "listed_on",
                "listed_on": "bought_on",
            }.get(role, "")
            first = self._known([place]).get(before)
            if first is not None:
                after = int((look.days >= first.days).sum())
                heading = next(p for p, c in self.claims.items() if c.column == before)
                return f"{after} of {filled} cells are days on or after {self._typed(heading)}"
            bare = "" if n else " without a year"
            return f"{n or filled} of {filled} cells are days{bare}, such as {example}"
        if kind == "money" and look.is_money:
            n = int((~np.isnan(look.amounts[look.filled])).sum())
            return f"{n} of {filled} cells are amounts, such as {example}"
        return f"{filled} cells, such as {example}"

    def _typed(self, place: int) -> str:
        return f'"{self.labels[place]}"'

    def result(self) -> Claimed:
        """The columns as they are read."""
        known = {c.column: (p, c) for p, c in self.claims.items()}
        extras: dict[str, int] = {}
        for place, text in enumerate(self.table.headings):
            if place in self.claims or (not text.strip() and not self.looks[place].filled.any()):
                continue
            extras[carried_name(text, place, extras)] = place
        order = {c.name: i for i, c in enumerate(COLUMNS)} | {SIZE: len(COLUMNS)}
        known = dict(sorted(known.items(), key=lambda k: (k[1][0], order[k[0]])))
        return Claimed(
            Headings(known, extras, tuple(self.table.headings)), self.questions, self.notes
        )


_STATES = ("status", "state", "stage", "where it stands", "current status", "sale status")
_PRICE_TAGS = ("tag", "tags", "label", "ticket", "tag price")
_FEWEST_NAMED = 4  # rows in which a lot of its own is no chance
LEAST_NAMED = 0.7  # of the rows, filled and different, make a column of names
KINDS_NEEDED = 0.5  # of the filled cells are known words
_NAME = Heading("")
_LENGTHS, _TIMES = ("cm", "mm", "m", "in", "ft"), ("minutes", "hours")


def _labels(headings: Sequence[str]) -> list[str]:
    """Each heading as it is spoken of: as typed, the second of the same with a 2 behind it."""
    seen: dict[str, int] = {}
    made = []
    for place, text in enumerate(headings):
        name = " ".join(text.split()) or f"column {place + 1}"
        seen[word_key(name)] = seen.get(word_key(name), 0) + 1
        nth = seen[word_key(name)]
        made.append(name if nth == 1 else f"{name} {nth}")
    return made


_TWIN = re.compile(r"(?P<one>.*?[^\W\d_].*?)[ #.]*\(?(?P<n>[1-9])\)?")


def _twins(
    headings: Sequence[str], meant: Mapping[int, Heading | None]
) -> dict[int, Heading | None]:
    """What numbered headings mean beside the same one with another number or none: `Price 2` beside `Price`."""
    split = {p: m for p, h in enumerate(headings) if (m := _TWIN.fullmatch(" ".join(h.split())))}
    bare = {word_key(h): p for p, h in enumerate(headings) if p not in split and meant[p]}
    found: dict[int, Heading | None] = {}
    for place, match in split.items():
        one = bare.get(word_key(match["one"]))
        if one is not None and meant[place] is None and _kind_of(meant[one]) in _TOLD_APART:
            found[place] = meant[one]
    return found


_TOLD_APART = ("money", "date", "hours")


def _kind_of(heading: Heading | None) -> str:
    return COLUMN[heading.column].kind if heading and heading.column in COLUMN else ""


def _numbered(
    found: Heading | None, place: int, meant: dict[int, Heading | None], columns: list[TextColumn]
) -> Heading | None:
    """What a heading means over bare numbers: `Item` names the piece where another column says the kind, a
    condition of 1 to 5 is the owner's grade."""
    if found is None or found.column not in ("furniture_type", "condition"):
        return found
    if not bare_numbers(columns[place].texts):
        return found
    if found.column == "condition":
        return match_heading("grade")
    kinds = [p for p, h in meant.items() if h and h.column == "furniture_type"]
    others = [p for p in kinds if p != place and not bare_numbers(columns[p].texts)]
    if len(others) != 1:
        return found
    return (
        None if any(h and h.column == "piece" for h in meant.values()) else match_heading("piece")
    )


def bare_numbers(texts: Sequence[str]) -> bool:
    """True where a column holds bare numbers and nothing else, but for the word of a totals line."""
    filled = [t.strip() for t in texts if t.strip() and not TOTALS.fullmatch(plain(t))]
    return bool(filled) and all(t.isdigit() for t in filled)
