"""A person's folder -> Records: the record, the events laid over it, supplies, saved advice, settings."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import pandas as pd

from fleetlib.base.errors import BadQuestion, BadRecords, MissingRecords
from fleetlib.base.kit import RECORD_FILES
from fleetlib.base.noted import Noted
from fleetlib.base.opening import is_folder, is_there, names_in
from fleetlib.base.settings import Settings, settings_in
from fleetlib.records.asked.answers import NO_ANSWERS, Answers
from fleetlib.records.asked.names_for_unnamed import made_before
from fleetlib.records.asked.question import Question
from fleetlib.records.asked.question import in_order as by_cost
from fleetlib.records.asked.remarks import about_remarks
from fleetlib.records.asked.remarks_of_money import deposits_not_logged
from fleetlib.records.asked.returns import still_asked
from fleetlib.records.cleaning.clean import CleanFlips, in_order, read_flips
from fleetlib.records.cleaning.questions import still_unpriced
from fleetlib.records.clock import ask_about_the_clock
from fleetlib.records.files.text_table import SheetLines
from fleetlib.records.log.answers_file import read_answers
from fleetlib.records.log.apply_events import lay_events
from fleetlib.records.log.came_back import RETURNED, CameBack, first_listed, listed_anew
from fleetlib.records.log.format_number import FORMAT, newest_format
from fleetlib.records.log.life import ENDED_COLUMNS, Lives, live
from fleetlib.records.log.side_files import (
    SideFile,
    no_advice,
    no_events,
    no_supplies,
    read_advice_log,
    read_events,
    read_supplies,
)
from fleetlib.records.own_groups import with_own_groups
from fleetlib.records.own_price import fill_own_prices
from fleetlib.records.parsing.numbers import LEFT_OUT
from fleetlib.records.parsing.once import one_reading
from fleetlib.records.schema.columns import ASKED_PRICES
from fleetlib.records.schema.derived import derive
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Records(Shown):
    """Everything in a shop folder, read and laid together.

    `flips`, `set_aside`, `changes`, `questions` as in CleanFlips, with the events laid over; `events` (on,
    piece, event, amount, note, line) with undone ones taken out and a sale that ended read as days off the
    market; `logged`: the same as they were logged; `ended`: the sales that a return or a buyer ended,
    `refunded`: money given back on the sales that stand (`log/life.py`); `past_sales`: rows like those of `flips`,
    one a sale whose piece came back (`log/came_back.py`); `supplies` (bought_on, item, cost,
    shared_by, line); `advice_log`; `other_set_aside`: rows
    of the side files that could not be used (file, line, column, value, reason, remedy, text); `to_answer`: what
    the person is asked about the record, the costliest first; `alike`: names of pieces that cannot be told
    apart; `full_names`: what pieces with a made name are logged as, by that name; `given`: the folder or file that
    was asked for; `rows_in`: the rows of the record's own file, and `headings` its headings in the person's own
    words, each with the column that it was read as; `sheets`: of a record on several, which line is where.
    """

    folder: Path
    name: str
    flips: pd.DataFrame = field(repr=False)
    set_aside: pd.DataFrame = field(repr=False)
    changes: pd.DataFrame = field(repr=False)
    questions: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...]
    events: pd.DataFrame = field(repr=False)
    supplies: pd.DataFrame = field(repr=False)
    advice_log: pd.DataFrame = field(repr=False)
    other_set_aside: pd.DataFrame = field(repr=False)
    settings: Settings = field(repr=False)
    as_of: date
    logged: pd.DataFrame = field(repr=False, default_factory=no_events)
    refunded: pd.Series = field(repr=False, default_factory=lambda: pd.Series(dtype="float64"))
    ended: pd.DataFrame = field(
        repr=False, default_factory=lambda: pd.DataFrame(columns=list(ENDED_COLUMNS))
    )
    past_sales: pd.DataFrame = field(repr=False, default_factory=pd.DataFrame)
    to_answer: tuple[Question, ...] = field(repr=False, default=())
    alike: frozenset[str] = field(repr=False, default=frozenset())
    full_names: Mapping[str, str] = field(repr=False, default_factory=dict)
    given: Path | None = field(repr=False, default=None)
    rows_in: int = field(repr=False, default=0)
    headings: tuple[tuple[str, str], ...] = field(repr=False, default=())
    sheets: SheetLines | None = field(repr=False, default=None)
    no_price: frozenset[int] = field(repr=False, default=frozenset())

    @property
    def table(self) -> pd.DataFrame:
        """The flips."""
        return self.flips

    @property
    def listings(self) -> pd.DataFrame:
        """The flips, and below them the sales whose piece came back: all that tells of prices and of time to sell."""
        if not len(self.past_sales):
            return self.flips
        return pd.concat([self.flips, self.past_sales])

    @property
    def first_listed(self) -> pd.DataFrame:
        """The flips, those that came back with the day they were listed first: when their work was done."""
        return first_listed(self.flips, self.past_sales)

    def logged_as(self, name: str) -> str:
        """The name under which to log on the piece `name`, which is its own for ever.

        Raises BadQuestion, with the remedy, for a piece that cannot be told from another.
        """
        if name.casefold() in {n.casefold() for n in self.alike}:
            raise BadQuestion(
                f'"{name}" cannot be told from another piece, so nothing was logged. Give each its own name in '
                f"{self.name}, in a column called Piece."
            )
        return self.full_names.get(name, name)

    def sheet(self) -> Sheet:
        """How many pieces there are, and what to know of the reading."""
        return Sheet("", (Said((self._said(),)), Notes(self.notes)))

    def _said(self) -> str:
        counts = self.flips["status"].value_counts()
        by = ", ".join(f"{n} {status}" for status, n in counts.items())
        return (
            f"{self.name}, as of {self.as_of}: {len(self.flips)} pieces ({by or 'none yet'}), "
            f"{len(self.set_aside)} rows set aside, {len(self.events)} events."
        )


@one_reading
def read_records(
    folder: str | Path, *, settings: Settings | None = None, as_of: date | None = None
) -> Records:
    """Read a shop folder, or the one file in it that is the record: flips.csv (or .xlsx), and events.csv,
    supplies.csv, advice_log.csv, answers.csv, settings.toml where they are.

    `settings` replaces settings.toml; `as_of` (None: the settings' as_of, then today) is the day nothing may
    lie after. Raises MissingRecords without a record, BadRecords or BadSettings for a file that cannot be read.
    """
    place = Path(folder)
    given, record = place, None
    if not is_folder(place, refusal=MissingRecords):
        if not place.is_file():
            raise MissingRecords(f"There is no folder at {place}.")
        place, record = place.parent, place  # a record named by its file
    unknown: list[str] = []
    answers = read_answers(place)
    chosen, answer_notes = answers.over(settings or _settings(place, unknown))
    today = as_of or chosen.as_of or date.today()
    clean = (
        read_record(place, chosen, today, answers)
        if record is None
        else read_flips(record, settings=chosen, as_of=today, answers=answers)
    )
    chosen = clean.settings
    events = _side(place / "events.csv", read_events, no_events, chosen, today)
    supplies = _side(place / "supplies.csv", read_supplies, no_supplies, chosen, today)
    log = _side(place / "advice_log.csv", read_advice_log, no_advice, chosen, today)
    if as_of is None and chosen.as_of is None:
        ask_about_the_clock(
            today, clean.flips, clean.changes, events.set_aside, supplies.set_aside, log.set_aside
        )
    own_kinds = chosen.words.get("furniture_type", {})
    name_notes = _call_by_their_names(clean.flips, own_kinds, events, log)
    events, unclear = _take_out(events, clean.alike)
    name_notes += unclear
    lives = live(clean.flips, events.rows, settings=chosen, as_of=today, came_back=clean.came_back)
    back = listed_anew(lives.flips, lives.events, lives.ended, listed=events.listed)
    laid = lay_events(back.flips, back.events, listed=events.listed)
    flips, no_prices, price_notes = _without_asks_of_nothing(laid.flips)
    flips, gut_changes, gut_notes = fill_own_prices(flips, log.rows)
    flips = derive(flips, settings=chosen, as_of=today)
    for column in ("net_price", "profit"):
        flips[column] = flips[column] - lives.refunded
    flips["profit_per_hour"] = flips["profit"] / flips["hours"].where(flips["hours"] > 0)
    flips = with_own_groups(flips, chosen)
    past = flips.iloc[:0]
    if len(back.sales):
        past, _, _ = fill_own_prices(back.sales, log.rows)
        past = with_own_groups(derive(past, settings=chosen, as_of=today), chosen)
    aside = pd.concat([events.set_aside, supplies.set_aside, log.set_aside], ignore_index=True)
    still = still_asked(clean.to_answer, lives.events, events.listed)
    settled = _settled(clean.questions, laid.changes)
    returned = set(lives.ended.loc[lives.ended["how"] == RETURNED, "line"])
    remarks = list(about_remarks(flips, clean.answers, chosen, today, came_back=returned))
    remarks = clean.by_row.filed(remarks) if clean.by_row else remarks
    notes = [
        *still_unpriced(clean.notes, clean.questions[~settled]),
        *answers.notes,
        *answer_notes,
        *name_notes,
        *events.notes,
        *supplies.notes,
        *log.notes,
        *lives.notes,
        *laid.notes,
        *gut_notes,
        *deposits_not_logged(flips, events.rows, chosen),
    ]
    notes += price_notes
    if unknown:
        notes.append(
            f"settings.toml: {', '.join(unknown)} is a setting of a newer fleetlib and was passed over."
        )
    if len(aside):
        shown = ", ".join(
            f"{f} line {n}" for f, n in zip(aside["file"][:6], aside["line"][:6], strict=True)
        )
        notes.append(f"{len(aside)} row(s) beside the record could not be used ({shown}).")
    return Records(
        folder=place,
        given=given,
        name=clean.name,
        flips=in_order(flips),
        set_aside=clean.set_aside,
        changes=_joined(clean.changes, _changes(lives, back), laid.changes, gut_changes, no_prices),
        questions=_joined(clean.questions[~settled], _questions(lives, back), laid.questions),
        notes=tuple(_with_sheets(n, clean.sheets) for n in notes),
        events=_with(lives.events, laid.away),
        supplies=supplies.rows,
        advice_log=log.rows,
        other_set_aside=aside,
        settings=chosen,
        as_of=today,
        logged=events.rows,
        refunded=lives.refunded,
        ended=lives.ended,
        past_sales=in_order(past),
        to_answer=tuple(
            replace(q, said=_with_sheets(q.said, clean.sheets)) for q in by_cost([*still, *remarks])
        ),
        alike=clean.alike,
        full_names=clean.full_names,
        rows_in=clean.rows_in,
        headings=clean.headings,
        sheets=clean.sheets,
        no_price=clean.no_price,
    )


def _with_sheets(said: str, sheets: SheetLines | None) -> str:
    """A sentence with its lines said by their sheets; a note keeps its code."""
    if sheets is None:
        return said
    words = sheets.in_words(said)
    return Noted(words, said.code) if isinstance(said, Noted) else words


def _changes(lives: Lives, back: CameBack) -> pd.DataFrame:
    made = [*lives.changes, *back.changes]
    return pd.DataFrame(made, columns=["line", "column", "was", "now", "why"])


def _questions(lives: Lives, back: CameBack) -> pd.DataFrame:
    made = [*lives.questions, *back.questions]
    return pd.DataFrame(made, columns=["line", "piece", "column", "value", "question"])


def _settled(questions: pd.DataFrame, laid: pd.DataFrame) -> pd.Series:
    """Which questions about a blank cell an event has answered by filling it."""
    made = zip(*(laid[c].tolist() for c in ("line", "column", "was", "now")), strict=True)
    filled = {(line, column) for line, column, was, now in made if was == "" != now}
    cells = zip(questions["line"].tolist(), questions["column"].tolist(), strict=True)
    return pd.Series([c in filled for c in cells], index=questions.index, dtype=bool)


def _with(events: pd.DataFrame, away: pd.DataFrame) -> pd.DataFrame:
    """The events and the days pieces were taken down that only flips.csv has, by day."""
    if away.empty:
        return events
    made = pd.concat([events, away.astype(events.dtypes.to_dict())], ignore_index=True)
    return made.sort_values("on", kind="stable", ignore_index=True)


def _call_by_their_names(
    flips: pd.DataFrame, own_kinds: Mapping[str, str], *files: SideFile
) -> list[str]:
    """Write the names of pieces in `files` as the record has them now, whatever the case; notes on those renamed."""
    own = flips["piece"].dropna().astype(str)
    once = own[~own.str.casefold().duplicated(keep=False)]
    names = {name.casefold(): name for name in once}
    logged = [str(n) for f in files if len(f.rows) for n in dict.fromkeys(f.rows["piece"].tolist())]
    new = {str(n).casefold() for f in files if len(f.rows) for n in _begun(f.rows)}
    before = made_before(
        flips, [n for n in dict.fromkeys(logged) if n.casefold() not in new], own_kinds
    )
    names |= {name.casefold(): now for name, (now, _) in before.items()}
    for file in files:
        if len(file.rows):
            typed = file.rows["piece"].tolist()
            now = {n: names.get(str(n).casefold(), n) for n in dict.fromkeys(typed)}
            file.rows["piece"] = [now[n] for n in typed]
    return [
        f'"{name}" was logged, which is {now} now: {why}.' for name, (now, why) in before.items()
    ]


def _begun(rows: pd.DataFrame) -> list[str]:
    """The names of pieces that the log itself brings into the record."""
    if "event" not in rows:
        return []
    return [str(n) for n in rows.loc[rows["event"].isin(["bought", "split", "joined"]), "piece"]]


def _take_out(events: SideFile, alike: Collection[str]) -> tuple[SideFile, list[str]]:
    """`events` without those of pieces that cannot be told apart, and a note on each such name."""
    if not len(events.rows) or not alike:
        return events, []
    folded = {name.casefold() for name in alike}
    unclear = events.rows["piece"].astype(str).str.casefold().isin(folded)
    lines = events.rows[unclear].groupby("piece", sort=False)["line"].agg(list)
    notes = [
        f'events.csv: "{name}" is the name of more than one piece; its events count for none '
        f"(line {', '.join(map(str, at[:6]))}). Give each piece its own name."
        for name, at in lines.items()
    ]
    return replace(events, rows=events.rows[~unclear].reset_index(drop=True)), notes


def _without_asks_of_nothing(
    flips: pd.DataFrame,
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """Asking and gut prices of 0 left out: nobody asks nothing, so such a cell says that none is known."""
    rows: list[tuple[int, str, str, str, str]] = []
    made = flips.copy(deep=False)
    for column in ASKED_PRICES:
        bad = (flips[column] <= 0).to_numpy()
        if bad.any():
            made[column] = flips[column].mask(bad)
            lines = flips["line"].to_numpy()[bad]
            rows += [(int(n), column, "0", "", f"{LEFT_OUT}0 is no price") for n in lines]
    changes = pd.DataFrame(rows, columns=["line", "column", "was", "now", "why"])
    said = ", ".join(f"line {n} {column}" for n, column, *_ in rows[:6])
    return made, changes, [f"Prices of 0 were left out as not known ({said})."] if rows else []


def _settings(place: Path, unknown: list[str]) -> Settings:
    """The settings; in a folder that a newer kit writes into, its settings are noted in `unknown` and passed over."""
    newer_kit = newest_format(place) > FORMAT
    return settings_in(place, pass_over=unknown if newer_kit else None)


def read_record(
    place: Path, settings: Settings, as_of: date, answers: Answers = NO_ANSWERS
) -> CleanFlips:
    """The record of a folder: of several, the one that holds pieces; two that do are refused."""
    named = [p for p in names_in(place) if p.name.lower() in RECORD_FILES]
    found = [p for p in named if is_there(p, refusal=BadRecords)]
    if not found:
        raise MissingRecords(_no_record(place))
    read = [read_flips(p, settings=settings, as_of=as_of, answers=answers) for p in found]
    full = [r for r in read if r.rows_in]
    if len(full) > 1:
        names = " and ".join(r.name for r in full)
        raise BadRecords(
            f"{place}: {names} both hold pieces. Keep one of them as your record and move the other away."
        )
    return full[0] if full else read[0]


def _no_record(place: Path) -> str:
    return f"There is no flips.csv or flips.xlsx in {place}. {other_record(place)}".rstrip()


def other_record(place: Path) -> str:
    """What to do about a spreadsheet in `place` that may be the record under another name; "" where none is."""
    kinds = dict.fromkeys((".csv", ".tsv", ".xlsx"), True)
    kinds |= dict.fromkeys((".xls", ".ods", ".numbers"), False)  # not read as they are
    ours = {*RECORD_FILES, *_TABLES}
    found = [p for p in names_in(place) if p.suffix.lower() in kinds and p.name.lower() not in ours]
    other = next((p for p in found if p.is_file()), None)
    if other is None:
        return ""
    if not kinds[other.suffix.lower()]:
        return f"If {other.name} is your record, open it and save it as flips.csv or flips.xlsx."
    named = f"flips{other.suffix.lower()}"
    typed = f'"{place / other.name}"' if " " in str(place / other.name) else place / other.name
    return f"If {other.name} is your record, rename it to {named}, or say its name: fleetlib check {typed}"


# What the kit itself lays or saves beside a record.
_TABLES = (
    *(f"{n}.csv" for n in ("events", "supplies", "advice_log", "finds", "answers")),
    *(f"{n}.csv" for n in ("pieces", "set_aside", "changes", "questions", "other_set_aside")),
)


def _side(
    path: Path,
    read: Callable[..., SideFile],
    none: Callable[[], pd.DataFrame],
    settings: Settings,
    as_of: date,
) -> SideFile:
    if not is_there(path, refusal=BadRecords):
        return SideFile(none(), pd.DataFrame(columns=_ASIDE), [])
    return read(path, settings=settings, as_of=as_of)


_ASIDE = ["file", "line", "column", "value", "reason", "remedy", "text"]


def _joined(*frames: pd.DataFrame) -> pd.DataFrame:
    filled = [f for f in frames if len(f)] or [frames[0]]
    return pd.concat(filled).sort_values("line", kind="stable").reset_index(drop=True)
