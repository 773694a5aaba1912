"""A text table -> CleanFlips: every cell read or listed, every row kept or set aside with its reason.

A row is set aside only when its type is missing, its dates contradict each other, or it is no flip (totals,
repeated headings). A cell is used where one reading is left; any other becomes missing, is listed in `changes`
with its text, and the row stays. A piece sold at a price that cannot be read is a sale with its price unknown.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadRecords
from fleetlib.base.measured import CM_IN_AN_INCH
from fleetlib.base.noted import Noted
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import NO_ANSWERS, Answers
from fleetlib.records.asked.cells import (
    ODD_SIZE,
    OF_THE_ROW_ABOVE,
    RIGHT,
    about_alike,
    about_cells,
    about_odd,
    about_sheets,
    is_no_price,
    lone_prices,
    settle_cells,
    settle_odd,
    still_without_year,
    years_wait,
)
from fleetlib.records.asked.claims import Claimed, claim_headings
from fleetlib.records.asked.contrary_days import about_contrary, settle_contrary
from fleetlib.records.asked.days_of_row import WHY, settle_days_of_rows
from fleetlib.records.asked.looks import hinted
from fleetlib.records.asked.money import (
    SOME,
    Habits,
    Sized,
    decimal_commas,
    of_the_file,
    of_the_sizes,
)
from fleetlib.records.asked.months import about_months, settle_months
from fleetlib.records.asked.names_for_unnamed import alike, full_names, said_to_differ
from fleetlib.records.asked.question import COLUMN_UNREAD, Question, column_in_words
from fleetlib.records.asked.question import in_order as by_cost
from fleetlib.records.asked.remarks import settle_remarks
from fleetlib.records.asked.returns import Return, about_returns, settle_returns
from fleetlib.records.asked.rows_as_typed import RowsAsTyped, rows_as_typed
from fleetlib.records.asked.words import about_words
from fleetlib.records.asked.year_rows import about_year_rows, under_years
from fleetlib.records.cleaning.changes import Changes
from fleetlib.records.cleaning.columns import KIND_NAMES, Cleaned, Years, clean_columns
from fleetlib.records.cleaning.lots import split_lots
from fleetlib.records.cleaning.questions import (
    looks_like_cm,
    questions_about,
    unknown_kinds,
    unknown_words,
    unread_cells,
    usual_for_kinds,
)
from fleetlib.records.cleaning.setting_aside import (
    rows_to_set_aside,
    set_aside_table,
    typed_twice,
)
from fleetlib.records.files.headings import Headings, marks_of, match_heading
from fleetlib.records.files.keys import Key, key_of_states
from fleetlib.records.files.not_pieces import no_flips, years_said
from fleetlib.records.files.reading import read_table
from fleetlib.records.files.safe_csv import to_csv
from fleetlib.records.files.sheets import typed_columns
from fleetlib.records.files.text_table import SheetLines, TextTable
from fleetlib.records.files.two_in_one import split_columns
from fleetlib.records.parsing.amounts import read_prices
from fleetlib.records.parsing.numbers import LEFT_OUT, plain, shown
from fleetlib.records.parsing.once import forget, one_reading
from fleetlib.records.parsing.outcomes import state_said
from fleetlib.records.parsing.vocabulary import may_be, word_key
from fleetlib.records.schema.columns import COLUMN, DATES, DERIVED_NAMES, NAMES, NUMBERS, SIZES
from fleetlib.records.schema.derived import derive
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table

YOUR_ANSWER = "your answer, in answers.csv"
_PRICES = ("sale_price", "asking_price", "last_asking_price", "gut_price")


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class CleanFlips(Shown):
    """A record as it was read.

    `flips`: one row a piece kept, in the order of the file; all canonical columns, `line`, the derived
    ones, then the person's own columns as typed. `set_aside`: line, column, value, reason, remedy, text.
    `changes`: line, column, was, now, why, for every cell of a kept row whose cleaned value is written
    otherwise than it stood; `now` is "" where it was left out. `questions`: line, piece, column, value,
    question, for what was kept but looks odd. `to_answer`: what the person is asked, the costliest first;
    `alike`: names of pieces that cannot be told apart; `full_names`: what those with a made name are logged as, by it;
    `settings`: with the currency that the file turned out to be in;
    `headings`: those in the person's own words, each with the column that it was read as; `sheets`: which line
    is on which sheet; `came_back`: by line, what is known of each piece whose buyer brought it back;
    `answers` as they count, those about cells by the names of now, and `by_row` what those are filed under;
    `no_price` the lines of sales to which there is no price, as of a trade.
    Rows in = rows kept + rows set aside.
    """

    flips: pd.DataFrame = field(repr=False)
    set_aside: pd.DataFrame = field(repr=False)
    changes: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...]
    questions: pd.DataFrame = field(repr=False)
    name: str
    as_of: date
    to_answer: tuple[Question, ...] = field(repr=False, default=())
    alike: frozenset[str] = field(repr=False, default=frozenset())
    full_names: Mapping[str, str] = field(repr=False, default_factory=dict)
    settings: Settings = field(repr=False, default_factory=Settings)
    headings: tuple[tuple[str, str], ...] = field(repr=False, default=())
    sheets: SheetLines | None = field(repr=False, default=None)
    came_back: Mapping[int, Return] = field(repr=False, default_factory=dict)
    answers: Answers = field(repr=False, default=NO_ANSWERS)
    by_row: RowsAsTyped | None = field(repr=False, default=None)
    no_price: frozenset[int] = field(repr=False, default=frozenset())

    @property
    def table(self) -> pd.DataFrame:
        """The flips."""
        return self.flips

    @property
    def rows_in(self) -> int:
        """The rows below the headings, blank lines not counted: kept and set aside together."""
        return len(self.flips) + len(self.set_aside)

    def sheet(self) -> Sheet:
        """How many rows were kept, what to know of the reading, and the rows set aside."""
        aside = Table(self.set_aside.head(20), "Set aside", narrow=("line", "reason", "remedy"))
        return Sheet("", (Said((self._said(),)), Notes(self.notes), aside))

    def _said(self) -> str:
        return (
            f"{self.name}: {self.rows_in} rows, {len(self.flips)} kept, "
            f"{len(self.set_aside)} set aside, {len(self.changes)} cells read otherwise than typed."
        )


def read_flips(
    path: str | Path,
    *,
    day_first: bool | None = None,
    settings: Settings | None = None,
    as_of: date | None = None,
    sheet: str | None = None,
    answers: Answers = NO_ANSWERS,
) -> CleanFlips:
    """Read and clean the record at `path` (CSV in any dialect, or .xlsx).

    `day_first` settles dates like 03/04/26 (None: the settings' date_order, then each column as a whole);
    `as_of` is the day nothing may lie after (None: the settings' as_of, then today); `sheet` names a sheet
    of a workbook; `answers` are what the person was asked before and said.
    Raises MissingRecords or BadRecords where the file cannot be read as a record.
    """
    return clean_table(
        read_table(path, sheet=sheet, sheets=answers.sheets()),
        day_first=day_first,
        settings=settings,
        as_of=as_of,
        answers=answers,
    )


def read_finds(
    path: str | Path, *, settings: Settings | None = None, as_of: date | None = None
) -> CleanFlips:
    """Read a table of finds on offer: like read_flips, but no column of prices is needed.

    Nothing in it is sold yet, so "asking", "price" and "they want" mean what it would cost.
    """
    table = read_table(path)
    if not any(
        match is not None and match.column == "buy_price"
        for match in map(match_heading, table.headings)
    ):
        asked = [i for i, text in enumerate(table.headings) if plain(text) in _ASKED_FOR_A_FIND]
        for i in asked[:1]:
            table.headings[i] = "buy price"
    meant = [match_heading(text) for text in table.headings]
    if not any(m is not None and m.column == "hours" for m in meant):
        guessed = [
            i
            for i, m in enumerate(meant)
            if m is None and marks_of(table.headings[i], "hours").unit == "hours"
        ]
        for i in guessed[:1]:  # "guess hrs": what it will take, as far as one can say
            table.headings[i] = "hours"
    return clean_table(table, settings=settings, as_of=as_of, need_price=False)


_ASKED_FOR_A_FIND = frozenset(
    [
        "asking",
        "asking price",
        "ask",
        "asked",
        "asks",
        "price",
        "they ask",
        "they want",
        "wanted",
        "wants",
    ]
)


@one_reading
def clean_table(
    table: TextTable,
    *,
    day_first: bool | None = None,
    settings: Settings | None = None,
    as_of: date | None = None,
    need_price: bool = True,
    answers: Answers = NO_ANSWERS,
) -> CleanFlips:
    """Clean a text table; see read_flips. Raises BadRecords where no column holds kinds of piece, or prices."""
    split_columns(table, lambda heading: answers.of("heading", heading))
    chosen, money = of_the_file(table, settings or Settings())
    today = as_of or chosen.as_of or date.today()
    chosen, key = _with_key(table, chosen)
    claimed = claim_headings(table, answers=answers, settings=chosen, as_of=today, asks=need_price)
    headings = claimed.headings
    _refuse_what_is_no_record(table, claimed, need_price=need_price)
    if day_first is None and chosen.date_order:
        day_first = chosen.date_order == "day first"
    own = chosen.words.get("furniture_type", {})
    out = no_flips(typed_columns(table), headings, len(table.lines), own)
    if key and key.row is not None:
        out[key.row] = (
            "furniture_type",
            "",
            "the key to your letters, not a piece",
            "Nothing to do.",
        )
    under = under_years(table, headings, out, answers, (day_first, today))
    years = Years(years_said(table, out), answers.years(), under)
    amounts = [
        p for c, (p, _) in headings.known.items() if c in COLUMN and COLUMN[c].kind == "money"
    ]
    commas = decimal_commas(table, amounts)
    cleaned = clean_columns(
        table, headings, day_first=day_first, settings=chosen, as_of=today, years=years
    )
    forget()  # before there are frames beside it
    values = _complete(cleaned.values, len(table.lines))
    unread_days = {i for c in ("sold_on", "withdrawn_on") for i in cleaned.refused.get(c, {})}
    by_row = rows_as_typed(table.text_of, values["piece"], cleaned.named)
    answers = by_row.by_name(answers, values, own) if by_row else answers
    lone, lone_asked = lone_prices(values, table, headings, answers, unread_days)
    _list_lone(cleaned, lone, values["asking_price"])
    for done in settle_cells(values, cleaned.refused, answers, settings=chosen, as_of=today):
        i, column, typed, meaning = done
        if column == "sale_price" and is_no_price(meaning, chosen, today):
            cleaned.no_price.add(i)
        if meaning == OF_THE_ROW_ABOVE:
            why = "belongs to the row above, as you answered, and counts there"
            out.setdefault(i, (column, typed, why, "Nothing to do."))
        else:
            cleaned.changes.put(done, YOUR_ANSWER)
    for done in settle_days_of_rows(values, cleaned.refused, cleaned.orders, today):
        cleaned.changes.put(done, WHY)
    settled_odd = settle_odd(values, answers, settings=chosen, as_of=today)
    told_cm = sum(column == ODD_SIZE and meaning == "cm" for _, column, _, meaning in settled_odd)
    for done in (
        *settle_months(values, cleaned.refused, years.of_row, answers, today),
        *settled_odd,
        *(_odd_in_centimetres(values) if answers.of("unit") == SOME else ()),
        *settle_contrary(values, answers, settings=chosen, as_of=today),
        *settle_remarks(values, answers, chosen, today),
    ):
        cleaned.changes.put(done, YOUR_ANSWER)
    came_back = settle_returns(values, answers, chosen, today)
    cleaned.values.clear()
    _list_hidden(table, headings, cleaned.changes)
    gone = rows_to_set_aside(values, cleaned, out)
    contrary = [i for i, judged in gone.items() if i not in out and judged[0] in DATES]
    slips = list(about_contrary(values, table.lines, contrary, answers, today))
    gone |= typed_twice(values, cleaned.named, gone, answers)
    aside = set_aside_table(gone, table.lines, {i: table.text_of(i) for i in gone}, table.broken)
    table.text_of.release()
    keep = np.ones(len(table.lines), dtype=bool)
    keep[list(gone)] = False
    of_rows = {c: values[c] for c in ("piece", "furniture_type", "asking_price", *DATES)}
    flips = _frame(values, table.lines, keep)
    changes = cleaned.changes.frame(table.lines, keep)
    cleaned.changes.parts.clear()
    flips, lot_changes, lot_notes = split_lots(flips)
    if len(lot_changes):
        changes = pd.concat([changes, lot_changes]).sort_values(
            "line", kind="stable", ignore_index=True
        )
    flips = in_order(derive(flips, settings=chosen, as_of=today))
    sized = Sized(
        flips["line"].to_numpy()[looks_like_cm(flips)].tolist(),
        int(flips["line"].isin(table.lines[cleaned.unit_unsaid]).sum()),
        *usual_for_kinds(flips),
        told_cm,
    )
    habits = Habits(
        commas, money.signed, day_first is True or "day first" in cleaned.orders.values()
    )
    said_unit = answers.of("unit")
    chosen, measures = of_the_sizes(cleaned.units, sized, habits, chosen, said_unit)
    asked_unit = any(q.about == "unit" for q in measures.questions)
    by_unit = {ODD_SIZE} if asked_unit or said_unit in ("in", SOME) else ()
    right = {cell for cell, said in answers.cells().items() if word_key(said) == RIGHT}
    twins = alike(flips, cleaned.named[keep])
    right |= said_to_differ(flips["piece"][~cleaned.named[keep]], twins, answers)
    questions, asked = questions_about(flips, cleaned.named[keep], right, by_unit)
    back_by_line = {int(table.lines[i]): back for i, back in came_back.items() if keep[i]}
    unread = {
        (table.lines[i], column): typed
        for column in ("sale_price", "sold_on", "withdrawn_on", "asking_price", "last_asking_price")
        for i, (typed, _) in cleaned.refused.get(column, {}).items()
        if keep[i]
    }
    loose = keep.copy()
    loose[list(under.crossed)] = False  # those are one question of their own
    cleaned.to_answer[:] = still_without_year(
        cleaned.to_answer, cleaned.refused, table.lines, loose, today
    )
    waiting = years_wait(claimed.questions)
    by_year = waiting | {q.text for q in cleaned.to_answer if q.about == "year"}
    if by_year and under.asked:  # one question of the list instead of one a column
        cleaned.to_answer[:] = under.asked_with(cleaned.to_answer)
        by_year = set(map(column_in_words, DATES))
    months, refused = about_months(cleaned.refused, years.of_row, table.lines, keep, answers, today)
    run_over, refused = about_year_rows(refused, under, table.lines, keep, answers)
    kept_lines = np.where(keep, table.lines, 0)
    to_answer = by_cost(
        [
            *months,
            *run_over,
            *money.questions,
            *measures.questions,
            *lone_asked,
            *about_sheets(table),
            *claimed.questions,
            *(q for q in cleaned.to_answer if q.about != "year" or not waiting),
            *(
                q
                for c, w in cleaned.words.items()
                for q in about_words(c, *w, chosen, kept_lines, answers)
            ),
            *slips,
            *about_cells(refused, of_rows, kept_lines, by_year, chosen.currency, today),
            *about_alike(flips, twins, answers),
            *about_returns(flips, back_by_line, chosen, today),
            *about_odd(questions, flips),
        ]
    )
    no_price = frozenset(table.lines[sorted(cleaned.no_price)].tolist())
    prices_asked = _asked_for("sale price", claimed)
    unknown = flips["line"].tolist() if prices_asked else no_price  # asked once, of the column
    questions, still = unread_cells(questions, flips, unread, unknown)
    asked += still
    notes = [
        *table.notes,
        *money.notes,
        *measures.notes,
        *claimed.notes,
        *under.notes,
        *(by_row.notes if by_row else ()),
        *_notes(table, headings, prices_asked=prices_asked),
        *cleaned.notes,
        *_unreadable(cleaned, refused, headings, answers, by_year),
        *lot_notes,
        *asked,
        *unknown_kinds(flips, chosen),
        *unknown_words(flips, chosen),
    ]
    to_answer = tuple(by_row.filed(to_answer)) if by_row else to_answer
    return CleanFlips(
        flips,
        aside,
        changes,
        tuple(notes),
        questions,
        table.name,
        today,
        to_answer,
        twins,
        full_names(flips, cleaned.named[keep]),
        chosen,
        headings.in_own_words,
        table.sheets,
        back_by_line,
        answers,
        by_row,
        no_price,
    )


def _odd_in_centimetres(values: dict[str, np.ndarray]) -> list[tuple[int, str, str, str]]:
    """Take sizes that look like centimetres as such, as was answered: row, column, the number and the unit of each."""
    done = []
    kinds = np.array([k or "" for k in values["furniture_type"]], dtype=object)
    odd = looks_like_cm(pd.DataFrame({"furniture_type": kinds} | {s: values[s] for s in SIZES}))
    for side in SIZES:
        done += [
            (int(i), side, shown(v), "cm")
            for i in np.flatnonzero(odd)
            if (v := values[side][i]) > 0
        ]
        values[side] = np.where(odd, np.round(values[side] / CM_IN_AN_INCH, 2), values[side])
    return done


def _with_key(table: TextTable, settings: Settings) -> tuple[Settings, Key | None]:
    """`settings` with what the key in the file says of the letters of a column, and the key; noted."""
    key = key_of_states(table, state_said)
    if key is None:
        return settings, None
    words = {**key.words, **settings.words.get("outcome", {})}
    said = ", ".join(f"{letter.upper()} {word}" for letter, word in key.words.items())
    table.notes.append(
        f'"{table.headings[key.place].strip()}" was read by the key in your file: {said}.'
    )
    return replace(settings, words={**settings.words, "outcome": words}), key


def _list_hidden(table: TextTable, headings: Headings, changes: Changes) -> None:
    """List the cells out of which characters that cannot be seen were taken."""
    names = {place: name for name, (place, _) in headings.known.items()}
    names |= {place: name for name, place in headings.extras.items()}
    for cell in table.hidden:
        row = int(np.searchsorted(table.lines, cell.line, side="right")) - 1
        if row >= 0 and (name := names.get(cell.place)):
            why = "characters that cannot be seen were taken out"
            once = np.zeros(1, dtype=np.int32)
            changes.add(name, np.array([row]), once, [cell.was], [cell.now], [why])


def in_order(flips: pd.DataFrame) -> pd.DataFrame:
    """The columns as promised: the canonical ones, line, the derived ones, the person's own."""
    first = [*NAMES, "line", *DERIVED_NAMES]
    places = [*first, *(c for c in flips.columns if c not in set(first))]
    return flips if places == [*flips.columns] else flips[places]


def _complete(read: dict[str, np.ndarray], rows: int) -> dict[str, np.ndarray]:
    """Every canonical column, missing where the file has none, then the person's own and what stood beside kinds."""
    values = {name: read[name] if name in read else _missing(name, rows) for name in NAMES}
    return values | {name: read[name] for name in read if name not in COLUMN}


def _frame(values: dict[str, np.ndarray], lines: np.ndarray, keep: np.ndarray) -> pd.DataFrame:
    """The rows kept; `values` is used up."""
    whole = bool(keep.all())
    parts: dict[str, object] = {}
    for name in list(values):
        column = values.pop(name) if whole else values.pop(name)[keep]
        text = name not in COLUMN or COLUMN[name].is_text
        parts[name] = pd.Series(column, dtype="str") if text else column
    parts["line"] = lines[keep]
    return pd.DataFrame(parts, index=pd.RangeIndex(int(keep.sum())), copy=False)


def _missing(name: str, n: int) -> np.ndarray:
    if name in DATES:
        return np.full(n, np.datetime64("NaT", "ns"), dtype="datetime64[ns]")
    if name in NUMBERS:
        return np.full(n, np.nan)
    return np.full(n, None, dtype=object)


def _refuse_what_is_no_record(table: TextTable, claimed: Claimed, *, need_price: bool) -> None:
    """Refuse a file without a column of kinds, or without any price, even one that is asked about."""
    known = claimed.headings.known
    found = ", ".join(h for h in table.headings if h)
    if "furniture_type" not in known:
        raise BadRecords(
            f"{table.name}: no column holds the kind of piece (a heading such as furniture_type or type over cells "
            f"such as dresser). The headings are: {found}. {_say_which(table, claimed, 'type')}"
        )
    asked = any(q.about == "heading" and q.cost >= COLUMN_UNREAD for q in claimed.questions)
    asked |= any(o.meaning.endswith("price") for q in claimed.questions for o in q.options)
    asked |= any(m is not None and m.column in _PRICES for m in map(match_heading, table.headings))
    if need_price and not asked and not any(p in known for p in _PRICES):
        raise BadRecords(
            f"{table.name}: no column of prices was found (a heading such as sale_price, asking_price or gut_price). "
            f"The headings are: {found}. {_say_which(table, claimed, 'sale price')}"
        )


def _with_digits(table: TextTable, known: Container[int]) -> str:
    """The first heading that is not `known` and over whose cells most hold a digit, to stand in an example."""
    for place, heading in enumerate(table.headings):
        texts = [t for t in table.columns[place].texts if t.strip()]
        digits = sum(any(c.isdigit() for c in t) for t in texts)
        if place not in known and heading.strip() and 2 * digits > len(texts):
            return heading
    return "YOUR HEADING"


def _say_which(table: TextTable, claimed: Claimed, meaning: str) -> str:
    """How to say which column it is, by the likeliest heading: words for a kind, amounts and no days for a price; one
    that is already read as something else only where no other is left."""
    known = {place for place, _ in claimed.headings.known.values()}
    scores: dict[str, float] = {}
    for place, heading in enumerate(table.headings):
        texts = [t.strip() for t in table.columns[place].texts if t.strip()]
        if not heading.strip() or not texts:
            continue
        prices = read_prices(texts) if meaning != "type" else []
        amounts = sum(
            p.cell.value is not None and float(p.cell.value) >= _LEAST_PRICE for p in prices
        )
        words = sum(not any(c.isdigit() for c in t) for t in texts)
        kinds = sum(bool(may_be("furniture_type", t)) for t in texts) if meaning == "type" else 0
        share = (max(words, kinds) if meaning == "type" else amounts) / len(texts)
        named = meaning.replace(" ", "_") in hinted(heading)
        better = named + kinds / len(texts) - _TAKEN * (place in known)
        scores[heading] = (share + better) * (share > 1 / 2)
    likely = max(scores, key=lambda h: scores[h], default="")
    heading = likely if scores.get(likely) else _with_digits(table, known)
    open_ones = "".join(f" Open besides, said in the same way: {q.said}" for q in claimed.questions)
    said = f'If one of them is it, say which: fleetlib check FOLDER --answer "{heading}={meaning}"'
    return f"{said}{'.' * bool(open_ones)}{open_ones}"


_LEAST_PRICE, _TAKEN = (
    5.0,
    0.9,
)  # of money: less are hours or counts; what a column already read weighs less


def _list_lone(cleaned: Cleaned, rows: np.ndarray, asked: np.ndarray) -> None:
    """List the prices of rows without a day of sale that were taken for what is asked, or left out."""
    if len(rows):
        was = [shown(float(v)) for v in cleaned.values["sale_price"][rows]]
        now = ["" if np.isnan(a) else shown(float(a)) for a in asked[rows]]
        why = [
            f"{LEFT_OUT}may be what is asked" if not n else "what is asked, as you said"
            for n in now
        ]
        cleaned.changes.add("sale_price", rows, np.arange(len(rows)), was, now, why)


def _asked_for(meaning: str, claimed: Claimed) -> bool:
    """Whether no column holds what `meaning` says, and a heading is asked about that may."""
    open_ones = (q for q in claimed.questions if q.about == "heading")
    offered = any(o.meaning == meaning for q in open_ones for o in q.options)
    return offered and meaning.replace(" ", "_") not in claimed.headings.known


def _notes(table: TextTable, headings: Headings, *, prices_asked: bool) -> list[str]:
    """What is to be said of the lines and columns that were not read; `prices_asked`: a column of sale prices is."""
    notes = []
    if table.above:
        shown = "; ".join(line[:300] for line in table.above[:20])  # each known again by its words
        notes.append(
            f"{len(table.above)} line(s) above the headings were not read as pieces: {shown}"
        )
    named = [e for e in headings.extras if e not in headings.nameless]
    if named:
        notes.append(f"Columns carried along as they are: {', '.join(named)}.")
    if "sale_price" not in headings.known:
        said = "There is no column of sale prices, so nothing counts as sold."
        if "sold_on" in headings.known or "outcome" in headings.known:
            said = "There is no column of sale prices, so it is not known what the pieces that sold brought."
        if prices_asked:
            said = "Which column holds the sale prices is asked about; until then what the sales brought is not known."
        notes.append(Noted(said, "no sale prices"))
    return notes


def _unreadable(
    cleaned: Cleaned,
    left: dict[str, dict[int, tuple[str, str]]],
    headings: Headings,
    answers: Answers,
    asked_of: Collection[str],
) -> list[str]:
    """A note on each column most of whose cells are `left` unread, unless its heading was answered or it is among
    those (in words) that are asked about as a whole."""
    notes = []
    for name, typed in cleaned.typed.items():
        cells, (place, _) = len(left.get(name, {})), headings.known[name]
        answered = answers.heading(headings.typed[place]) is not None
        if (
            cells > 2
            and 2 * cells > typed
            and not answered
            and column_in_words(name) not in asked_of
        ):
            kind = KIND_NAMES.get(COLUMN[name].kind, "such")
            notes.append(
                f"{name}: {cells} of {typed} cells could not be read as {kind}; is the heading right?"
            )
    return notes


def write_flips(flips: pd.DataFrame) -> str:
    """Flips as CSV text that reads back as the same flips: the canonical columns and the person's own.

    Days are ISO, numbers are written in full, and text a spreadsheet would take for a formula gets a
    leading apostrophe, which reading takes off again.
    """
    own = [c for c in flips.columns if c not in DERIVED_NAMES and c != "line"]
    return to_csv(flips[own])
