"""Words in a cell of money or days that say what became of the piece: sold, left unsold, or on hand again.

Common practice, no source.
"""

from __future__ import annotations

import re

from fleetlib.records.parsing.days_in_text import A_DAY
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.other_languages import (
    BACK_ELSEWHERE,
    GIVEN_AWAY_ELSEWHERE,
    KEPT_ELSEWHERE,
    SCRAPPED_ELSEWHERE,
    STATED,
)
from fleetlib.records.schema.columns import CAME_BACK, GIVEN_AWAY, KEPT, SCRAPPED, WITHDRAWN

SOLD, UNSOLD, ON_HAND = "sold", "unsold", "on hand"

# A sale to which there is no price; one that was only talked of is none yet.
_ONLY_TALKED_OF = (
    r"(?!.*(?:\?|\b(?:pending|maybe|perhaps|possibl[ey]|probably|offer(?:s|ed)?|propos(?:ed|al)|considered|wanted|wants"
    r"|hoping|planned|agreed|arranged|waiting|tomorrow|later|soon|not|no|never|fell|off|cancel\w*|refused|declined"
    r"|talks?|bait|if|unless|or|tbd|tbc)\b))"
)
TRADED = (
    rf"{_ONLY_TALKED_OF}(?:trad(?:ed?|e-in)|swap(?:ped)?|barter(?:ed)?"
    r"|geruild|getauscht|\u00e9chang\u00e9e?|bytt|scambiat[oa])"
)
_SOLD = rf"sold|yes|y|gone|{TRADED}"
_KEPT = r"kept|keep|keeping|keeper|kept it|for us"
_GIVEN_AWAY = r"donat(?:ed|ion)|gave|given|giving|gift(?:ed)?|free|freebie"
_SCRAPPED = (
    r"scrapped|junked|trashed|dump(?:ed)?|curb(?:ed)?|kerb|tossed|thrown out|threw out|burn(?:ed|t)|parted out"
    r"|broken(?: up)?|broke (?:it )?(?:up|apart)|smashed|wrecked|destroyed|firewood"
    r"|fell off(?: (?:the|my))? (?:trailer|truck|van|roof rack)"
)
_BACK_AGAIN = (
    r"returned|return|returns|refunded|refund(?: given| paid)?|came back|come back|brought back|sent back|taken back"
    r"|money (?:given )?back|gave (?:the )?money back"
)
_UNSOLD = (
    r"fell through|sale fell through|fell thru|backed out|no sale|no|n|not sold|unsold|not yet"
    r"|not listed|pending|on hold|available|still here|still have|for sale|listed"
    r"|not done(?: yet)?|not finished|not ready|unfinished|avail\.?"
)
_TRADED = re.compile(rf"(?:{TRADED})\b[^\d]*")
_KINDS = tuple(
    (re.compile(rf"(?:{words})(?:[ ,;:!.(-][^\d]*)?"), said)
    for words, said in (
        (_UNSOLD, UNSOLD),
        (_BACK_AGAIN, CAME_BACK),
        (_KEPT, KEPT),
        (_GIVEN_AWAY, GIVEN_AWAY),
        (_SCRAPPED, SCRAPPED),
        ("withdrawn", WITHDRAWN),
        (_SOLD, SOLD),
    )
)
# Where a piece stands, in a column of that: it has not left. "Finished" and "done" may be said of work or of a sale.
_ON_HAND = re.compile(
    r"(?:garage|shed|barn|basement|attic|workshop|wip"
    r"|in work|in progress|working on(?: it)?|to ?do|not started|started|waiting|ready(?: to (?:list|sell))?"
    r"|(?:in|on) (?:the |my )?(?:work ?shop|work ?bench|bench|shop|garage|shed|barn|stock|storage|booth|store)"
    r"|(?:in )?stock|on hand|reserved|held|hold|on hold"
    r"|on sale|up for sale|on the market|still (?:up|listed|for sale|available)"
    r"|posted|avail\.?|in hand|in the works|not done(?: yet)?|not finished|not ready|unfinished"
    r"|stripping|sanding|painting|staining|refinishing|repairing|gluing|regluing|drying|waxing|oiling|finishing"
    r"|deposit(?: taken| paid)?|(?:on )?consignment|listed|for sale|available|pending|still here|still have|not listed)"
    r"(?:[ ,;:!.(-][^\d]*)?"
)
_PRICE_TOO = re.compile(r"\d")


def outcome_said(text: str) -> str | None:
    """ "sold", "unsold", CAME_BACK or one of LEFT_UNSOLD where `text` says so and holds no number, else None.

    >>> outcome_said("Gave to my sister"), outcome_said("fell through"), outcome_said("380")
    ('given away', 'unsold', None)
    """
    body = plain(text)
    if not body or _PRICE_TOO.search(body):
        return None
    said = next((said for pattern, said in _KINDS if pattern.fullmatch(body)), None)
    elsewhere = STATED.get(body)
    said = said or (UNSOLD if elsewhere == ON_HAND else elsewhere)
    if said in (SOLD, CAME_BACK) and _BACK.search(body):
        return None if SOLD_AGAIN.search(body) else CAME_BACK
    return said


def is_traded(text: str) -> bool:
    """Whether a cell says that the piece was traded, so that there is no price of its sale."""
    return _TRADED.fullmatch(plain(text)) is not None


def state_said(text: str) -> str | None:
    """As `outcome_said`, of a cell that says where a piece stands: also "on hand", which takes no sale back.

    >>> state_said("WIP"), state_said("on hold - Ann"), state_said("kept"), state_said("oak")
    ('on hand', 'on hand', 'kept', None)
    """
    body = plain(text)
    stands = _ON_HAND.fullmatch(body) or STATED.get(body) == ON_HAND
    return ON_HAND if stands else outcome_said(text)


_IT = r"(?:it|this|them|these|that|one)"
_LEFT = {
    GIVEN_AWAY: rf"\bdonated\b(?! by)|\bg(?:ave|iven|iving) (?:{_IT} )?(?:away|to)\b(?! (?:me|us|by))|\bgifted\b"
    r"|\ba gift to\b",
    KEPT: rf"\b(?:kept|keeping),? (?:{_IT}|for (?:us|me|myself|ourselves|the house|(?:our|my) \w+))\b"
    r"|^(?:kept|keeper)(?:$|[,;.!(])",
    SCRAPPED: r"\bscrapped\b|\bjunked\b|\bto the (?:dump|tip)\b|\bthrown out\b|\bthrew (?:it|them) out\b"
    r"|(?:^|[,;.(] ?)trash(?:ed)?(?:$|[,;.!) ])|\bbroke (?:it|them) up\b"
    r"|\b(?:broke|broken|took|taken)\b[^,.;]{0,12} (?:up )?for (?:parts|spares|wood|lumber)\b"
    r"|\b(?:firewood|kindling)\b(?! (?:rack|box|bin|holder|basket))|\bsmashed (?:up|to bits)\b",
}
SOLD_AGAIN = re.compile(r"\bre-?sold\b|\bsold (?:it |them )?(?:again|on)\b|\bsecond buyer\b")
_LEFT_ELSEWHERE = {
    GIVEN_AWAY: GIVEN_AWAY_ELSEWHERE,
    KEPT: KEPT_ELSEWHERE,
    SCRAPPED: SCRAPPED_ELSEWHERE,
}
_BACK = re.compile(
    r"(?:^|\b(?:it|but) |[,;.:(\d-] ?)came back\b|\breturned\b(?! (?:to|the|call))|\bbrought back\b|\brefunded\b"
    r"|(?:^|[,;.(] ?)back (?:up|online|on sale|for sale|on the market)\b"
    rf"|\b(?:brought|sent|took) {_IT} back\b(?! to)|(?:^|[,;.(] ?)back (?:on )?{A_DAY}"
    r"|\b(?:gave|got) (?:(?:her|him|them|the) )?(?:money|all|it all|the lot) back\b|\bgave back (?:the )?[$€£]?\d"
    r"|[$€£]? ?\d[\d.,]* ?[$€£]? (?:handed|given|paid) back\b"
)


_LISTED = re.compile(
    rf"\b(?:listed|posted|put up|advertised|online|on the market|up)(?: on| since| from)? {A_DAY}"
)


@once
def listing_told(text: str) -> str:
    """The part of a remark that seems to tell the day a piece was listed, as "listed 10/10"; "" where none does."""
    found = _LISTED.search(plain(text))
    return found.group() if found else ""


_OCCASION = r"(?:birthday|christmas|wedding|anniversary|housewarming|graduation)\b"
_PRESENT = re.compile(
    r"\bno charge\b|\b(?:free of|without) charge\b|\bdidn'?t charge\b|\bno money\b(?! (?:in|left|for)\b)"
    rf"|\bfor free\b|\b(?:a|as a) (?:present|gift)\b|'s (?:\d+\w* )?{_OCCASION}|\b{_OCCASION} (?:present|gift)\b"
    rf"|\bfor (?:her|his|my|our|their) {_OCCASION}"
)
_HOW_IT_CAME = re.compile(
    r"\b(?:from|by|found|find|curb|kerb|roadside|got|picked|came|was|my (?:present|gift))\b|\bdeliver|\bshipping\b"
)


@once
def present_said(text: str) -> bool:
    """Whether the remark on a piece without a price tells of a present: "my sister, no charge", "niece's birthday"; not
    how it came: "free from a neighbour".

    >>> present_said("niece's birthday"), present_said("curb find, no charge"), present_said("no charge for delivery")
    (True, False, False)
    """
    body = plain(text)
    return _PRESENT.search(body) is not None and not _HOW_IT_CAME.search(body)


@once
def remark_said(text: str) -> str | None:
    """What a remark seems to tell of the piece: "given away", "kept", "scrapped", "on hand" (it came back), or None."""
    body = plain(text)
    if _BACK.search(body) or re.search(BACK_ELSEWHERE, body):
        return ON_HAND
    return next((said for said, words in _TOLD if words.search(body)), None)


_TOLD = [(s, re.compile(w)) for s, w in (*_LEFT.items(), *_LEFT_ELSEWHERE.items())]
