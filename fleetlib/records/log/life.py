"""The life of a piece in events.csv beyond one sale: bought, returned, backed out of, sold again.

`bought` makes a piece that no row of flips.csv has. A sale that a return or a buyer who backed out ended is
taken off the piece, which is for sale again, and kept in `ended` for the books: the takings stay in the
period of the sale, the money given back counts in the period of the return.

The note of an event may carry cells, as `wood=oak; width_in=60` (`cells.py`): what it says of the piece fills blanks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.noted import Noted
from fleetlib.base.settings import Settings
from fleetlib.records.asked.returns import Return
from fleetlib.records.cleaning.changes import left_out
from fleetlib.records.log.came_back import RETURNED
from fleetlib.records.log.cells import OF_THE_SALE, cells_of, cleaned, details, read_cells
from fleetlib.records.log.regroup import Regrouping
from fleetlib.records.parsing.parsed import frame_of, shown
from fleetlib.records.schema.columns import CAME_BACK, NAMES

ENDED_COLUMNS = (
    "piece", "sold_on", "sale_price", "selling_fees", "delivery_charged", "ended_on", "given_back", "how",
    "again_on", "up", "line",
)  # fmt: skip
_SALE = ("sold_on", "sale_price", *OF_THE_SALE)
_MONEY = ENDED_COLUMNS[1:5]  # of a sale: when, for how much, less what, with what
_CENT = 0.005


@dataclass(frozen=True, eq=False, slots=True)
class Lives:
    """`flips` with the pieces that live only in events, `events` for laying over them, and what was found.

    `ended`: a row a sale that ended (ENDED_COLUMNS; money, days), `up` again since `again_on`. `refunded`: money given
    back on the sale that stands, aligned with `flips`. `changes` and `questions` as in CleanFlips.
    """

    flips: pd.DataFrame = field(repr=False)
    events: pd.DataFrame = field(repr=False)
    ended: pd.DataFrame = field(repr=False)
    changes: list[tuple[int, str, str, str, str]]
    questions: list[tuple[int, str, str, str, str]]
    notes: list[str]
    refunded: pd.Series = field(repr=False)


def live(
    flips: pd.DataFrame,
    events: pd.DataFrame,
    *,
    settings: Settings,
    as_of: date,
    came_back: Mapping[int, Return] | None = None,
) -> Lives:
    """Lay what was bought over `flips` and settle which sales stand; see Lives.

    `came_back`: what the record itself knows of pieces that came back, by their line.
    """
    work = _Lives(flips.copy(), settings, as_of)
    work.bought(events[events["event"] == "bought"])
    groups = Regrouping(work.flips, events)
    groups.run()
    work.flips = groups.flips
    laid = work.sales(groups.events, came_back or {})
    kinds = dict.fromkeys(
        ("sale_price", "selling_fees", "delivery_charged", "given_back"), "float64"
    )
    kinds |= dict.fromkeys(("sold_on", "ended_on", "again_on"), "datetime64[ns]") | {"up": "bool"}
    refunded = pd.Series(work.refunded, dtype="float64").reindex(work.flips.index, fill_value=0.0)
    return Lives(
        flips=work.flips,
        events=laid,
        ended=frame_of(work.ended, ENDED_COLUMNS, kinds),
        changes=work.changes,
        questions=groups.questions + work.questions,
        notes=groups.notes + work.notes,
        refunded=refunded,
    )


class _Lives:
    def __init__(self, flips: pd.DataFrame, settings: Settings, as_of: date) -> None:
        self.flips: Any = flips
        self.settings, self.as_of = settings, as_of
        self.changes: list[tuple[int, str, str, str, str]] = []
        self.questions: list[tuple[int, str, str, str, str]] = []
        self.notes: list[str] = []
        self.ended: list[tuple[Any, ...]] = []
        self.refunded: dict[Any, float] = {}
        self.typed = set(flips["piece"].dropna().str.casefold())  # the pieces of flips.csv
        self.said: dict[int, dict[str, object]] = {}  # the cells of each entry, by its place

    def bought(self, events: pd.DataFrame) -> None:
        """New rows for pieces that only events know; blanks of known ones filled, differences asked about."""
        if events.empty:
            return
        rows = [
            {**details(e.note), "piece": e.piece, "bought_on": e.on.date().isoformat(),
             "buy_price": shown(float(e.amount)) if e.amount == e.amount else ""}
            for e in _rows(events)
        ]  # fmt: skip
        kinds = dict(
            zip(self.flips["piece"].str.casefold(), self.flips["furniture_type"], strict=True)
        )
        for row in rows:  # a row of flips.csv says what it is; the entry need not say it again
            kind = kinds.get(row["piece"].casefold())
            row.setdefault("furniture_type", kind if isinstance(kind, str) else "")
        read = cleaned(rows, self.settings, self.as_of)
        for row in _rows(read.set_aside):
            line = int(events["line"].iloc[int(row.line) - 2])
            self.notes.append(f"events.csv line {line}: {row.reason}. {row.remedy}")
        for cell in _rows(left_out(read.changes)):
            at = int(cell.line) - 2
            self._unread(
                str(rows[at]["piece"]),
                int(events["line"].iloc[at]),
                cell.column,
                cell.was,
                cell.why,
            )
        clean = read.flips
        line_of = events["line"].to_numpy()[clean["line"].to_numpy(int) - 2]
        last = int(self.flips["line"].max()) if len(self.flips) else 1
        clean = clean.assign(line=last + line_of)
        known = self.flips["piece"].str.casefold()
        names = clean["piece"].str.casefold()
        twice = names.duplicated()
        for place in np.flatnonzero((names.isin(known) & ~twice).to_numpy()):
            rows_of = self.flips.index[known == names.iloc[place]]
            if len(rows_of) == 1:
                self._same_piece(rows_of[0], clean.iloc[place])
        new = clean[~names.isin(known) & ~twice]
        if len(new):
            self.notes.append(f"{len(new)} piece(s) are known from events.csv alone.")
            # own columns of the person have no word about a piece they never typed
            joined = new.reindex(columns=self.flips.columns)
            self.flips = (
                joined.astype(self.flips.dtypes.to_dict()).reset_index(drop=True)
                if self.flips.empty
                else pd.concat(
                    [self.flips, joined.astype(self.flips.dtypes.to_dict())], ignore_index=True
                )
            )
        for _, again in clean[twice].iterrows():
            self._bought_again(again, clean[names == again["piece"].casefold()].iloc[0])

    def _bought_again(self, again: Any, first: Any) -> None:
        """A piece bought twice: the same thing written twice counts once, anything else is asked about."""
        name = str(again["piece"])
        rows = self.flips.index[self.flips["piece"].str.casefold() == name.casefold()]
        same = all(
            again[c] == first[c] or (pd.isna(again[c]) and pd.isna(first[c]))
            for c in ("bought_on", "buy_price", "furniture_type")
        )
        if same or len(rows) != 1:
            self.notes.append(f'events.csv: "{name}" is bought twice; the first entry counts.')
        else:
            one, two = (
                f"on {_text(e['bought_on'])} for {_text(e['buy_price'])}" for e in (first, again)
            )
            self._ask(
                rows[0], "buy_price",
                f"events.csv says it was bought {one} and again {two}; the first counts. Undo the wrong entry, or log "
                "the other piece under a name of its own.",
            )  # fmt: skip

    def _same_piece(self, at: Any, said: Any) -> None:
        for column in NAMES:
            if column == "piece" or pd.isna(said[column]):
                continue
            own = self.flips.at[at, column]
            if pd.isna(own):
                self._set(at, column, said[column], "as bought, in events.csv")
            elif own != said[column]:
                self._ask(
                    at, column,
                    f"flips.csv says {_text(own)}, events.csv says {_text(said[column])}; flips.csv was kept. Empty "
                    "the cell in flips.csv to use the event, or undo the event.",
                )  # fmt: skip

    def sales(self, events: pd.DataFrame, known: Mapping[int, Return]) -> pd.DataFrame:
        """The events with ended sales turned into days off the market; see `live`, whose `came_back` is `known`."""
        made = events.copy()
        self._described(made)
        given = made["event"].isin(
            ["sold", "returned", "backed_out", "relisted", "refund", "asking_price"]
        )
        names = self.flips["piece"].str.casefold()
        came = self.flips["outcome"].eq(CAME_BACK)
        logs: dict[str, list[tuple[Any, Any]]] = {}
        log = made[given].sort_values(["on", "line"], kind="stable")
        for i, e in zip(log.index, log.to_dict("records"), strict=True):
            logs.setdefault(e["piece"].casefold(), []).append((i, e))
        alone = names.isin(list(logs)) & ~names.duplicated(keep=False)
        for at in self.flips.index[alone | came]:
            steps = logs[names[at]] if alone[at] else []
            if came[at]:
                self.flips.at[at, "outcome"] = None
                self._own_return(at, steps, known.get(int(self.flips.at[at, "line"]), Return()))
            self._sales_of(at, steps, made)
        return made[made["event"] != ""].reset_index(drop=True)

    def _own_return(self, at: Any, steps: list[tuple[Any, Any]], back: Return) -> None:
        """Put the return that row `at` tells of among the entries of its piece, unless one of them is that return."""
        day, price = self.flips.at[at, "sold_on"], float(self.flips.at[at, "sale_price"])
        if pd.isna(day) and np.isnan(price):
            return
        sold = [(n, e) for n, (_, e) in enumerate(steps) if e["event"] == "sold"]
        if pd.isna(day):  # an entry of the same price is the sale of the row
            day = next((e["on"] for _, e in sold if abs(e["amount"] - price) < _CENT), day)
        end = day if pd.isna(back.back_on) else back.back_on
        again = next((n for n, e in sold if not e["on"] <= end), len(steps))
        its = [e for _, e in steps[:again] if not e["on"] < day]
        if any(e["event"] == RETURNED for e in its) and not back.resold:
            return
        given = sum(float(e["amount"]) for e in its if e["event"] == "refund")
        place = next((n for n, (_, e) in enumerate(steps[:again]) if not e["on"] <= end), again)
        entry = {"event": RETURNED, "on": end, "amount": price - given, "back": back}
        steps.insert(place, (None, entry))

    def _sales_of(self, at: Any, steps: list[tuple[Any, Any]], made: Any) -> None:  # noqa: C901 - one branch for each event of a sale
        sold: Any = None  # the index of the standing sale in `made`
        refunded = 0.0
        for i, e in steps:
            if e["event"] == "sold":
                if sold is not None and _same_sale(made.loc[sold], e):
                    made.at[sold, "event"] = ""  # one sale written twice is one sale
                    self.notes.append(
                        f"{e['piece']}: the sale is logged twice alike; it counts once."
                    )
                elif sold is not None:
                    self._ask(
                        at, "sold_on",
                        f"events.csv says it sold on {_text(made.at[sold, 'on'])} and again on {_text(e['on'])}; the "
                        "later one counts. Was it returned between? Then log the return on its day.",
                    )  # fmt: skip
                sold, refunded = i, 0.0
            elif e["event"] == "asking_price":
                if self._after_a_sale(at, sold, e, made, "a price asked"):
                    made.at[i, "event"] = ""
            elif e["event"] == "refund":
                refunded += float(e["amount"])
            elif e["event"] == "relisted":
                if self._after_a_sale(at, sold, e, made, "it back on the market"):
                    made.at[i, "event"] = ""
            elif self._end(at, sold, i, e, refunded, made):
                sold, refunded = None, 0.0
        if sold is not None or pd.notna(self.flips.at[at, "sale_price"]):
            self.refunded[at] = refunded
        if sold is not None:
            self._fill(at, self.said.get(sold, {}))

    def _after_a_sale(self, at: Any, sold: Any, e: Any, made: Any, what: str) -> bool:
        """True where the event lies after a sale that stands: the sale counts, and the person is asked."""
        typed = self.flips.at[at, "sold_on"]
        day = made.at[sold, "on"] if sold is not None else typed
        if pd.isna(day) or e["on"] <= day:
            return False
        self._ask(
            at, "sold_on",
            f"events.csv line {e['line']} has {what} on {_text(e['on'])}, after it sold on {_text(day)}; the sale "
            "counts and the entry does not. If the sale fell through, log it as returned or backed out, on its day.",
        )  # fmt: skip
        return True

    def _standing(self, at: Any, sold: Any, e: Any, made: Any) -> tuple[dict[str, Any], bool]:
        """The sale that stands at entry `e`, empty where none does, and whether it is the one of row `at`."""
        typed: dict[str, Any] = self.flips.loc[at, list(_MONEY)].to_dict()
        own, undated = "back" in e, pd.isna(typed["sold_on"])
        if sold is None:
            by_then = typed["sold_on"] <= e["on"]
            alone = undated and pd.notna(typed["sale_price"]) and e["event"] == RETURNED
            return (typed if own or by_then or alone else {}), True
        day, price = made.at[sold, "on"], float(made.at[sold, "amount"])
        said = self.said.get(sold, {})
        logged = {c: _number(said.get(c)) for c in _MONEY} | {"sold_on": day, "sale_price": price}
        like = abs(typed["sale_price"] - price) < _CENT
        if not (own or typed["sold_on"] == day or (undated and like)):
            return logged, False
        sale = {c: logged[c] if pd.isna(typed[c]) else typed[c] for c in _MONEY}
        if sale["sold_on"] != day or abs(sale["sale_price"] - price) >= _CENT:
            self._ask(
                at, "sold_on",
                f"flips.csv says it sold on {_text(sale['sold_on'])} for {shown(sale['sale_price'])}, events.csv on "
                f"{_text(day)} for {shown(price)}; flips.csv was kept. Undo the event if it is wrong.",
            )  # fmt: skip
        return sale, True

    def _end(self, at: Any, sold: Any, i: Any, e: Any, refunded: float, made: Any) -> bool:
        """End the standing sale at entry `e`, the `i`th of `made` or (None) the row's own; True where there was one."""
        own, on, back = i is None, e["on"], e.get("back", Return(e["on"], e["on"]))
        sale, same = self._standing(at, sold, e, made)
        if not sale and e["event"] == RETURNED:
            self._ask(
                at, "sold_on",
                f"events.csv says it was returned on {_text(on)}, but no sale before that day is known; the entry "
                "was left out.",
            )  # fmt: skip
        if not sale:  # one backed out before any sale: only a deposit may be at stake, and the books have that
            return False
        if sold is not None:
            made.at[sold, "event"] = "" if own else "paused"
        since = f" on {_text(on)}" if not own or pd.notna(back.back_on) else ""
        why = f"the sale ended{since}, in events.csv"
        why = f"it came back{since}; its sale is kept as one that ended" if own else why
        for column in _SALE if same else ():
            if pd.notna(self.flips.at[at, column]):
                empty = {"sold_on": pd.NaT, "channel": None}.get(column, np.nan)
                self._set(at, column, empty, why)
        self._became(at, on, back)
        told, owed = float(e["amount"]), float(sale["sale_price"]) - refunded
        given = owed if np.isnan(told) else told
        if e["event"] == "backed_out":
            given = owed - np.nan_to_num(told)
        if not own:
            made.at[i, "event"] = "relisted"
            made.at[i, "amount"] = np.nan  # what was given back is no price asked
        if given < 0 or given > owed + np.nan_to_num(sale["delivery_charged"]) + _CENT:
            self._ask(
                at, "sale_price",
                f"events.csv has {shown(given)} given back on {_text(on)} for a sale of {shown(owed + refunded)}; is "
                "that right?",
            )  # fmt: skip
        piece, line = self.flips.at[at, "piece"], int(self.flips.at[at, "line"])
        ended = (on, given, str(e["event"]), back.again_on, back.up, line)
        self.ended.append((piece, *sale.values(), *ended))
        return True

    def _became(self, at: Any, on: Any, back: Return) -> None:
        """Put what was answered that became of row `at` since it came back on the day `on`: sold again, or left."""
        for column, value in zip(("sale_price", "sold_on"), back.resold or (), strict=False):
            self._set(at, column, value, "sold again: your answer, in answers.csv")
        if back.left:
            self._set(at, "outcome", back.left, "your answer, in answers.csv")
            self._set(at, "withdrawn_on", on, "the last day known of it, as it came back")

    def _described(self, events: Any) -> None:
        """Read the cells that the entries carry; fill in what they say of the piece, ask where they differ."""
        entries = zip(events.index, events["event"].tolist(), events["note"].tolist(), strict=True)
        carried = {
            i: {c: t for c, t in details(note).items() if c in cells_of(event)}
            for i, event, note in entries
            if event != "bought" and "=" in str(note)
        }
        self.said, wrong = read_cells(
            {i: c for i, c in carried.items() if c}, self.settings, self.as_of
        )
        for i, columns in wrong.items():
            for column, why in columns.items():
                named, line = str(events.at[i, "piece"]), int(events.at[i, "line"])
                self._unread(named, line, column, carried[i][column], why)
        names = self.flips["piece"].str.casefold()
        for i, cells in self.said.items():
            rows = self.flips.index[names == str(events.at[i, "piece"]).casefold()]
            if len(rows) == 1 and events.at[i, "event"] != "sold":
                self._fill(rows[0], cells)

    def _fill(self, at: Any, cells: Mapping[str, object]) -> None:
        """Fill in the cells that an entry carries; a difference is asked about."""
        for column, value in cells.items():
            own = self.flips.at[at, column]
            if pd.isna(own):
                self._set(at, column, value, "in events.csv")
            elif not _says_the_same(own, value):
                told = f"flips.csv says {_text(own)}, events.csv says {_text(value)}; flips.csv was kept."
                cell, name = (int(self.flips.at[at, "line"]), column), self.flips.at[at, "piece"]
                by_entry = any(c[:2] == cell for c in self.changes)
                if by_entry or str(name).casefold() not in self.typed:
                    told = (
                        f"events.csv says {_text(own)} and then {_text(value)}; the first was kept."
                    )
                self._ask(at, column, told)

    def _unread(self, name: str, line: int, column: str, typed: str, why: str) -> None:
        """Ask about a cell of an entry that cannot be read; it is left out."""
        said = f'events.csv line {line} says {column} is "{typed}", which {why}'
        question = f"{said}; it was left out. Put that line right."
        mine = self.flips["piece"].str.casefold() == name.casefold()
        lines = [*self.flips.loc[mine, "line"].tolist(), line]
        self.questions.append((int(lines[0]), name, column, typed, question))
        self.notes.append(Noted(f"{name}: {column}: {question}", "asked"))

    def _set(self, at: Any, column: str, value: Any, why: str) -> None:
        was = self.flips.at[at, column]
        self.changes.append((int(self.flips.at[at, "line"]), column, _text(was), _text(value), why))
        self.flips.at[at, column] = value

    def _ask(self, at: Any, column: str, question: str) -> None:
        name = str(self.flips.at[at, "piece"])
        value = _text(self.flips.at[at, column])
        self.questions.append((int(self.flips.at[at, "line"]), name, column, value, question))
        self.notes.append(Noted(f"{name}: {column}: {question}", "asked"))


def _same_sale(one: Any, other: Any) -> bool:
    """True for two entries of a sale that differ in nothing."""
    amounts = [np.nan_to_num(float(e["amount"]), nan=-1.0) for e in (one, other)]
    notes = [e["note"] if isinstance(e["note"], str) else "" for e in (one, other)]
    return bool(one["on"] == other["on"] and amounts[0] == amounts[1] and notes[0] == notes[1])


def _says_the_same(own: Any, value: Any) -> bool:
    """True for the same number, or the same word in whatever case and with whatever spaces."""
    if isinstance(own, str) and isinstance(value, str):
        return own.casefold().split() == value.casefold().split()
    return bool(own == value)


def _rows(frame: pd.DataFrame) -> Any:
    return frame.itertuples(index=False)


def _number(value: object) -> float:
    return float(value) if isinstance(value, float | int) else np.nan


def _text(value: Any) -> str:
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if value is None or (isinstance(value, float) and np.isnan(value)) or value is pd.NaT:
        return ""
    return value if isinstance(value, str) else shown(float(value))
