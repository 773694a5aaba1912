"""One readable page for one piece, and one table for everything on hand."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from fleetlib.base.errors import TooFewSales
from fleetlib.base.level import USUAL_LEVEL
from fleetlib.base.money import format_money
from fleetlib.base.noted import coded
from fleetlib.base.progress import counted
from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.base.threads import one_thread
from fleetlib.care.caution_sheet import Caution, cautions_for
from fleetlib.fits import Fits
from fleetlib.pay.one_piece import HourlyPay, hourly_pay
from fleetlib.pay.work_order import WorkOrder, what_next
from fleetlib.plan.markdowns import MarkdownPlan, plan
from fleetlib.price.estimate import PriceEstimate, estimate
from fleetlib.price.own_price import counting_own_price
from fleetlib.records.piece import Piece, piece_from_row, said_once, with_what
from fleetlib.shown.html_blocks import (
    escape,
    folded_html,
    notes_html,
    wrap,
)
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table
from fleetlib.week.short_answer import (
    how_sure,
    standing_cautions,
    still_unsold,
    what_to_ask,
    why,
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Advice(Shown):
    """Everything fleetlib says about one piece. `estimate` is None when there are under 5 sales.

    `outside` is why the ask is not in its range, "" where it is.
    """

    piece: Piece
    estimate: PriceEstimate | None = field(repr=False)
    plan: MarkdownPlan = field(repr=False)
    hourly: HourlyPay | None
    cautions: tuple[Caution, ...] = field(repr=False)
    currency: str
    notes: tuple[str, ...] = ()
    outside: str = ""
    settings: Settings = field(default_factory=Settings, repr=False)

    @property
    def table(self) -> pd.DataFrame:
        """The plan's dated asking prices."""
        return self.plan.table

    def sheet(self) -> Sheet:
        """The short answer, the estimate, the plan, what an hour brings, and the cautions."""
        priced = () if self.estimate is None else (self.estimate.sheet(),)
        hourly = () if self.hourly is None else (self.hourly.sentence(self.currency),)
        return Sheet(
            title(self.piece),
            (
                Said(tuple(self.short)),
                *priced,
                self.plan.sheet(),
                Notes((*hourly, *self.notes)),
                Notes(tuple(c.line for c in self.cautions), "Take care"),
            ),
        )

    def _repr_html_(self) -> str:
        return self.first_html() + self.rest_html()

    def rest_html(self) -> str:
        """The plan in full and the reasons, folded away."""
        said = ([self.hourly.sentence(self.currency)] if self.hourly else []) + list(self.notes)
        plan = self.plan._repr_html_() + wrap(notes_html(said))
        folded = folded_html("The plan, other plans and what they bring", plan)
        if self.estimate is not None:
            reasons = self.estimate._repr_html_()
            folded += folded_html("Why this price, and your sales behind it", reasons)
        return folded

    @property
    def short(self) -> list[str]:
        """The answer in a few lines: what to ask, why out of its range, beside the best before, why, how sure."""
        lines = [
            what_to_ask(self.plan),
            self.outside,
            self.plan.standing,
            why(self.plan, self.estimate),
            how_sure(self.plan, self.estimate),
            still_unsold(self.plan, self.estimate),
        ]
        return [line for line in lines if line]

    def first_html(self) -> str:
        """The short answer in large letters, then the gravest cautions; the other cautions folded below."""
        ask, *rest = self.short
        standing, others = standing_cautions(self.cautions)
        care = wrap(notes_html([c.line for c in standing]), heading="Take care") if standing else ""
        more = notes_html([c.line for c in others])
        lines = "".join(f"<p>{escape(line)}</p>" for line in rest)
        large = '<p style="font-size:1.6em;line-height:1.3;font-weight:600;margin:.3em 0">'
        return "".join(
            [
                wrap(f"{large}{escape(ask)}</p>{lines}", heading=title(self.piece)),
                care,
                folded_html(f"{len(others)} more cautions for this piece", wrap(more))
                if others
                else "",
            ]
        )


_NOTHING_ON_HAND = "Nothing is on hand: every piece on record is sold or withdrawn."
NOTHING_ON_RECORD = (
    "Nothing is on record yet. Put your spreadsheet into the folder as flips.csv or flips.xlsx, one row a piece (past "
    'sales first: they are what a price is learned from), or log a first piece: fleetlib log "bought A-1 for 80 '
    'furniture_type=dresser". Then see how it was read: fleetlib check FOLDER'
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class AdviceList(Shown):
    """Every piece on hand: `table` in numbers (money columns as floats), `work` the unfinished ones in order; `pieces`
    counts the whole record."""

    table: pd.DataFrame = field(repr=False)
    work: WorkOrder | None = field(repr=False)
    currency: str
    level: float
    notes: tuple[str, ...] = ()
    pieces: int = 0

    def shown(self, status: str) -> pd.DataFrame:
        """The pieces of one status ("listed" or "in work") as printed: amounts in the shop's currency."""
        t = self.table[self.table["status"] == status]

        def amounts(column: str) -> list[str]:
            return [format_money(v, self.currency) for v in t[column]]

        steps = zip(t["next_markdown"], t["next_price"], strict=True)
        later = [
            f"{day_said(d)} {format_money(p, self.currency)}" if pd.notna(d) else "-"
            for d, p in steps
        ]
        return said_once(
            pd.DataFrame(
                {
                    "piece": t["piece"].to_list(),
                    "what": t["what"].to_list(),
                    "low": amounts("low"),
                    "mid": amounts("mid"),
                    "high": amounts("high"),
                    "ask": [
                        ("*" if _beyond(ask, low, high, self.currency) else "")
                        + format_money(ask, self.currency)
                        for ask, low, high in zip(
                            t["asking_price"], t["low"], t["high"], strict=True
                        )
                    ],
                    "next markdown": later,
                    "lowest offer": amounts("lowest_offer"),
                }
            )
        )

    def _parts(self) -> list[tuple[str, pd.DataFrame]]:
        named = (("On the market", "listed"), ("Still in work, as if listed today", "in work"))
        return [
            (heading, self.shown(s)) for heading, s in named if (self.table["status"] == s).any()
        ]

    def _legend(self) -> str:
        return (
            f"low to high: {self.level * 10:.0f} times out of 10 such a piece of yours sells between these, asked as "
            "your past pieces were; mid: as often above as below. ask: what to ask now; it also counts your own price "
            "for the piece, which knows what the records cannot. *: that takes the ask out of the range, and the "
            "piece's own page tells why. next markdown: when to come down and to what if unsold. lowest offer: the "
            "least worth taking now; it counts how long a piece has stayed unsold, which low to high do not."
        )

    def sheet(self) -> Sheet:
        """The pieces on the market, those still in work, what the columns mean, and what to work on next."""
        if self.table.empty:
            return Sheet("", (Said((_NOTHING_ON_HAND if self.pieces else NOTHING_ON_RECORD,)),))
        tables = (Table(shown, heading) for heading, shown in self._parts())
        work = () if self.work is None else (self.work.sheet(),)
        return Sheet("", (*tables, Notes((self._legend(), *self.notes)), *work))


def title(piece: Piece) -> str:
    """A piece in a few words: `A-113: oak sideboard, oil`."""
    finish = f", {_words(piece.finish)}" if piece.finish else ""
    return with_what(piece.piece, piece.what, mark=": ") + finish


def _words(word: str) -> str:
    return str(word).replace("_", " ")


@one_thread()
def advise(fits: Fits, piece: Piece, *, level: float = USUAL_LEVEL) -> Advice:
    """Estimate, plan, expected pay per hour and cautions for one piece. Writes nothing.

    `level` is the share of the range: 0.80 means 8 times out of 10. Under 5 sales the estimate is None and
    the plan works from the owner's own price.
    """
    notes: tuple[str, ...] = ()
    priced: PriceEstimate | None = None
    try:
        priced = estimate(fits, piece, level=level)
    except TooFewSales as few:
        notes = (str(few),)
    planned = plan(fits, piece)
    return Advice(
        piece=piece,
        estimate=priced,
        plan=planned,
        hourly=hourly_pay(fits, piece, planned),
        cautions=cautions_for(piece, currency=fits.settings.currency),
        currency=fits.settings.currency,
        notes=notes,
        outside=_outside_range(priced, planned),
        settings=fits.settings,
    )


def _outside_range(priced: PriceEstimate | None, planned: MarkdownPlan) -> str:
    """Why the ask is not in the range it stands beside; "" where it is."""
    if priced is None or planned.take_salvage_now:
        return ""
    ask = float(planned.table["asking_price"].iloc[0])
    low, high, said = (format_money(v, planned.currency) for v in (priced.low, priced.high, ask))
    if not _beyond(ask, priced.low, priced.high, planned.currency):
        return ""
    if ask > priced.high and planned.ask_now is None:
        return (
            f"The ask of {said} is above the range on purpose. {low} to {high} is what such a piece sells for, "
            "asked as your past pieces were; the ask leaves room for the buyer who would pay more, so that it sells "
            f"above it more often than that, and comes down when none does.{_instead(planned)}"
        )
    if ask > priced.high:
        return (
            f"Its ask of {said} is above the range: such pieces sell for {low} to {high}. What the plan makes of that "
            "counts your own price and the days it has been unsold."
        )
    if ask < priced.low and planned.ask_now is None:
        why = (
            "it is the highest that your past asks support; you may try more"
            if planned.first_price_at_cap
            else "at more it is expected to sit for longer than the gain is worth"
        )
        return f"The ask of {said} is below the range: such pieces sell for {low} to {high}, but {why}."
    return (
        f"Its ask of {said} is below the range: such pieces sell for {low} to {high}. A plan never puts a price up "
        "by itself; you may."
    )


def _beyond(ask: float, low: float, high: float, currency: str) -> bool:
    """Whether `ask` is out of the range as both are printed."""
    ends = (format_money(low, currency), format_money(high, currency))
    return (ask < low or ask > high) and format_money(ask, currency) not in ends


def _instead(planned: MarkdownPlan) -> str:
    """What the plainest other way would bring, and how soon."""
    if len(planned.alternatives) < 2:
        return ""
    mine, other = planned.alternatives.iloc[0], planned.alternatives.iloc[1]
    what = str(other["what"]).replace("hold", "Holding", 1)
    less = format_money(max(float(other["gain"]), 0.0), planned.currency)
    return (
        f" {what}, is expected to bring {less} less, in {other['expected_days']:.0f} days "
        f"instead of {mine['expected_days']:.0f}."
    )


@one_thread()
def advise_all(fits: Fits, *, level: float = USUAL_LEVEL) -> AdviceList:
    """Every listed or unfinished piece in one table; unfinished work ranked by what to do next.

    Table columns: piece, what, status, low, mid, high (money, NaN under 5 sales), asking_price,
    next_markdown (date), next_price, lowest_offer, expected_net (money), expected_days.
    """
    flips = fits.records.flips
    on_hand = flips[flips["status"].isin(["listed", "in work"])]
    pieces = [piece_from_row(row) for _, row in on_hand.iterrows()]
    if fits.prices is not None:
        fits.prices.tell_together(pieces)
    rows = [
        _row(fits, piece, str(status), level)
        for piece, status in counted(
            "pieces priced", list(zip(pieces, on_hand["status"], strict=True))
        )
    ]
    columns = ["piece", "what", "status", "low", "mid", "high", "asking_price"]
    columns += ["next_markdown", "next_price", "lowest_offer", "expected_net", "expected_days"]
    table = pd.DataFrame(rows, columns=columns).sort_values(
        ["status", "expected_net"], ascending=[False, False], kind="stable", ignore_index=True
    )
    unfinished = bool((on_hand["status"] == "in work").any())
    return AdviceList(
        table=table,
        work=what_next(fits) if unfinished else None,
        currency=fits.settings.currency,
        level=level,
        notes=(*fits.notes, *coded(fits.records.notes, "unread leaving")),
        pieces=len(flips),
    )


def _row(fits: Fits, piece: Piece, status: str, level: float) -> dict[str, object]:
    planned = plan(fits, piece, alternatives=False)
    steps = planned.table
    later = steps.iloc[1] if len(steps) > 1 else None
    low = mid = high = float("nan")
    if fits.prices is not None:
        spread = fits.prices.distribution(piece)
        if piece.gut_price:
            spread = counting_own_price(fits.prices, spread, float(piece.gut_price))
        tail = (1 - level) / 2
        low, mid, high = (float(spread.quantile(p)) for p in (tail, 0.5, 1 - tail))
    return {
        "piece": piece.piece,
        "what": piece.what,
        "status": status,
        "low": low,
        "mid": mid,
        "high": high,
        "asking_price": float(steps["asking_price"].iloc[0]),
        "next_markdown": pd.NaT if later is None else pd.Timestamp(later["from_date"]),
        "next_price": float("nan") if later is None else float(later["asking_price"]),
        "lowest_offer": float(steps["lowest_offer"].iloc[0]),
        "expected_net": planned.expected_net,
        "expected_days": planned.expected_days,
    }
