"""What is due today: offers that wait, markdowns, pieces past their plan, the next work, missing entries."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import count, day_said
from fleetlib.fits import Fits
from fleetlib.pay.work_order import what_next
from fleetlib.plan.markdown_plan import MarkdownPlan
from fleetlib.plan.markdowns import plan
from fleetlib.plan.saved import Saved, last_saved
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.piece import Piece, piece_from_row, said_once, with_what
from fleetlib.shown.sheet import Notes, Points, Said, Sheet, Shown, Table

# The order in which things are told, with the heading of each.
_HEADINGS = {
    "offer": "An offer waits for your answer",
    "markdown": "Come down today",
    "past plan": "Past the end of its plan",
    "let go": "Not worth more weeks of waiting",
    "work": "Work on next",
    "entry": "The records wait for",
}
_DUE = ["kind", "since", "piece", "what", "do", "type"]
_CARDS = [
    "piece",
    "what",
    "status",
    "ask_now",
    "ask",
    "lowest_offer",
    "next_date",
    "next_price",
    "ends_on",
    "days",
]


_Due = tuple[str, date, str, str, str, str]
_TO_LOG = (
    "goes into `fleetlib log` or, on the phone, into inbox.txt (what begins with fleetlib is typed as it stands); "
    "`...` is yours to fill in."
)
TYPED, SHADED = f"What stands after » {_TO_LOG}", f"What is shaded {_TO_LOG.replace('`', '')}"


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Today(Shown):
    """What is due on `as_of`.

    table   one row a thing to do, the most pressing first: kind (offer, markdown, past plan, let go, work,
            entry), since (the day it fell due), piece, what (the piece in words), do (what to do, in a sentence), type
            (the line for `fleetlib log` or inbox.txt once it is done, `...` where an amount of yours belongs; or a
            command)
    cards   one row a piece on hand: piece, what, status, ask_now and ask (money: in force, and by the plan),
            lowest_offer (money), next_date, next_price, ends_on, days (on the market)
    plans   the plan of each of them, in the same order
    """

    as_of: date
    currency: str
    table: pd.DataFrame = field(repr=False)
    cards: pd.DataFrame = field(repr=False)
    plans: tuple[MarkdownPlan, ...] = field(default=(), repr=False)
    notes: tuple[str, ...] = field(default=(), repr=False)

    def parts(self) -> list[tuple[str, pd.DataFrame]]:
        """Heading and rows (piece, what, do, type) of each kind of thing that is due."""
        return [
            (heading, shown)
            for kind, heading in _HEADINGS.items()
            if len(
                shown := self.table.loc[self.table["kind"] == kind, ["piece", "what", "do", "type"]]
            )
        ]

    def shown_cards(self) -> pd.DataFrame:
        """The pieces on hand as printed."""
        t = self.cards

        def money(column: str) -> list[str]:
            return [format_money(v, self.currency) if v == v else "-" for v in t[column]]

        steps = zip(t["next_date"], money("next_price"), strict=True)
        return said_once(
            pd.DataFrame(
                {
                    "piece": t["piece"],
                    "what": t["what"],
                    "ask": money("ask"),
                    "lowest offer": money("lowest_offer"),
                    "next": [f"{p} on {day_said(d)}" if pd.notna(d) else "-" for d, p in steps],
                }
            )
        )

    @property
    def title(self) -> str:
        """`Today, Wednesday 30 Sep 2026`."""
        return f"Today, {self.as_of.strftime('%A')} {day_said(self.as_of)}"

    def sheet(self) -> Sheet:
        """What is due, kind by kind, each with the line to type; the pieces on hand; notes."""
        due = (
            Points(
                tuple(
                    (
                        f"{with_what(name, what)}: {do}" if name else do,
                        (f"» {typed}",) if typed else (),
                    )
                    for name, what, do, typed in rows.astype("str").itertuples(
                        index=False, name=None
                    )
                ),
                heading,
                typed=True,
            )
            for heading, rows in self.parts()
        )
        none = ("Nothing is due.",) if self.table.empty else ()
        on_hand = Table(self.shown_cards(), "On hand")
        return Sheet(self.title, (Said(none), *due, on_hand, Notes(tuple(self._notes()))))

    def _notes(self) -> list[str]:
        logged = self.table["type"].ne("") & ~self.table["type"].str.startswith("fleetlib")
        return [*([TYPED] if logged.any() else []), *self.notes]

    def card_facts(self) -> list[dict[str, str]]:
        """Each piece on hand as name and value pairs in words, for the page: name, what, ask, offer, later."""
        shown = self.shown_cards()
        return [
            {
                "name": str(r["piece"]),
                "what": str(r.get("what", "")),
                "ask": str(r["ask"]),
                "offer": str(r["lowest offer"]),
                "later": "" if r["next"] == "-" else str(r["next"]),
            }
            for _, r in shown.iterrows()
        ]


def today(fits: Fits, *, last_backup: date | None = None, backups_wanted: bool = False) -> Today:
    """What is due on the records' day, most pressing first. Writes nothing.

    A markdown is due by the plan last saved for the piece where there is one, else by today's plan. With
    `backups_wanted` a reminder is given where `last_backup` is older than the settings' `backup_days` or there is none.
    """
    flips, as_of, currency = fits.records.flips, fits.records.as_of, fits.settings.currency
    on_hand = flips[flips["status"].isin(["listed", "in work"])]
    due: list[_Due] = []
    cards: list[dict[str, object]] = []
    plans: list[MarkdownPlan] = []
    rows = [row for _, row in on_hand.iterrows()]
    pieces = [piece_from_row(row) for row in rows]
    if fits.prices is not None:
        fits.prices.tell_together(pieces)
    for piece, row in zip(pieces, rows, strict=True):
        status = str(row["status"])
        made = plan(fits, piece, alternatives=False)
        plans.append(made)
        cards.append(_card(piece, status, made, row))
        if status == "listed":
            saved = last_saved(fits.records.advice_log, piece.piece, as_of)
            due += _of_listing(piece, made, saved, as_of, currency)
    if (on_hand["status"] == "in work").any():
        due += _next_work(fits, as_of)
    due += _entries(fits, as_of)
    most = fits.settings.backup_days if backups_wanted else 0
    if most and (last_backup is None or as_of - last_backup > timedelta(days=most)):
        since = "the last is of " + day_said(last_backup) if last_backup else "there is none yet"
        due.append(
            ("entry", as_of, "", "", f"a backup of this folder ({since})", "fleetlib backup")
        )
    order = list(_HEADINGS)
    due.sort(key=lambda d: (order.index(d[0]), d[1]))
    return Today(
        as_of=as_of,
        currency=currency,
        table=pd.DataFrame(due, columns=_DUE),
        cards=pd.DataFrame(cards, columns=_CARDS),
        plans=tuple(plans),
    )


def _card(piece: Piece, status: str, made: MarkdownPlan, row: pd.Series) -> dict[str, object]:
    steps = made.table
    later = steps.iloc[1] if len(steps) > 1 else None
    days = row.get("days_listed")
    return {
        "piece": piece.piece,
        "what": piece.what,
        "status": status,
        "ask_now": float("nan") if made.ask_now is None else made.ask_now,
        "ask": float(steps["asking_price"].iloc[0]),
        "lowest_offer": float(steps["lowest_offer"].iloc[0]),
        "next_date": pd.NaT if later is None else pd.Timestamp(later["from_date"]),
        "next_price": float("nan") if later is None else float(later["asking_price"]),
        "ends_on": made.ends_on,
        "days": float(days) if pd.notna(days) else float("nan"),
    }


def _of_listing(
    piece: Piece,
    made: MarkdownPlan,
    saved: Saved | None,
    as_of: date,
    currency: str,
) -> list[_Due]:
    """What is due for one piece on the market: an offer's answer, a markdown, the end of its plan."""
    name, what = str(piece.piece), piece.what
    found: list[_Due] = []
    if made.offer is not None:
        amount = shown(made.offer.amount)
        line = (
            f"sold {_named(name)} for {amount}"
            if made.offer.take
            else f"offer refused {_named(name)}"
        )
        found.append(("offer", as_of, name, what, str(made.offer), line))
    ask_now = made.ask_now
    if saved is not None and piece.listed_on is not None:
        saved = saved.from_day(piece.listed_on)
    begun = [day for day in saved.steps.days if day <= as_of] if saved is not None else []
    if saved is not None and begun and saved.ends <= as_of:
        salvage = format_money(made.salvage, currency)
        said = f"its plan ended on {day_said(saved.ends)}; plan it anew, or let it go for about {salvage}"
        found.append(
            ("past plan", saved.ends, name, what, said, f"fleetlib price --piece {_named(name)}")
        )
    elif made.take_salvage_now:
        salvage = format_money(made.salvage, currency)
        found.append(
            (
                "let go",
                as_of,
                name,
                what,
                f"let it go for what it brings, about {salvage}",
                f"sold {_named(name)} for ...",
            )
        )
    elif ask_now is not None:
        since, price = (
            (begun[-1], saved.steps.on(as_of))
            if saved is not None and begun
            else (as_of, float(made.table["asking_price"].iloc[0]))
        )
        if price < ask_now:
            late = f" (due since {day_said(since)})" if since < as_of else ""
            new, old = format_money(price, currency), format_money(ask_now, currency)
            line = f"marked down {_named(name)} to {shown(price)}"
            found.append(("markdown", since, name, what, f"from {old} to {new}{late}", line))
    return found


def _next_work(fits: Fits, as_of: date) -> list[_Due]:
    order = what_next(fits)
    if order.table.empty:
        return []
    first = order.shown().iloc[0]
    left = order.table["hours_left"].iloc[0]
    said = f"about {left:.1f} hours left" if left == left else "it brings most of what waits"
    if order.first_is_poor:
        said += f", {order.first_is_poor}"
    name = str(first["piece"])
    return [
        ("work", as_of, name, str(first.get("what", "")), said, f"worked {_named(name)} ... min")
    ]


def _entries(fits: Fits, as_of: date) -> list[_Due]:
    """What the records lack that an answer needs."""
    flips = fits.records.flips
    checks = (
        (
            (flips["status"] == "sold")
            & flips["sale_price"].isna()
            & ~flips["line"].isin(fits.records.no_price),
            "what it sold for",
            "sold {} for ...",
        ),
        (
            (flips["status"] == "in work") & flips["hours"].isna(),
            "the hours worked so far",
            "worked {} ... min",
        ),
        (
            (flips["status"] == "listed") & flips["asking_price"].isna(),
            "its asking price",
            "asking {} ...",
        ),
        (
            (flips["status"] == "listed") & flips["listed_on"].isna(),
            "the day it was listed",
            "listed {} at ... on ...",
        ),
    )
    found: list[_Due] = []
    for mask, lacks, line in checks:
        for _, row in flips[mask].iterrows():
            name = str(row["piece"])
            twice = name in fits.records.alike  # nothing can be logged on those
            typed = "" if twice else line.format(_named(name))
            told = f"{lacks}, in {fits.records.name} itself" if twice else lacks
            found.append(("entry", as_of, name, str(row["furniture_type"]), told, typed))
    asked = len(fits.records.to_answer)
    if asked:
        found.append(
            (
                "entry",
                as_of,
                "",
                "",
                f"answers to {count(asked, 'question')} about what you typed",
                "fleetlib check",
            )
        )
    return found


def _named(name: str) -> str:
    """The name as a line takes it: in quotes where it is of several words."""
    return f'"{name}"' if " " in name else name


def photo_of(folder: Path, name: str) -> Path | None:
    """The photograph `photos/NAME.jpg` of a piece in the shop folder, or None."""
    place = folder / "photos"
    found = [place / f"{name}{end}" for end in (".jpg", ".jpeg", ".JPG", ".png")]
    return next((p for p in found if "/" not in name and "\\" not in name and p.is_file()), None)
