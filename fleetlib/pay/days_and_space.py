"""How long a piece takes by the calendar, how full the room is, and what a place in it earns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from fleetlib.base.level import USUAL_LEVEL
from fleetlib.base.money import format_money
from fleetlib.base.said import count
from fleetlib.pay.groups import NOT_IN_PAY, TOO_FEW, grouping, labelled, names_of
from fleetlib.pay.piece_values import piece_values
from fleetlib.pay.rates import FEWEST, Group
from fleetlib.pay.stages import drying, stage_days
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table

if TYPE_CHECKING:
    from fleetlib.fits import Fits

ON_HAND = ("in work", "listed")
_LEGEND = (
    "8 in 10: of ten pieces, about eight took between these; pieces still there count for the days so far. A "
    "place-week is one place in your room for one week, from the day a piece was bought to the day it left."
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class DaysAndSpace(Shown):
    """Days by stage, drying by finish, the room, and profit per place and week beside profit per hour.

    `table` columns: the grouping columns, pieces (finished ones whose days and price paid are known),
    place_weeks, profit (unsold pieces at what their plan expects), per_place_week with low and high (Fieller
    at `level`), per_hour (of those with hours), says; best place-week first. `stages`: stage, pieces, over,
    low, mid, high in days. `drying`: finish, days, from. `places` is 0 where the settings name none.
    """

    by: tuple[str, ...]
    table: pd.DataFrame = field(repr=False)
    stages: pd.DataFrame = field(repr=False)
    drying: pd.DataFrame = field(repr=False)
    on_hand: int
    places: int
    level: float
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)

    @property
    def full(self) -> bool:
        """True where the room holds as many pieces as it has places."""
        return bool(self.places) and self.on_hand >= self.places

    def shown(self) -> pd.DataFrame:
        """Profit per place and week, and per hour, by group as printed."""
        t, c = self.table, self.currency
        ranges = [
            says
            or (
                "no limit"
                if wide
                else f"{_money(low, c, ' to ')}{format_money(high, c, cents=True)}"
            )
            for low, high, wide, says in zip(
                t["low"], t["high"], t["unbounded"], t["says"], strict=True
            )
        ]
        return pd.DataFrame(
            {
                ", ".join(w.replace("furniture_type", "type") for w in self.by) or "whole shop": (
                    names_of(t, self.by)
                ),
                "pieces": t["pieces"],
                "place-weeks": t["place_weeks"].round(),
                "a place-week": [format_money(v, c, cents=True) for v in t["per_place_week"]],
                f"{self.level * 10:g} in 10": ranges,
                "an hour": [format_money(v, c) for v in t["per_hour"]],
            }
        )

    def stages_shown(self) -> pd.DataFrame:
        """The days of each stage as printed."""
        s = self.stages
        return pd.DataFrame(
            {
                "stage": s["stage"],
                "pieces": s["pieces"],
                "over": s["over"],
                "half by": [_days(v) for v in s["mid"]],
                "8 in 10": [
                    _days_range(a, b, m)
                    for a, b, m in zip(s["low"], s["high"], s["mid"], strict=True)
                ],
            }
        )

    def drying_shown(self) -> pd.DataFrame:
        """Days of drying by finish as printed."""
        d = self.drying
        return pd.DataFrame(
            {"finish": d["finish"], "dries": [_days(v) for v in d["days"]], "from": d["from"]}
        )

    def room(self) -> str:
        """How full the room is, in one sentence."""
        held = count(self.on_hand, "piece")
        if not self.places:
            return (
                f"Your room holds {held}; how many it has room for is not set "
                "(places in settings.toml)."
            )
        if self.full:
            return (
                f"Your room holds {held} and has {count(self.places, 'place')}: it is full, so places come "
                "before hours."
            )
        return f"Your room holds {held} and has {count(self.places, 'place')}: {self.places - self.on_hand} free."

    def sheet(self) -> Sheet:
        """The room, the days of each stage, drying, and what a place earns."""
        return Sheet(
            "Days and space",
            (
                Said((self.room(),)),
                Table(self.stages_shown(), "Days at each stage"),
                Table(self.drying_shown(), "Days a finish keeps a piece waiting"),
                Table(self.shown(), "What a place earns, and an hour"),
                Notes((_LEGEND, *self.notes)),
            ),
        )


def days_and_space(fits: Fits, *, by: Sequence[str] | str = ("furniture_type",)) -> DaysAndSpace:
    """Days by stage and profit per place and week, grouped by columns of words (`by`; none: the whole shop).

    A piece takes a place from the day it was bought until it sold or was withdrawn, or until the shop's day; a lot
    takes one. Profit as in `pay.earnings`. Raises BadQuestion for a column that does not group.
    """
    flips, settings = fits.records.flips, fits.settings
    columns = grouping((by,) if isinstance(by, str) else tuple(by), flips)
    pieces = labelled(flips, columns).join(piece_values(fits).frame)
    gone = flips["sold_on"].fillna(flips["withdrawn_on"])
    closed = flips["status"].isin(("sold", "withdrawn"))
    until = gone.where(closed, pd.Timestamp(fits.as_of))
    # a piece bought and sold on one day took the place for that day
    pieces["weeks"] = ((until - flips["bought_on"]).dt.days.clip(lower=1)) / 7
    done = pieces[~pieces["outcome"].isin(NOT_IN_PAY)]
    counted = done[done["weeks"].notna() & done["profit"].notna()]
    waits = drying(fits)
    finishes = sorted({*waits.logged, *waits.own})
    notes = []
    if len(done) > len(counted):
        notes.append(
            f"left out of the place-weeks, because the day or the price paid is missing: "
            f"{len(done) - len(counted)} of {count(len(done), 'piece')}"
        )
    stages = pd.DataFrame([asdict(s) for s in stage_days(fits)])
    never = int(flips["status"].ne("in work").sum()) - int(stages["over"].iloc[0])
    if never > 0:
        notes.append(
            f"the day the work was done is logged for {count(int(stages['over'].iloc[0]), 'piece')}; of "
            f"{never} more that came to market the record tells only from bought to listed (log "
            '"finished A-113" on the day)'
        )
    return DaysAndSpace(
        by=columns,
        table=_places_table(counted, columns),
        stages=stages,
        drying=pd.DataFrame(
            {
                "finish": [f.replace("_", " ") for f in finishes],
                "days": [waits.days(f) for f in finishes],
                "from": [waits.whose(f) for f in finishes],
            }
        ),
        on_hand=on_hand(fits),
        places=settings.places,
        level=USUAL_LEVEL,
        currency=settings.currency,
        notes=tuple(notes),
    )


def on_hand(fits: Fits) -> int:
    """How many places are taken: pieces in work or on sale, a lot counting as one."""
    return int(fits.records.flips["status"].isin(ON_HAND).sum())


def _places_table(counted: pd.DataFrame, columns: tuple[str, ...]) -> pd.DataFrame:
    keys = list(columns) if columns else [pd.Series("all", index=counted.index)]
    rows = []
    for key, part in counted.groupby(keys, sort=True):
        profit, weeks, sd = (part[c].to_numpy(float) for c in ("profit", "weeks", "profit_sd"))
        ratio = Group(profit, weeks, sd**2).ratio(USUAL_LEVEL)
        timed = part[part["hours"].notna()]
        hours = float(timed["hours"].sum())
        row = dict(zip(columns, key if isinstance(key, tuple) else (key,), strict=False))
        rows.append(
            row
            | {
                "pieces": len(part),
                "place_weeks": float(weeks.sum()),
                "profit": float(profit.sum()),
                "per_place_week": ratio.value,
                "low": ratio.low,
                "high": ratio.high,
                "unbounded": ratio.unbounded,
                "per_hour": float(timed["profit"].sum()) / hours if hours > 0 else float("nan"),
                "says": "" if len(part) >= FEWEST else TOO_FEW,
            }
        )
    names = [
        *columns, "pieces", "place_weeks", "profit", "per_place_week", "low", "high", "unbounded",
        "per_hour", "says",
    ]  # fmt: skip
    made = pd.DataFrame(rows, columns=names)
    few = made["says"] != ""
    order = made.assign(few=few).sort_values(
        ["few", "per_place_week"], ascending=[True, False], kind="stable"
    )
    return order.drop(columns="few").reset_index(drop=True)


def _money(value: float, currency: str, after: str) -> str:
    return format_money(value, currency, cents=True) + after


def _days(value: float) -> str:
    return "-" if value != value else count(int(value), "day")


def _days_range(low: float, high: float, mid: float) -> str:
    if mid != mid and low != low:
        return TOO_FEW
    if high != high:
        return f"{low:.0f} days to longer than on record"
    return count(int(low), "day") if low == high else f"{low:.0f} to {high:.0f} days"
