"""Split and joined: a pair sold apart, two chairs made a set.

    split    A-1 into A-1a, A-1b              equal shares, or: into A-1a, A-1b by 60, 40
    joined   A-3 of A-1, A-2                  the new piece is the entry's own

What had been spent keeps its day and its cents, under the new names: no quarter's money changes, only which and
how many pieces it stands behind. Hours go the same way. The asks, offers and own price of what was split or
joined say nothing of what came of it, so those pieces are in work again until they are listed. A piece that was
sold before, or had left the shop, is not split or joined: it is asked about, and the entry changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.cleaning.lots import parts_in_cents
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.schema.columns import COLUMN, STEPS

_SPENT = ("buy_price", "materials_cost", "other_costs")
_HOURS = ("hours", *(f"hours_{step}" for step in STEPS))
_LEFT = (
    "gut_price", "listed_on", "asking_price", "last_asking_price", "sold_on", "sale_price", "selling_fees",
    "delivery_charged", "channel", "withdrawn_on",
)  # fmt: skip
_KEPT = ("hours", "cost", "finished", "photographed", "bought")
_SOLD = ("sold", "returned", "refund")


def parts_of(event: str, note: object) -> tuple[list[str], list[float]]:
    """The names that a split or joined entry's note tells, and the shares of a split; ([], []) where it tells none."""
    head = str(note).split(";")[0].strip() if isinstance(note, str) else ""
    lead = "into " if event == "split" else "of "
    if not head.startswith(lead):
        return [], []
    names, _, shares = head.removeprefix(lead).partition(" by ") if event == "split" else (
        head.removeprefix(lead), "", ""
    )  # fmt: skip
    found = [" ".join(n.split()) for n in names.split(",") if n.strip()]
    try:
        weights = [float(s) for s in shares.split(",")] if shares else [1.0] * len(found)
    except ValueError:
        return [], []
    return (
        (found, weights) if len(weights) == len(found) and min(weights, default=0) > 0 else ([], [])
    )


def came_of(logged: pd.DataFrame, name: str) -> tuple[list[str], list[str]]:
    """The pieces that `name` was split off or joined from, and those that came of it (names in small letters)."""
    before, after = [], []
    for e in logged[logged["event"].isin(["split", "joined"])].itertuples(index=False):
        own, (told, _) = str(e.piece).casefold(), parts_of(str(e.event), e.note)
        others = [t.casefold() for t in told]
        olds, news = ([own], others) if e.event == "split" else (others, [own])
        if name.casefold() in news:
            before += olds
        if name.casefold() in olds:
            after += news
    return before, after


class Regrouping:
    """Splits and joins laid over `flips` and `events`, in the order of the days; see `run`."""

    def __init__(self, flips: pd.DataFrame, events: pd.DataFrame) -> None:
        self.flips, self.events = flips, events
        self.questions: list[tuple[int, str, str, str, str]] = []
        self.notes: list[str] = []

    def run(self) -> None:
        """Lay each entry; `flips` and `events` are then as if the pieces had always been so divided."""
        some = self.events["event"].isin(["split", "joined"])
        if not some.any():
            return
        ordered = self.events[some].sort_values(["on", "line"], kind="stable")
        for e in list(ordered.itertuples(index=False)):
            told, shares = parts_of(str(e.event), e.note)
            old, new = ([str(e.piece)], told) if e.event == "split" else (told, [str(e.piece)])
            if why := self._refused(e, old, new):
                self._ask(e, why)
            elif e.event == "split":
                self._split(e, new, shares)
            else:
                self._join(e, old, str(e.piece))
        self.events = self.events[~self.events["event"].isin(["split", "joined"])]
        self.events = self.events.sort_values("line", kind="stable", ignore_index=True)

    def _refused(self, e: Any, old: Sequence[str], new: Sequence[str]) -> str:
        """Why the entry cannot be, "" where it can."""
        if len(old if e.event == "joined" else new) < 2:
            how = "into A-1a, A-1b" if e.event == "split" else "of A-1, A-2"
            return f"it does not say which pieces; its note must begin as: {how}"
        for name in old:
            rows = self._rows(name)
            if len(rows) != 1:
                return (
                    f"there is no piece called {name}"
                    if not len(rows)
                    else f"{len(rows)} pieces are called {name}"
                )
            row = self.flips.loc[rows[0]]
            theirs = self.events[self._of(name) & (self.events["on"] <= e.on)]["event"]
            if row[["sold_on", "sale_price"]].notna().any() or theirs.isin(_SOLD).any():
                return f"{name} was sold before; its books stand under its own name"
            away = theirs[theirs.isin(["withdrawn", "relisted"])]
            if "withdrawn" in list(away.iloc[-1:]) or (
                pd.notna(row["withdrawn_on"]) and not len(away)
            ):
                return f"{name} was kept, given away or scrapped before"
        lower = [n.casefold() for n in new]
        if len(set(lower)) < len(lower) or len({n.casefold() for n in old}) < len(old):
            return "it names one piece twice"
        taken = [n for n in new if len(self._rows(n))]
        return f"there is a piece called {taken[0]} already" if taken else ""

    def _split(self, e: Any, new: Sequence[str], shares: Sequence[float]) -> None:
        at = self._rows(str(e.piece))[0]
        weights = np.array(shares) / sum(shares)
        made = pd.concat([self.flips.loc[[at]]] * len(new), ignore_index=True)
        made["piece"] = list(new)
        for column in _SPENT:
            made[column] = self._parts(made[column].iloc[0], weights)
        for column in _HOURS:
            made[column] = made[column] * weights
        lot = made["pieces_in_lot"].iloc[0]
        made["pieces_in_lot"] = lot / len(new) if lot == lot and lot % len(new) == 0 else np.nan
        mine = (
            self._of(str(e.piece)) & self.events["event"].isin(_KEPT) & (self.events["on"] <= e.on)
        )
        copies = []
        for i, name in enumerate(new):
            copy = self.events[mine].assign(piece=name)
            copy["amount"] = [
                amount * weights[i] if event == "hours" else self._parts(amount, weights)[i]
                for event, amount in zip(copy["event"], copy["amount"], strict=True)
            ]
            copies.append(copy)
        self._replace([at], made, mine, pd.concat(copies))

    def _join(self, e: Any, old: Sequence[str], new: str) -> None:
        rows = [self._rows(name)[0] for name in old]
        parts = self.flips.loc[rows]
        made = parts.iloc[[0]].reset_index(drop=True)
        made["piece"] = new
        for column in (*_SPENT, *_HOURS):
            made[column] = parts[column].sum(min_count=1)
        made["bought_on"] = parts["bought_on"].min()
        made["pieces_in_lot"] = float(parts["pieces_in_lot"].fillna(1.0).sum())
        for column in made.columns.intersection([c for c in COLUMN if COLUMN[c].is_text]):
            if column not in ("piece", "furniture_type") and len(set(parts[column].fillna(""))) > 1:
                made[column] = None  # what they do not share, the whole is not
        named = pd.Series(False, index=self.events.index)
        for name in old:
            named |= self._of(name)
        mine = named & self.events["event"].isin(_KEPT) & (self.events["on"] <= e.on)
        kept = self.events[mine & (self.events["event"] != "bought")].assign(piece=new)
        bought = parts[parts["bought_on"].notna()]
        # what each part cost, on its own day: `books.inventory` reads it so
        paid = pd.DataFrame(
            {
                "on": bought["bought_on"],
                "piece": new,
                "event": "bought",
                "amount": bought["buy_price"].fillna(0.0),
                "note": "a part of it",
                "line": int(e.line),
            }
        ).astype(self.events.dtypes.to_dict())
        self._replace(rows, made, mine, pd.concat([kept, paid]))

    def _replace(
        self, rows: Sequence[Any], made: pd.DataFrame, gone: pd.Series, events: pd.DataFrame
    ) -> None:
        for column in _LEFT:
            empty = pd.NaT if column.endswith("_on") else None if COLUMN[column].is_text else np.nan
            made[column] = empty
        first = int(self.flips["line"].max()) + 1
        made["line"] = range(first, first + len(made))
        kept = self.flips.drop(index=list(rows))
        typed = made.astype(self.flips.dtypes.to_dict())
        self.flips = pd.concat([kept, typed], ignore_index=True) if len(kept) else typed
        self.events = pd.concat([self.events[~gone], events], ignore_index=True)

    def _parts(self, amount: float, weights: np.ndarray) -> list[float]:
        return (
            [float("nan")] * len(weights) if amount != amount else parts_in_cents(amount, weights)
        )

    def _of(self, name: str) -> pd.Series:
        return self.events["piece"].astype("str").str.casefold() == name.casefold()

    def _rows(self, name: str) -> list[Any]:
        return list(
            self.flips.index[self.flips["piece"].astype("str").str.casefold() == name.casefold()]
        )

    def _ask(self, e: Any, why: str) -> None:
        question = f"events.csv line {e.line} says {e.event} on {e.on.date()}, but {why}; the entry was left out."
        rows = self._rows(str(e.piece))
        line = int(self.flips["line"].loc[rows[0]]) if rows else int(e.line)
        self.questions.append((line, str(e.piece), "piece", shown(str(e.note)), question))
        self.notes.append(f"{e.piece}: {question}")
