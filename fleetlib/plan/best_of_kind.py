"""How an ask stands to the best ask and sale of its kind of piece so far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import a_or_an
from fleetlib.records.piece import in_words
from fleetlib.records.rows_by_name import once_of, rows_named

_MET = 0.9  # of the ask: what buyers pay of it at the least where it counts as met (our own line, no source)


@dataclass(frozen=True, slots=True)
class BestOfKind:
    """The best of a kind of piece so far; money, None where none is on record.

    kind: the furniture type, or "" for all kinds together where none of that type was ever asked for.
    asked: the highest first ask; sold: the highest sale price. at_least: pieces asked as much or more than the ask in
    question; met: how many of them sold at nine tenths of that ask or more. lot: how many pieces are sold together,
    in the one in question and in those that it is held against.
    """

    kind: str
    asked: float | None
    sold: float | None
    at_least: int
    met: int
    lot: float = 1.0


def best_of_kind(
    flips: pd.DataFrame | None,
    kind: str,
    ask: float,
    *,
    but: str | None = None,
    lot: float | None = None,
) -> BestOfKind | None:
    """How `ask` stands to what pieces of that kind were asked and sold for; None with nothing on record.

    but: the name of a piece to leave out, the one in question. lot: how many pieces are sold together, None for one;
    only as many together are held against it, so a set of chairs says nothing of one chair.
    """
    lot = lot or 1.0
    if flips is None or not len(flips) or not {"asking_price", "sale_price"} <= set(flips):
        return None
    asked, sold, lots, kinds = once_of(flips, _on_record)
    others = np.ones(len(flips), bool)
    if but:
        others[rows_named(flips, but)] = False
    on_record = others
    others = others & (lots == lot)
    own = others & kinds.get(kind, False)
    if not ((asked[own] > 0).any() or (sold[own] > 0).any()):
        own, kind_held = others, ""
    else:
        kind_held = kind
    here = (asked > 0) | (sold > 0)
    if not (here & own).any():
        known = bool((here & on_record).any())
        return BestOfKind(kind, None, None, 0, 0, lot) if known else None
    asked, sold = asked[own], sold[own]
    bold = asked >= ask - 1e-9
    return BestOfKind(
        kind=kind_held,
        asked=float(np.nanmax(asked)) if (asked > 0).any() else None,
        sold=float(np.nanmax(sold)) if (sold > 0).any() else None,
        at_least=int(bold.sum()),
        met=int((bold & (sold >= _MET * ask)).sum()),
        lot=lot,
    )


def _on_record(
    flips: pd.DataFrame,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """First asks, sale prices and pieces sold together of each row (n,); by kind, which rows (n,) are of it."""
    asked, sold = (flips[c].to_numpy(float) for c in ("asking_price", "sale_price"))
    lots = flips.get("pieces_in_lot", pd.Series(1.0, flips.index)).fillna(1.0).to_numpy(float)
    kinds = flips["furniture_type"]
    return (
        asked,
        sold,
        lots,
        {kind: kinds.eq(kind).to_numpy(bool) for kind in kinds.dropna().unique()},
    )


def standing(best: BestOfKind | None, ask: float, currency: str) -> str:
    """Where `ask` stands, in a sentence; empty with nothing on record."""
    if best is None:
        return ""
    name = in_words(best.kind or "piece", None, best.lot, None)
    which = f"{a_or_an(name)} {name}"
    if best.sold is None and best.asked is None:
        return f"Nothing else on your records is {which}."
    if best.sold is not None and ask <= best.sold + 1e-9:
        paid, asked = (format_money(amount, currency) for amount in (best.sold, ask))
        return f"You have sold {which} for {'as much' if paid == asked else 'more'}: {paid}."
    sold = "none has sold yet" if best.sold is None else f"sold {format_money(best.sold, currency)}"
    if best.asked is None or ask > best.asked + 1e-9:
        asked = "" if best.asked is None else f"asked {format_money(best.asked, currency)}, "
        return f"No {name} of yours was ever asked that much (best {asked}{sold})."
    times = "once" if best.at_least == 1 else f"{best.at_least} times"
    met = {0: "never met", 1: "met once"}.get(best.met, f"met {best.met} times")
    return (
        f"More than {which} ever brought ({sold}); so much was asked {times} and {met} (sold for nine tenths of it "
        "or more)."
    )
