"""A price tag for a piece: asking price, size, wood, finish, care, what was repaired. No cost, no floor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fleetlib.base.measured import with_unit
from fleetlib.base.money import format_money
from fleetlib.base.settings import Settings
from fleetlib.care.caution_sheet import buyer_notes
from fleetlib.plan.markdowns import MarkdownPlan
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Facts, Notes, Sheet, Shown

# Care by finish: common practice, no source.
_CARE = (
    (("raw", "stripped"), "Wipe with a dry cloth; keep water and coasters off the bare wood."),
    (("oil",), "Wipe with a barely damp cloth and dry at once; oil again when it looks dry."),
    (("wax", "limed"), "Dust with a soft cloth; use coasters; wax again once or twice a year."),
    (("shellac",), "Dust with a soft cloth; keep alcohol, heat and standing water off."),
    (("paint", "enamel", "whitewash", "two-tone", "distressed", "decoupage"),
     "Wipe with a damp cloth and mild soap; no scouring. New paint hardens for a few weeks: be gentle."),
    (("gilded",), "Dust with a soft dry brush only; no water, no cleaner."),
)  # fmt: skip
_USUAL_CARE = "Wipe with a barely damp cloth, dry at once; use coasters; keep out of strong sun."


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class PriceTag(Shown):
    """What a tag on the piece says to a buyer. `repaired` is left as a line to write on when empty; `shop` its name."""

    name: str
    what: str
    asking_price: float
    currency: str
    size: str
    wood: str
    finish: str
    style: str
    care: str
    repaired: str
    buyer: tuple[str, ...]
    shop: str = ""

    def facts(self) -> list[tuple[str, str]]:
        """Name and value pairs in the order of the tag; unknown ones are left out, repairs are kept open."""
        pairs = [
            ("Size", self.size),
            ("Wood", self.wood),
            ("Finish", self.finish),
            ("Style", self.style),
        ]
        known = [(name, value) for name, value in pairs if value]
        return [*known, ("Care", self.care), ("Repaired", self.repaired)]

    def price(self) -> str:
        """The asking price as printed."""
        return format_money(
            self.asking_price, self.currency, cents=self.asking_price != int(self.asking_price)
        )

    def sheet(self) -> Sheet:
        """What it is and costs, its facts with a line to write on where repairs are not told, and what to tell."""
        facts = tuple((name, value or "________") for name, value in self.facts())
        return Sheet(f"{self.what}  {self.price()}", (Facts(facts), Notes(self.buyer)))


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class TagSheet(Shown):
    """The tags of several pieces, to print together and cut apart."""

    tags: tuple[PriceTag, ...]

    def sheet(self) -> Sheet:
        """The tags one below the other."""
        return Sheet("", tuple(tag.sheet() for tag in self.tags))


def price_tag(
    piece: Piece, plan: MarkdownPlan, *, repaired: str = "", settings: Settings | None = None
) -> PriceTag:
    """The tag of `piece` at the price its plan asks now. `repaired` is what the buyer should know was done. The
    shop's name at the top and the unit of its sizes are those of `settings`.

    Neither what was paid nor the floor nor the piece's notes (which may hold either) are on it.
    """
    own = Settings() if settings is None else settings
    wood = f"{piece.wood or ''} {piece.construction or ''}".strip()
    return PriceTag(
        name=piece.piece or "",
        what=piece.what,
        asking_price=float(plan.table["asking_price"].iloc[0]),
        currency=plan.currency,
        size=size_text(piece, unit=own.length_unit),
        wood=wood if piece.wood != "unknown" else (piece.construction or ""),
        finish=piece.finish or "",
        style=piece.style or "",
        care=care_for(piece.finish),
        repaired=repaired,
        buyer=buyer_notes(piece),
        shop=own.shop_name,
    )


def care_for(finish: str | None) -> str:
    """How to look after a finish, in one line; common practice, no source."""
    word = (finish or "").casefold()
    for words, care in _CARE:
        if any(w in word for w in words):
            return care
    return _USUAL_CARE


def tag_parts(tag: PriceTag) -> dict[str, Any]:
    """What the template needs for one piece: its tag twice, one to hang on and one to keep."""
    return {"title": tag.what, "kind": "tag one", "tags": (tag, tag)}


def sheet_parts(sheet: TagSheet) -> dict[str, Any]:
    """What the template needs for a sheet of tags."""
    return {"title": "Tags", "kind": "tag", "tags": sheet.tags}


def size_text(piece: Piece, *, unit: str = "in") -> str:
    """The sides on record, as "52 in wide, 18 in deep"; whole centimetres where `unit` is "cm"; "" where none is."""
    sides = zip(
        (piece.width_in, piece.depth_in, piece.height_in), ("wide", "deep", "high"), strict=True
    )
    return ", ".join(f"{with_unit(v, unit)} {n}" for v, n in sides if v)
