"""Shop: one person's records, settings and fitted models behind one-line questions. No logic of its own.

The advice is imported when it is asked for, so that opening a shop and checking its records is quick.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from fleetlib.errors import UnknownPiece
from fleetlib.kit import demo_folder
from fleetlib.records.folder import Records, holds_records, read_records
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.settings import Settings

if TYPE_CHECKING:
    from fleetlib.advice.accuracy import AccuracyStudy
    from fleetlib.advice.best_buys import BestBuys
    from fleetlib.advice.buying import BuyAdvice
    from fleetlib.advice.earnings import EarningsTable
    from fleetlib.advice.estimate import PriceEstimate
    from fleetlib.advice.finishes import FinishChoice
    from fleetlib.advice.markdowns import MarkdownPlan
    from fleetlib.advice.review import QuarterReview
    from fleetlib.advice.sheet import Advice, AdviceList
    from fleetlib.advice.work_order import WorkOrder
    from fleetlib.models.fits import Fits


class Shop:
    """Everything on record in one folder. Made by `open_shop`; models are fitted when first needed."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self._fits: Fits | None = None

    def __repr__(self) -> str:
        counts = self.flips["status"].value_counts()
        held = ", ".join(
            f"{counts[s]} {s}" for s in ("sold", "listed", "in work", "withdrawn") if s in counts
        )
        return f"Shop({self.records.folder.name}: {held or 'no pieces'}; as of {self.records.as_of:%Y-%m-%d})"

    @property
    def flips(self) -> pd.DataFrame:
        """One clean row per piece, events laid over."""
        return self.records.flips

    @property
    def set_aside(self) -> pd.DataFrame:
        """Rows that could not be used: line, column, value, reason, remedy, text."""
        return self.records.set_aside

    @property
    def changes(self) -> pd.DataFrame:
        """Every value the cleaning reinterpreted or left out: line, column, was, now, why."""
        return self.records.changes

    @property
    def settings(self) -> Settings:
        """The shop's settings, defaults filled in."""
        return self.records.settings

    @property
    def fits(self) -> Fits:
        """The fitted models; fitted once, when first asked for."""
        from fleetlib.models.fits import fit_all

        if self._fits is None:
            self._fits = fit_all(self.records)
        return self._fits

    def reread(self) -> None:
        """Read the folder again, after something was logged; the models are fitted anew when next needed."""
        self.records = read_records(self.records.folder, as_of=self.records.as_of)
        self._fits = None

    def piece(self, name: str) -> Piece:
        """The piece called `name`. Raises UnknownPiece, naming the nearest ones."""
        rows = self.flips[
            self.flips["piece"].astype(str).str.casefold() == str(name).strip().casefold()
        ]
        if rows.empty:
            raise UnknownPiece(_unknown(str(name), [str(p) for p in self.flips["piece"]]))
        return piece_from_row(rows.iloc[0])

    def estimate(
        self,
        piece: Piece,
        level: float = 0.80,
        *,
        days: float | None = None,
        adjustment: float = 0.0,
    ) -> PriceEstimate:
        """What such a piece of yours sells for, with an honest interval (`advice.estimate`)."""
        from fleetlib.advice.estimate import estimate

        return estimate(self.fits, piece, level=level, days=days, adjustment=adjustment)

    def plan(
        self, piece: Piece, *, as_of: date | None = None, offer: float | None = None
    ) -> MarkdownPlan:
        """Dated asking prices and the lowest offer worth taking (`advice.markdowns`)."""
        from fleetlib.advice.markdowns import plan

        return plan(self.fits, piece, as_of=as_of, offer=offer)

    def advise(self, piece: Piece, *, level: float = 0.80) -> Advice:
        """Estimate, plan, pay per hour and cautions on one page (`advice.sheet`)."""
        from fleetlib.advice.sheet import advise

        return advise(self.fits, piece, level=level)

    def advise_all(self, *, level: float = 0.80) -> AdviceList:
        """Every piece on hand in one table (`advice.sheet`)."""
        from fleetlib.advice.sheet import advise_all

        return advise_all(self.fits, level=level)

    def earnings(
        self,
        by: Sequence[str] = ("furniture_type",),
        *,
        start: date | None = None,
        end: date | None = None,
    ) -> EarningsTable:
        """What each kind of piece earns per hands-on hour (`advice.earnings`)."""
        from fleetlib.advice.earnings import earnings

        return earnings(self.fits, by=list(by), start=start, end=end)

    def what_next(self) -> WorkOrder:
        """Unfinished work in the order that pays (`advice.work_order`)."""
        from fleetlib.advice.work_order import what_next

        return what_next(self.fits)

    def what_to_pay(self, piece: Piece) -> BuyAdvice:
        """The highest price worth paying for a find (`advice.buying`)."""
        from fleetlib.advice.buying import what_to_pay

        return what_to_pay(self.fits, piece)

    def best_buys(
        self,
        finds: pd.DataFrame | str | Path,
        *,
        cash: float | None = None,
        hours: float | None = None,
    ) -> BestBuys:
        """The best set of finds within a budget of cash and hours (`advice.best_buys`)."""
        from fleetlib.advice.best_buys import best_buys

        return best_buys(self.fits, finds, cash=cash, hours=hours)

    def finish_choice(self, piece: Piece) -> FinishChoice:
        """The same piece under each finish you have sold (`advice.finishes`)."""
        from fleetlib.advice.finishes import finish_choice

        return finish_choice(self.fits, piece)

    def review(self, quarter: str) -> QuarterReview:
        """The books and the lessons of one quarter, such as "2026-Q3" (`advice.review`)."""
        from fleetlib.advice.review import review

        return review(self.fits, quarter)

    def accuracy(self) -> AccuracyStudy:
        """How good the prices have been on your own sales (`advice.accuracy`)."""
        from fleetlib.advice.accuracy import accuracy

        return accuracy(self.fits)


def open_shop(folder: str | Path | None = None, *, as_of: date | None = None) -> Shop:
    """Open a folder of records: flips.csv (or .xlsx) and, where present, events, supplies and settings.

    With no `folder`, or "", it is the present one where that holds records, else the demo shop. `as_of` is
    the day everything is worked out for; left out, the settings' day, else today. Raises MissingRecords or
    BadRecords, saying what to mend. Nothing is written.
    """
    if folder is None or folder == "":
        folder = Path.cwd() if holds_records(Path.cwd()) else demo_folder()
    return Shop(read_records(folder, as_of=as_of))


def _unknown(name: str, known: list[str]) -> str:
    import difflib

    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    hint = f"Near to it: {', '.join(near)}." if near else f"The records hold {len(known)} pieces."
    return f'There is no piece called "{name}" on record. {hint}'
