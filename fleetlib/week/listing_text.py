"""The words and photographs of a listing, from the record alone: no cost, no floor, no lowest offer, no own price."""

from __future__ import annotations

from dataclasses import dataclass, field

from fleetlib.base.money import format_money
from fleetlib.base.settings import Settings
from fleetlib.care.caution_sheet import buyer_notes
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Notes, Paste, Sheet, Shown
from fleetlib.week.tag import care_for, size_text

# Which photographs such a piece needs: common practice, no source. The first words that fit the kind decide.
_EVERY = (
    "the whole piece from the front, at its own height, in daylight, nothing else in the frame",
    "three quarters from the left, so that its depth shows",
    "the top, close, with the light falling across it",
    "the finish and the grain, close enough to see the grain",
    "each mark, chip or repair, with a coin beside it for size",
    "the back and the underside",
)
_OF_KIND = (
    (("dresser", "chest", "highboy", "nightstand", "sideboard", "desk", "vanity", "hutch"),
     ("one drawer open, to show its joints and how it runs", "the inside of the drawers, clean and empty")),
    (("hutch", "cabinet", "armoire", "bookcase", "cupboard", "wardrobe"),
     ("the doors open, shelves and inside in view", "a hand beside a shelf, so that its height can be judged")),
    (("table",), ("the legs and the apron from below eye level", "the edge of the top, close",
                  "with its leaves in and out, where it has any")),
    (("chair", "bench", "stool", "sofa", "settee"),
     ("the seat from above", "the joints of legs and rails", "the label under the seat, where there is one")),
    (("trunk", "blanket", "box"), ("the lid open, with what holds it up and the latch in view", "the inside")),
    (("mirror",), ("the glass from the side, so that nobody stands in it", "the back and how it hangs")),
    (("bed", "headboard"), ("head and foot, with a tape across", "the rails and how they join")),
)  # fmt: skip
_STAGING = (
    (("dining", "table"), "Set it as it is used: one place laid, two chairs of another wood; not a full table."),
    (("desk", "secretary"), "A lamp, one book and a chair; keep the top clear to its edge."),
    (("nightstand", "side table"), "Beside a made bed or an armchair, one lamp on it, nothing else."),
    (("mirror",), "Hang it facing a plain wall or a window, never where it shows your workshop."),
    (("chair", "bench", "stool"), "Alone against a plain wall; a set in a row, then one from each side."),
)  # fmt: skip
_USUAL_STAGING = (
    "Against a plain wall, one plant or lamp on it, floor swept; leave most of the top bare."
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class ListingText(Shown):
    """A listing to paste: `title` and `text`; `photographs` to take, a `staging` note.

    `missing` says, a line each, what buyers ask and the record does not hold; nothing is claimed in its place.
    `name` is the seller's own for the piece: it heads the sheet and is no part of what is pasted.
    """

    title: str
    text: str
    photographs: tuple[str, ...] = field(repr=False)
    staging: str = field(repr=False)
    missing: tuple[str, ...] = field(default=(), repr=False)
    name: str = ""

    def sheet(self) -> Sheet:
        """Title, text, photographs and staging, and what is missing."""
        return Sheet(
            f"A listing to paste: {self.name}" if self.name else "A listing to paste",
            (
                Paste(self.title),
                Paste(self.text),
                Notes(self.photographs, "Photographs to take"),
                Notes(
                    (self.staging, "photographs and staging: common practice, no source"), "Staging"
                ),
                Notes(self.missing, "Not on record, and buyers ask"),
            ),
        )


def listing_text(
    piece: Piece,
    *,
    repaired: str = "",
    flaws: str = "",
    delivery: str = "",
    asking_price: float | None = None,
    settings: Settings | None = None,
) -> ListingText:
    """The listing of `piece` in the shop's units and currency, with its price only where one is given.

    `repaired`, `flaws` and `delivery` are the seller's own words about it, taken as they are. Neither the piece's
    notes (which may hold a buyer's name or a price) nor anything it cost, nor the own price, is used.
    """
    shop = Settings() if settings is None else settings
    what = piece.what
    size = size_text(piece, unit=shop.length_unit)
    known_finish = piece.finish if piece.finish and piece.finish != "unknown" else ""
    title = ", ".join(
        p
        for p in (
            f"{piece.style} {what}" if piece.style else what,
            f"{known_finish} finish" if known_finish else "",
        )
        if p
    )
    title = title[:1].upper() + title[1:]
    made = [w for w in (piece.construction, piece.wood if piece.wood != "unknown" else None) if w]
    lines = [
        title + (f", {format_money(asking_price, shop.currency, cents=asking_price != int(asking_price))}."
                 if asking_price is not None else "."),
        f"Size: {size}." if size else "",
        f"Made of: {' '.join(made)}." if made else "",
        f"Year: about {piece.year_made:.0f}." if piece.year_made else "",
        f"Finish: {known_finish}." if known_finish else "",
        _sentence("Done to it", repaired),
        _sentence("Not perfect", flaws),
        f"Care: {care_for(piece.finish)}" if known_finish else "",
        _sentence("Delivery", delivery),
        *buyer_notes(piece),
    ]  # fmt: skip
    absent = [
        ("its width, depth and height", size),
        ("what wood it is", made),
        ("its finish", known_finish),
        ("what was repaired", repaired),
        ("what is not perfect: say it, it saves the trip of someone who would have said no", flaws),
        ("whether and how far you deliver, and what it costs", delivery),
    ]
    return ListingText(
        title=title,
        text="\n".join(line for line in lines if line),
        photographs=(
            *_EVERY,
            *(shot for words, shots in _OF_KIND if _fits(piece, words) for shot in shots),
        ),
        staging=next((note for words, note in _STAGING if _fits(piece, words)), _USUAL_STAGING),
        missing=tuple(said for said, known in absent if not known),
        name=piece.piece or "",
    )


def _fits(piece: Piece, words: tuple[str, ...]) -> bool:
    return any(word in piece.furniture_type.casefold() for word in words)


def _sentence(label: str, said: str) -> str:
    told = " ".join(said.split()).rstrip(".")
    return f"{label}: {told}." if told else ""
