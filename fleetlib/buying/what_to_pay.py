"""What to pay for a find: the price at which its hours still pay the target, and what may go wrong."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import percent
from fleetlib.buying.best_buys import BestBuys, best_buys
from fleetlib.buying.find_value import FindValue, value_find, whose_target
from fleetlib.pay.promised import promises_kept
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Facts, Notes, Sheet, Shown, Table

if TYPE_CHECKING:
    from fleetlib.fits import Fits

__all__ = ["BestBuys", "BuyAdvice", "best_buys", "what_to_pay"]


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class BuyAdvice(Shown):
    """What one find is worth to the shop. Money in `currency`.

    highest_price: at this price expected profit over expected hours is the target pay. even_price: at this
    one nothing is earned or lost on average. Both below 0 when the piece is not worth taking for free.
    `table`, one row a buy price (what is asked, the highest, the even one): buy_price, what, profit,
    per_hour, chance_of_loss, chance_under_target. `moves`: what the highest price becomes when hours, asking
    prices or what it fetches turn out otherwise: change, hours, expected_net, highest_price, even_price.
    cash_back_days: expected days until the cash is back (work and sale); `cash_back_late` is the number that
    is enough 9 times out of 10.
    """

    piece: Piece
    highest_price: float
    even_price: float
    expected_net: float
    hours: float
    materials: float
    target: float
    cash_back_days: float
    cash_back_late: float
    table: pd.DataFrame = field(repr=False)
    moves: pd.DataFrame = field(repr=False)
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)
    length_unit: str = "in"

    def facts(self) -> list[tuple[str, str]]:
        """Name and value pairs for the head of the page."""
        money = self._money
        return [
            (
                "pay at most",
                f"{money(max(self.highest_price, 0.0))} for {money(self.target)} an hour",
            ),
            ("comes out even at", money(max(self.even_price, 0.0))),
            ("expected net", f"{money(self.expected_net)} under the plan, before costs"),
            ("hours, materials", f"{self.hours:.1f} h, {money(self.materials)}"),
            ("cash is back", _days(self.cash_back_days, self.cash_back_late)),
        ]

    def shown(self) -> pd.DataFrame:
        """The table of prices as printed."""
        t = self.table
        return pd.DataFrame(
            {
                "buy price": [self._money(v) for v in t["buy_price"]],
                "which is": t["what"],
                "profit": [self._money(v) for v in t["profit"]],
                "an hour": [self._money(v) for v in t["per_hour"]],
                "chance of a loss": [percent(p) for p in t["chance_of_loss"]],
                "under target": [percent(p) for p in t["chance_under_target"]],
            }
        )

    def moves_shown(self) -> pd.DataFrame:
        """How the highest price moves, as printed."""
        m = self.moves
        return pd.DataFrame(
            {
                "if": m["change"],
                "hours": [f"{h:.1f}" for h in m["hours"]],
                "net": [self._money(v) for v in m["expected_net"]],
                "pay at most": [self._money(max(v, 0.0)) for v in m["highest_price"]],
                "even at": [self._money(max(v, 0.0)) for v in m["even_price"]],
            }
        )

    def sheet(self) -> Sheet:
        """The most to pay, what each price would leave, and what moves it."""
        return Sheet(
            f"What to pay for: {self.piece.said(unit=self.length_unit)}",
            (
                Facts(tuple(self.facts())),
                Table(self.shown(), "At a buy price of"),
                Table(self.moves_shown(), "How it moves"),
                Notes(self.notes),
            ),
        )

    def _money(self, amount: float) -> str:
        return format_money(amount, self.currency)


def what_to_pay(fits: Fits, piece: Piece) -> BuyAdvice:
    """The highest price worth paying for `piece`, and what follows at that price and at the one asked.

    highest price = E[net under the plan] - materials - other costs - target x E[hours]. The chance of a loss
    is over what is uncertain about the piece and the buyers; the chance of earning under the target also
    over the hours. Net counts fees and selling cost, and no holding cost (`pay/piece_values.py`). The piece's own
    `hours` and `materials_cost`, where given, are the owner's guess for the whole job.

    Raises BadQuestion when nothing says how many hours it takes or what it may bring.
    """
    find = value_find(fits, piece)
    target, currency = fits.settings.target_hourly_pay, fits.settings.currency
    highest, even = find.highest_price(target), find.even_price
    asked = [(piece.buy_price, "as asked")] if piece.buy_price is not None else []
    rows = [*asked, (max(highest, 0.0), "pays the target"), (max(even, 0.0), "comes out even")]
    table = pd.DataFrame(
        [
            (
                price,
                what,
                find.profit(price),
                find.profit(price) / find.hours,
                find.chance_of_loss(price),
                find.chance_under(price, target),
            )
            for price, what in rows
        ],
        columns=[
            "buy_price",
            "what",
            "profit",
            "per_hour",
            "chance_of_loss",
            "chance_under_target",
        ],
    )
    wait = find.ready_days if find.ready_days == find.ready_days else 0.0
    return BuyAdvice(
        piece=piece,
        highest_price=highest,
        even_price=even,
        expected_net=find.expected_net,
        hours=find.hours,
        materials=find.materials,
        target=target,
        cash_back_days=wait + find.outcomes.expected_days,
        cash_back_late=wait + find.outcomes.days_by(0.9),
        table=table,
        moves=_moves(find, target),
        currency=currency,
        notes=_notes(fits, find, target),
        length_unit=fits.settings.length_unit,
    )


_TENTH = {"less": 0.9, "more": 1.1}


def _moves(find: FindValue, target: float) -> pd.DataFrame:
    few, many = find.hours_range
    cases = [("as expected", find.hours, find.expected_net)]
    if many > few:
        cases += [
            ("1 in 10 such jobs is quicker", few, find.expected_net),
            ("1 in 10 such jobs takes longer", many, find.expected_net),
        ]
    for said, moved in (
        ("you ask {} all along", find.with_asking),
        ("it is worth {} to buyers", find.if_it_fetches),
    ):
        cases += [(said.format(f"10% {w}"), find.hours, moved(f)) for w, f in _TENTH.items()]
    rows = []
    for change, hours, net in cases:
        even = net - find.materials - find.other
        rows.append((change, hours, net, even - target * hours, even))
    return pd.DataFrame(
        rows, columns=["change", "hours", "expected_net", "highest_price", "even_price"]
    )


def _notes(fits: Fits, find: FindValue, target: float) -> tuple[str, ...]:
    currency = fits.settings.currency
    notes = [
        f"hours: {find.hours:.1f}, {find.hours_from}; 8 times out of 10 such a job takes "
        f"{find.hours_range[0]:.1f} to {find.hours_range[1]:.1f}"
        if find.hours_range[1] > find.hours_range[0]
        else f"hours: {find.hours:.1f}, {find.hours_from}",
        f"materials: {format_money(find.materials, currency)}, {find.materials_from}",
    ]
    price, highest = find.piece.buy_price, find.highest_price(target)
    if price is not None:
        said = format_money(abs(highest - price), currency)
        if price <= highest:
            notes.append(f"at the price asked it pays your target, with {said} to spare")
        else:
            notes.append(
                f"the price asked is {said} above what still pays your target; it then pays "
                f"{format_money(find.profit(price) / find.hours, currency, cents=True)} an hour"
            )
    if find.even_price < 0:
        notes.append("not even for free: it brings less than its materials and other costs")
    elif highest < 0:
        notes.append("even for free it pays less than your target an hour")
    if not len(find.prices):
        notes.append(
            "no asking price is worth waiting for; this counts on taking the salvage value"
        )
    if find.case.gut is None:
        notes.append(
            "without a gut price for it this rests on your records alone; say what you would ask on instinct"
        )
    if find.ready_days != find.ready_days:
        notes.append(
            "how long a piece of yours takes from buying to listing is not on record; the days until the cash "
            "is back count from the listing"
        )
    kept = promises_kept(fits).sentence(currency)
    guides = fits.hours.guides_note if fits.hours else ()
    target_note = whose_target(fits.settings)
    return (*notes, *target_note, *([kept] if kept else []), *guides, *fits.notes)


def _days(expected: float, late: float) -> str:
    return f"after about {expected:.0f} days; 9 times out of 10 within {late:.0f}"
