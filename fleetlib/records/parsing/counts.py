"""Typed counts, years and grades -> numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence

from fleetlib.records.parsing.numbers import MISSING_WORDS, Cell, plain, within_measure
from fleetlib.records.parsing.once import once

_NUMBER_WORDS = {
    "one": 1, "a": 1, "single": 1, "two": 2, "pair": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10, "twelve": 12, "dozen": 12, "half dozen": 6, "half a dozen": 6,
}  # fmt: skip
MOST_IN_A_SET = 24
COUNT_WORD = r"(?:\d+|" + "|".join(w for w in _NUMBER_WORDS if w not in ("a", "single")) + ")"
_N = r"(\d+|" + "|".join(_NUMBER_WORDS) + r")"
_COUNT = re.compile(
    rf"(?:x ?{_N}|{_N} ?(?:x|pcs?\.?|pieces?|pc\.?|units?|ea\.?)?|(?:a )?pair|(?:set|lot) of {_N}|(?:a )?pair of .*)"
)
# A pair in the languages that the kit knows; "couple of" is often more.
_PAIR = r"pairs?|prs?\.?|paires?|paar|par|coppi[ae]|paio|parej?a"
_SET_IN_FRONT = re.compile(
    rf"(?:(?:an? |una? |une |ett |ein )?(?P<pair>{_PAIR})(?: (?:of|de|di|d'))?"
    rf"|(?:set|group) (?:of )?\(?{_N}\)?|lot of {_N}|(?:lot )?\({_N}\)|(?P<x>\d+) ?x"
    rf"|{_N}(?: (?:st|stk|stuks?|pcs?)\.?)?) (?P<rest>[^\W\d].*)"
)
_SET_BEHIND = re.compile(
    rf"(?P<rest>.*[a-z.)])(?:,| -)? ?(?:x ?(\d+)|\(?(?:(?:set|lot) ?(?:of|de|/) ?){_N}\)?|\((?:x ?)?{_N}\)"
    rf"|\((?:an? )?(?P<pair>{_PAIR})\)|(?<=[ -])(?P<pair2>{_PAIR}))"
)
_NUMBER_BEHIND = re.compile(
    r"(?P<rest>(?:[a-z]+ )*(?P<last>[a-z]+s)),? (\d\d?)"
)  # chairs 4; not 2 drawers 4

_AS_A_SET = re.compile(r"(?<=s),? (?:set|lot)$")  # dining chairs set (4)


def count_named(word: str) -> float | None:
    """The number that a digit or a word names ("4", "pair", "both"), or None for a set of no number."""
    if word in ("pr", "both"):
        return 2.0
    return float(word) if word.isdigit() else _NUMBER_WORDS.get(word)


_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
    "fifteen": 15, "eleven": 11, "thirteen": 13, "fourteen": 14, "sixteen": 16, "seventeen": 17, "eighteen": 18,
    "nineteen": 19,
}  # fmt: skip
_IN_WORDS = _TENS | {
    w: n for w, n in _NUMBER_WORDS.items() if n > 1 and w.isalpha() and w not in ("pair", "dozen")
}


def in_words(text: str) -> tuple[float, bool] | None:
    """The number that words name, and whether it is in no doubt: "four eighty" may be 480 or 4.80; None for none."""
    words = re.split(r"[ -]+", text.casefold().removesuffix(" bucks").removesuffix(" dollars"))
    words = [w for w in words if w != "and"]
    if "hundred" in words:
        front, rest = words[: words.index("hundred")], words[words.index("hundred") + 1 :]
        hundreds = 1.0 if front in ([], ["a"]) else sum(_IN_WORDS.get(w, 1e9) for w in front)
        last = in_words(" ".join(rest)) if rest else (0.0, True)
        return (100 * hundreds + last[0], last[1]) if last and hundreds < 100 else None
    values = [_IN_WORDS.get(w, 0) for w in words]
    if not all(values) or len(values) > 3:
        return None
    first, rest_of = values[0], values[1:]
    if not rest_of:
        return float(first), True
    if first >= 20 and len(rest_of) == 1 and rest_of[0] < 10:
        return float(first + rest_of[0]), True
    return (100.0 * first + sum(rest_of), False) if first < 20 and rest_of[0] >= 10 else None


def read_counts(texts: Sequence[str]) -> list[Cell]:
    """How many pieces: `2`, `pair`, `set of 4`, `x2`."""
    return [within_measure(_count(t)) for t in texts]


def _count(text: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS - {"x"}:
        return Cell(None, "a word for nothing here" if body else "")
    whole = re.fullmatch(r"(\d{1,6})(?:[.,]0+)?", body)
    if whole:
        return Cell(float(whole[1]), "a count")
    match = _COUNT.fullmatch(body)
    if not match:
        return Cell(None, "is not a count", True)
    found = next((g for g in match.groups() if g), "pair")
    return Cell(float(_NUMBER_WORDS.get(found) or found), "a count in words")


def split_count(text: str) -> tuple[str, float | None]:
    """A typed kind of piece and the count it names: `pair of nightstands` -> ("nightstands", 2.0).

    A set without a number ("set of chairs") keeps its words and names no count.
    """
    body = plain(text)
    if _ONE_NEST.search(body):
        return text, None
    for pattern in (_SET_IN_FRONT, _SET_BEHIND, _NUMBER_BEHIND):
        match = pattern.fullmatch(body)
        if not match:
            continue
        named = match.groupdict()
        if named.get("last", "").rstrip("s") in _MEASURED:
            continue
        if named.get("pair") or named.get("pair2"):
            return named["rest"].strip(), 2.0
        if named["rest"].split()[0].rstrip("s") in _MEASURED:
            continue  # a dresser of six drawers is one piece
        found = next(g for g in match.groups() if g and g not in (named["rest"], named.get("last")))
        count = float(_NUMBER_WORDS.get(found) or found)
        if 2 <= count <= MOST_IN_A_SET:  # "1950 dresser" is no set
            return _AS_A_SET.sub("", named["rest"].strip()), count
    return text, None


def count_said(text: str) -> float | None:
    """The count that a typed kind names wherever it stands: `bar stools set of 3 red`, `4 chairs, new seats`."""
    body = plain(text)
    _, count = split_count(body)
    if count is not None or _ONE_NEST.search(body):
        return count
    for pattern in _SAID_ANYWHERE:
        for match in pattern.finditer(body):
            count = count_named(match[1]) if match.lastindex else 2.0
            measured = (match[2] if match.lastindex == 2 else "").rstrip("s") in _MEASURED
            if not measured and count and 2 <= count <= MOST_IN_A_SET:
                return count
    return None


_ADDED_UP = re.compile(
    rf"(?<![\d.,/x]){_N} (?:(?!(?:and|with|w)\b)[a-z]+ )?(?P<one>[a-z]+),? ?(?:\+|and|&|plus) ?{_N} "
    r"(?P<other>(?:with |w/ ?)?[a-z]+)\b(?! (?:each|hours|hrs|days))"
)


@once
def count_added_up(text: str) -> float | None:
    """The pieces that two sorts of them are together: `4 plain + 2 with arms`; None where none are told.

    >>> count_added_up("4 plain + 2 with arms"), count_added_up("2 small and 4 big drawers"), count_added_up("2 + 3")
    (6.0, None, None)
    """
    body = plain(text)
    if any(w.rstrip("s") in _MEASURED | _PARTS_OF_ONE for w in re.findall(r"[a-z]+", body)):
        return None
    match = _ADDED_UP.search(body)
    counts = [count_named(g) for g in (match[1], match[3])] if match else []
    total = sum(c or 0 for c in counts)
    return float(total) if all(counts) and 2 < total <= MOST_IN_A_SET else None


# A nest is one piece, whatever the number of its tables; two nests are two.
_ONE_NEST = re.compile(r"\bnest(?:ing|ed)?\b|\bgigognes?\b|satztisch")
_NO_PART = (
    r"(?!(?: of)?(?: [a-z]+)? (?:doors?|drawers?|shelves|handles|knobs|legs|leaves|pulls|hinges)\b)"
)
_SAID_ANYWHERE = (
    re.compile(rf"\b(?:set|lot|group|jeu|satz)s? ?(?:of|de|von)? ?\(?({COUNT_WORD})\b"),
    re.compile(r"\bx ?(\d\d?)\b(?! ?(?:x|cm|mm|in|ft|\"))"),
    re.compile(rf"\(({COUNT_WORD})\)$"),
    re.compile(rf"^({COUNT_WORD}) (?:[a-z]+ )?([a-z]+s)\b"),
    re.compile(rf"\b(?:pair(?:e d[e'])?|coppia|paio)\b{_NO_PART}|^(?:paar|par) |^prs? |\bpr$"),
)
_MEASURED = {
    "drawer", "door", "shelf", "shelve", "leg", "tier", "panel", "ft", "foot", "feet", "inch", "in", "cm", "seat",
    "seater", "poster", "tone",
}  # fmt: skip
_PARTS_OF_ONE = {
    "spindle", "slat", "knob", "pull", "handle", "hinge", "screw", "coat", "board", "rung", "castor", "caster", "leaf",
    "leave", "chip", "crack", "scratch", "hole", "hour", "hr", "day", "week", "month", "mile", "bolt", "nail",
}  # fmt: skip
_CENTURY = re.compile(r"(\d{2})(\d)0'?s")


def read_years(texts: Sequence[str]) -> list[Cell]:
    """A year, `1965`; a decade, `1960s`, is its middle year; `c. 1920` and `1920?` are the year named."""
    return [_year(t) for t in texts]


def _year(text: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    bare = re.sub(r"^(?:c\.?|circa|ca\.?|about|around|approx\.?|~) ?|[ ?~]+$", "", body)
    if re.fullmatch(r"\d{4}(?:\.0)?", bare):
        return Cell(float(bare[:4]), "a year" if bare == body else "an approximate year")
    decade = _CENTURY.fullmatch(bare)
    if decade and decade[2] != "0":
        return Cell(float(f"{decade[1]}{decade[2]}5"), "a decade, taken as its middle year")
    if decade:
        return Cell(None, "could be a decade or a century; write a year", True)
    short = re.fullmatch(r"'?(\d)0'?s", bare)
    if short and short[1] != "0":
        return Cell(None, "could be more than one century; write 1960s", True)
    return Cell(None, "is not a year", True)


def read_grades(texts: Sequence[str]) -> list[Cell]:
    """A grade of 1 to 5: `4`, `4.5`, `4/5`."""
    return [_grade(t) for t in texts]


def _grade(text: str) -> Cell:
    body = plain(text)
    if not body or body in MISSING_WORDS:
        return Cell(None, "a word for nothing here" if body else "")
    match = re.fullmatch(r"(\d(?:[.,]\d+)?)(?: ?(?:/|of|out of) ?5(?:[.,]0)?)?", body)
    if not match:
        return Cell(None, "is not a grade from 1 to 5", True)
    return Cell(float(match[1].replace(",", ".")), "a grade")
