"""Which column is which: by its heading, by what was answered, and by its cells where the heading leaves two readings.

Nothing here stops a file. Of two columns that claim one meaning the cells decide which is used, or neither is; a
column that nobody claimed and that holds days, money or hours is asked about.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from fleetlib.base.currencies import SIGNS
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import BETWEEN, EACH, Answers
from fleetlib.records.asked.looks import LIKE, Look, hinted, in_steps, ranked_roles
from fleetlib.records.asked.one_column import one_column, rows_filled, steps_as_one
from fleetlib.records.asked.question import (
    COLUMN_UNREAD,
    NOTHING,
    Option,
    Question,
    column_in_words,
    column_options,
    weight,
)
from fleetlib.records.asked.usual_sizes import share_of_usual
from fleetlib.records.files.headings import (
    SIZE,
    Heading,
    Headings,
    carried_name,
    marks_of,
    match_heading,
)
from fleetlib.records.files.not_pieces import TOTALS
from fleetlib.records.files.sheets import SHEET
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.vocabulary import word_key
from fleetlib.records.parsing.words import read_types
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
_SAYS_NOT_WHICH = ("where", "place", "venue")
_FINDS = re.compile(  # where pieces are found and seldom sold: common usage, no source
    r"\b(?:garage|yard|tag|estate|boot|jumble|rummage|church|moving) sales?\b|\bestates?\b|\b(?:op|thrift|charity) "
    r"?(?:shop|store)s?\b|\bthrift\b|\b(?:curb|kerb)(?:side)?\b|\b(?:road|street)side\b|\bskip\b|\bdump\b|\btip\b"
    r"|\bfreebie\b|\bclear ?out\b|\bhouse clearance\b|\binherited\b"
)
_HALF = 0.5  # our own, no source
_HOURS = ("hours",)
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


UNREAD = "is carried along unread"


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
    work.complete_each_other()
    work.drop_blank()
    work.names_by_cells()
    if asks:
        work.ask_of_steps()
    for column in dict.fromkeys(c.column for c in work.claims.values()):
        work.contest(column)
    work.kind_by_cells()
    if asks:
        work.ask_unclaimed()
        work.notes_by_cells()
    return work.result()


class _Claiming:
    """Goes through the places of one table; `claims` maps a place to what it holds."""

    def __init__(self, table: TextTable, answers: Answers, settings: Settings, as_of: date) -> None:
        self.table, self.answers, self.settings = table, answers, settings
        self.claims: dict[int, Heading] = {}
        self.settled: set[int] = set()  # places that an answer speaks of
        self.asked: set[int] = set()
        self.joined: set[int] = set()  # places whose cells stand in another one by now
        self.named: set[str] = set()  # the columns that headings name
        self.foreign = False  # fewer than half of the headings are known
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
        words = [p for p in meant if self.table.headings[p].strip() and self.looks[p].filled.any()]
        self.foreign = 2 * sum(meant[p] is not None for p in words) < len(words)
        for place, found in meant.items():
            said = self.answers.heading(self.labels[place])
            if said is not None:
                self.settled.add(place)
                found = None if said == NOTHING else self._as_answered(place, said)
            elif self._says_what_became(place, meant):
                found = Heading("outcome")
            elif found is not None:
                found = self._of_its_sort(place, found)
            if found is not None and found.column:
                self.claims[place] = found

    def _as_answered(self, place: int, column: str) -> Heading:
        """A heading that was answered to mean `column`, with the unit, money and order that it or the answer names."""
        own, told = (
            marks_of(self.table.headings[place], column),
            self.answers.heading_marks(self.labels[place]),
        )
        return Heading(
            column, told.unit or own.unit, told.currency or own.currency, told.order or own.order
        )

    def _says_what_became(self, place: int, meant: Mapping[int, Heading | None]) -> bool:
        """`Status` or `St` over cells such as sold, listed, K, or `Sold?` over yes and no beside the day or the price
        of a sale, where no other column says what became of it."""
        if "outcome" in self.named:
            return False
        key, look = word_key(self.table.headings[place].strip("?.")), self.looks[place]
        cells = {t.casefold() for t in look.texts if t}
        named = key in _STATES or (len(key) > 1 and _STATES[0].startswith(key))
        by_key = bool(cells) and cells <= self.letters and len(self.letters) > 1
        if by_key or (named and (look.is_states or look.is_marks)):
            return True
        of_a_sale = [p for p, f in meant.items() if f and f.column in _OF_A_SALE]
        if place not in of_a_sale or len(cells) < 2 or not cells <= _YES_NO:
            return False
        return any(p != place and self.looks[p].filled.any() for p in of_a_sale)

    def _has_days_unclaimed(self, but: int) -> bool:
        """Whether another column holds days, and its heading says nothing of it."""
        typed = enumerate(self.table.headings)
        return any(
            p != but and match_heading(t) is None and self.looks[p].is_days for p, t in typed
        )

    def _of_its_sort(self, place: int, found: Heading) -> Heading | None:
        """`Sold` over amounts is a price, `Sale` over days a day, `Labor` over money other costs."""
        look, column = self.looks[place], found.column
        comes_off = column == "last_asking_price" and look.is_off
        if comes_off or (column == "channel" and self._tells_where_found(place)):
            return None  # how much came off is no price, and where it was found no channel
        if column == SIZE and found.order and look.filled.any() and look.holding(_SIDES) < LIKE:
            return Heading("")
        other = _OTHER_SORT.get(column, "")
        kind = COLUMN[column].kind if column in COLUMN else ""
        swaps = (kind == "date" and look.is_money and not look.is_day_numbers) or (
            kind == "money" and look.is_days
        )
        if (
            kind == "money"
            and swaps
            and other not in self.named
            and self._has_days_unclaimed(place)
        ):
            return None  # one of several columns of days: their order tells which is which
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
        if column == "other_costs" and "notes" not in self.named and look.is_prose:
            self.notes.append(
                f"{self._typed(place)} holds words and no amounts, so it was read as notes."
            )
            return Heading("notes")
        if column == "hours" and look.is_signed and look.is_money:
            self.notes.append(
                f'"{self.table.headings[place].strip()}" holds money, not hours, so it was read as other costs.'
            )
            return Heading("other_costs", "", found.currency)
        return found

    def _tells_where_found(self, place: int) -> bool:
        """`Where` over such as garage sale, estate, op shop: most of the words are of places where pieces are found."""
        if word_key(self.table.headings[place].strip("?.")) not in _SAYS_NOT_WHICH:
            return False
        fees = (
            self.settings.words.get("channel", {}),
            self.settings.fee_share,
            self.settings.flat_fee,
        )
        own = {word_key(w) for words in fees for w in words}
        cells = self.looks[place]
        if cells.holding(lambda t: word_key(t) not in own and _FINDS.search(word_key(t))) < _HALF:
            return False
        self.notes.append(
            f"{self._typed(place)} names places where pieces are found, so it was not read as where you sold them; it "
            f'is carried along. If you sold them there, call it "Where sold".'
        )
        return True

    def names_by_cells(self) -> None:
        """`Tag` over amounts of which some stand in several rows is what is asked, not the piece's name; a `Lot` that
        is another one in every row is its name where nothing else is."""
        open_places = [p for p in self.claims if p not in self.settled]
        for place in [p for p in open_places if self.claims[p].column == "piece"]:
            look = self.looks[place]
            different = len({t for t in look.texts if t})
            priced = word_key(self.table.headings[place]) in _PRICE_TAGS and look.is_money
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

    def complete_each_other(self) -> None:
        """Columns that hold one thing under other words, on two sheets or as answered, are one: each row takes the
        cell that is filled; two cells that differ stand side by side in it and are asked about."""
        for column in dict.fromkeys(c.column for c in self.claims.values()):
            first, *others = (p for p, c in self.claims.items() if c.column == column)
            places = [first, *others]
            steps = column in _ASKED and {*places} <= self.settled
            told = steps and all(self.answers.among_others(self.labels[p]) for p in places)
            if others and steps and (told or in_steps([self.looks[p] for p in places])):
                self._one_after_the_other(first, others)
                continue
            for place in others:
                answered = {first, place} & self.settled
                if self.table.sheets is None and not answered:
                    continue
                made = one_column(
                    (self.table.columns[first], self.claims[first]),
                    (self.table.columns[place], self.claims[place]),
                    told=bool(answered),
                )
                if made is None:
                    continue
                self.table.columns[first], self.claims[first] = made
                self.looks[first] = replace(self.looks[first], cells=made[0])
                self.settled |= {first} if answered else set()
                self.joined.add(place)
                del self.claims[place]
                self.notes.append(
                    f"{self._typed(place)} was read together with {self._typed(first)}, as {column_in_words(column)}."
                )

    def _one_after_the_other(self, first: int, others: Sequence[int]) -> None:
        """Columns of one price asked after the other become one, which holds each row's prices behind each other."""
        column = self.claims[first].column
        cells = [self.table.columns[p] for p in (first, *others)]
        self.table.columns[first] = steps_as_one(cells)
        self.looks[first] = replace(self.looks[first], cells=self.table.columns[first])
        for place in others:
            self.joined.add(place)
            del self.claims[place]
        names = " and ".join(self._typed(p) for p in others)
        self.notes.append(
            f"{names} were read together with {self._typed(first)}, as one {column_in_words(column)} after the other."
        )

    def ask_of_steps(self) -> None:
        """Ask at once about columns such as `Ask 1`, `Ask 2`, `Ask 3` that are filled from left to right with amounts
        that fall: prices asked one after the other."""
        groups: dict[str, list[int]] = {}
        for place, heading in enumerate(self.table.headings):
            free = self.claims.get(place, _NAME).column in ("", *_MAY_BE_ASKED)
            if free and place not in (*self.settled, *self.joined) and self.looks[place].is_money:
                groups.setdefault(_stem(heading), []).append(place)
        for stem, places in groups.items():
            meant = match_heading(stem)
            asks = bool(hinted(stem) & {*_ASKED}) or (meant and meant.column in _ASKED)
            others = {c.column for p, c in self.claims.items() if p not in places}
            sold = "sale_price" in others or len(places) > _TWO_PRICES
            likely = asks or (stem in _SAYS_LITTLE and sold)
            text = BETWEEN.join(self.labels[p] for p in places)
            if not stem or not likely or others & {*_ASKED} or self.answers.of("heading", text):
                continue
            if len(places) > 1 and in_steps([self.looks[p] for p in places]):
                self._ask_if_steps(places, text)

    def _ask_if_steps(self, places: Sequence[int], text: str) -> None:
        """One question whether the columns at `places` are prices asked one after the other."""
        first, *others = places
        done = "they are carried along unread"
        if self.claims.get(first, _NAME).column in _ASKED:
            done = f"{self._typed(first)} is read as the price asked, the others are carried along unread"
        for place in others:
            self.claims.pop(place, None)
        self.asked |= {*places}
        names = f"{', '.join(map(self._typed, places[:-1]))} and {self._typed(places[-1])}"
        filled = sum(int(self.looks[p].filled.sum()) for p in places)
        self.questions.append(
            Question(
                "heading",
                text,
                f"{names}: filled from left to right, with amounts that fall. Is each a price you asked after the one "
                "before?",
                (
                    Option(
                        "yes: the first is your first price, the last one filled your last",
                        "asking price",
                    ),
                    Option("no: ask about each", EACH),
                    Option("none of these: carry them along", NOTHING),
                ),
                done,
                filled * weight("asking_price") + COLUMN_UNREAD,
            )
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
            self.notes += [
                f"You answered that {self._typed(answered[0])} and {self._typed(p)} are both "
                f"{column_in_words(column)}, but their cells differ, so {self._typed(p)} is carried along as it is."
                for p in answered[1:]
            ]
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
        """Two columns of prices or days under one heading: each the role that its cells suit, if one does clearly.

        Of `Sold for` and `Price` only the second is in doubt.
        """
        names = {p: word_key(self.table.headings[p]).rstrip(" #.0123456789") for p in places}
        plain = [p for p in places if names[p] in _SAYS_LITTLE]
        if len(plain) == 1 < len(places) == 2:
            places, column = plain, ""
        everyone = _DAYS if _kind_of(self.claims[places[0]]) == "date" else _PRICES
        held = {c.column for p, c in self.claims.items() if p not in places}
        roles = [column] * bool(column)
        if not column or column in everyone:
            roles += [r for r in everyone if r not in held and r != column]
        self._by_cells(places, roles)

    def _by_cells(self, places: Sequence[int], roles: Sequence[str]) -> None:
        """Read the columns as the roles that they suit best, if these do clearly; ask, unless no other role is left."""
        claims = [self.claims.pop(p) for p in places]
        looks, names = [self.looks[p] for p in places], [self.table.headings[p] for p in places]
        ranked, clear = ranked_roles(looks, names, roles, self._known())
        for place, claim, order in zip(places, claims, ranked, strict=True):
            if not (order and clear and len(roles) >= len(places)):
                self._ask(place, order or ["notes"])
                continue
            self.claims[place] = Heading(order[0], "", claim.currency)
            said = f"is read as {column_in_words(order[0])}, as its cells suit that best"
            if len(roles) > 1:
                self._ask(place, order, said)
            else:
                self.notes.append(f"{self._typed(place)} {said}.")

    def _known(self, but: Sequence[int] = ()) -> dict[str, Look]:
        return {c.column: self.looks[p] for p, c in self.claims.items() if p not in but}

    def kind_by_cells(self) -> None:
        """Where no heading says the kind of piece, the column with most known kinds does; asked about where not nearly
        all of its cells are, or another one holds kinds too."""
        if any(c.column == "furniture_type" for c in self.claims.values()):
            return
        free = [
            p
            for p in range(len(self.looks))
            if p not in self.settled and self.claims.get(p, _NAME).column in ("piece", "notes", "")
        ]
        shares = {p: self.looks[p].words("furniture_type") for p in free}
        best = max(shares, key=lambda p: shares[p], default=None)
        several = sum(s >= KINDS_NEEDED for s in shares.values()) > 1
        sure = not several and best is not None and shares[best] >= KINDS_SURE
        if best is not None and shares[best] < KINDS_NEEDED:
            named = [p for p in free if self.looks[p].kinds_named >= KINDS_NEEDED]
            best = max(named, key=lambda p: self.looks[p].kinds_named, default=None)
            best = self._kind_in_words_unknown(free) if best is None else best
        if best is None:
            return
        self.claims[best] = Heading("furniture_type")
        if sure:
            return
        others = ["piece", "wood", "finish"] if self.foreign else ["piece"]
        self._ask(best, ["furniture_type", *others, "notes"], "is read as the kind of piece")

    def _kind_in_words_unknown(self, free: Sequence[int]) -> int | None:
        """In a language that is not known, and beside days and amounts: the column of words filled in most rows."""
        kinds = [p for p in free if p not in self.claims and self.looks[p].is_words]
        beside = any(k.is_days for k in self.looks) and any(k.is_money for k in self.looks)
        if not (self.foreign and beside and kinds):
            return None
        return max(kinds, key=lambda p: self.looks[p].filled_share)

    def ask_unclaimed(self) -> None:
        """Ask about columns without a claim that hold days, money or hours, and those that hold kinds of word."""
        lasts = [p for p, c in self.claims.items() if c.column == "last_asking_price"]
        for place in lasts:
            if place not in self.settled and not self.looks[place].is_cuts and self._is_cuts(place):
                del self.claims[place]  # amounts that came off are no price
        groups: dict[frozenset[str], list[int]] = {}
        for p, heading in enumerate(self.table.headings):
            done = p in self.claims or p in self.settled or p in self.asked or p in self.joined
            done |= self.table.sheets is not None and word_key(heading) == SHEET
            if not done and not _WORKED_OUT.search(heading):
                groups.setdefault(self._held_beside(p), []).append(p)
        for beside, places in groups.items():
            self._ask_of(places, set(beside))

    def notes_by_cells(self) -> None:
        """Where no heading says notes, the fullest column of remarks that nothing claims is read as notes."""
        if any(c.column == "notes" for c in self.claims.values()):
            return
        taken = {*self.claims, *self.settled, *self.asked, *self.joined}
        free = [p for p, k in enumerate(self.looks) if p not in taken and k.is_prose]
        if free:
            best = max(free, key=lambda p: int(self.looks[p].filled.sum()))
            self.claims[best] = Heading("notes")
            self.notes.append(f"{self._typed(best)} holds remarks, so it was read as notes.")

    def _held_beside(self, place: int) -> frozenset[str]:
        """The columns that are held in the rows of `place`: on another sheet the same may stand under other words."""
        if self.table.sheets is None:
            return frozenset(c.column for c in self.claims.values())
        here = rows_filled(self.table.columns[place])
        return frozenset(
            c.column
            for p, c in self.claims.items()
            if (here & rows_filled(self.table.columns[p])).any()
        )

    def _ask_of(self, free: list[int], held: set[str]) -> None:
        """Ask about the columns at the places `free`, in rows that hold the columns `held`."""
        no_price = not held >= {*_PRICES, "materials_cost"}
        boxes = [p for p in free if self.looks[p].is_sizes] if SIZE not in held else []
        for place in boxes[:1] if not held & set(SIZES) else ():
            self._ask(place, [SIZE])
        pairs = [p for p in free if p not in boxes and self.looks[p].is_priced_days]
        for place in pairs:
            prices = [r for r in ("asking_price", "sale_price", "buy_price") if r not in held]
            hints = hinted(self.table.headings[place])
            self._ask(place, sorted(prices, key=lambda r, h=hints: r not in h))  # type: ignore[misc]
        cuts = [p for p in free if self._is_cuts(p)] if "last_asking_price" not in held else []
        for place in cuts:
            off = self.looks[place].is_off or not self.looks[place].is_cuts
            both = ["price_cuts", "last_asking_price"][:: 1 if off else -1]
            self._ask(
                place, [*both, *(r for r in ("other_costs", "selling_fees") if r not in held)]
            )
            held.add("last_asking_price")  # no other column is the likelier one
        free = [p for p in free if p not in (*boxes, *pairs, *cuts)]
        sides = [p for p in free if self._unit(p) in _LENGTHS and self.looks[p].is_money]
        days = [
            p for p in free if self._may_be_days(p) or (self.foreign and self.looks[p].is_dated)
        ]
        hours = [p for p in free if p not in days and self._is_hours(p, held)]
        told = {*sides, *days, *hours}
        money = [p for p in free if p not in told and self._is_money(p, no_price=no_price)]
        open_sides = [s for s in SIZES if s not in held]
        for place in sides if open_sides else ():
            self._ask(place, open_sides)
        self._ask_ranked(days, money, hours, held)
        self._ask_others(free, held)

    def _ask_ranked(
        self, days: list[int], money: list[int], hours: list[int], held: Collection[str]
    ) -> None:
        """Ask what the columns of days, of money and of hours are, each with the role first that suits it best."""
        after = [r for r in _MONEY if r not in held] if self.foreign else []
        guessed = self._known()
        for places, roles, more in ((days, _DAYS, []), (money, _MONEY, []), (hours, _HOURS, after)):
            open_roles = [r for r in roles if r not in held]
            if not places or not open_roles:
                continue
            names = [self.table.headings[p] for p in places]
            ranked, _ = ranked_roles([self.looks[p] for p in places], names, open_roles, guessed)
            stems: set[str] = set()
            for place, order in zip(places, ranked, strict=True):
                stem = _stem(self.table.headings[place])
                meant = None if stem in stems else match_heading(stem)
                stems.add(stem)
                if order:
                    order.sort(key=lambda r, m=meant: m is None or r != m.column)  # type: ignore[misc]
                    self._ask(place, [*order, *more])
                    guessed.setdefault(order[0], self.looks[place])

    def _ask_others(self, free: Sequence[int], held: set[str]) -> None:
        """Ask about columns of states and of words; and about those whose heading begins as one of another sheet."""
        states = [p for p in free if self._tells_where_it_stands(p)]
        if states and "outcome" not in held:
            self._ask(states[0], ["outcome"])
        cut = [p for p in free if p not in self.asked and self._is_cut_name(p)]
        if cut and "piece" not in held:
            self._ask(cut[0], ["piece"])
        self._ask_words([p for p in free if p not in self.asked], held)
        for place in [p for p in free if p not in self.asked] if self.table.sheets else ():
            begins = _begins_as(self.table.headings[place])
            if begins not in held and any(c.column == begins for c in self.claims.values()):
                self._ask(place, [begins])

    def _is_cut_name(self, place: int) -> bool:
        """`Piec` or `Nam` over cells that tell rows apart: the beginning of a heading of names."""
        key = word_key(self.table.headings[place].strip("?."))
        return key in _NAME_CUT and self._tells(place)

    def _tells_where_it_stands(self, place: int) -> bool:
        """Words for it, or a few of which each stands where a piece was sold or where none was."""
        look, known = self.looks[place], self._known()
        sold = known.get("sold_on") or known.get("sale_price")
        parted = look.is_marks and sold is not None and look.parted_by(sold)
        return (look.is_states or parted) and not look.is_days

    def _ask_words(self, free: Sequence[int], held: set[str]) -> None:
        """Ask about columns that name woods or finishes, and where the language is not known about all of words."""
        for place in free:
            named = {c: self.looks[place].names(c) for c in ("wood", "finish") if c not in held}
            likely = sorted((c for c in named if named[c] >= KINDS_NEEDED), key=lambda c: -named[c])
            if likely:
                both = ["wood_and_finish"] if len(likely) > 1 else []
                self._ask(place, [*both, *likely])
                held |= {*likely} if both else {likely[0]}
        words = [p for p in free if p not in self.asked and self.looks[p].is_words]
        roles = [c for c in ("wood", "finish") if c not in held]
        kinds = [self.looks[p] for p, c in self.claims.items() if c.column == "furniture_type"]
        unknown = self.foreign and not any(k.words("furniture_type") >= KINDS_NEEDED for k in kinds)
        for place in words if unknown and roles else ():
            likely = sorted(roles, key=lambda c, p=place: -self.looks[p].names(c))  # type: ignore[misc]
            self._ask(place, [*likely, "channel", "outcome", "notes"])
            roles = [*roles[1:], roles[0]]  # the next is the next likeliest to be the other

    def _is_cuts(self, place: int) -> bool:
        """How a price came down by its cells, or by a heading that hints at it over amounts far below the price."""
        look, asked = self.looks[place], self._known().get("asking_price")
        if look.is_cuts or asked is None:
            return look.is_cuts
        heading = self.table.headings[place]
        meant = match_heading(heading)
        named = meant is not None and meant.column == "last_asking_price"
        likely = named or "last_asking_price" in hinted(heading)
        return likely and look.is_small_beside(asked, self._known().get("sale_price"))

    def _is_money(self, place: int, *, no_price: bool) -> bool:
        """Amounts worth a question: all of them where a price is still missing or the language is not known."""
        worth = no_price or self.foreign or self._worth_asking(place)
        return worth and self.looks[place].is_money

    def _may_be_days(self, place: int) -> bool:
        """Days, or under a heading that says nothing what days without a year look like."""
        look = self.looks[place]
        return look.is_days or look.share(look.any_days) >= LIKE

    def _unit(self, place: int) -> str:
        typed = self.table.headings[place]
        if any(sign in typed for sign in SIGNS):  # "$ in" is money, not inches
            return ""
        return marks_of(typed, SIZE).unit or marks_of(typed, "hours").unit

    def _is_hours(self, place: int, held: Collection[str]) -> bool:
        """Says hours or minutes, or its heading hints at work and its cells are few hours each; in words that are not
        known, small numbers some of which are no whole ones."""
        look = self.looks[place]
        if self.foreign and "hours" not in held and look.is_small:
            return True
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

    def _ask(self, place: int, roles: Sequence[str], done: str = UNREAD) -> None:
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
                self._orders(place) if roles[0] == SIZE else column_options(dict.fromkeys(roles)),
                f"it {done}",
                cells * weight(roles[0]) + (COLUMN_UNREAD if done == UNREAD else 0.0),
                "another order, such as size HxDxW"
                if roles[0] == SIZE
                else "another column, such as notes",
            )
        )

    def _orders(self, place: int) -> tuple[Option, ...]:
        """The orders of sides that cells of all three may be in, the one that suits their kinds best first."""
        cells, kinds = self.table.columns[place], np.full(len(self.table.lines), "", dtype=object)
        typed = [
            self.table.columns[p] for p, c in self.claims.items() if c.column == "furniture_type"
        ]
        for column in typed[:1]:
            read = [c.value or "" for c in read_types(column.texts, self.settings).cells]
            kinds = np.array([*read, ""], dtype=object)[column.codes]
        share = share_of_usual(cells, kinds, ("in", "cm"), SIDE_ORDERS)
        best = {o: max(share.get((u, o), 0.0) for u in ("in", "cm")) for o in SIDE_ORDERS}
        said = [[s.removesuffix("_in") for s in o] for o in sorted(best, key=lambda o: -best[o])]
        offered = [Option(" x ".join(o), "size " + "x".join(s[0].upper() for s in o)) for o in said]
        return (*offered, Option("none of these: carry it along", NOTHING))

    def _described(self, place: int, role: str) -> str:
        """What its cells are, and how they stand to another column."""
        look = self.looks[place]
        filled = int(look.filled.sum())
        example = next((t for t in look.texts if t), "")
        kind = COLUMN[role].kind if role in COLUMN else ""
        if kind == "date" and self._may_be_days(place):
            n = int((~np.isnan(look.days[look.filled])).sum())
            before = {
                "sold_on": "listed_on",
                "withdrawn_on": "listed_on",
                "listed_on": "bought_on",
            }.get(role, "")
            first = self._known([place]).get(before)
            if first is not None and 2 * n > filled:
                after = int((look.days >= first.days).sum())
                heading = next(p for p, c in self.claims.items() if c.column == before)
                return f"{after} of {filled} cells are days on or after {self._typed(heading)}"
            every = int((~np.isnan(look.any_days[look.filled])).sum())
            bare = "" if 2 * n > every else f", {'most' if n else 'all'} without a year"
            return f"{every if bare else n} of {filled} cells are days{bare}, such as {example}"
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
            if place in self.claims or place in self.joined:
                continue
            if not text.strip() and not self.looks[place].filled.any():
                continue
            extras[carried_name(text, place, extras)] = place
        order = {c.name: i for i, c in enumerate(COLUMNS)} | {SIZE: len(COLUMNS)}
        known = dict(sorted(known.items(), key=lambda k: (k[1][0], order[k[0]])))
        return Claimed(
            Headings(known, extras, tuple(self.table.headings)), self.questions, self.notes
        )


_SIDES = re.compile(r"\d[^\d]+\d+[^\d]+\d").search  # cells of three measures
SIDE_ORDERS = (
    ("width_in", "depth_in", "height_in"),
    ("height_in", "width_in", "depth_in"),
    ("width_in", "height_in", "depth_in"),
    ("depth_in", "width_in", "height_in"),
)
_STATES = ("status", "state", "stage", "where it stands", "current status", "sale status")
_NAME_CUT = ("pie", "piec", "pce", "pc", "nam", "nme", "nm")
_OF_A_SALE = ("sold_on", "sale_price")
_YES_NO = frozenset(["y", "yes", "n", "no"])
_PRICE_TAGS = ("tag", "tags", "label", "ticket", "tag price")
_FEWEST_NAMED = 4  # rows in which a lot of its own is no chance
LEAST_NAMED = 0.7  # of the rows, filled and different, make a column of names
KINDS_NEEDED = 0.5  # of the filled cells are known words
KINDS_SURE = 0.8  # of the filled cells are known kinds, so that the heading need not be asked about; our own, no source
_NAME = Heading("")
_ASKED = ("asking_price", "last_asking_price")
_MAY_BE_ASKED = (*_ASKED, "sale_price")  # what "Price 1" may be read as by its heading
_TWO_PRICES = 2  # may be the one asked and the one got
_SAYS_LITTLE = ("price", "prices", "amount", "date", "day", "value")
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


_NTH = re.compile(
    r"\b(?:no|nr|first|second|third|fourth|1st|2nd|3rd|\dth|next|new)\b|[#.()]|\d", re.IGNORECASE
)


def _stem(heading: str) -> str:
    """A heading without what numbers it: ask, of `Ask 2` and `2nd ask`."""
    return word_key(" ".join(_NTH.sub(" ", heading).split()))


def _begins_as(heading: str) -> str:
    """The column that the first words of a heading name, "" for none: `Hrs so far`, `Finish / plan`."""
    words = heading.split()
    tried = (
        match_heading(" ".join(words[:k]).rstrip("/&,-")) for k in range(len(words) - 1, 0, -1)
    )
    return next((m.column for m in tried if m), "")


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
