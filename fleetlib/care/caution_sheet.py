"""Which cautions concern a piece: by its type, age, work and wood. When in doubt the caution is given."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from fleetlib.care.cautions import CAUTIONS, Caution
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Notes, Sheet, Shown

TIP_OVER_HEIGHT_IN = 27.0
# The US ban is of 1978; the year on record is a guess, so the lead lines stay for guesses up to 1989.
_SURELY_AFTER_THE_BAN = 1990
_CRIB_WIDTH_IN = 36.0


def _words(listed: str) -> tuple[str, ...]:
    return tuple(w.strip() for w in listed.split("|"))


_CLOTHES = _words("dresser|chest|drawer|highboy|armoire|chiffo|bureau|wardrobe|tallboy|press")
_DRAWERS = _words(
    "nightstand|sideboard|buffet|hutch|desk|vanity|bookcase|cabinet|cupboard|tv stand|washstand"
)
_SEATS = _words(
    "chair|bench|stool|sofa|settee|loveseat|couch|ottoman|recliner|rocker|vanity|seat|upholster|headboard|daybed|settle"
)
_GLASS = _words(
    "hutch|cabinet|cupboard|case|mirror|vanity|table|bar|tv stand|armoire|dresser|glass|console|cart|secretary|desk"
)
_NURSERY = _words("crib|cradle|bassinet|cot|nursery|toddler|bunk|changing|playpen|baby|child")
_NURSERY_IN_NOTES = _words("crib|cradle|bassinet|drop side|dropside|nursery|toddler")
_PAINT = _words(
    "paint|enamel|latex|acrylic|two tone|spray|lacquer|whitewash|limed|distressed|decoupage|gilded|colour|color"
)
_OLD_PAINT = _words("lead|old paint|original paint|chipp|flak|peel")
_BORDER_WOODS = _words("rosewood|dalbergia")
# A lid that shuts over a space a child fits into. "Chest" alone may be a chest of drawers: in doubt it is told.
_LIDDED = _words(
    "trunk|blanket|cedar chest|hope chest|toy|storage bench|storage chest|coffer|lidded|ottoman|steamer"
)
# Stands on the floor by itself and is not fixed to a wall.
_UNFIXED = _words("table|chair|stool|bench|sofa|settee|bed|ottoman|trunk")

DISCLAIMER = (
    "Reminders in our own words, not a safety plan and not legal advice. Rules, limits and dates change, and local "
    "codes may be stricter: a licensed professional or your own authority decides."
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class CautionSheet(Shown):
    """Cautions as one page: `cautions` in order, and `concerning`, the piece or "" for all of them."""

    cautions: tuple[Caution, ...]
    concerning: str = ""
    notes: tuple[str, ...] = (DISCLAIMER,)

    def __iter__(self) -> Iterator[Caution]:
        return iter(self.cautions)

    def __len__(self) -> int:
        return len(self.cautions)

    @property
    def table(self) -> pd.DataFrame:
        """One row per caution: title, line, source, dated, where, status."""
        names = ["title", "line", "source", "dated", "where", "status"]
        return pd.DataFrame([[getattr(c, n) for n in names] for c in self.cautions], columns=names)

    def sheet(self) -> Sheet:
        """The cautions with their sources, and what they are not."""
        heading = "Take care" + (f": {self.concerning}" if self.concerning else "")
        return Sheet(heading, (Notes(tuple(str(c) for c in self.cautions)), Notes(self.notes)))


def all_cautions() -> CautionSheet:
    """Every caution fleetlib knows, in one sheet."""
    return CautionSheet(tuple(CAUTIONS.values()))


def cautions_for(piece: Piece, *, currency: str = "") -> tuple[Caution, ...]:
    """The cautions that concern `piece`, in a fixed order; what the records don't say counts as a risk.

    Lead lines unless it was surely made after the ban; the tip-over line for anything 27 inches or higher or
    of unknown height that may stand against a wall, and for clothing storage and television stands of any height;
    every rag is treated as self-heating. Rules of the United Kingdom only where `currency` is its pound.
    """
    found = _concerned(piece)
    if currency != "GBP":
        found.discard("uk_upholstery")
    return tuple(c for c in CAUTIONS.values() if c.key in found)


def caution_sheet(piece: Piece, *, currency: str = "") -> CautionSheet:
    """The same as a sheet that can be shown, saved or printed."""
    return CautionSheet(cautions_for(piece, currency=currency), concerning=str(piece))


def buyer_notes(piece: Piece) -> tuple[str, ...]:
    """What a listing or a price tag should tell a buyer about `piece`, one line each; nothing that isn't recorded.

    Glass is spoken of only where the kind or the notes name it.
    """
    glazed = _has(_text(piece.furniture_type, piece.notes, piece.style), ("glass", "mirror"))
    return tuple(c.buyer for c in cautions_for(piece) if c.buyer and (c.key != "glass" or glazed))


def _concerned(piece: Piece) -> set[str]:
    kind = _type(piece)
    made_of = _text(piece.wood, piece.construction)
    coat = _text(piece.finish)
    told = _text(piece.piece, piece.notes, piece.style)
    seat = _has(kind, _SEATS) or _has(told, ("upholster", "re cover", "recover", "cushion"))
    year = piece.year_made
    where = {
        ("latching",): _has(kind, _LIDDED) or kind in ("chest", "box") or _has(told, _LIDDED),
        ("stripper_historic",): year is not None and not _surely_after(year, 1950),
        ("lead_paint", "lead_rule", "lead_swab"): not _surely_after(year)
        or _has(f"{coat} {told}", _OLD_PAINT),
        ("new_paint",): not coat or _has(coat, _PAINT) or "unknown" in coat,
        ("tip_over",): _may_tip(piece, kind),
        ("tip_rule",): _has(kind, _CLOTHES) and "trunk" not in kind,
        ("stability",): _has(kind, (*_CLOTHES, *_DRAWERS)),
        ("crib", "nursery"): _may_be_a_crib(piece, kind, told),
        ("reupholstery", "uk_upholstery"): seat,
        ("stuffed_goods",): seat or "bed" in kind,
        ("inspection",): seat
        or _has(kind, ("bed", "mirror", "vanity", "armoire", "trunk", "dresser")),
        ("glass",): _has(kind, _GLASS) or _has(told, ("glass", "mirror")),
        ("borders",): _has(made_of, _BORDER_WOODS) or _has(told, ("rosewood", "dalbergia")),
    }
    return {*_ALWAYS, *(key for keys, concerned in where.items() if concerned for key in keys)}


_ALWAYS = (
    "recall", "stripper", "oily_rags", "other_rags", "spraying", "respirator", "dust", "two_part", "caustic", "lifting",
)  # fmt: skip


def _surely_after(year: object, limit: int = _SURELY_AFTER_THE_BAN) -> bool:
    try:
        return float(str(year)) >= limit
    except ValueError:
        return False


def _may_tip(piece: Piece, kind: str) -> bool:
    high = piece.height_in
    unknown = high is None or not high < TIP_OVER_HEIGHT_IN  # NaN is unknown too
    if _has(kind, (*_CLOTHES, "tv stand")):
        return True
    return unknown and not _has(kind, _UNFIXED)


def _may_be_a_crib(piece: Piece, kind: str, told: str) -> bool:
    if _has(kind, _NURSERY) or _has(told, _NURSERY_IN_NOTES):
        return True
    return "bed" in kind and (piece.width_in is None or not piece.width_in >= _CRIB_WIDTH_IN)


def _type(piece: Piece) -> str:
    return _text(piece.furniture_type)


def _text(*values: object) -> str:
    said = " ".join(v for v in values if isinstance(v, str))
    return " ".join(re.split(r"[\s_-]+", said.casefold())).strip()


def _has(text: str, words: tuple[str, ...]) -> bool:
    return any(w in text for w in words)
