"""Shop: one person's records, settings and fitted models behind one-line questions. No logic of its own."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleetlib.base.kept_numbers import keeping
from fleetlib.base.kit import is_kit_demo, usual_folder
from fleetlib.base.level import USUAL_LEVEL
from fleetlib.records.folder import Records, read_records
from fleetlib.records.piece import Piece, as_piece, piece_named

if TYPE_CHECKING:
    import pandas as pd

    from fleetlib.base.settings import Settings
    from fleetlib.buying.best_buys import BestBuys
    from fleetlib.buying.what_to_pay import BuyAdvice
    from fleetlib.finish.finish_choice import FinishChoice
    from fleetlib.fits import Fits
    from fleetlib.pay.days_and_space import DaysAndSpace
    from fleetlib.pay.earnings import EarningsTable
    from fleetlib.pay.work_order import WorkOrder
    from fleetlib.plan.markdowns import MarkdownPlan
    from fleetlib.price.estimate import PriceEstimate
    from fleetlib.quarter.review import QuarterReview
    from fleetlib.trust.accuracy import AccuracyStudy
    from fleetlib.week.advice import Advice, AdviceList
    from fleetlib.week.today import Today


@keeping
class Shop:
    """Everything on record in one folder; made by `open_shop`. A `piece` is a Piece or the name of one on record."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self._fits: Fits | None = None
        self._fitting = threading.Lock()

    def __repr__(self) -> str:
        whose = "the invented demo shop" if self.is_demo else "your own folder"
        return f"Shop({whose}: {str(self.records).splitlines()[0]})"

    @property
    def flips(self) -> pd.DataFrame:
        """One clean row per piece, events laid over."""
        return self.records.flips

    @property
    def set_aside(self) -> pd.DataFrame:
        """Rows not used: line, column, value, reason, remedy, text."""
        return self.records.set_aside

    @property
    def changes(self) -> pd.DataFrame:
        """Every cell reinterpreted or left out: line, column, was, now, why."""
        return self.records.changes

    @property
    def settings(self) -> Settings:
        """The shop's settings, defaults filled in."""
        return self.records.settings

    @property
    def fits(self) -> Fits:
        """The fitted models; fitted once, when first asked for."""
        from fleetlib.fits import fit_all

        with self._fitting:
            if self._fits is None:
                self._fits = fit_all(self.records)
            return self._fits

    def reread(self) -> None:
        """Read the folder again, after something was logged; the models are fitted anew when next needed."""
        self.records = read_records(
            self.records.given or self.records.folder, as_of=self.records.as_of
        )
        self._fits = None

    @property
    def is_demo(self) -> bool:
        """Whether these are the records of the invented demo shop."""
        return is_kit_demo(self.records.folder)

    def piece(self, name: str = "") -> Piece:
        """The piece called `name`, or the first on hand. Raises UnknownPiece, naming the nearest ones."""
        return piece_named(self.flips, name)

    def estimate(
        self,
        piece: Piece | str,
        level: float = USUAL_LEVEL,
        *,
        days: float | None = None,
        adjustment: float = 0.0,
    ) -> PriceEstimate:
        """What such a piece of yours sells for, with an honest interval (`price.estimate`)."""
        from fleetlib.price.estimate import estimate

        return estimate(
            self.fits,
            as_piece(self.flips, piece),
            level=level,
            days=days,
            adjustment=adjustment,
        )

    def plan(
        self, piece: Piece | str, *, as_of: date | None = None, offer: float | None = None
    ) -> MarkdownPlan:
        """Dated asking prices and the lowest offer worth taking (`plan.markdowns`)."""
        from fleetlib.plan.markdowns import plan

        return plan(self.fits, as_piece(self.flips, piece), as_of=as_of, offer=offer)

    def advise(self, piece: Piece | str, *, level: float = USUAL_LEVEL) -> Advice:
        """Estimate, plan, pay per hour and cautions on one page (`week.advice`)."""
        from fleetlib.week.advice import advise

        return advise(self.fits, as_piece(self.flips, piece), level=level)

    def log_advice(self, advice: Advice) -> Path | None:
        """Keep `advice` in advice_log.csv for later reviews to grade; None for the demo (`week.log_advice`)."""
        from fleetlib.week.log_advice import log_advice

        return log_advice(self.records, advice)

    def advise_all(self, *, level: float = USUAL_LEVEL) -> AdviceList:
        """Every piece on hand in one table (`week.advice`)."""
        from fleetlib.week.advice import advise_all

        return advise_all(self.fits, level=level)

    def today(self) -> Today:
        """What is due on the records' day, and a card for each piece on hand (`week.today`)."""
        from fleetlib.week.today import today

        return today(self.fits)

    def earnings(
        self,
        by: Sequence[str] = ("furniture_type",),
        *,
        start: date | None = None,
        end: date | None = None,
    ) -> EarningsTable:
        """What each kind of piece earns per hands-on hour (`pay.earnings`)."""
        from fleetlib.pay.earnings import earnings

        return earnings(self.fits, by=list(by), start=start, end=end)

    def what_next(self) -> WorkOrder:
        """Unfinished work in the order that pays (`pay.work_order`)."""
        from fleetlib.pay.work_order import what_next

        return what_next(self.fits)

    def days_and_space(self, by: Sequence[str] = ("furniture_type",)) -> DaysAndSpace:
        """How long pieces take by the calendar, and what a place in the room earns (`pay.days_and_space`)."""
        from fleetlib.pay.days_and_space import days_and_space

        return days_and_space(self.fits, by=list(by))

    def what_to_pay(self, piece: Piece | str) -> BuyAdvice:
        """The highest price worth paying for a find (`buying.what_to_pay`)."""
        from fleetlib.buying.what_to_pay import what_to_pay

        return what_to_pay(self.fits, as_piece(self.flips, piece))

    def best_buys(
        self,
        finds: pd.DataFrame | str | Path,
        *,
        cash: float | None = None,
        hours: float | None = None,
    ) -> BestBuys:
        """The best set of finds within a budget of cash and hours (`buying.best_buys`)."""
        from fleetlib.buying.best_buys import best_buys

        return best_buys(self.fits, finds, cash=cash, hours=hours)

    def finish_choice(self, piece: Piece | str) -> FinishChoice:
        """The same piece under each finish you have sold (`finish.finish_choice`)."""
        from fleetlib.finish.finish_choice import finish_choice

        return finish_choice(self.fits, as_piece(self.flips, piece))

    def review(self, quarter: str = "", *, by: str = "furniture_type") -> QuarterReview:
        """The books and the lessons of one quarter, such as "2026-Q3"; left out, the last whole one with a sale.

        `by`: the column (or group of your own) its tables of pay and prices are sorted by.
        """
        from fleetlib.quarter.review import review

        return review(self.fits, quarter, by=by)

    def accuracy(self) -> AccuracyStudy:
        """How good the prices have been on your own sales (`trust.accuracy`)."""
        from fleetlib.trust.accuracy import accuracy

        return accuracy(self.fits)


def open_shop(folder: str | Path | None = None, *, as_of: date | None = None) -> Shop:
    """Open a folder of records: flips.csv (or .xlsx) and, where present, events, supplies and settings.

    With no `folder`, or "", it is the present one where that holds records, else the demo shop. `as_of` is
    the day everything is worked out for; left out, the settings' day, else today. Raises MissingRecords or
    BadRecords, saying what to mend. Nothing is written.
    """
    if folder is None or folder == "":
        folder = usual_folder()
    return Shop(read_records(folder, as_of=as_of))
