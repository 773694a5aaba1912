"""The markdown plan of one piece: dated asking prices, chance sold, lowest offers, what it is worth."""

from __future__ import annotations

from datetime import date
from functools import cache, partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import format_money
from fleetlib.base.threads import one_thread
from fleetlib.plan.best_of_kind import best_of_kind, standing
from fleetlib.plan.case import Case
from fleetlib.plan.comparisons import (
    alternatives_table,
    least_cash_cost,
    raised_path,
    what_if_table,
    within_tried,
)
from fleetlib.plan.markdown_plan import MarkdownPlan
from fleetlib.plan.notes import Beside, plan_notes
from fleetlib.plan.offers import OfferAnswer, TogetherOffer, answer_to, lowest_offers, rounded_offer
from fleetlib.plan.planned import planned
from fleetlib.plan.saved import kept_or_changed
from fleetlib.plan.solver.path import PricePath
from fleetlib.records.piece import Piece
from fleetlib.selling.fit import eight_in_ten
from fleetlib.selling.hazard import Hazard

if TYPE_CHECKING:
    from fleetlib.fits import Fits

_BETTER = 0.05  # log of the own price over the usual one from which it tells of a better piece

__all__ = ["MarkdownPlan", "OfferAnswer", "TogetherOffer", "lowest_for_two", "plan"]


@one_thread()
def plan(
    fits: Fits,
    piece: Piece,
    *,
    as_of: date | None = None,
    alternatives: bool = True,
    offer: float | None = None,
) -> MarkdownPlan:
    """Plan the asking prices of `piece` from `as_of` (default: the day the records are worked out for).

    A piece still in work is planned as if listed on `as_of`; a listed one starts from today with the weeks it
    has been unsold and the prices tried. `offer` is an offer on the table; left out, the latest one logged
    in the last 7 days. `alternatives=False` leaves out the comparisons, for lists.

    Raises BadQuestion for a piece already sold or withdrawn, an offer that is no amount, or a piece of which
    nothing says what it may bring.
    """
    if offer is not None and not (np.isfinite(offer) and offer > 0):
        raise BadQuestion(f"The offer is {offer}; it must be an amount above 0.")
    case, best = planned(fits, piece, as_of)
    path, about_saved = kept_or_changed(fits, case, best)
    weekly = _weekly(fits, case, path)
    lowest = float(lowest_offers(case, path)[0])
    answer = answer_to(case, path, lowest, offer)
    fresh = case.so_far is None
    at_cap = bool(fresh and len(path.prices) and np.isclose(path.prices[0], case.asks[-1]))
    at_cap = at_cap and not case.floor_over_cap
    nothing = pd.DataFrame()
    near = within_tried(case, path) if alternatives else None
    raised = raised_path(case, path) if alternatives or path.salvage_now else None
    price_of_least = least_cash_cost(case, path) if alternatives else 0.0
    return MarkdownPlan(
        piece=piece,
        as_of=case.as_of,
        currency=case.settings.currency,
        table=_steps(weekly),
        weekly=weekly,
        floor=case.floor,
        expected_net=path.expected_net,
        expected_days=7 * path.expected_weeks,
        salvage=case.salvage,
        ends_on=case.dates[len(path.prices)],
        ask_now=None if case.so_far is None else case.so_far.ask,
        markdowns_made=0 if case.so_far is None else case.so_far.markdowns,
        lowest_now=lowest,
        usual_price=case.usual,
        first_price_at_cap=at_cap,
        take_salvage_now=path.salvage_now and raised is None,
        offer=answer,
        least_cash_cost=price_of_least,
        alternatives=alternatives_table(case, path, near) if alternatives else nothing,
        otherwise=cache(partial(what_if_table, fits, case, path)) if alternatives else pd.DataFrame,
        notes=_after_offer(
            answer,
            about_saved,
            plan_notes(
                fits,
                case,
                path,
                Beside(near, raised, answer, at_cap, price_of_least),
                thorough=alternatives,
            ),
        ),
        standing="" if path.salvage_now else _standing(fits, case, float(path.prices[0])),
    )


def _after_offer(
    answer: OfferAnswer | None, said: tuple[str, ...], notes: tuple[str, ...]
) -> tuple[str, ...]:
    """`said` first among the notes, but after the answer to an offer."""
    first = 0 if answer is None else 1
    return (*notes[:first], *said, *notes[first:])


def _standing(fits: Fits, case: Case, ask: float) -> str:
    """One line under the ask: how it stands to the best of its kind, and why it is above that where it is."""
    piece, flips = case.piece, fits.records.flips
    best = best_of_kind(
        flips, piece.furniture_type or "", ask, but=piece.piece, lot=piece.pieces_in_lot
    )
    said = standing(best, ask, case.settings.currency)
    if best is None or (best.sold is not None and ask <= best.sold + 1e-9):
        return said
    return f"{said} {_why_bold(case)}"


def _why_bold(case: Case) -> str:
    if case.so_far is not None:
        return "It is the ask you set; the plan starts from there."
    own = case.gut
    if own is not None and np.log(own / case.usual) > _BETTER and case.usual_from == "sales":
        own_price = format_money(own, case.settings.currency)
        return f"Why so much: your own price of {own_price} says that it is better than the records can see."
    if case.asks[0] > case.hazard.highest_ask:
        return "Why so much: your floor leaves nothing lower."
    return "Why so much: it leaves room for the buyer who would pay more, and comes down when none does."


def lowest_for_two(plan_a: MarkdownPlan, plan_b: MarkdownPlan) -> TogetherOffer:
    """What to take at least, today, when one buyer wants both pieces.

    Raises BadQuestion for plans of different days or currencies.
    """
    if plan_a.as_of != plan_b.as_of or plan_a.currency != plan_b.currency:
        raise BadQuestion(
            f"The two plans are of {plan_a.as_of} and {plan_b.as_of}. Make both for the same day, in one currency."
        )
    return TogetherOffer(
        (plan_a.piece.name, plan_b.piece.name),
        plan_a.lowest_now + plan_b.lowest_now,
        float(plan_a.table["asking_price"].iloc[0] + plan_b.table["asking_price"].iloc[0]),
        plan_a.currency,
    )


def _weekly(fits: Fits, case: Case, path: PricePath) -> pd.DataFrame:
    n = len(path.prices)
    lowest = lowest_offers(case, path)
    if not n:  # salvage now: one row, so that there is still an ask while it is around
        none, today = np.zeros(1), case.dates[:1]
        ask = case.asks[:1] if case.so_far is None else np.array([case.so_far.ask])
        return _weekly_table(case, ask, (today, today), (none, none, none), lowest[:1])
    drawn = _drawn(fits, case)
    ranges = case.sold_by(path.prices, drawn) if drawn else path.sold_by[None]
    low, high = eight_in_ten(ranges)
    low, high = np.minimum(low, path.sold_by), np.maximum(high, path.sold_by)
    return _weekly_table(
        case,
        path.prices,
        (case.dates[:n], case.dates[1 : n + 1]),
        (path.sold_by, low, high),
        lowest[:n],
    )


def _drawn(fits: Fits, case: Case) -> list[Hazard]:
    """Equally likely ways the piece may sell, its usual price as uncertain as the price model says."""
    doubt = fits.prices.doubt(case.piece) if fits.prices and case.usual_from == "sales" else 0.0
    return fits.selling.drawn_hazards(case.piece.furniture_type, case.usual, case.gut, doubt=doubt)


def _weekly_table(
    case: Case,
    asks: np.ndarray,
    days: tuple[tuple[date, ...], tuple[date, ...]],
    chances: tuple[np.ndarray, np.ndarray, np.ndarray],
    lowest: np.ndarray,
) -> pd.DataFrame:
    """One row a period: `days` its first and last, `chances` that it is sold by then with their range."""
    (begin, end), (chance, low, high) = days, chances
    return pd.DataFrame(
        {
            "week": np.arange(1, len(asks) + 1),
            "from_date": np.array(begin, dtype="datetime64[s]"),
            "by_date": np.array(end, dtype="datetime64[s]"),
            "asking_price": np.asarray(asks, dtype=float),
            "chance_sold": chance,
            "chance_low": low,
            "chance_high": high,
            "lowest_offer": [rounded_offer(y, p, case) for y, p in zip(lowest, asks, strict=True)],
        }
    )


def _steps(weekly: pd.DataFrame) -> pd.DataFrame:
    """One row per asking price; the chance is that at the end of the row."""
    changes = np.diff(weekly["asking_price"].to_numpy()) != 0
    begins, ends = np.append(True, changes), np.append(changes, True)
    at = dict.fromkeys(("from_date", "asking_price"), begins)
    at |= dict.fromkeys(("chance_sold", "chance_low", "chance_high"), ends)
    at["lowest_offer"] = begins
    return pd.DataFrame({name: weekly[name].to_numpy()[rows] for name, rows in at.items()})
