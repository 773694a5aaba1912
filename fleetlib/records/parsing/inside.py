"""A known word found inside what was typed: "6 drawer dresser", "pine i think", "painted white".

Used only where one reading is left: one known word, and beside it nothing but words that are known to change
nothing. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from fleetlib.records.parsing.other_languages import COLOURS, LACQUERED

_DOUBT = re.compile(
    r"^(?:maybe|probably|prob\.?|i think|think|looks like|possibly|mostly) +|[ ,]*(?:\(\?\)|\?+|i think|i guess|maybe"
    r"|probably|mostly)$"
)
_WITH = r"(?:w|with|without|no|needs|minus|con|mit|avec|met|med)\b"
_BESIDE_IT = r" (?:and|plus|\+|&) (?:(?:a|its|the|matching) )*(?:stool|mirror|leaf|leaves)\b"
_REST = re.compile(rf",? {_WITH}.*$|\([^)]*\)|\[[^\]]*\]|{_BESIDE_IT}")
_NUMBER = re.compile(r"#?\d+|x\d+|\d+pcs?|(?:19|18)\d0'?s")
_COLOURS = (
    "white black grey gray green blue red yellow pink teal navy cream ivory sage brown tan beige purple orange"
    " turquoise charcoal mint coral aqua mustard lavender lilac olive plum peach slate burgundy maroon gold silver"
    " off pale dark light bright deep soft antique satin matte matt gloss semi flat clear eggshell"
    " blk wht gry grn brn dk lt"
)
_NO_COLOUR = frozenset(
    [
        *("off", "satin", "matte", "matt", "gloss", "semi", "flat", "clear", "antique", "eggshell"),
        *("pale", "dark", "light", "bright", "deep", "soft", "dk", "lt"),
    ]
)
_WHITES = frozenset(["white", "wht"])
_OF_PAINT = frozenset(["off", "satin", "matte", "matt", "gloss", "semi", "flat", "eggshell"])
_OF_WOOD = frozenset(
    ["brown", "brn", "tan", "beige", "red", "gold"]
)  # a stain or a wood may be so too
_SIZES = (
    "small big large tall short low long wide narrow little mini huge old vintage antique ugly nice pretty cute round"
    " square oval heavy drawer drawers door doors shelf leg legs modern mcm rustic painted solid single double triple"
    " matching corner kids kid child's girls boys makeup lowboy primitive victorian deco farmhouse bow front bowfront"
    " serpentine kneehole knee hole hall piano french prov provincial queen king twin sleigh filing file curved leaf"
    " leaves pc pcs piece over marble glass top n and lined cleaned pair mint free refinished restored redone sanded"
    " tiroir tiroirs porte portes grand grande petit petite ancien ancienne schublade schubladen groß klein alt"
    " cassetto cassetti anta ante anni antico antica piccolo piccola"
    " pedestal trestle extending extendable folding swivel spindle slat slatted wingback tufted cane claw foot feet"
    " cabriole tambour louvered louvred carved ornate plain partners writing library campaign veneer plywood laminate"
    " dovetail sm lg dr drs just lightly newly freshly fully very really new re rush back seat seats knobs handles"
    " pulls hardware casters"
)
_LINKS = frozenset(("and", "n", "just", "only"))
_PARTICIPLE = re.compile(
    r"[a-z]{3,}ed"
)  # reseated, glazed: what was done to it makes it no other kind
PARTS = frozenset(
    [
        *(
            "drawer",
            "drawers",
            "door",
            "doors",
            "shelf",
            "shelves",
            "leg",
            "legs",
            "leaf",
            "leaves",
        ),
        *("tiroir", "tiroirs", "porte", "portes", "schublade", "schubladen"),
        *("cassetto", "cassetti", "anta", "ante", "back", "seat", "seats"),
        *("knobs", "handles", "pulls", "hardware", "casters"),
    ]
)
_COATS = (
    "coat coats of in top then sanded color colour over two 2 3 x2 x3 sealed brushed sprayed based water hemp wipe"
    " on et und"
)
_CUTS = "old solid knotty dark light heavy quarter sawn qs real genuine nice pure all"
_BESIDE = {
    "furniture_type": frozenset((_COLOURS + " " + _SIZES).split()),
    "wood": frozenset(_CUTS.split()),
    "finish": frozenset((_COLOURS + " " + _COATS).split()),
}
_COATED = frozenset({"wax", "polyurethane", "varnish", "lacquer", "shellac", "oil"})
_PAINTS = frozenset(
    {"milk paint", "chalk-type paint", "latex paint", "enamel", "spray paint", "paint", "two-tone"}
)


_APPLIED = (
    _PAINTS | _COATED | {"stain", "stripped", "whitewash", "limed"}
)  # what is done to a piece, not found on it


class Inside(NamedTuple):
    """The known word; of a kind of piece also the wood and the finish named beside it ("" for none), and the words
    that are left."""

    word: str
    wood: str = ""
    rest: str = ""
    finish: str = ""


def changes_nothing(column: str, word: str) -> bool:
    """Whether a word beside one of `column` is known to make it no other: a small desk is a desk."""
    return word in _BESIDE.get(column, ())


def without_doubt_words(key: str) -> str:
    """`key` without words of doubt: "oak?" and "i think oak" are oak."""
    while (shorter := _DOUBT.sub("", key).strip(" ,.")) != key:
        key = shorter
    return key


def found_inside(column: str, key: str, tables: Mapping[str, Mapping[str, str]]) -> Inside | None:
    """The one known word of `column` inside `key`, or None where there is none or more than one reading.

    `tables` maps a column to its known spellings. Beside a kind of piece may stand its wood and words that are known
    to change nothing; behind it a part only with a number ("wardrobe 2 door"; a "desk drawer" is no desk). What
    follows "with" or stands in brackets is left over. Another kind, or any other word, leaves it open.
    """
    if column not in _BESIDE:
        return None
    body = _REST.sub("", key).strip(" ,-") if column == "furniture_type" else key
    clauses = [[w for w in _APART.split(c) if w] for c in _CLAUSE.split(body)]
    words = [w for clause in clauses for w in clause]
    part_of = [n for n, clause in enumerate(clauses) for _ in clause]
    known, left_over = _known_among(words, tables[column], column)
    if column == "furniture_type":
        known = _heads(known, part_of)
    meant = {k for _, k in known}
    if column == "finish":
        meant = _one_finish(meant)
    other, beside = _BESIDE[column], [words[p] for p in left_over]
    if column == "furniture_type":
        other = other | frozenset(tables["wood"]) | _words_of_finishes(tables["finish"])
        other |= frozenset(_COATS.split())
        other |= frozenset(w for style in tables["style"] for w in style.split())
        beside = [w for w in beside if not _PARTICIPLE.fullmatch(w)]
    if len(meant) != 1 or any(w not in other and not _NUMBER.fullmatch(w) for w in beside):
        return None
    if column != "furniture_type":
        return Inside(meant.pop())
    after = known[-1][0]
    parts = [
        p
        for p in left_over
        if p >= after and words[p] in PARTS and part_of[p] == part_of[after - 1]
    ]
    if any(not _NUMBER.fullmatch(words[p - 1]) for p in parts):
        return None
    return Inside(meant.pop(), *beside_kind(key, tables))


_APART = re.compile(r"[ ,+&;()-]+")
_ALONE = re.compile(rf"[,+&;()]| - | {_WITH}")
_SEATS = frozenset({"chair", "stool", "bench"})


def _heads(known: list[tuple[int, str]], clause: Sequence[int]) -> list[tuple[int, str]]:
    """`known` without a kind that only says of which sort the next one is: a desk chair is a chair, a mirror dresser a
    dresser. `clause` is the number of the clause that each word stands in."""
    heads = known[-1:]
    for (end, kind), (after, head) in reversed([*pairwise(known)]):
        beside = after == end + 1 and clause[end - 1] == clause[end]
        if not (beside and (kind == "mirror" or head in _SEATS)):
            heads.insert(0, (end, kind))
    return heads


def kinds_inside(key: str, table: Mapping[str, str]) -> tuple[str, ...]:
    """The known kinds of piece that a text names among other words, clause by clause; in each the last first, as it is
    what those before it tell of."""
    clauses = ([w for w in _APART.split(c) if w] for c in _CLAUSE.split(_REST.sub("", key)))
    found = (k for words in clauses for _, k in reversed(_known_among(words, table, "")[0]))
    return tuple(dict.fromkeys(found))


def wood_inside(key: str, tables: Mapping[str, Mapping[str, str]]) -> str:
    """The wood that is a part of the name of a kind of piece: a cedar chest is of cedar; "" for none."""
    words = [w for w in _APART.split(key) if w]
    named = {tables["wood"][w] for w in words if w in tables["wood"]} - {"unknown"}
    return named.pop() if len(named) == 1 else ""


def beside_kind(key: str, tables: Mapping[str, Mapping[str, str]]) -> tuple[str, str, str]:
    """The one wood and the one finish that stand beside a kind of piece in `key` ("" for none or several), and
    between them the words that are left. A phrase is made of words that stand beside each other in that order."""
    groups: list[list[str]] = []
    for part in _ALONE.split(key):
        words = [w for w in _APART.split(part) if w]
        _, left_over = _known_among(words, tables["furniture_type"], "furniture_type")
        for k, place in enumerate(left_over):
            if not k or place != left_over[k - 1] + 1:
                groups.append([])
            groups[-1].append(words[place])
    woods, groups = _phrases(groups, tables["wood"], frozenset({"unknown"}))
    named, without = _phrases(
        groups, tables["finish"], frozenset(tables["finish"].values()) - _APPLIED
    )
    if "stripped" in named and len(named) == 2 and named - {"stripped"} <= _COATED:
        named -= {"stripped"}  # a step before the coat
    finishes = _one_finish(named)
    one_wood, one_finish = len(woods) == 1, len(finishes) == 1
    left = (w for g in (without if one_finish else groups) for w in g)
    rest = " ".join(w for w in left if w not in _LINKS)
    wood = woods.pop() if one_wood else "" if woods else wood_inside(key, tables)
    return wood, rest, finishes.pop() if one_finish else ""


def finishes_inside(key: str, table: Mapping[str, str]) -> tuple[str, ...]:
    """What a finish that is not known may be: the known ones that it names, or paint where it is a colour alone."""
    words = [w for w in _APART.split(key) if w]
    known, _ = _known_among(words, table, "finish")
    if known:
        return tuple(dict.fromkeys(k for _, k in known))
    return ("paint",) if _of_colours(words) else ()


def painted_parts(text: str, table: Mapping[str, str]) -> bool:
    """Whether a part of `text` tells of a colour alone, and another of a finish that is no paint: "base sage green, top
    waxed", "white/strip top"."""
    every = [w for w in re.split(r"[ /,+&;()-]+", text.casefold()) if w]
    named = {k for _, k in _known_among(every, table, "finish")[0]}
    if not named or named & _PAINTS:
        return False
    for part in re.split(r"[/,;+&]| and | with ", text.casefold()):
        words = [w for w in _APART.split(part) if w]
        left = [w for w in words if w not in PARTS | _OTHER_PARTS and not _NUMBER.fullmatch(w)]
        if _of_colours(left) and not _known_among(words, table, "finish")[0]:
            return True
    return False


def _of_colours(words: Sequence[str]) -> bool:
    """Whether the words are a colour and what says how it is, as off white."""
    named = set(words) - _LINKS
    return named <= frozenset(_COLOURS.split()) and bool(named - _NO_COLOUR)


def is_a_paint_colour(key: str) -> bool:
    """Whether a finish is a colour alone that only paint gives: navy, off white eggshell; not brown, a stain too, nor
    white by itself, which may be a whitewash."""
    words = {w for w in _APART.split(key) if w}
    sure = words - _NO_COLOUR - _OF_WOOD - (frozenset() if words & _OF_PAINT else _WHITES)
    return bool(words) and _of_colours([*words]) and bool(sure)


def the_one_finish(key: str, table: Mapping[str, str]) -> str:
    """The one finish that was applied among whatever other words of `key` ("painted blush", "stripped and waxed"); ""
    where there are several, where it may not have been done, or where it is that of a part alone ("legs painted")."""
    words = [w for w in _APART.split(key) if w]
    named = [k for _, k in _known_among(words, table, "finish")[0]]
    if named[:1] == ["stripped"] and len(set(named)) > 1:  # what came after it is the finish
        named = named[1:]
    meant = _one_finish(set(named))
    if len(meant) != 1 or not meant <= _APPLIED or set(words) & _NOT_DONE:
        return ""
    if meant == {"lacquer"} and LACQUERED & set(words) and COLOURS & set(words):
        meant = {"paint"}
    clauses = [[w for w in _APART.split(c) if w] for c in _CLAUSE.split(key)]
    told = [c for c in clauses if _known_among(c, table, "finish")[0]]
    of_a_part = any(set(c) & (PARTS | _OTHER_PARTS) for c in told)
    return "" if of_a_part and len(named) == 1 else meant.pop()


def coat_after_steps(key: str) -> str:
    """The last clause of a finish where it tells of a clear coat by how it looks alone, and all before it of the steps
    that lead to it: "stripped, clear satin"; "" for any other text.

    >>> coat_after_steps("stripped, clear satin"), coat_after_steps("reglue / natural"), coat_after_steps("stripped")
    ('clear satin', 'natural', '')
    """
    *steps, last = (part.split() for part in re.split(r" ?[,;/+&] ?| (?:and|then) ", key))
    if not steps or not last or any(not s or set(s) - _STEPS for s in steps):
        return ""
    return " ".join(last) if set(last) <= _CLEAR_COAT and not set(last) <= _STEPS else ""


_STEPS_IN_WORDS = (
    "strip stripped sand sanded back light lightly clean cleaned reglue reglued glue glued repair repaired veneer"
    " joints new seats seat hardware knobs handles all by hand"
)
_COAT_IN_WORDS = "clear satin matte matt gloss semi flat natural coat topcoat finish top"
_STEPS, _CLEAR_COAT = frozenset(_STEPS_IN_WORDS.split()), frozenset(_COAT_IN_WORDS.split())


def named_together(key: str, table: Mapping[str, str]) -> tuple[str, ...]:
    """The finishes of one whole piece that `key` names one after the other, stripping before them left out."""
    words = {w for w in _APART.split(key) if w}
    named = finishes_inside(key, table)
    if words & (_NOT_DONE | PARTS | _OTHER_PARTS) or not set(named) <= _APPLIED:
        return ()
    return named[1:] if named[:1] == ("stripped",) and len(named) > 1 else named


_CLAUSE = re.compile(r"[,;+&()]| (?:and|with|w|et|und|for) ")
_UNDONE = (
    "not no never needs need to be todo will wants remove removed off was or maybe half partly partially without under"
    " peeling chipped chipping worn flaking cracked damaged scratched marks spots spills"
    " old before someone previous previously pas sans \u00e0 ohne nicht noch"
)
_NOT_DONE = frozenset(_UNDONE.split())
_ONE_PART = (
    "top tops seat seats inside interior int\u00e9rieur back frame base front fronts handles hardware knobs trim edges"
    " lining lined plateau dessus innen"
)
_OTHER_PARTS = frozenset(_ONE_PART.split())


def _one_finish(meant: set[str]) -> set[str]:
    """What is meant by a paint and the coat over it: the paint; of two words for paint the closer one."""
    if len(meant & _PAINTS) > 1:
        meant = meant - {"paint"}
    if len(meant & _PAINTS) == 1 and meant - _PAINTS <= _COATED:
        return meant & _PAINTS
    return meant


def _words_of_finishes(table: Mapping[str, str]) -> frozenset[str]:
    """Every word by which an applied finish is named, alone or with one other."""
    named = [k.split() for k, meant in table.items() if meant in _APPLIED]
    return frozenset(w for words in named if len(words) < 3 for w in words) - {"only"}


def _known_among(
    words: Sequence[str], table: Mapping[str, str], column: str
) -> tuple[list[tuple[int, str]], list[int]]:
    """Where each known word ends among `words`, with what it is; and the places of the words left over."""
    known, left_over, place = [], [], 0
    while place < len(words):
        for length in range(min(4, len(words) - place), 0, -1):
            spelt = " ".join(words[place : place + length])
            if spelt in table and not (column == "finish" and spelt in ("spray", "sprayed")):
                place += length
                known.append((place, table[spelt]))
                break
        else:
            left_over.append(place)
            place += 1
    return known, left_over


def _phrases(
    groups: Sequence[Sequence[str]], table: Mapping[str, str], but: frozenset[str]
) -> tuple[set[str], list[list[str]]]:
    """What the groups of adjacent words name of `table`, leaving out `but`; and the groups without those words."""
    found: set[str] = set()
    left: list[list[str]] = []
    for group in groups:
        rest, place = [[]], 0  # type: ignore[var-annotated]
        while place < len(group):
            for length in range(min(3, len(group) - place), 0, -1):
                meant = table.get(" ".join(group[place : place + length]), "")
                if meant and meant not in but:
                    found.add(meant)
                    place += length
                    rest.append([])
                    break
            else:
                rest[-1].append(group[place])
                place += 1
        left += [r for r in rest if r]
    return found, left
