"""What to know about a plan, in sentences: what it rests on, where it is unsure, what the owner may do."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.base.said import count, day_said
from fleetlib.plan.case import Case
from fleetlib.plan.offers import OfferAnswer
from fleetlib.plan.solver.path import PricePath
from fleetlib.records.own_price import STANDS_IN

if TYPE_CHECKING:
    from fleetlib.fits import Fits

_WORTH_SAYING = 0.05  # of the usual price
_SHORT = 6  # weeks left in which a plan has to hurry


class Beside(NamedTuple):
    """What a plan stands beside.

    near: the best plan within what was tried, where this one goes beyond; raised: the best one of a listed piece put
    up today, where that is worth saying (see plan/comparisons.py); at_cap: the first ask is the highest supported.
    """

    near: PricePath | None
    raised: PricePath | None
    offer: OfferAnswer | None
    at_cap: bool
    least_cash_cost: float


def plan_notes(
    fits: Fits,
    case: Case,
    path: PricePath,
    beside: Beside,
    *,
    thorough: bool,
) -> tuple[str, ...]:
    """The notes of one plan, the most urgent first; `thorough` adds what needs more planning to know."""
    near, raised, offer, at_cap, least_cash_cost = beside
    notes: list[str] = []
    notes += _offer_notes(case, offer)
    notes += _undated_notes(fits)
    notes += _salvage_notes(case, path, raised)
    notes += _listed_notes(case, path)
    notes += _value_notes(case)
    if case.gut is not None and case.piece.gut_price is not None and _stands_in(fits, case):
        notes.append(
            f"No gut price on record; the first ask, {_money(case, case.gut)}, stands in for it."
        )
    if near is not None:
        notes.append(
            f"The first ask, {_money(case, path.prices[0])}, is more for its worth than nearly all you have asked so "
            f"far (up to {_money(case, case.hazard.highest_tried)} for such a piece), and how buyers answer that is "
            f"{fits.selling.learned}. The best plan within what you have tried stands beside it."
        )
    if at_cap:
        notes.append(
            f"The first ask, {_money(case, case.asks[-1])}, is the highest your records support: nothing "
            "like it was ever asked more for its worth. You may be under-asking: try one such piece higher."
        )
    if case.so_far is None and case.floor_over_cap:
        notes.append(
            f"The least ask, {_money(case, case.asks[0])} (the floor on your price steps), is above the highest your "
            f"records support for this piece, {_money(case, case.hazard.highest_ask)}: it may well not sell."
        )
    if case.settings.least_cash > case.salvage:
        cost = f" It costs {_money(case, least_cash_cost)} of expected net." if thorough else ""
        notes.append(
            f"Your least cash of {_money(case, case.settings.least_cash)} sets the floor, above the salvage "
            f"value of {_money(case, case.salvage)}.{cost}"
        )
    if thorough and len(path.bolder):
        notes.append(_habit_note(case, path, path.bolder))
    if thorough:
        notes += _raise_note(case, path, raised)
        notes += fits.selling.notes
    return tuple(notes)


def _stands_in(fits: Fits, case: Case) -> bool:
    """Whether the record's first ask was put in for a gut price that is not on record."""
    if "stand-ins" not in fits.kept:
        changes, flips = fits.records.changes, fits.records.flips
        lines = changes.loc[
            changes["column"].eq("gut_price") & changes["why"].eq(STANDS_IN), "line"
        ]
        fits.kept["stand-ins"] = set(flips.loc[flips["line"].isin(lines), "piece"].astype(str))
    return bool(case.piece.piece) and case.piece.piece in fits.kept["stand-ins"]


def _money(case: Case, amount: float) -> str:
    return format_money(amount, case.settings.currency)


def _undated_notes(fits: Fits) -> list[str]:
    """That the dates rest on no sale of the owner's, where none has both its days."""
    if fits.selling.sold:
        return []
    sold = int((fits.records.flips["status"] == "sold").sum())
    said = (
        f"none of your {sold} sale{'s' * (sold > 1)} has both the day it was listed and the day it sold"
        if sold
        else "nothing of yours has sold yet"
    )
    return [
        f"Take these dates as a plain rule, not as a plan from your own sales: {said}, so how soon such a piece sells "
        "is assumed. Both days, written down for each piece, would teach it."
    ]


def _offer_notes(case: Case, offer: OfferAnswer | None) -> list[str]:
    notes = []
    if offer is not None:
        logged = case.so_far.offer if case.so_far is not None else None
        still = ""
        if logged is not None and logged[1] == offer.amount:
            still = f" It was logged on {day_said(logged[0])}: make sure that it still stands."
        notes.append(f"{offer}{still}")
    if case.so_far is not None and (case.so_far.enquiries or case.so_far.offers):
        seen = [
            f"{count} {word if count == 1 else many}"
            for count, word, many in (
                (case.so_far.enquiries, "enquiry", "enquiries"),
                (case.so_far.offers, "offer", "offers"),
            )
            if count
        ]
        notes.append(
            f"{' and '.join(seen)} logged. The plan starts again from today but reads no more into them: the "
            "records cannot tell how many enquiries make a sale."
        )
    return notes


def _salvage_notes(case: Case, path: PricePath, raised: PricePath | None) -> list[str]:
    worth = _money(case, case.salvage)
    if path.salvage_now and raised is not None:
        return [
            f"At today's ask it is not worth waiting: put it up to {_money(case, raised.prices[0])}, which is expected "
            f"to bring {_money(case, raised.expected_net)}, or take the salvage value, about {worth}, now."
        ]
    if path.salvage_now:
        return [
            f"Take the salvage value, about {worth}, now: no asking price is expected to bring more than that "
            f"after {_money(case, case.holding)} a week of waiting."
        ]
    if len(path.prices) < len(case.dates) - 1:
        weeks = f"last {case.last_weeks}" if case.past_horizon else case.settings.horizon_weeks
        return [
            f"Unsold by {day_said(case.dates[len(path.prices)])}, waiting costs more than it brings: take the "
            f"salvage value, about {worth}, then, before the {weeks} weeks are over."
        ]
    return []


def _listed_notes(case: Case, path: PricePath) -> list[str]:
    so_far, s = case.so_far, case.settings
    if so_far is None:
        if case.piece.listed_on is not None and case.piece.listed_on <= case.as_of:
            return [
                "It is listed, but no asking price is on record: planned as if it were listed today. Enter its asking "
                "price, and the weeks it has been unsold will count."
            ]
        return []
    notes = []
    tried = f"{_money(case, so_far.asks[0])}"
    if len(so_far.asks) > 1:
        tried += f" to {_money(case, so_far.ask)}"
    days = count(so_far.days, "day")
    if case.piece.listed_on is None:
        notes.append(
            f"It is asked {tried} but has no listing day on record, so the plan counts from today. Write the day down."
        )
    else:
        notes.append(
            f"Listed {days} so far at {tried}, unsold: the plan starts from today and counts that as evidence."
        )
    if case.past_horizon:
        notes.append(
            f"That is past {_whose(case, 'horizon_weeks')} {s.horizon_weeks} weeks, when it was to go for salvage, "
            f"about {_money(case, case.salvage)}{_share_note(case)}. So any offer from about "
            f"{_money(case, case.floor)} is within those terms; this plan comes down from where it stands by "
            f"{day_said(case.dates[-1])} instead."
        )
    elif path.markdowns and case.dates[-1] - case.as_of < timedelta(weeks=_SHORT):
        notes.append(
            f"It must be gone by {day_said(case.dates[-1])}, {_whose(case, 'horizon_weeks')} {s.horizon_weeks} weeks "
            "from its listing, so the plan comes down fast. Raise horizon_weeks in settings.toml if you would rather "
            "wait."
        )
    if not case.past_horizon and so_far.markdowns >= s.most_markdowns:
        notes.append(
            f"Its markdowns ({so_far.markdowns} of at most {s.most_markdowns}) are used up, so the ask stays."
        )
    if so_far.paused:
        notes.append("It is off the market now; the plan counts on it being put up again today.")
    if so_far.ask < case.floor - 1e-9:
        why = (
            "a sale at that price brings less than your own least cash."
            if s.least_cash > case.salvage
            else "at that price the salvage value is the better deal."
        )
        notes.append(
            f"It is asked {_money(case, so_far.ask)}, which is under its floor of {_money(case, case.floor)}: {why}"
        )
    return notes


def _whose(case: Case, key: str) -> str:
    """Whose figure a setting is: the owner's own, or the kit's where nobody chose one."""
    return "your own" if key in case.settings.chosen else "the kit's (you chose none)"


def _share_note(case: Case) -> str:
    if "salvage_share" in case.settings.chosen:
        return ""
    return f" ({case.settings.salvage_share:.0%} of its usual price, the kit's figure: set salvage_share)"


def _value_notes(case: Case) -> list[str]:
    notes = []
    if case.usual_from == "gut price":
        notes.append(
            f"With too few sales on record for an estimate, the plan works from your gut price, "
            f"{_money(case, case.usual)}."
        )
    elif case.usual_from == "asking price":
        notes.append(
            f"With too few sales on record and no gut price, the plan works from today's ask, "
            f"{_money(case, case.usual)}."
        )
    elif case.usual_from == "its place among the kinds":
        notes.append(
            f"With no sale and no gut price to go by, the plan works from what went into the piece and where its kind "
            f"stands among the others, {_money(case, case.usual)}: a wide guess. Write down your own price."
        )
    elif case.gut is None:
        notes.append(
            "No gut price for this piece: what you would ask on instinct tells what the records cannot see. Write "
            "it down before you look at a plan; without it the plan is a few per cent poorer."
        )
    elif case.piece.gut_price is None:
        notes.append(
            f"No gut price on record; the first ask, {_money(case, case.gut)}, stands in for it."
        )
    if case.usual_from == "sales" and case.gut is not None:
        notes += _own_price_note(case, case.gut)
    return notes


def _own_price_note(case: Case, gut: float) -> list[str]:
    """Where the owner's price moves what the plan takes the piece to be worth by more than a twentieth."""
    worth = float(np.exp(case.hazard.log_anchor))
    if abs(worth / case.usual - 1) < _WORTH_SAYING:
        return []
    return [
        f"The records alone say {_money(case, case.usual)}; counting your own price of {_money(case, gut)}, the plan "
        f"takes this piece to be worth about {_money(case, worth)}. You see what the records cannot, and past pieces "
        "show how much your price says."
    ]


def _habit_note(case: Case, path: PricePath, bolder: np.ndarray) -> str:
    """Of a plan nearer to the owner's habit than the one expected to bring most."""
    gain, doubt = case.gain_and_doubt(case.as_path(bolder), path)
    return (
        f"A bolder plan, from {_money(case, bolder[0])}, is expected to bring {_money(case, max(gain, 0.0))} more, "
        f"unsure by {_money(case, doubt)} either way. Where plans differ by less than your records are unsure of, the "
        "one nearer to your own price is the plan."
    )


def _raise_note(case: Case, path: PricePath, raised: PricePath | None) -> list[str]:
    """For a piece newly listed and asked too little: plans only come down, but the owner may put it up."""
    if raised is None or path.salvage_now:
        return []
    return [
        f"It looks asked too little: put up to {_money(case, raised.prices[0])} it is expected to bring "
        f"{_money(case, raised.expected_net - path.expected_net)} more. A plan never puts a price up by itself."
    ]
