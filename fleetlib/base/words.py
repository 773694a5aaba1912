"""The words fleetlib uses, each with its meaning: one list for README, notebooks and `fleetlib help`."""

from __future__ import annotations

from fleetlib.base.errors import BadQuestion

WORDS = {
    "flip": "one piece, from buying it to selling it",
    "asking price": "what the listing says",
    "sale price": "what the buyer paid, without sales tax and delivery",
    "gut price": "what you would ask on instinct, written down before you see any advice",
    "range": '"8 times out of 10": of ten such pieces of yours, about eight sell between the two ends',
    "mid": "half of such pieces sell above it, half below",
    "comparable sales": "your own past sales that weigh most in a price, each adjusted to this piece",
    "days listed": "from the first day on the market to the sale",
    "markdown": "a planned lower asking price, with its date",
    "lowest offer": "the least worth taking that week; below it, waiting is worth more",
    "floor": "the least any buyer may pay; below it the salvage value is better",
    "salvage value": "what a piece that will not sell still brings",
    "chance sold": "how often such a piece of yours would be sold by then",
    "on hand": "listed or still in work",
    "set aside": "a row of your file that could not be used, kept with the reason",
    "hands-on hours": "the hours your hands were on the piece; drying time is not counted",
    "materials": "what was used up on this one piece: stripper, sandpaper, paint, hardware",
    "reserve": "money kept aside for taxes; a planning figure, not tax advice",
    "style": "the look a piece sells as: mid-century, farmhouse, Victorian",
    "lot": "pieces sold together, such as a pair of nightstands; or bought together for one price",
    "haggle": "how far below the ask the buyer was let down in the end",
}


def meaning_of(word: str) -> str:
    """The word with its meaning, in one line. Raises BadQuestion, naming the nearest words, for one not listed."""
    asked = " ".join(word.casefold().replace("_", " ").split())
    found = [w for w in WORDS if asked == w] or [w for w in WORDS if asked and asked in w]
    if not found:
        raise BadQuestion(f'"{word}" is none of the words explained here: {", ".join(WORDS)}.')
    return "\n".join(f"{w}: {WORDS[w]}" for w in found)
