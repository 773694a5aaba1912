"""Events laid over the record: prices asked, hours and costs logged, sales and withdrawals.

What flips.csv says is never overwritten in silence. A blank is filled; a later asking price becomes the
last one; where both say different things, flips.csv is kept and both values are listed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.records.columns import STEPS
from fleetlib.records.readings import shown
from fleetlib.records.vocabulary import word_key

_CENT = 0.005


@dataclass(frozen=True, eq=False, slots=True)
class Laid:
    """`flips` with the events laid over, the changes this made, what contradicts, and notes."""

    flips: pd.DataFrame = field(repr=False)
    changes: pd.DataFrame = field(repr=False)
    questions: pd.DataFrame = field(repr=False)
    notes: list[str]


def lay_events(flips: pd.DataFrame, events: pd.DataFrame) -> Laid:
    """Lay standing `events` over `flips` (derived columns are not touched: derive again after)."""
    work = _Laying(flips.copy())
    places = work.places()
    lost: dict[str, list[int]] = {}
    for name, group in events.groupby(events["piece"].str.casefold(), sort=False):
        rows = places.get(str(name), [])
        if len(rows) == 1:
            work.piece(rows[0], group.sort_values("on", kind="stable"))
        else:
            lost[str(group["piece"].iloc[0])] = [len(rows), *group["line"]]
    for name, (rows_found, *lines) in lost.items():
        why = "is no piece kept" if not rows_found else f"is the name of {rows_found} pieces"
        said = ", ".join(map(str, lines[:6]))
        work.notes.append(f'events.csv: "{name}" {why}; its events count for none (line {said}).')
    return work.result()


class _Laying:
    def __init__(self, flips: pd.DataFrame) -> None:
        self.flips = flips
        self.changes: list[tuple[int, str, str, str, str]] = []
        self.questions: list[tuple[int, str, str, str, str]] = []
        self.notes: list[str] = []

    def places(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for i, name in enumerate(self.flips["piece"]):
            found.setdefault(name.casefold(), []).append(i)
        return found

    def piece(self, i: int, events: pd.DataFrame) -> None:
        """All events of one piece, by day."""
        closed_by_hand = self._closed(i)
        by = {kind: group for kind, group in events.groupby("event", sort=False)}
        self._work(i, by.get("hours"), closed_by_hand)
        self._costs(i, by.get("cost"), closed_by_hand)
        self._asking(i, by.get("asking_price"))
        self._end(i, events)

    def _closed(self, i: int) -> bool:
        row = self.flips.iloc[i]
        return bool(pd.notna(row["sale_price"]) or pd.notna(row["withdrawn_on"]))

    def _work(self, i: int, events: pd.DataFrame | None, closed: bool) -> None:
        if events is None:
            return
        steps = events["note"].fillna("").map(step_of)
        for step, group in events.groupby(steps):
            if step:
                self._more(i, f"hours_{step}", group, closed)
        self._more(i, "hours", events, closed)

    def _costs(self, i: int, events: pd.DataFrame | None, closed: bool) -> None:
        if events is None:
            return
        materials = events["note"].fillna("").map(is_material).to_numpy(dtype=bool)
        for column, group in (
            ("materials_cost", events[materials]),
            ("other_costs", events[~materials]),
        ):
            if len(group):
                self._more(i, column, group, closed)

    def _more(self, i: int, column: str, events: pd.DataFrame, closed: bool) -> None:
        """Logged hours or money. On top of what flips.csv says, but the same amount counts once, and a row
        whose sale or withdrawal was typed into flips.csv has the last word."""
        logged = round(float(events["amount"].sum()), 4)
        own = self.flips[column].iat[i]
        if pd.isna(own):
            self._set(i, column, logged, f"{len(events)} logged in events.csv")
        elif abs(own - logged) < 0.05:
            return
        elif closed:
            self._ask(
                i,
                column,
                own,
                f"flips.csv says {shown(own)}, {shown(logged)} is logged in events.csv; flips.csv was kept. "
                f"Empty the cell in flips.csv to use the log.",
            )
        else:
            total = round(float(own) + logged, 4)
            why = f"{shown(own)} in flips.csv and {shown(logged)} logged in events.csv"
            self._set(i, column, total, why)

    def _asking(self, i: int, events: pd.DataFrame | None) -> None:
        if events is None:
            return
        first, last = events.iloc[0], events.iloc[-1]
        if pd.isna(self.flips["asking_price"].iat[i]):
            self._set(i, "asking_price", first["amount"], "the first price asked in events.csv")
            if pd.isna(self.flips["listed_on"].iat[i]):
                self._set(i, "listed_on", first["on"], "the day of the first price in events.csv")
        listed = self.flips["listed_on"].iat[i]
        own = self.flips["asking_price"].iat[i]
        same_day = events[events["on"] == listed]
        if len(same_day) and abs(same_day["amount"].iloc[0] - own) > _CENT:
            self._ask(
                i,
                "asking_price",
                own,
                f"flips.csv says {shown(own)} on the day it was listed, events.csv says "
                f"{shown(same_day['amount'].iloc[0])}; flips.csv was kept.",
            )
        if pd.notna(listed) and first["on"] < listed:
            self._ask(
                i,
                "listed_on",
                listed.date().isoformat(),
                f"flips.csv says it was listed on {listed.date()}, events.csv has a price on {first['on'].date()}; "
                f"flips.csv was kept.",
            )
        current = self.flips["last_asking_price"].iat[i]
        if pd.isna(current):
            self._set(i, "last_asking_price", last["amount"], "the last price asked in events.csv")
        elif abs(current - last["amount"]) > _CENT:
            if self._closed(i):
                self._ask(
                    i,
                    "last_asking_price",
                    current,
                    f"flips.csv says {shown(current)}, the last price in events.csv is {shown(last['amount'])}; "
                    f"flips.csv was kept.",
                )
            else:
                self._set(
                    i, "last_asking_price", last["amount"], "a later price asked in events.csv"
                )

    def _end(self, i: int, events: pd.DataFrame) -> None:
        """Sold or withdrawn, as the last of sold, withdrawn and relisted says."""
        ends = events[events["event"].isin(["sold", "withdrawn", "relisted"])]
        if not len(ends) or ends["event"].iloc[-1] == "relisted":
            return
        end = ends.iloc[-1]
        column = "sold_on" if end["event"] == "sold" else "withdrawn_on"
        start = self.flips[["bought_on", "listed_on"]].iloc[i].max()
        if pd.notna(start) and end["on"] < start:
            self._ask(
                i,
                column,
                end["on"].date().isoformat(),
                f"events.csv says {end['event']} on {end['on'].date()}, but flips.csv has it bought or listed on "
                f"{start.date()}; the event was left out.",
            )
            return
        if column == "withdrawn_on":
            self._withdrawn(i, end)
        else:
            self._sold(i, end)

    def _withdrawn(self, i: int, end: pd.Series) -> None:
        if pd.notna(self.flips["sale_price"].iat[i]):
            price = self.flips["sale_price"].iat[i]
            self._ask(
                i,
                "withdrawn_on",
                end["on"].date().isoformat(),
                f"flips.csv says it sold for {shown(price)}, events.csv says it was withdrawn on {end['on'].date()}; "
                f"flips.csv was kept.",
            )
            return
        self._day(i, "withdrawn_on", end["on"])

    def _sold(self, i: int, end: pd.Series) -> None:
        price, amount = self.flips["sale_price"].iat[i], end["amount"]
        withdrawn = self.flips["withdrawn_on"].iat[i]
        if pd.notna(withdrawn):
            self._ask(
                i,
                "withdrawn_on",
                withdrawn.date().isoformat(),
                f"flips.csv says it was withdrawn on {withdrawn.date()}, events.csv says it sold on "
                f"{end['on'].date()} for {shown(amount)}; flips.csv was kept.",
            )
            return
        if pd.isna(price):
            if pd.isna(amount) or amount <= 0:
                self._ask(
                    i,
                    "sale_price",
                    "",
                    f"events.csv says it sold on {end['on'].date()} but not for how much; the event was left out.",
                )
                return
            self._set(i, "sale_price", amount, "sold, in events.csv")
        elif pd.notna(amount) and abs(price - amount) > _CENT:
            self._ask(
                i,
                "sale_price",
                price,
                f"flips.csv says {shown(price)}, events.csv says sold for {shown(amount)}; flips.csv was kept.",
            )
        self._day(i, "sold_on", end["on"])

    def _day(self, i: int, column: str, day: pd.Timestamp) -> None:
        own = self.flips[column].iat[i]
        if pd.isna(own):
            self._set(i, column, day, "in events.csv")
        elif own != day:
            self._ask(
                i,
                column,
                own.date().isoformat(),
                f"flips.csv says {own.date()}, events.csv says {day.date()}; flips.csv was kept.",
            )

    def _set(self, i: int, column: str, value: object, why: str) -> None:
        was, now = _as_text(self.flips[column].iat[i]), _as_text(value)
        self.changes.append((int(self.flips["line"].iat[i]), column, was, now, why))
        self.flips.iloc[i, self.flips.columns.get_loc(column)] = value  # type: ignore[index]

    def _ask(self, i: int, column: str, value: object, question: str) -> None:
        row = self.flips.iloc[i]
        said = value if isinstance(value, str) else shown(value)
        self.questions.append((int(row["line"]), str(row["piece"]), column, said, question))
        self.notes.append(f"{row['piece']}: {column}: {question}")

    def result(self) -> Laid:
        """Everything laid, as frames."""
        changes = pd.DataFrame(self.changes, columns=["line", "column", "was", "now", "why"])
        asked = pd.DataFrame(
            self.questions, columns=["line", "piece", "column", "value", "question"]
        )
        return Laid(self.flips, _typed(changes), _typed(asked), self.notes)


def _typed(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.astype({c: "str" for c in frame.columns if c != "line"} | {"line": "int64"})


def _as_text(value: object) -> str:
    if value is None or value is pd.NaT:
        return ""
    if isinstance(value, pd.Timestamp | date):
        return pd.Timestamp(value).date().isoformat()
    return shown(value)


_STEP_WORDS = {
    "clean": ("clean", "cleaning", "wash", "washing"),
    "repair": ("repair", "repairing", "repairs", "fix", "fixing", "glue", "gluing"),
    "sand": ("sand", "sanding", "strip", "stripping"),
    "finish": ("finish", "finishing", "paint", "painting", "stain", "staining", "oil", "oiling", "wax", "waxing"),
    "sell": ("sell", "selling", "photos", "photo", "listing", "delivery", "delivering"),
}  # fmt: skip
_STEP_OF = {w: step for step, words in _STEP_WORDS.items() for w in words}


def step_of(note: str) -> str:
    """The step (clean, repair, sand, finish, sell) that the first word of an hours note names, or ""."""
    first = word_key(note).split(" ")[0]
    assert set(_STEP_WORDS) == set(STEPS)
    return _STEP_OF.get(first, "")


def is_material(note: str) -> bool:
    """True where the note of a cost names materials or just a step of the work; else it is an other cost."""
    if word_key(note) in STEPS:
        return True
    words = set(word_key(note).split())
    return bool(
        words
        & {
            "material", "materials", "supplies", "paint", "oil", "wax", "stain", "varnish", "lacquer", "hardware",
            "pulls", "knobs", "hinges", "sandpaper", "primer",
        }
    )  # fmt: skip


def stand_in_gut_prices(
    flips: pd.DataFrame, advice_log: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """Fill a missing gut_price with the first asking price, unless advice was saved before the listing.

    Once advice has been seen, an asking price is no longer the owner's own idea. Advice on the day of the
    listing counts as before it; without a listing date any saved advice for the piece does.
    """
    made = flips.copy()
    first_advice: dict[str, pd.Timestamp] = {}
    for name, day in zip(advice_log["piece"].str.casefold(), advice_log["date"], strict=True):
        first_advice[name] = min(day, first_advice.get(name, day))
    advised = pd.to_datetime(
        pd.Series([first_advice.get(n.casefold(), pd.NaT) for n in made["piece"]], index=made.index)
    )
    before = advised.notna() & ~(advised > made["listed_on"])
    blank = made["gut_price"].isna() & made["asking_price"].notna()
    rows = (blank & ~before).to_numpy()
    made.loc[rows, "gut_price"] = made.loc[rows, "asking_price"]
    places = np.flatnonzero(rows)
    changes = pd.DataFrame(
        {
            "line": made["line"].to_numpy()[places],
            "column": "gut_price",
            "was": "",
            "now": [shown(v) for v in made["gut_price"].to_numpy()[places]],
            "why": "the first asking price stands in; no advice was saved before the listing",
        }
    )
    notes = []
    held = (blank & before).to_numpy()
    if len(places):
        notes.append(
            f"gut_price: the first asking price stands in for {len(places)} piece(s) without one."
        )
    if held.any():
        names = ", ".join(made["piece"][held][:6])
        notes.append(
            f"gut_price: missing for {int(held.sum())} piece(s) whose asking price came after saved advice ({names})."
        )
    return made, _typed(changes), notes
