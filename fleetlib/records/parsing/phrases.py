"""What people write around an amount of money: doubt, counts, what was asked before, delivery on top.

A phrase is taken apart only where one reading is left; ranges and sums of unlike things stay whole, and are
then refused as no amount. Common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import pairwise

from fleetlib.records.parsing.counts import COUNT_WORD, MOST_IN_A_SET, count_named
from fleetlib.records.parsing.numbers import plain


@dataclass(frozen=True, slots=True)
class Phrase:
    """A typed amount taken apart; every amount still as text.

    `amount` is the price itself; `before` what was asked before it, `charge` what was paid for delivery on top,
    `less` what comes off `amount`; `times` multiplies it (4 x 45); `count` is the number of pieces named;
    `each` says that it is the price of one piece of the row's lot; `only_asked` that `amount` was asked, not paid;
    `said` what was taken off or taken as doubt.
    """

    amount: str
    before: str = ""
    charge: str = ""
    less: str = ""
    times: float = 1.0
    count: float | None = None
    each: bool = False
    only_asked: bool = False
    said: str = ""

    @property
    def parts(self) -> tuple[str, str, str, str]:
        """The amounts as text: amount, before, charge, less."""
        return self.amount, self.before, self.charge, self.less


_A = r"[$€£]? ?\d[\d.,']*(?: \d{3}(?!\d))?(?: ?k\b| ?grand\b)?(?: ?[$€£]|,-)?"
_DOUBT_FRONT = re.compile(
    r"^(?:[~≈?]|(?:i think|think|maybe|about|abt\.?|approx\.?|approximately|circa|ca\.?|c\.|around|roughly|say"
    r"|est\.?)(?=[ \d$€£])) ?(?=[ \d$€£])"
)
_DOUBT_BEHIND = re.compile(
    r"(?<=[\w$€£.]) ?(?:[?!*]+|\(\?\)|-?ish|\(-?ish\)|\+ ?/ ?-|,? ?(?:or so|i think|i guess|maybe|approx\.?|est\.?"
    r"|\(est\.?\)|\(approx\.?\)))$"
)
_PLAIN_BEHIND = re.compile(
    r"(?<=[\w$€£.\"'-]) ?[(,]? ?(?:o\.?b\.?o\.?|or best offer|or nearest offer|o\.?n\.?o\.?|firm|neg\.?|negotiable"
    r"|vh?b|verhandlungsbasis|fp|festpreis"
    r"|cash|pd\.?|paid(?: in full)?|final|total|in total|all in|after haggling|by (?:transfer|card|check|cheque))[)]?$"
)
_PLAIN_FRONT = re.compile(
    r"^(?:vh?b|sold(?: for| at| @)?|got|paid|cash|price|total|final|now|full(?: price| ask(?:ing price)?)?)[:! ]+"
    r"(?=[$€£]? ?\d|full\b)"
)
_WRAPPED = re.compile(r"^(?:=|'|\"|\*+)(?=[$€£]?\d)|(?<=\d)(?:\"|'|\*+|/-)$")
_ASKED = (
    r"(?:asked|asking|ask|was|orig(?:inally|inal)?\.?|(?:down |reduced )?from|listed(?: at| for)?)"
)
_NOW = (
    r"(?:now|->|→|=>|>>?|took|got|sold(?: for| at)?"
    r"|(?:down|dropped|reduced|lowered|marked down|came down|went) to)"
)
_DELIVERY = (
    r"(?:for )?(?:del\.?|deliv\.?|delivery|shipping|drop ?off|haul(?:ing)?)(?: fee| charge)?"
)
_EACH_WORD = (
    r"(?:each|ea\.?|apiece|a ?piece|per piece|(?:pro |das |p\. ?)?st(?:ü|ue)?c?k\.?|je"
    r"|per stuk|p/st?\.?|stuk|styck|la pi[eè]ce|c/u|cada un[ao]|l'un[ao]|cad\.)"
)
_ON = r"(?: (?:on |from )?\d\d?/\d\d?(?:/\d\d(?:\d\d)?)?)?"  # the day of the cut: 350 now 300 6/7
_BEFORE = (
    re.compile(rf"(?P<amount>{_A})[,;]? ?\(?{_ASKED}:? ?(?P<before>{_A})\)?"),
    re.compile(
        rf"(?:{_ASKED}:? ?)?(?P<before>{_A})(?:[,;]? ?{_NOW}:? ?{_A})*[,;]? ?{_NOW}:? ?(?P<amount>{_A})"
        rf"(?: firm| final)?{_ON}"
    ),
    re.compile(rf"{_ASKED}:? ?(?P<before>{_A})[,;]? (?P<amount>{_A}) now"),
    re.compile(rf"(?P<before>{_A}) was(?:[,;] ?(?:then )?{_A})*[,;]? ?now (?P<amount>{_A})"),
    re.compile(
        rf"(?P<amount>{_A})[,;]? ?\(?{_ASKED}:? ?(?P<before>{_A})\)? ?(?:\+|plus|&|and) ?(?P<charge>{_A}) ?{_DELIVERY}"
    ),
    re.compile(
        rf"(?P<amount>)[^\d$€£(),;]+[,;]? ?\(?{_ASKED}:? ?(?P<before>{_A})\)?"
    ),  # traded (asked 90)
)
_ONLY_ASKED = re.compile(
    rf"(?:asking(?: price)?|asked|asks?|listed (?:at|for)|wants?|wanting):? ?(?P<amount>{_A})"
)
_EACH_OF_TWO = re.compile(
    rf"(?P<amount>{_A}) ?{_EACH_WORD},? ?\(?{_ASKED}:? ?(?P<before>{_A})(?: ?{_EACH_WORD})?\)?"
)
_SHOUTED = re.compile(r"(?<=\d)[!?]+(?= ?[(,;+])")
_CHARGED = re.compile(rf"(?P<amount>{_A}) ?(?:\+|plus|&|and) ?(?P<charge>{_A}) ?{_DELIVERY}")
_WITHIN = re.compile(
    rf"(?P<amount>{_A}) ?\(?(?:incl\.?|including|inc\.?) ?(?P<charge>{_A}) ?{_DELIVERY}\)?"
)
_LESS = re.compile(rf"(?P<amount>{_A}) (?:less|minus) (?P<less>{_A})(?: (?:off )?for [a-z ]+)?")
_DEPOSIT = (
    re.compile(rf"{_A} (?:deposit|down)[,;]? (?P<amount>{_A}) (?:in )?total"),
    re.compile(rf"(?P<amount>{_A}) \({_A} deposit(?: paid)?\)"),
)
_EACH = re.compile(
    rf"(?P<amount>{_A}) ?/? ?{_EACH_WORD}(?: ?\(?(?:the |a )?(?P<count>pair|pr\.?|paar)\)?)?"
)
_TIMES = re.compile(
    r"(?P<count>[1-9]\d?) ?(?:x|\*|@|at) ?(?P<amount>[$€£]? ?\d[\d.,]*)(?: ?/? ?(?:each|ea\.?|apiece|per piece))?"
)
_TIMES_BEHIND = re.compile(r"(?P<amount>[$€£]? ?\d[\d.,]*) ?(?:x|\*) ?(?P<count>[1-9]\d?)")
_SET = (
    re.compile(rf"(?P<count>{COUNT_WORD}) for (?:the )?(?P<amount>{_A})"),
    re.compile(
        rf"(?P<amount>{_A}) ?(?:for|/(?!\d)) ?(?:the |all |a )?(?P<count>{COUNT_WORD}|both|all|pr\.?|set|lot)"
    ),
    re.compile(rf"(?P<amount>{_A}) (?:the )?(?P<count>pair|pr\.?|set|both)"),
    re.compile(rf"(?P<amount>{_A}) \((?:the |a )?(?P<count>pair|pr\.?)\)"),
    re.compile(rf"(?P<amount>{_A})/? ?(?:set|lot) ?(?:of )?\(?(?P<count>\d\d?)\)?"),
    re.compile(rf"(?P<amount>{_A}) \((?:set|lot) of (?P<count>{COUNT_WORD})\)"),
    re.compile(rf"(?:set|lot|pair) ?(?:of )?\(?(?P<count>\d\d?)\)? (?P<amount>{_A})"),
)
# Words beside an amount that may make it another one, or none.
_CHANGES = (
    r"\b(?:ask|was\b|orig|deposit|down\b|return|refund|back\b|offer|trad|swap|plus|with\b|w\b|incl|minus|less|ow|pend"
    r"|unpaid|not\b|no\b|never|fell|h[eo]ld|del|ship|haul|tip|now\b|then\b|or\b|still|need|until|till|if\b|each|but|and\b"
    r"|max|min|top|low|goal|hop|want|guess|worth|value|lost|fee|tax|cancel|off\b|lot\b|set\b|pairs?\b|pr\b|ea\b|apiece"
    rf"|per\b|both\b|all\b|half|grand|something|{COUNT_WORD}\b"
    r"|balance|bal\b|rest\b|remain|(?:part|first|1st|second|2nd|third|3rd|last|final|next|monthly)\b|partial|instal"
    r"|(?:pre|over|under)?payments?\b|pymt|pmt|due\b|so far|advance|credit\b(?! card)|plan\b|split|lay|later|owing"
    r"|anzahlung|acompte|solde)"
)
# What stands in brackets behind an amount and changes nothing: how it was paid, where.
_ASIDE = re.compile(rf"(?<=\d) ?\((?![^)]*{_CHANGES})(?!for\b|k\b)[^\W\d_][^()\d$€£?+]*\)$")
_SHORT = re.compile(r"(?<!\d)(?P<n>\d+(?:[.,]\d+)?) ?(?:k|grand)\b")


BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")  # most amounts are a number and no more
SIGNED = re.compile(r"[$€£][0-9]+(?:,[0-9]{3})*(?:\.[0-9]+)?")  # or that behind a sign


def phrase_of(body: str) -> Phrase:
    """`body`, a text made plain, taken apart; where nothing is known around it, the amount alone.

    >>> phrase_of("sold 380 (asked 450)")
    Phrase(amount='380', before='450', charge='', less='', times=1.0, count=None, each=False, only_asked=False, said='')
    >>> phrase_of("4 x 45").times
    4.0
    """
    alone = BARE.fullmatch(body) or SIGNED.fullmatch(body)
    return Phrase(body) if alone else _taken_apart(body)


def _taken_apart(body: str) -> Phrase:
    body, said = without_doubt(_SHOUTED.sub("", _WRAPPED.sub("", _WRAPPED.sub("", body))))
    body = _ASIDE.sub("", body)
    asked = _ONLY_ASKED.fullmatch(body)
    if asked:
        return Phrase(_written_out(asked["amount"]), only_asked=True, said=said)
    each_of_two = _EACH_OF_TWO.fullmatch(body)
    if each_of_two:
        amount, before = (_written_out(each_of_two[k]) for k in ("amount", "before"))
        return Phrase(amount, before, each=True, said=said)
    for pattern in (*_BEFORE, _CHARGED, _WITHIN, _LESS, *_DEPOSIT):
        match = pattern.fullmatch(body)
        if match:
            found = {k: _written_out(v) for k, v in match.groupdict().items() if v}
            less = found["charge"] if pattern is _WITHIN else found.get("less", "")
            return Phrase(**({"amount": ""} | found | {"less": less}), said=said)  # type: ignore[arg-type]
    each = _EACH.fullmatch(body)
    if each and (each["count"] or not _TIMES.fullmatch(body)):
        one, two = _written_out(each["amount"]), 2.0 if each["count"] else None
        return Phrase(one, times=two or 1.0, count=two, each=two is None, said=said)
    times = _times(body)
    if times is not None:
        return replace(times, said=said)
    if turned := _TWO_FOR.fullmatch(body):
        return _for(body, int(turned[1]), int(turned[2]), said)
    for pattern in _SET:
        match = pattern.fullmatch(body)
        count = count_named(match["count"].rstrip(".")) if match else None
        if match and (count is None or 2 <= count <= MOST_IN_A_SET):
            return Phrase(_written_out(match["amount"]), count=count, said=said)
    return Phrase(_written_out(body), said=said)


_STEP = re.compile(r", (?:(?:and )?then )?| ?; ?| (?:and )?then ")
_ONE = re.compile(_A)


def steps_down(text: str) -> str:
    """Under what was asked, amounts behind each other that fall from one to the next are one price and the later ones:
    `695, 640, 595` as `695 now 640 now 595`; any other text as it is."""
    amounts = _STEP.split(plain(text))
    if len(amounts) < 2 or not all(map(_ONE.fullmatch, amounts)):
        return text
    values = [float(re.sub(r"[^\d.]", "", a.replace(",", "")) or 0) for a in amounts]
    return " now ".join(amounts) if all(a > b for a, b in pairwise(values)) else text


_LABELLED = re.compile(
    rf"(?:(?P<front>[^\W\d_][^\d$€£+]*?):? )?(?P<amount>{_A})(?P<behind>(?:(?:,| -| at| from| for)(?= )| )[^\d$€£+]*)?"
)


def without_label(text: str) -> str:
    """The amount alone of what was paid or spent, without where and on what: `fabric 36`, `$5 yard sale`. Words behind
    an amount without a sign are a label only after `at`, `from`, `for`, a comma or a dash: 2 cans are no price."""
    body = plain(text)
    match = _LABELLED.fullmatch(body)
    front, behind = (match["front"] or "", match["behind"] or "") if match else ("", "")
    sure = (
        not behind.strip() or not behind.startswith(" ") or re.match(" (?:-|at|from|for) ", behind)
    )
    if not (front + behind).strip():  # an amount alone keeps the spaces in it as they were typed
        return text
    if not match or not (sure or re.search("[$€£]", match["amount"])) or _DOUBT_FRONT.match(body):
        return text
    return (
        text if re.search(_CHANGES, f"{front.replace(' and ', ' ')} {behind}") else match["amount"]
    )


_TWO_FOR = re.compile(r"(\d+) for (?:the |all )?(\d+)")
_MONEY_OVER_COUNT = (
    2  # an amount told by that alone is at least so many times the count; our own, no source
)


def _for(body: str, first: int, second: int, said: str) -> Phrase:
    """`20 for 4` and `4 for 20`: the larger is the money where it is clearly so, else there are two readings."""
    count, amount = sorted((first, second))
    if 2 <= count <= MOST_IN_A_SET and amount >= _MONEY_OVER_COUNT * count:
        return Phrase(str(amount), count=float(count), said=said)
    return Phrase(body, said=said)


def without_doubt(body: str) -> tuple[str, str]:
    """`body`, a text made plain, without the words that say nothing of its number, and a sentence on them."""
    said: list[str] = []
    while True:
        for pattern, why in _TAKEN_OFF:
            shorter = pattern.sub("", body, count=1).strip()
            if shorter != body:
                off = body.replace(shorter, "", 1).strip(" ,()")
                said.append(why or f'"{off}" taken off')
                body = shorter
                break
        else:
            return body, "; ".join(dict.fromkeys(said))


_TAKEN_OFF = (
    (_DOUBT_FRONT, "an approximate amount, taken as written"),
    (_DOUBT_BEHIND, "in doubt or approximate, taken as written"),
    (_PLAIN_BEHIND, ""),
    (_PLAIN_FRONT, ""),
)


def _times(body: str) -> Phrase | None:
    """`4 x 45` and `45 x 4`, a count and the price of one; None where it is neither."""
    for pattern in (_TIMES, _TIMES_BEHIND):
        match = pattern.fullmatch(body)
        if not match:
            continue
        count, one = float(match["count"]), float(re.sub(r"[^\d.]", "", match["amount"]) or 0)
        if 2 <= count <= MOST_IN_A_SET and count < one:
            return Phrase(match["amount"].strip(), times=count, count=count)
    return None


def _written_out(amount: str) -> str:
    """`1.2k` as 1200; any other text as it is."""
    match = _SHORT.search(amount)
    if not match:
        return amount.strip().rstrip(",")
    value = f"{float(match['n'].replace(',', '.')) * 1000:.2f}".removesuffix(".00")
    return (amount[: match.start()] + value + amount[match.end() :]).strip()
