"""The cells of every column, read by the column's kind; each different text is read once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date

import numpy as np

from fleetlib.base.noted import Noted
from fleetlib.base.settings import Settings
from fleetlib.records.asked.cells import (
    AFTER,
    EACH,
    SUBJECT,
    about_order,
    about_states,
    about_year,
    sold_by,
)
from fleetlib.records.asked.days_of_row import WHY, crosses, settle_days_of_rows
from fleetlib.records.asked.one_column import rows_filled
from fleetlib.records.asked.question import NOTHING, Question
from fleetlib.records.asked.usual_sizes import only_in_mm, share_of_usual, unit_said
from fleetlib.records.asked.year_rows import NO_YEARS, UnderYears
from fleetlib.records.cleaning.changes import Changes
from fleetlib.records.cleaning.filling import Filling
from fleetlib.records.files.headings import SIZE, Heading, Headings
from fleetlib.records.files.safe_csv import without_guard
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing import counts
from fleetlib.records.parsing.amounts import (
    FOR_EACH,
    ONLY_ASKED,
    Price,
    maybe_worked,
    read_prices,
    read_sizes,
)
from fleetlib.records.parsing.cuts import OFF, last_named, price_after, says_off, says_to
from fleetlib.records.parsing.dates import SETTLED, DateColumn, read_dates
from fleetlib.records.parsing.days_in_text import A_DAY
from fleetlib.records.parsing.near_days import (
    AROUND,
    LATEST,
    by_near_days,
    day_from,
    day_in,
    has_no_year,
    is_open,
    order_of_bare,
    year_first,
)
from fleetlib.records.parsing.neighbours import by_neighbours
from fleetlib.records.parsing.numbers import LEFT_OUT, Cell, plain, shown
from fleetlib.records.parsing.outcomes import (
    ON_HAND,
    SOLD,
    is_traded,
    listing_told,
    outcome_said,
    remark_said,
    state_said,
)
from fleetlib.records.parsing.parsed import Reading, from_cells
from fleetlib.records.parsing.phrases import steps_down, without_label
from fleetlib.records.parsing.sizes import split_sizes
from fleetlib.records.parsing.vocabulary import (
    COLOUR_ALONE,
    NOT_A_PIECE,
    TWO_MEANINGS,
    kind_in_own_word,
    word_key,
)
from fleetlib.records.parsing.words import WordCells, read_types, read_words
from fleetlib.records.schema.columns import CALLED, COLUMN, SIZES, Column


@dataclass(frozen=True, eq=False, slots=True)
class Years:
    """`of_row`: the year that each row stands under (0: none); `answered`: by column, what was answered of its days
    without a year; `under`: what the years written between the rows say of them."""

    of_row: np.ndarray
    answered: Mapping[str, str]
    under: UnderYears = NO_YEARS


@dataclass(frozen=True, eq=False, slots=True)
class Cleaned:
    """For each column an array with one cleaned value per row; the changes; and notes.

    `refused` maps a column to the rows whose cell could not be read: its text and the reason. `types` is
    the column of kinds as typed; `named` says which rows came with a name of their own; `words` keeps what columns of
    words were read as, to ask about; `units` counts the rows with a size by its unit, "" where none is said;
    `typed` the filled cells of columns with some in `refused`, but for days of an order that is asked about; `orders`
    says of columns of days which of day and month is first, "" where nothing does; `no_price` rows that were traded.
    """

    values: dict[str, np.ndarray]
    changes: Changes
    notes: list[str]
    refused: dict[str, dict[int, tuple[str, str]]]
    types: TextColumn
    named: np.ndarray
    to_answer: list[Question]
    words: dict[str, tuple[TextColumn, WordCells]]
    units: Counter[str]
    unit_unsaid: np.ndarray
    typed: dict[str, int]
    orders: dict[str, str]
    no_price: set[int]


def clean_columns(
    table: TextTable,
    headings: Headings,
    *,
    day_first: bool | None,
    settings: Settings,
    as_of: date,
    years: Years,
) -> Cleaned:
    """Read every column of `table`; rows are not judged here. The table's columns are used up."""
    reader = _Reader(table, headings, day_first, settings, as_of)
    alone = sum(COLUMN[n].kind == "date" for n in headings.known if n in COLUMN) == 1
    reader.years, reader.lone_days = years, alone
    for name, (place, heading) in headings.known.items():
        if name != SIZE:
            reader.column(COLUMN[name], reader.take(place), heading)
    if SIZE in headings.known:
        reader.size(*headings.known[SIZE])
    for name, place in headings.extras.items():
        reader.extra(name, reader.take(place))
    named = reader.fill()
    reader.say_other_money()
    return Cleaned(
        reader.values,
        reader.changes,
        reader.notes,
        reader.refused,
        reader.types,
        named,
        reader.to_answer,
        reader.words,
        reader.units,
        reader.unit_unsaid,
        reader.typed,
        reader.orders,
        reader.no_price,
    )


class _Reader:
    """Goes through the columns of one table, gathering values, changes, notes and refusals."""

    def __init__(
        self,
        table: TextTable,
        headings: Headings,
        day_first: bool | None,
        settings: Settings,
        as_of: date,
    ) -> None:
        self.table, self.settings, self.as_of = table, settings, as_of
        self.headings = headings
        self.years = Years(np.zeros(len(table.lines), dtype=int), {})
        self.lone_days = False
        self._year_of: list[str] = []  # for each text of the column of days being read
        self.day_first = day_first
        self.lines = table.lines
        self.values: dict[str, np.ndarray] = {}
        self.changes = Changes()
        self.notes: list[str] = []
        self.refused: dict[str, dict[int, tuple[str, str]]] = {}
        self.types = self._paid = TextColumn(np.empty(0, dtype=np.int32), [])
        self._type_counts: np.ndarray | None = None
        self._wood_makings: np.ndarray | None = None
        self._orders: dict[str, str] = {}
        self._other_money: dict[str, list[str]] = {}  # by the money that their headings name
        self._remarks: dict[int, str] = {}  # by row what stood where the place of the sale should
        self._around: dict[str, dict[int, str]] = {}  # days whose year the rows around them told
        self._bare_orders: dict[str, str] = {}  # as days without a year show them
        self._bare_open: dict[str, int] = {}  # columns with days without a year in an open order
        self._undecided: list[tuple[str, str]] = []
        self.to_answer: list[Question] = []
        self.words: dict[str, tuple[TextColumn, WordCells]] = {}
        self._in_mm: bool | None = None
        self.units: Counter[str] = Counter()
        self.unit_unsaid = np.zeros(
            len(table.lines), dtype=bool
        )  # rows with a size in no named unit
        self.typed: dict[str, int] = {}
        self.no_price: set[int] = set()
        self._waiting: list[tuple[Column, TextColumn, Reading, list[str]]] = []
        self._for_each: list[tuple[Column, TextColumn, list[Price]]] = []
        self._cuts: list[tuple[Column, TextColumn]] = []  # of the first price asked
        self._beside: list[tuple[str, np.ndarray, str]] = []
        self._outcomes: dict[str, np.ndarray] = {}
        self._stood: tuple[str, np.ndarray] = ("", np.empty(0))
        sales = [table.columns[p] for c, (p, _) in headings.known.items() if c in _OF_A_SALE]
        none = np.zeros(len(table.lines))
        self._sales = np.array([none, *(rows_filled(c) for c in sales)]).max(axis=0) > 0  # of rows

    def take(self, place: int) -> TextColumn:
        """Take a column out of the table; the table forgets it, to free memory."""
        column = self.table.columns[place]
        self.table.columns[place] = TextColumn(np.empty(0, dtype=np.int32), [])
        return column

    def column(self, meaning: Column, cells: TextColumn, heading: Heading) -> None:
        """Read one canonical column."""
        if meaning.name == "furniture_type":
            self.types = cells
        if meaning.name in ("sale_price", "sold_on"):
            cells = self._without_returns(meaning.name, cells)
        if meaning.kind == "money":
            self._amounts(meaning, cells, heading)
            return
        if meaning.kind == "date":
            cells = self._by_year(meaning.name, cells)
        if meaning.name == "channel":
            cells = self._without_remarks(cells)
        reading = self._read(meaning, cells, heading)
        if meaning.is_number:
            reading = reading.within(meaning)
        elif meaning.kind == "date":
            undecided = any(n == meaning.name for n, _ in self._undecided)
            if undecided and not (self._orders[meaning.name] or meaning.name in self._bare_open):
                self._waiting.append((meaning, cells, reading, self._year_of))
                return
            reading = reading.not_after(self.as_of)
        self._store(meaning, cells, reading)

    def _amounts(self, meaning: Column, cells: TextColumn, heading: Heading) -> None:
        """Read one column of money, but for what needs others to be read: prices of one piece, and cuts of a price."""
        self._check_currency(meaning, heading)
        made_plain = _AS_AMOUNTS.get(meaning.name, str)
        prices = read_prices([made_plain(t) for t in cells.texts], currency=self.settings.currency)
        if heading.unit == OFF:
            self._cuts.append((meaning, cells))
        elif any(p.each for p in prices):
            self._for_each.append((meaning, cells, prices))
        else:
            self._money(meaning, cells, prices)

    def _read(self, meaning: Column, cells: TextColumn, heading: Heading) -> Reading:
        texts = cells.texts
        match meaning.kind:
            case "date":
                return self._dates(meaning, cells)
            case "word" if meaning.name == "outcome":
                own, sold = self.settings.words.get("outcome", {}), sold_by(cells, self._sales)
                read = [
                    Cell(SOLD, "its rows tell of a sale")
                    if key in sold and key not in own
                    else _outcome(own.get(key, t))
                    for t, key in ((t, t.strip().lower()) for t in texts)
                ]
                self.to_answer += about_states(cells, read)
                return from_cells(read)
            case "word":
                return self._words(meaning.name, cells)
            case "name":
                return Reading(_names(texts))
            case "text":
                return Reading([without_guard(t.strip()) or None for t in texts])
            case "size":
                unit = heading.unit or (
                    "mm" if self._sides_in_mm(cells) else self.settings.length_unit
                )
                self._count_units(cells, "cm" if unit == "mm" else heading.unit)
                return from_cells(read_sizes(texts, unit=unit))
            case "hours":
                return from_cells(by_neighbours(texts, cells.codes, unit=heading.unit))
            case other:
                return from_cells(_READERS[other](texts))

    def _money(self, meaning: Column, cells: TextColumn, prices: list[Price]) -> None:
        """Store one column of money, and what its cells say of other columns."""
        name, read = meaning.name, [p.cell for p in prices]
        if name == "buy_price":
            self._paid = cells
        if name == "asking_price":  # where a cell holds two prices, asking_price is the earlier one
            read = [
                c if p.before is None else _first_asked(p)
                for c, p in zip(read, prices, strict=True)
            ]
        if name == "last_asking_price":
            off = [says_off(t) for t in cells.texts]
            read = [Cell(None, TAKEN_OFF, True) if o else c for c, o in zip(read, off, strict=True)]
        if name in _COSTS:
            read = [
                _NIL if plain(t) == "nil" else c for c, t in zip(read, cells.texts, strict=True)
            ]
        if name in ("sale_price", "buy_price"):
            read = [_not_paid(c, p) for c, p in zip(read, prices, strict=True)]
        if name == "sale_price":
            read = [_no_sale(c) for c in read]
            self._outcome(name, cells, read)
        for column, part, why in _SAID_BESIDE.get(name, ()):
            said = [np.nan if (v := part(p)) is None else v for p in prices]
            if not np.isnan(said).all():
                self._beside.append((column, np.array([*said, np.nan])[cells.codes], why))
        self._store(meaning, cells, from_cells(read).within(meaning))

    def _outcome(self, name: str, cells: TextColumn, read: list[Cell]) -> None:
        """Where a cell says in words what became of the piece, keep that; the cell counts as read."""
        said = [outcome_said(_ASK_BESIDE.sub("", t)) for t in cells.texts]
        if any(said):
            self._outcomes[name] = np.array([*said, None], dtype=object)[cells.codes]
            if name == "sale_price":
                traded = np.array([*map(is_traded, cells.texts), False])
                self.no_price |= set(np.flatnonzero(traded[cells.codes]).tolist())
            for i, word in enumerate(said):
                if word:
                    read[i] = Cell(None, f"says what became of it: {word}")

    def _each(self) -> None:
        """Prices of one piece, now that the number of pieces of each row is known."""
        none = np.full(len(self.lines), np.nan)
        for meaning, cells, prices in self._for_each:
            pieces = self.values.get("pieces_in_lot", none)
            codes, texts, each = cells.codes.copy(), list(cells.texts), list(prices)
            known: dict[tuple[int, float], int] = {}
            for i in np.flatnonzero(np.isin(codes, [k for k, p in enumerate(prices) if p.each])):
                key = (int(codes[i]), float(pieces[i]) if pieces[i] >= 2 else 1.0)
                if key not in known:
                    known[key] = len(texts)
                    texts.append(texts[key[0]])
                    each.append(_all_of(prices[key[0]], key[1]))
                codes[i] = known[key]
            self._money(meaning, TextColumn(codes, texts), each)

    def _came_down(self) -> None:
        """The last price asked of rows whose cell says how much came off the first, now that this is known."""
        asked = self.values.get("asking_price", np.full(len(self.lines), np.nan))
        for meaning, cells in self._cuts:
            codes, texts = cells.codes.copy(), list[str]()
            read: list[Cell] = []
            known: dict[tuple[int, float], int] = {}
            for i, code in enumerate(cells.codes.tolist()):
                key = (code, -1.0 if np.isnan(asked[i]) else float(asked[i]))
                if key not in known:
                    known[key] = len(texts)
                    texts.append(cells.texts[code])
                    read.append(self._cut(cells.texts[code], key[1]))
                codes[i] = known[key]
            named = self.values.get(meaning.name)  # beside another price
            self._store(meaning, TextColumn(codes, texts), from_cells(read).within(meaning))
            if named is not None:
                own = self.values[meaning.name]
                self.values[meaning.name] = np.where(np.isnan(own), named, own)

    def _cut(self, text: str, asked: float) -> Cell:
        """What a cell that says how a price came down from `asked` (below 0: not known) leaves of it."""
        last = price_after(text, asked) if asked > 0 else None
        if last is not None:
            return Cell(last, "what came off the first price is taken off it")
        named = read_prices([last_named(text)], currency=self.settings.currency)[0].cell
        return named if says_to(text) or not text.strip() else Cell(None, TAKEN_OFF, True)

    def _one_of_several(self) -> None:
        """`3 for 45` paid for a row of one piece is what all three cost: left out and asked about."""
        for column, said, why in self._beside:
            if column != "pieces_in_lot" or not why.endswith("buy_price"):
                continue
            kinds = [_SEVERAL.search(t) is not None for t in self.types.texts]
            for i in np.flatnonzero(said > 2).tolist():  # a pair is often one row
                if len(self.types.codes) and not kinds[self.types.codes[i]]:
                    told = f"is the price of {said[i]:g} pieces, and the row is one"
                    self.refused.setdefault("buy_price", {})[i] = (self._paid.cell(i).strip(), told)
                    self.changes.drop("buy_price", i)
                    self.values["buy_price"][i] = said[i] = np.nan

    def _without_remarks(self, cells: TextColumn) -> TextColumn:
        """Where it was sold, without the cells that tell what became of the piece: those are notes, and asked about."""
        own = self.settings.words.get("channel", {})
        told = [
            (remark_said(t) is not None or listing_told(t) != "") and word_key(t) not in own
            for t in cells.texts
        ]
        if any(told):
            rows = np.flatnonzero(np.array(told, dtype=bool)[cells.codes])
            was, n = [cells.cell(i).strip() for i in rows.tolist()], len(rows)
            self._keep_remarks(rows, was)
            why = ["tells of the piece, not of where it was sold: kept as a note"] * n
            self.changes.add("channel", rows, np.arange(n), was, [""] * n, why)
        blanked = ["" if t else text for t, text in zip(told, cells.texts, strict=True)]
        return TextColumn(cells.codes, blanked)

    def _without_returns(self, name: str, cells: TextColumn) -> TextColumn:
        """A price or day of sale without what it tells of a return (`$90, refunded`): that is a note, asked about."""
        parts = [_BACK.search(t) and _AND_BACK.fullmatch(t.strip()) for t in cells.texts]
        told = [
            m is not None and remark_said(m[2]) == ON_HAND and self._reads_as(name, m[1])
            for m in parts
        ]
        if not any(told):
            return cells
        rows = np.flatnonzero(np.array(told, dtype=bool)[cells.codes])
        both = [m for i in rows.tolist() if (m := parts[cells.codes[i]])]
        self._keep_remarks(rows, [m[2] for m in both])
        why = ["tells of the piece: kept as a note"] * len(rows)
        was, now = ([m[k].strip() for m in both] for k in (0, 1))
        self.changes.add(name, rows, np.arange(len(rows)), was, now, why)
        texts = [
            m[1] if m and t else text for m, t, text in zip(parts, told, cells.texts, strict=True)
        ]
        return TextColumn(cells.codes, texts)

    def _reads_as(self, name: str, text: str) -> bool:
        """Whether `text` by itself is one price, or has the looks of one day."""
        if name == "sold_on":
            return re.fullmatch(A_DAY, plain(text)) is not None
        return not read_prices([text], currency=self.settings.currency)[0].cell.refused

    def _keep_remarks(self, rows: np.ndarray, texts: Sequence[str]) -> None:
        """Keep what cells of `rows` tell of the piece, for its notes."""
        for i, text in zip(rows.tolist(), texts, strict=True):
            self._remarks[i] = f"{self._remarks[i]}; {text}" if i in self._remarks else text

    def _put_remarks(self) -> None:
        if self._remarks:
            empty = np.full(len(self.lines), None, dtype=object)
            notes = self.values["notes"] = self.values.get("notes", empty).copy()
            for i, text in self._remarks.items():
                notes[i] = f"{notes[i]}; {text}" if notes[i] else text

    def _check_currency(self, meaning: Column, heading: Heading) -> None:
        if heading.currency and heading.currency != self.settings.currency:
            self._other_money.setdefault(heading.currency, []).append(meaning.name)

    def say_other_money(self) -> None:
        """Note once which headings name another money than the settings."""
        for money, names in self._other_money.items():
            one = len(names) == 1
            self.notes.append(
                f"The heading{'s' * (not one)} of {' and '.join(names)} say{'s' * one} {money}, the settings say "
                f"{self.settings.currency}; set currency in settings.toml if that is wrong."
            )

    def _dates(self, meaning: Column, cells: TextColumn) -> Reading:
        found = read_dates(
            cells.texts,
            day_first=self.day_first,
            as_of=self.as_of,
            epoch_1904=self.table.epoch_1904,
        )
        self._say_order(meaning.name, found, cells)
        order = found.order or self._order_of_bare(meaning.name, cells.texts)
        read = self._with_years(cells, found, order)
        if not order:
            read = self._ask_order_of_bare(meaning.name, cells, read)
        self._ask_year(meaning.name, cells, read)
        if meaning.name in _LEAVING:
            self._outcome(meaning.name, cells, read)
        return from_cells(read)

    def _with_years(self, cells: TextColumn, found: DateColumn, order: str) -> list[Cell]:
        """The days found, and those without a year where a year above them or the rows around them tell it."""
        read = year_first(cells.texts, found.cells, as_of=self.as_of)
        read = self._in_their_years(cells.texts, read, order)
        return by_near_days(cells.texts, cells.codes, read, order=order, as_of=self.as_of)

    def _order_of_bare(self, name: str, texts: Sequence[str]) -> str:
        """The order that days without a year show in this column or, where it shows none, in all others that do."""
        own = self._bare_orders[name] = order_of_bare(texts)
        if own or not any(map(is_open, texts)):
            return own
        said = {o for n, o in [*self._orders.items(), *self._bare_orders.items()] if n != name}
        for other, (place, _) in self.headings.known.items():
            if other in COLUMN and COLUMN[other].kind == "date" and other not in self._orders:
                typed = self.table.columns[place].texts
                said.add(read_dates(typed, as_of=self.as_of).order or order_of_bare(typed))
        said -= {""}
        return said.pop() if len(said) == 1 and said <= {*SETTLED} else ""

    def _ask_order_of_bare(self, name: str, cells: TextColumn, read: Sequence[Cell]) -> list[Cell]:
        """Ask for the order of days such as 3/8 that have no year of their own; those are no question of the year."""
        made = list(read)
        left = [bool(c.refused) and is_open(t) for c, t in zip(read, cells.texts, strict=True)]
        rows = np.flatnonzero(np.array(left, dtype=bool)[cells.codes]) if any(left) else ()
        sure = any(self._year_of[cells.codes[i]] or i in self.years.under.crossed for i in rows)
        if not sure and (len(rows) < 2 or self.years.answered.get(name)):
            return made  # each is asked about by itself, as a whole day
        for k in np.flatnonzero(left).tolist():
            year = self._year_of[k]
            if year:
                until = self.as_of if year == LATEST else date.max
                both = (day_in(cells.texts[k], year, order=o, as_of=until) for o in SETTLED)
                made[k] = Cell(None, f"could be {' or '.join(str(d) for d in both if d)}", True)
        if not any(n == name for n, _ in self._undecided):
            said = [f"line {self.lines[i]}: {cells.cell(i).strip()}" for i in rows[:6]]
            more = f" and {len(rows) - 6} more" if len(rows) > 6 else ""
            self._undecided.append((name, ", ".join(said) + more))
        self._bare_open[name] = len(rows)
        return made

    def _by_year(self, name: str, cells: TextColumn) -> TextColumn:
        """The column, in which a text without a year stands once for each year that its rows are under."""
        said = self.years.answered.get(name, "")
        used = name in _LEAVING or self.lone_days
        bare = np.array([has_no_year(t) for t in cells.texts], dtype=bool)
        self._year_of = [""] * len(cells.texts)
        own_years = self.years.under.of_column(name, self.years.of_row if used else None)
        if not bare.any() or not (own_years.any() or said):
            return cells
        codes, texts = cells.codes.copy(), list(cells.texts)
        known: dict[tuple[int, str], int] = {}
        for i in np.flatnonzero(bare[codes]).tolist():
            own = int(own_years[i]) if len(own_years) else 0
            if said in AFTER:
                own = own or self._year_after(AFTER[said][0], texts[codes[i]], i)
            key = (int(codes[i]), str(own) if own else EACH if said in AFTER else said)
            if key not in known:
                known[key] = len(texts)
                texts.append(texts[key[0]])
                self._year_of.append(key[1] if key[1] != EACH else "")
            codes[i] = known[key]
        return TextColumn(codes, texts)

    def _year_after(self, column: str, text: str, row: int) -> int:
        """The year of the first such day on or after the day of `column` of the row; 0 where that is not known."""
        known = self.values.get(column, np.full(len(self.lines), np.datetime64("NaT")))[row]
        if np.isnat(known):
            return 0
        first = date.fromisoformat(str(known)[:10])
        found = set()
        orders = SETTLED if self.day_first is None else SETTLED[not self.day_first :][:1]
        for order in orders:
            day = day_from(text, first, order=order, as_of=date.max)
            found |= {day.year} if day else set()
        return found.pop() if len(found) == 1 else 0

    def _in_their_years(self, texts: Sequence[str], read: Sequence[Cell], order: str) -> list[Cell]:
        made = list(read)
        order = order or next(
            (o for o in self._orders.values() if o), ""
        )  # that of a column before
        for k, (text, year) in enumerate(zip(texts, self._year_of, strict=True)):
            day = day_in(text, year, order=order, as_of=self.as_of) if year else None
            if made[k].refused and day:
                why = (
                    "the year you answered"
                    if year == LATEST
                    else f"a day of {year}, as said for it"
                )
                made[k] = Cell(day.isoformat(), why)
        return made

    def _ask_year(self, name: str, cells: TextColumn, read: Sequence[Cell]) -> None:
        """Ask once about all days without a year that nothing settles."""
        left = np.array(
            [
                bool(c.refused) and has_no_year(t) and not c.why.startswith("could be ")
                for c, t in zip(read, cells.texts, strict=True)
            ]
        )
        rows = np.flatnonzero(left[cells.codes]).tolist() if len(left) else list[int]()
        under = self.years.under
        rows = [i for i in rows if i not in under.crossed]
        if len(rows) > 1 and not (self.years.answered.get(name) or under.settled):
            lines = [f"line {self.lines[i]}: {cells.cell(i).strip()}" for i in rows[:3]]
            before = {"sold_on": ("listed_on", "bought_on"), "listed_on": ("bought_on",)}
            known = [c for c in before.get(name, ()) if c in self.values]
            after = next((m for m, (c, _) in AFTER.items() if c in known), "")
            years = set(self.years.of_row.tolist())
            title = years.pop() if len(years) == 1 else 0
            self.to_answer.append(
                about_year(name, lines, len(rows), self.as_of, after=after, title=title)
            )

    def _say_order(self, name: str, found: DateColumn, cells: TextColumn) -> None:
        self._orders[name] = found.order
        if found.asked:
            self._undecided.append((name, self._where(found.asked, cells)))
        if found.odd:
            self.notes.append(
                f"{name}: the column is {found.order}, but these can only be the other way round and were read so: "
                f"{self._where(found.odd, cells)}."
            )
        if found.contrary:
            order = "day first" if self.day_first else "month first"
            self.notes.append(
                f"{name}: read {order} as you asked for, which these cannot be "
                f"({self._where(found.contrary, cells)}); they were left out."
            )

    def _where(self, texts: Sequence[str], cells: TextColumn) -> str:
        """`line 4: 03/04/26, line 7: ...`, at most six."""
        wanted = {cells.texts.index(t) for t in texts}
        rows = np.flatnonzero(np.isin(cells.codes, list(wanted)))
        said = [f"line {self.lines[i]}: {cells.cell(i).strip()}" for i in rows[:6]]
        more = f" and {len(rows) - 6} more" if len(rows) > 6 else ""
        return ", ".join(said) + more

    def _words(self, name: str, cells: TextColumn) -> Reading:
        texts = [without_guard(t) for t in cells.texts]
        if name == "furniture_type":
            found = read_types(texts, self.settings)
            said = [np.nan if c is None else c for c in found.counts]
            self._type_counts = np.array(said, dtype=float)[cells.codes]
        else:
            found = read_words(name, texts, self.settings)
        coloured = [
            t for t, c in zip(cells.texts, found.cells, strict=True) if c.why == COLOUR_ALONE
        ]
        if coloured:
            self.notes.append(
                f"{name}: a colour alone was read as paint ({self._where(coloured, cells)})."
            )
        if name == "wood" and any(found.constructions):
            self._wood_makings = np.array(found.constructions, dtype=object)[cells.codes]
        if name in SUBJECT:
            self.words[name] = (cells, found)
        else:
            self._say_words(name, cells, found)
        asked = [bool(q or n) for q, n in zip(found.questions, found.suggestions, strict=True)]
        return replace(from_cells(found.cells), listed=np.array(asked, dtype=bool))

    def _say_words(self, name: str, cells: TextColumn, found: WordCells) -> None:
        for question in dict.fromkeys(q for q in found.questions if q):
            texts = [t for t, q in zip(cells.texts, found.questions, strict=True) if q == question]
            self._note(name, f"{name}: {question} ({self._where(texts, cells)}).")
        near = [(t, n) for t, n in zip(cells.texts, found.suggestions, strict=True) if n]
        for text, word in near[:_MOST_SUGGESTED]:
            self._note(
                name,
                f'{name}: "{text.strip()}" is kept as typed; did you mean "{word}"? '
                f"({self._where([text], cells)})",
            )
        if len(near) > _MOST_SUGGESTED:
            more = len(near) - _MOST_SUGGESTED
            self.notes.append(f"{name}: {more} more words are near a known one; see the changes.")

    def _note(self, column: str, said: str) -> None:
        """Add a note on words; where the person is also asked about it, the note is coded so."""
        self.notes.append(Noted(said, "asked") if column in SUBJECT else said)

    def _store(self, meaning: Column, cells: TextColumn, reading: Reading) -> None:
        codes, texts = cells.codes, cells.texts
        self.values[meaning.name] = reading.array(meaning)[codes]
        if not texts:
            return
        was = [t.strip() for t in texts]
        now = reading.shown()
        self._list(meaning.name, cells, was, now, reading)
        around = [reading.why_of(k) == AROUND for k in range(len(texts))]
        if any(around):
            rows = np.flatnonzero(np.array(around)[codes])
            self._around[meaning.name] = {int(i): was[codes[i]] for i in rows}
        if reading.refused is None:
            return
        rows = np.flatnonzero(reading.refused[codes])
        if not len(rows):
            return
        self.refused[meaning.name] = {
            int(i): (was[codes[i]], reading.why_of(codes[i])) for i in rows
        }
        if not any(n == meaning.name for n, _ in self._undecided):
            self.typed[meaning.name] = int(
                np.count_nonzero(np.array([bool(w) for w in was])[codes])
            )

    def _list(
        self, name: str, cells: TextColumn, was: list[str], now: list[str], reading: Reading
    ) -> None:
        listed = np.fromiter((a != b for a, b in zip(was, now, strict=True)), bool, len(was))
        if reading.listed is not None:
            listed |= reading.listed
        rows = np.flatnonzero(listed[cells.codes])
        if len(rows):
            why = reading.why_listed(listed)
            self.changes.add(name, rows, cells.codes[rows], was, now, why)

    def extra(self, name: str, cells: TextColumn) -> None:
        """Carry one of the person's own columns along as typed."""
        if _STOOD.fullmatch(word_key(name)):
            days = [
                np.nan if c.refused or c.value is None else c.value
                for c in counts.read_counts(cells.texts)
            ]
            self._stood = (name, np.array([*days, np.nan], dtype=float)[cells.codes])
        kept = [without_guard(t) if t.strip() else None for t in cells.texts]
        self.values[name] = np.array([*kept, None], dtype=object)[cells.codes]
        unguarded = [k is not None and k != t for k, t in zip(kept, cells.texts, strict=True)]
        if any(unguarded):
            rows = np.flatnonzero(np.array(unguarded)[cells.codes])
            why = ["an apostrophe that keeps a spreadsheet from calculating"] * len(kept)
            now = [k or "" for k in kept]
            self.changes.add(name, rows, cells.codes[rows], cells.texts, now, why)

    def size(self, place: int, heading: Heading) -> None:
        """Split one column of all three measures into width, depth and height where those are blank."""
        cells = self.take(place)
        unit = heading.unit or self.settings.length_unit
        order: Sequence[str] = heading.order or SIZES
        told = "length_unit" in self.settings.chosen
        if not heading.unit and only_in_mm(cells):
            unit, order = self._usual_sizes(cells, heading.order, ("mm",))
        elif not heading.unit and unit == "in" and not (told and heading.order):
            tried = ("in",) if told else ("in", "cm")
            unit, order = self._usual_sizes(cells, heading.order, tried)
        self._count_units(cells, heading.unit or ("cm" if unit in ("cm", "mm") else ""))
        found = split_sizes(cells.texts, unit=unit, order=order)
        sides, now, why = found.sides, found.shown, found.why
        for side, values in sides.items():
            new = np.array([*values, np.nan])[cells.codes]
            own = self.values.get(side)
            self.values[side] = new if own is None else np.where(np.isnan(own), new, own)
        was = [t.strip() for t in cells.texts]
        self._list(SIZE, cells, was, now, Reading(now, why=why))
        if (unit, tuple(order)) != (
            heading.unit or self.settings.length_unit,
            heading.order or SIZES,
        ):
            said = " x ".join(side.removesuffix("_in") for side in order)
            self.notes.append(
                f'"{self.table.headings[place]}" was read as {said} in {unit}, as only so the sizes are those of their '
                f"kinds of piece. If that is wrong, say the order and the unit in the heading."
            )
        elif not heading.order and any(now):
            typed = self.table.headings[place]
            self.notes.append(
                f'"{typed}" was read as width x depth x height, in this order. If yours is another, say so in '
                f'the heading, "{typed} (HxWxD)", or by: fleetlib check FOLDER --answer "{typed}=size HxWxD"'
            )

    def _sides_in_mm(self, cells: TextColumn) -> bool:
        """Whether the columns of one side each that name no unit, `cells` the first of them, are in millimetres, as one
        of them shows; noted."""
        if self._in_mm is None:
            known = (self.headings.known[s] for s in SIZES if s in self.headings.known)
            bare = [self.table.columns[place] for place, heading in known if not heading.unit]
            self._in_mm = any(map(only_in_mm, (cells, *bare)))
            self.notes += [_IN_MM] * self._in_mm
        return self._in_mm

    def _count_units(self, cells: TextColumn, unit: str) -> None:
        """Count the rows whose size is in `unit`, or in the one that the cell names."""
        counts = np.bincount(cells.codes, minlength=len(cells.texts) + 1)
        bare: list[int] = []
        for code, (text, n) in enumerate(zip(cells.texts, counts.tolist(), strict=False)):
            if n and any(map(str.isdigit, text)):
                said = unit_said(text) or unit
                self.units[said] += n
                if not said:
                    bare.append(code)
        self.unit_unsaid[np.isin(cells.codes, bare)] = True

    def _usual_sizes(
        self, cells: TextColumn, order: Sequence[str], units: Sequence[str]
    ) -> tuple[str, Sequence[str]]:
        """The unit (of `units`) and order in which the bare sizes of the column are those of their kinds, if one fits.

        Taken only where there are four pieces of known kinds at least, four fifths of them fit it, and at most a fifth
        fit the first unit in the heading's order (without one, width x depth x height); otherwise the first so.
        """
        usual: tuple[str, Sequence[str]] = (units[0], order or SIZES)
        kinds = self.values.get("furniture_type")
        orders = [order] if order else [SIZES, ("height_in", "width_in", "depth_in")]
        share = {} if kinds is None else share_of_usual(cells, kinds, units, orders)
        good = [k for k, v in share.items() if v >= 0.8]
        plain = share.get((units[0], tuple(orders[0])), 1.0)
        return good[0] if len(good) == 1 and plain <= 0.2 else usual

    def fill(self) -> np.ndarray:
        """Ask about undecided dates and fill in what a row says elsewhere; returns which rows had a name."""
        self._settle_orders()
        self._settle_by_rows()
        self._ask_orders()
        self._put_remarks()
        self._kinds_by_size()
        for name, (cells, read) in self.words.items():
            self._say_words(name, cells, read)
        made = Filling(self.values, self.changes, self.notes, self.lines)
        made.count(self._type_counts)
        self._one_of_several()
        for column, said, why in self._beside:
            made.beside(column, said, why)
        self._beside.clear()
        self._each()
        for column, said, why in self._beside:
            made.beside(column, said, why)
        self._came_down()
        if "outcome" in self.values:
            self._outcomes["outcome"] = self.values["outcome"]
        made.outcomes(self._outcomes)
        made.word("construction", self._wood_makings, "wood")
        made.word("wood", self._named_beside("woods"), "type")
        finishes, own = self._named_beside("finishes"), self.values.get("finish")
        if finishes is not None and own is not None:
            finishes = np.where(own == None, finishes, own)  # noqa: E711 - elementwise
        made.word("finish", finishes, "type")
        rests = self._named_beside("rests")
        if rests is not None:
            own = self.values.get(ALSO)
            self.values[ALSO] = rests if own is None else np.where(own == None, rests, own)  # noqa: E711 - elementwise
        self._in_own_words()
        hours = self._named_beside("hours")
        if hours is not None:
            made.beside("hours", hours.astype(float), "the hours named in the type")
        made.hours()
        self._ask_hours()
        made.stood(*self._stood)
        return made.names()

    def _ask_hours(self) -> None:
        """Ask for the hours of rows without any where those named beside the kind have more than one reading."""
        cells, _ = self.words.get("furniture_type", (self.types, None))
        maybe = [*map(maybe_worked, cells.texts), ""]
        if not any(maybe):
            return
        own = self.values.get("hours", np.full(len(self.lines), np.nan))
        told = np.array([*map(bool, maybe)])[cells.codes]
        for i in np.flatnonzero(told & np.isnan(own)).tolist():
            asked = (
                maybe[cells.codes[i]],
                "stands beside the kind of piece and may be hours of work",
            )
            self.refused.setdefault("hours", {}).setdefault(i, asked)

    def _in_own_words(self) -> None:
        """Keep the person's own word for a kind where it is another than ours."""
        cells, found = self.words.get("furniture_type", (None, None))
        if cells is None or found is None:
            return
        own = self.settings.words.get("furniture_type", {})
        said = [
            kind_in_own_word(t, str(c.value), own) or None if c.value else None
            for t, c in zip(cells.texts, found.cells, strict=True)
        ]
        if any(said):
            read, kept = np.array([*said, None], dtype=object)[cells.codes], self.values.get(CALLED)
            self.values[CALLED] = read if kept is None else np.where(read == None, kept, read)  # noqa: E711 - elementwise

    def _named_beside(self, what: str) -> np.ndarray | None:
        """The woods, or the other words (`rests`), that stand beside the kinds of piece, a row each; None for none."""
        cells, found = self.words.get("furniture_type", (None, None))
        said = getattr(found, what, [])
        return np.array([*said, None], dtype=object)[cells.codes] if cells and any(said) else None

    def _kinds_by_size(self) -> None:
        """A tall dresser is a chest of drawers if higher than wide, else a dresser; without sizes it is asked about."""
        kinds, width, height = (
            self.values.get(c) for c in ("furniture_type", "width_in", "height_in")
        )
        if kinds is None or width is None or height is None or _TALL not in kinds:
            return
        cells, found = self.words["furniture_type"]
        rows = np.flatnonzero((kinds == _TALL) & ~np.isnan(width) & ~np.isnan(height))
        codes = cells.codes.copy()
        for i, kind in enumerate(TWO_MEANINGS["furniture_type"][_TALL]):
            mine = rows[(height[rows] > width[rows]) == (i == 0)]
            kinds[mine], codes[mine] = kind, len(cells.texts) + i
            for row in mine:
                self.changes.drop("furniture_type", int(row))
            n = len(mine)
            was = [cells.cell(row).strip() for row in mine]
            why = ["a tall dresser, by its height and width"] * n
            self.changes.add("furniture_type", mine, np.arange(n), was, [kind] * n, why)
        both = list(TWO_MEANINGS["furniture_type"][_TALL])
        more = read_types(both, self.settings)
        self.words["furniture_type"] = (
            TextColumn(codes, [*cells.texts, *both]),
            WordCells(*(getattr(found, f.name) + getattr(more, f.name) for f in fields(found))),
        )

    def _settle_orders(self) -> None:
        """A date column that doesn't show which of day and month comes first is read as the others, if those agree."""
        others = {n: o for n, o in self._orders.items() if o}
        agreed = set(others.values())
        order = agreed.pop() if len(agreed) == 1 else ""
        for meaning, cells, reading, year_of in self._waiting:
            if order in SETTLED:
                found = read_dates(
                    cells.texts,
                    day_first=order == "day first",
                    as_of=self.as_of,
                    epoch_1904=self.table.epoch_1904,
                )
                self._year_of = year_of
                reading = from_cells(self._with_years(cells, found, order))
                where = next(w for n, w in self._undecided if n == meaning.name)
                self._undecided = [u for u in self._undecided if u[0] != meaning.name]
                self.notes.append(
                    f"{meaning.name}: nothing in this column settles whether the day or the month comes first; read "
                    f"{order} like {', '.join(others)} ({where}). If that is wrong, say date_order in settings.toml."
                )
            self._store(meaning, cells, reading.not_after(self.as_of))

    @property
    def orders(self) -> dict[str, str]:
        """Of each column of days what is first, the day or the month, where it or all others that say it do."""
        own = {
            n: o if o in SETTLED else self._bare_orders.get(n, "") for n, o in self._orders.items()
        }
        said = set(own.values()) - {""}
        return {n: o or (next(iter(said)) if len(said) == 1 else "") for n, o in own.items()}

    def _settle_by_rows(self) -> None:
        """Days without a year by the others of their row; one that the rows around it told is open again where it is
        out of order with those."""
        for name, rows in self._around.items():
            for i, typed in rows.items():
                if crosses(self.values, i, name):
                    self.values[name][i] = np.datetime64("NaT")
                    self.refused.setdefault(name, {})[i] = (typed, "has no year")
                    self.changes.put((i, name, typed, ""), f"{LEFT_OUT}has no year")
        for done in settle_days_of_rows(self.values, self.refused, self.orders, self.as_of):
            self.changes.put(done, WHY)

    def _ask_orders(self) -> None:
        settled = [f"{n} is {o}" for n, o in self._orders.items() if o in SETTLED]
        hint = f" ({', '.join(settled)})" if settled else ""
        asked = [
            (
                name,
                where,
                self._bare_open.get(name)
                or sum(c.codes.size for m, c, *_ in self._waiting if m.name == name),
            )
            for name, where in self._undecided
        ]
        self.to_answer += about_order(asked, self.settings.currency)
        for name, where in self._undecided:
            said = (
                f"{name}: nothing in this column settles whether the day or the month comes first{hint}, so these "
                f'were left out: {where}. Say date_order = "day first" or "month first" in settings.toml.'
            )
            self.notes.append(Noted(said, "asked"))


def _names(texts: list[str]) -> list[str | None]:
    """Names without guards and spare spaces."""
    return [" ".join(without_guard(t).split()) or None for t in texts]


WHERE_IT_STANDS = "where it stands"  # why a word about a piece is read as another


_OF_A_SALE = ("sale_price", "sold_on")


def _outcome(text: str) -> Cell:
    said = NOT_A_PIECE if word_key(text) == NOT_A_PIECE else state_said(text)
    if said and word_key(text) != said:
        return Cell(said, WHERE_IT_STANDS)
    if said or word_key(text) in ("", NOTHING):
        return Cell(said, "spelling")
    return Cell(
        None,
        "does not say whether it sold; write sold, on hand, kept, given away or scrapped",
        True,
    )


def _first_asked(price: Price) -> Cell:
    return Cell(
        price.before, f"the first of two prices asked; the later is {shown(price.cell.value)}"
    )


TAKEN_OFF = "may be how much came off the first price"
_AS_AMOUNTS: dict[str, Callable[[str], str]] = {
    "asking_price": steps_down, "last_asking_price": lambda t: steps_down(last_named(t)),
    "materials_cost": without_label, "other_costs": without_label, "buy_price": without_label,
}  # fmt: skip
# A price or a day, and behind it that the piece came back.
_AND_BACK = re.compile(
    r"(.*?\d[^,;(]*?)[,;.]? *\(?((?:it |then |was |came |brought |sent )*(?:back|returned|refunded)\b.*?)\)?",
    re.IGNORECASE,
)
_BACK = re.compile("back|returned|refunded", re.IGNORECASE)
_COSTS = ("buy_price", "materials_cost", "other_costs", "selling_fees")
_NIL = Cell(0.0, "nil, so 0")
_ASK_BESIDE = re.compile(
    r"[,;]? ?\(?(?:asked|asking|ask|was)[: ]+[$€£]? ?\d[\d.,]*\)?$", re.IGNORECASE
)


def _not_paid(cell: Cell, price: Price) -> Cell:
    """What was only asked is no price that was paid; under what it sold for it is kept as the ask."""
    return Cell(None, f"{shown(price.cell.value)} {ONLY_ASKED}") if price.asked else cell


def _only_asked(price: Price) -> float | None:
    return float(price.cell.value) if price.asked and price.cell.value is not None else None


def _no_sale(cell: Cell) -> Cell:
    return Cell(None, "is 0, which is no price of a sale", True) if cell.value == 0 else cell


def _all_of(price: Price, pieces: float) -> Price:
    """The price of the whole lot from the price of one piece."""
    if price.cell.value is None or pieces < 2:
        return Price(Cell(None, FOR_EACH, True) if price.cell.value else price.cell)
    one = float(price.cell.value)
    before = None if price.before is None else round(price.before * pieces, 3)
    return Price(Cell(round(one * pieces, 3), f"{pieces:g} pieces at {shown(one)}"), before)


ALSO = "type also says"  # the column of what stands beside a kind of piece: its colour, its drawers
_TALL = "tall dresser"
_IN_MM = (
    "The sizes were read in millimetres, as their numbers make sense in no other unit. If that is wrong, say the unit "
    "in the headings."
)
_STOOD = re.compile(
    r"(?:no of |number of )?days (?:it )?(?:stood|listed|up|for sale|on (?:the )?market|on sale|to sell|to sale"
    r"|(?:till|until|before) (?:it )?sold)"
)
_LEAVING = ("sold_on", "withdrawn_on")
_Said = tuple[str, Callable[[Price], float | None], str]
_SAID_BESIDE: dict[str, tuple[_Said, ...]] = {
    "sale_price": (
        ("asking_price", _only_asked, "what is asked, named in sale_price"),
        ("last_asking_price", lambda p: p.before, "the price asked before, named in sale_price"),
        ("delivery_charged", lambda p: p.charge, "the delivery named in sale_price"),
        ("pieces_in_lot", lambda p: p.count, "the count named in sale_price"),
    ),
    "asking_price": (
        (
            "last_asking_price",
            lambda p: None if p.before is None or p.cell.value is None else float(p.cell.value),
            "the later of two prices in asking_price",
        ),
        ("pieces_in_lot", lambda p: p.count, "the count named in asking_price"),
    ),
    "last_asking_price": (
        ("asking_price", lambda p: p.before, "the earlier of two prices in last_asking_price"),
    ),
    "buy_price": (
        ("other_costs", lambda p: p.charge, "the delivery named in buy_price"),
        ("pieces_in_lot", lambda p: p.count, "the count named in buy_price"),
    ),
}  # what a cell of money says of other columns, used where those are blank
_READERS: dict[str, Callable[[Sequence[str]], list[Cell]]] = {
    "count": counts.read_counts,
    "year": counts.read_years,
    "grade": counts.read_grades,
}
_MOST_SUGGESTED = 10
# A kind that may be several pieces.
_SEVERAL = re.compile(r"s\b(?! of drawers)|\b(?:pair|set|lot|\d)\b", re.IGNORECASE)
KIND_NAMES = {
    "money": "amounts of money", "size": "sizes", "hours": "hours", "date": "dates", "count": "counts",
    "year": "years", "grade": "grades",
}  # fmt: skip
