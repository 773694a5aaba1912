"""The trade's words: types, woods, construction, finishes and styles, with their synonyms and traps.

Nothing here is applied by likeness. A word is changed only when it is listed, as a synonym, as a common
misspelling, or in the person's own settings; a near miss is suggested and left as it was typed.
Common practice, no source, unless a line says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from fleetlib.base.nearest import nearest
from fleetlib.records.parsing.amounts import worked_in
from fleetlib.records.parsing.counts import COUNT_WORD, split_count
from fleetlib.records.parsing.inside import (
    beside_kind,
    coat_after_steps,
    finishes_inside,
    found_inside,
    is_a_paint_colour,
    kinds_inside,
    named_together,
    painted_parts,
    the_one_finish,
    without_doubt_words,
    wood_inside,
)
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.other_languages import FINISHES as OTHER_FINISHES
from fleetlib.records.parsing.other_languages import KINDS, more
from fleetlib.records.parsing.other_languages import WOODS as OTHER_WOODS
from fleetlib.records.schema.columns import COLUMNS


def _lines(block: str) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for line in block.strip().splitlines():
        word, _, others = line.partition(":")
        known = tuple(o.strip() for o in others.split(",") if o.strip())
        found[word.strip()] = found.get(word.strip(), ()) + known
    return found


TYPES = _lines("""
dresser: low dresser, double dresser, triple dresser, long dresser, chest with mirror, dresser with mirror
chest of drawers: lingerie chest, semainier, drawer chest, chest drawers
highboy: chest on chest, chest on stand, high boy
armoire: wardrobe, chifforobe, chifferobe, linen press, wardrobe cabinet
nightstand: night stand, bedside, bedside table, bedside cabinet, night table, bedside stand
sideboard: credenza, server, huntboard, hunt board
hutch: china cabinet, china hutch, display cabinet, welsh dresser, step back cupboard, china closet
dining table: kitchen table, drop leaf table, drop leaf, gateleg, gateleg table, farm table, farmhouse table
coffee table: cocktail table
side table: end table, lamp table, accent table, occasional table
console: sofa table, hall table, entry table, console table, entryway table
desk: writing desk, secretary, secretary desk, secretaire, roll top, roll top desk, rolltop desk, escritoire
vanity: dressing table, vanity table
bookcase: bookshelf, book case, book shelf, barrister, barrister bookcase
bench: settle, storage bench, entry bench
chair: ladderback chair, ladderback, carver chair, carver
chair: side chair, armchair, arm chair, rocker, rocking chair, windsor chair, dining chair, kitchen chair
trunk: blanket chest, hope chest, cedar chest, steamer trunk, blanket box, chest or trunk
bed: bedstead, headboard, bed frame, bedframe
tv stand: media console, entertainment center, entertainment centre, media cabinet, media stand, tv cabinet
bar: drinks cabinet, liquor cabinet, dry bar
bar cart: drinks cart, tea cart
cabinet: cupboard, storage cabinet, accent cabinet
jelly cupboard: pie safe
washstand: wash stand, commode stand
mirror: wall mirror, framed mirror
stool: bar stool, barstool, step stool
cart: kitchen cart, utility cart
plant stand: fern stand
nest of tables: nests of tables, nesting tables, nest tables, nested tables, nesting side tables, set of nesting tables
crib: cot, baby crib
""")

# Figure, cut and colour are not species: "tiger oak" is oak, "birdseye maple" is maple.
# Wood names after the USDA Wood Handbook (FPL-GTR-282, 2021), chapter 2, as remembered.
WOODS = _lines("""
mahogany: true mahogany, genuine mahogany, honduran mahogany, honduras mahogany, cuban mahogany
african mahogany: khaya, mahogany african
lauan: philippine mahogany, luan, meranti
red oak: oak red
white oak: oak white, english oak, french oak, european oak
oak: tiger oak, golden oak, quarter sawn oak, quartersawn oak, quarter sawn, oak unknown
hard maple: rock maple, sugar maple, maple hard
soft maple: maple soft
maple: birdseye maple, bird's eye maple, curly maple, tiger maple
walnut: black walnut, american walnut, english walnut, circassian walnut, french walnut
butternut: white walnut
cherry: black cherry, cherrywood, cherry wood
poplar: yellow poplar, tulip poplar, tulipwood, whitewood, popple, tulip wood
pine: white pine, yellow pine, knotty pine, heart pine, pinewood, pine wood
birch: yellow birch, white birch
ash: white ash
beech: beechwood
elm:
chestnut: american chestnut, sweet chestnut, wormy chestnut
hickory: pecan
alder: red alder, knotty alder
cedar: red cedar, aromatic cedar, aromatic red cedar
fir: douglas fir
teak: teakwood, teak wood
rosewood: brazilian rosewood, indian rosewood
gum: red gum, sweetgum, sweet gum, gumwood
basswood: linden
rubberwood: parawood, rubber wood
acacia:
mango: mango wood, mangowood
bamboo:
rattan: wicker, cane
unknown: wood, mixed, mixed wood, mixed woods, hardwood, softwood, barn wood, barnwood, not sure, various
""")

CONSTRUCTIONS = _lines("""
solid: solid wood, all wood, hardwood throughout
veneer: veneered, wood veneer
plywood: ply
bent plywood: bent ply, bentwood ply
mdf: medium density fibreboard, medium density fiberboard, fibreboard, fiberboard
particle board: particleboard, chipboard, pressboard, pressed wood
laminate: laminated, laminate top, plastic laminate
melamine:
hardboard: pressed hardboard
metal: steel, iron
wicker: woven
mixed: solid and veneer, veneer and solid, mixed construction
""")

FINISHES = _lines("""
oil: danish oil, tung oil, linseed oil, oiled, oil finish, teak oil, hard wax oil, hardwax oil
wax: waxed, paste wax, beeswax, wax finish, clear wax
shellac: french polish, french polished, fr. polish, fr polish, fr. polished
lacquer: lacquered, spray lacquer, clear lacquer
varnish: varnished, spar varnish
polyurethane: poly, polyurethane varnish, oil poly, water poly, water based poly, oil based poly, clear poly
stain: stained, gel stain, dark stain, light stain
milk paint: milkpaint
chalk-type paint: chalk paint, chalk, chalk style paint, chalky paint, mineral paint
latex paint: latex, acrylic, acrylic paint, emulsion
enamel: enamel paint, alkyd, alkyd enamel
spray paint: spray, sprayed, spray painted
paint: painted
two-tone: two tone, 2 tone, two toned, painted base with stained top
limed: cerused, pickled, lime wax, cerused finish
whitewash: white wash, whitewashed
distressed: distressed paint, shabby
gilded: gilt, gold leaf
decoupage: découpage
raw: bare, bare wood, raw wood, natural unfinished, unfinished
stripped: stripped only, strip
original: as found, original finish
""")

STYLES = _lines("""
mid-century: mid century, midcentury, mid century modern, mcm
farmhouse: country, modern farmhouse, country farmhouse
Victorian: victorian
Edwardian: edwardian
Georgian: georgian
colonial: colonial revival, early american
art deco: deco, art-deco
art nouveau: nouveau
arts and crafts: craftsman, mission, arts & crafts
industrial:
rustic: cabin, lodge
cottage: shabby chic, cottage style
traditional: classic
modern: contemporary
coastal: beach
French provincial: french provincial, french country, provincial
Danish modern: danish modern, danish, scandinavian
Queen Anne: queen anne
campaign:
bohemian: boho
primitive:
""")

CONDITIONS = _lines("""
no damage: none, undamaged, good, fine, sound, good condition, very good
some damage: some, light damage, minor damage, scratched, worn, fair, slight damage
heavy damage: heavy, bad, poor, badly damaged, rough, water damage, severe damage
parts missing: missing parts, incomplete, missing pieces, broken off
""")

ROUTES = _lines("""
clean up: clean, clean only, cleaned, cleanup, clean and wax
repair: repaired, repairs, fix, mend
strip: stripped, strip and refinish, refinish, strip and finish
paint: painted, paint over
""")

_WORDS: dict[str, dict[str, tuple[str, ...]]] = {
    "furniture_type": TYPES,
    "wood": WOODS,
    "construction": CONSTRUCTIONS,
    "finish": FINISHES,
    "style": STYLES,
    "condition": CONDITIONS,
    "route": ROUTES,
    "channel": {},
    "outcome": {"sold": (), "withdrawn": (), "unsold": ()},
}

# Misspellings seen so often that they are put right without asking (and listed in `changes`).
_MISSPELT: dict[str, dict[str, str]] = {
    "furniture_type": {
        "dreser": "dresser",
        "dressor": "dresser",
        "night stannd": "nightstand",
        "nighstand": "nightstand",
        "nitestand": "nightstand",
        "nitestands": "nightstand",
        "nite stand": "nightstand",
        "nite stands": "nightstand",
        "sidebord": "sideboard",
        "side board": "sideboard",
        "armoir": "armoire",
        "armore": "armoire",
        "chester drawers": "chest of drawers",
        "chester draws": "chest of drawers",
        "chest of draws": "chest of drawers",
        "chest o drawers": "chest of drawers",
        "credenzia": "sideboard",
        "bookcace": "bookcase",
        "vanitiy": "vanity",
        "coffe table": "coffee table",
    },
    "wood": {
        "mahagony": "mahogany",
        "mahogony": "mahogany",
        "mahoganey": "mahogany",
        "wallnut": "walnut",
        "walnutt": "walnut",
        "cheery": "cherry",
        "chery": "cherry",
        "mapel": "maple",
        "mahog": "mahogany",
        "mahag": "mahogany",
        "oack": "oak",
        "popular": "poplar",
        "popplar": "poplar",
        "teek": "teak",
        "rosewod": "rosewood",
        "burch": "birch",
    },
    "construction": {
        "veener": "veneer",
        "vaneer": "veneer",
        "veneear": "veneer",
        "lamiate": "laminate",
        "laminent": "laminate",
        "partical board": "particle board",
    },
    "finish": {
        "laquer": "lacquer",
        "lacquor": "lacquer",
        "shelac": "shellac",
        "polyeurethane": "polyurethane",
        "polyurathane": "polyurethane",
        "varnsh": "varnish",
        "was": "wax",  # Dutch; among other words it may be English
        "gestript was": "wax",
        "gestript en was": "wax",
        "gestript, was": "wax",
    },
    "style": {"victorean": "Victorian", "farm house": "farmhouse"},
    "channel": {},
    "outcome": {},
}

for _column in (c.name for c in COLUMNS if c.kind == "word"):
    _WORDS.setdefault(_column, {})
    _MISSPELT.setdefault(_column, {})

# Words with two meanings in the trade: what each could be. They stay as typed until the settings decide.
# "bureau" is a dresser in US use and a desk in UK use (CPSC's clothing-storage list and common practice).
TWO_MEANINGS: dict[str, dict[str, tuple[str, ...]]] = {
    "furniture_type": {
        "bureau": ("dresser", "desk"),
        "buffet": ("sideboard", "hutch"),
        "chest": ("chest of drawers", "trunk"),
        "tallboy": ("chest of drawers", "highboy"),
        "tall boy": ("chest of drawers", "highboy"),
        "tall dresser": ("chest of drawers", "dresser"),  # the size says which, where it is known
    },
    "finish": {
        "as is": ("original", "raw"),
        "verniciato": ("paint", "varnish"),
        "verniciata": ("paint", "varnish"),
        "lak": ("lacquer", "paint"),
    },
}

NOT_A_PIECE = "not a piece"  # a kind of row, as answered: it is left out

_KINDS_OF_MAKING = {**{k: k for k in CONSTRUCTIONS if k not in ("mixed", "metal", "wicker")}}
_KINDS_OF_MAKING |= {"veneered": "veneer", "ply": "plywood", "particleboard": "particle board"}
_COLOUR = re.compile(
    r"^(?:in )?(.+?)[ -](?:finish|finished|stain|stained|colou?r|tone|toned|look)$"
)
_SPACES = re.compile(r"[\s_\-–—/]+")


@once
def word_key(text: str) -> str:
    """`text` as it is looked up: small letters, spaces for hyphens and underscores, no edges.

    >>> word_key("  Chest-on_Chest. ")
    'chest on chest'
    """
    plain = text.replace("’", "'").casefold()
    return _SPACES.sub(" ", plain).strip(" .,;:!*'\"")


_ELSEWHERE = {"furniture_type": KINDS, "wood": OTHER_WOODS, "finish": OTHER_FINISHES}


def _table(column: str) -> dict[str, str]:
    table: dict[str, str] = {}
    for word, others in _WORDS[column].items():
        for known in (word, *others, *more(_ELSEWHERE.get(column, {}), word)):
            key = word_key(known)
            table[key] = word
            if column == "furniture_type":
                table[plural(key)] = word
    return table


def plural(key: str) -> str:
    """More than one of a kind: `benches`, `chests of drawers`."""
    head, of, rest = key.partition(" of ")
    if of:
        return plural(head) + of + rest
    if key.endswith(("ch", "sh", "s", "x")):
        return key + "es"
    return key[:-1] + "ies" if key.endswith("ty") else key + "s"


_TABLES: dict[str, dict[str, str]] = {column: _table(column) for column in _WORDS}


@dataclass(frozen=True, slots=True)
class Word:
    """What one typed word was taken for.

    `value` is the word kept (None: missing); `why` says what was changed ("" when nothing was);
    `construction` is a construction the cell of another column also named; `question` is what the
    person is asked when the word was left as typed; `suggestion` is the nearest known word, if one is near;
    `wood`, `finish` and `rest` are what else a kind of piece named.
    """

    value: str | None
    why: str = ""
    construction: str | None = None
    question: str = ""
    suggestion: str = ""
    wood: str = ""
    rest: str = ""
    finish: str = ""


def known_words(column: str) -> tuple[str, ...]:
    """The words of `column` that the kit knows, in their kept spelling."""
    return tuple(_WORDS[column])


def spellings(column: str) -> Mapping[str, str]:
    """Every known spelling of the words of `column`, as it is looked up, with the word that it is."""
    return _TABLES[column]


def look_up(column: str, text: str, own: Mapping[str, str] | None = None) -> Word:
    """What `text` in `column` is taken for; `own` maps the person's words (any case) to ours.

    The order is: own words, known words and synonyms, listed misspellings, words of two meanings, and
    then, for wood, what is no species. Anything else is kept as typed in small letters.
    """
    key = word_key(text)
    if not key:
        return Word(None, f"{_quoted(text)} is no word")
    mine = _own_word(key, text, own or {}) or _own_finish(column, text, own or {})
    if column == "furniture_type":
        key = word_key(worked_in(text)[0]) or key
    if mine:
        return _with_beside(column, key, mine)
    key = _as_said(column, key, text)
    table = _TABLES[column]
    if key in table:
        wood = wood_inside(key, _TABLES) if column == "furniture_type" else ""
        return replace(_known(table[key], text), wood=wood)
    wrong = _MISSPELT[column]
    if key in wrong:
        return Word(wrong[key], "a common misspelling")
    two = _of_two_meanings(column, key, text)
    if two:
        return two
    sure = without_doubt_words(key)
    doubt = ", in doubt" if sure != key else ""
    if doubt and (sure in table or sure in wrong):
        return Word(table.get(sure) or wrong[sure], f"taken as written{doubt}")
    if column == "wood":
        special = _not_a_species(sure)
        if special:
            return special
    why = f"found in what was typed{doubt}"
    own = own or {}
    found = (
        _finish_inside(sure, why, own, text)
        if column == "finish"
        else _inside(column, sure, why, own)
    )
    return found or _unknown(column, key, text)


def _says_no_finish(key: str) -> bool:
    """Whether a cell of finishes tells of other work alone, or of none: `cleaned up`, `not touched yet`."""
    return bool(_UNFINISHED.fullmatch(key)) or _TABLES["route"].get(key) in ("clean up", "repair")


_UNFINISHED = re.compile(
    r"(?:i )?(?:have(?:n't| not)|not|never)(?: been)? (?:touched|started|finished|done)(?: it)?(?: yet)?"
    r"|untouched|nothing(?: done)?(?: yet)?|(?:just |only )?(?:cleaned|tidied)(?: up)?"
    r"|re ?(?:upholstered|covered|glued|caned|seated)"
)


def _with_beside(column: str, key: str, mine: Word) -> Word:
    """A word of the person's own, and the wood and finish that they typed beside a kind."""
    if column != "furniture_type" or " " not in key or mine.value == NOT_A_PIECE:
        return mine
    wood, _, finish = beside_kind(key, _TABLES)
    return replace(mine, wood=wood, finish=finish)


def _finish_inside(key: str, why: str, own: Mapping[str, str], text: str) -> Word | None:
    """As `_inside`; none where parts have finishes of their own; a clear coat without the steps that lead to it."""
    coat = coat_after_steps(plain(text))
    if coat:
        return replace(look_up("finish", coat, own), why=why)
    return None if painted_parts(text, _TABLES["finish"]) else _inside("finish", key, why, own)


def _inside(column: str, key: str, why: str, own: Mapping[str, str]) -> Word | None:
    """The one word of the column that stands among others in `key`, of two meanings or not; None where none does."""
    tables = _TABLES if column != "furniture_type" else {**_TABLES, column: _kinds(own)}
    found = found_inside(column, key, tables)
    if not found:
        one = the_one_finish(key, tables[column]) if column == "finish" else ""
        return Word(one, why) if one else None
    made = _of_two_meanings(column, found.word, found.word) or Word(found.word)
    return replace(made, why=why, wood=found.wood, rest=found.rest, finish=found.finish)


def _kinds(own: Mapping[str, str]) -> Mapping[str, str]:
    """Every spelling of a kind: the known ones, those of two meanings, and over them the person's own."""
    both = {w: w for w in TWO_MEANINGS["furniture_type"]}
    mine = {word_key(k): v for k, v in own.items() if v != NOT_A_PIECE}
    mine |= {word_key(v): v for v in mine.values()}
    return {**both, **_TABLES["furniture_type"], **mine}


def _own_finish(column: str, text: str, own: Mapping[str, str]) -> Word | None:
    """What the person said of finishes that stand together, however these are written."""
    several = several_finishes(text) if column == "finish" and own else ""
    return _own_word(several, text, own) if several else None


def several_finishes(text: str) -> str:
    """The finishes that a text names together, in one way of writing: `stain & poly` is stain and polyurethane; ""
    for one alone, and where they may be on different parts or not done."""
    named = named_together(word_key(text), _TABLES["finish"])
    return " and ".join(named) if len(named) > 1 else ""


def of_its_own(text: str) -> str:
    """A kind that is not known, in small letters, without its wood, its finish, the hours it took and the number of
    pieces."""
    bare, hours = worked_in(text)
    bare, count = split_count(bare)
    wood, rest, finish = beside_kind(word_key(bare), {**_TABLES, "furniture_type": {}})
    if rest and (wood or finish or hours):
        return rest
    return " ".join((bare if count else text).split()).casefold()


def may_be(column: str, text: str) -> tuple[str, ...]:
    """The kinds or finishes that a cell kept as typed names, which it may mean; none in other columns."""
    key = word_key(text)
    if column == "furniture_type":
        return kinds_inside(key, _kinds({}))
    if column != "finish":
        return ()
    both = TWO_MEANINGS[column]
    named = finishes_inside(word_key(coat_after_steps(plain(text))) or key, _TABLES[column])
    if named[:1] == ("stripped",):  # a step before the others
        named = (*named[1:], "stripped")
    if painted_parts(text, _TABLES[column]):
        named = ("paint", *named)
    return named or next((both[w] for w in key.split() if w in both), ())


_SHORT = {"tbl": "table", "tbls": "tables", "drwr": "drawer", "drwrs": "drawers"}


# A wood cut short with a point: map. is maple, a map is none.
_CUT_SHORT = {
    "mah": "mahogany", "wal": "walnut", "waln": "walnut", "map": "maple", "cher": "cherry",
    "mahog": "mahogany", "bch": "beech", "rosew": "rosewood",
}  # fmt: skip


def kind_in_own_word(text: str, kind: str, own: Mapping[str, str]) -> str:
    """The person's own word for a piece that was read as `kind`, in the singular: `china cabinet` for a hutch; "" where
    it is the same word, or is told by several others."""
    key = word_key(text)
    key = _as_said("furniture_type", key, text)
    table = _kinds(own)
    words = [w for w in re.split(r"[ ,+&;()]+", key) if w and not w.isdigit()]
    spelt = (" ".join(words[i : i + n]) for n in range(4, 0, -1) for i in range(len(words) - n + 1))
    said = next((s for s in spelt if table.get(s) == kind), "")
    if table.get(said[:-1]) == kind:
        said = said[:-1]
    woods = {w for w, wood in _TABLES["wood"].items() if wood != "unknown"}
    said = " ".join(w for w in said.split() if w not in woods)  # said of its wood already
    same = said.replace(" ", "") == kind.replace(" ", "")
    return "" if same or len(said.split()) > _MOST_WORDS else said


_MOST_WORDS = 3  # of a kind in the person's own words


def _as_said(column: str, key: str, text: str) -> str:
    """A kind in the usual order of its words: `table, side` is a side table, `chest, 4 drawer` a chest of drawers; a
    wood that is cut short in full."""
    if column != "furniture_type":
        short = column == "wood" and text.strip(" ?!").endswith(".")
        return _CUT_SHORT.get(key, key) if short else key
    key = _NEST.sub("nest of tables", _SHORTENED.sub(lambda m: _SHORT[m[0]], key))
    if _DRAWERED.fullmatch(key):
        return "chest of drawers"
    first, comma, rest = key.partition(", ")
    turned = f"{rest} {first}"
    return turned if comma and turned in _TABLES["furniture_type"] else key


_DRAWERED = re.compile(
    rf"{COUNT_WORD} (?:drawers?|dr) chest|chest,? (?:(?:with|of|w) )?{COUNT_WORD} (?:drawers?|dr)"
)
_NEST = re.compile(  # however many tables stand in it
    rf"\b(?:nest of (?:{COUNT_WORD} )?(?:(?:coffee|side|occasional|lamp|end) )?tables"
    rf"|(?:(?:set of )?{COUNT_WORD} )?nest(?:ing|ed) tables(?: set of {COUNT_WORD})?)"
)
_SHORTENED = re.compile(rf"\b(?:{'|'.join(_SHORT)})\b")


def _own_word(key: str, text: str, own: Mapping[str, str]) -> Word | None:
    """A word of the person's own, or one that a word of theirs stands for."""
    mine = {word_key(k): v for k, v in own.items()}
    if key in mine:
        return Word(mine[key], "" if mine[key] == text else "your own word, from the settings")
    kept = next((v for v in mine.values() if word_key(v) == key), None)
    return None if kept is None else Word(kept, "" if kept == text else "spelling")


def _of_two_meanings(column: str, typed: str, text: str) -> Word | None:
    both = TWO_MEANINGS.get(column, {})
    single = typed[:-1] if typed.endswith("s") and typed[:-1] in both else typed
    if single not in both:
        return None
    first, second = both[single]
    key = f'"{single}"' if " " in single else single
    asked = (
        f'"{single}" can mean {first} or {second}; it is kept as typed until your settings say which: '
        f'in settings.toml, under the line [words.{column}], write {key} = "{first}"'
    )
    return Word(single, "" if single == text else "spelling", question=asked)


def _known(word: str, text: str) -> Word:
    if word == text:
        return Word(word)
    same = word_key(word) == word_key(text)
    return Word(word, "spelling" if same else f"another word for {word}")


def _not_a_species(key: str) -> Word | None:
    """Cells of the wood column that name a colour or a construction instead."""
    if key in _KINDS_OF_MAKING:
        kept = _KINDS_OF_MAKING[key]
        return Word(None, f"{kept} is how it is made, not a wood; moved to construction", kept)
    colour = _COLOUR.match(key)
    if colour:
        return Word(
            None,
            "a colour, not a wood; left out",
            question=f'"{key}" is a colour, not a wood; write the wood itself if you know it',
        )
    for making, kept in _KINDS_OF_MAKING.items():
        for species in (key.removesuffix(" " + making), key.removeprefix(making + " ")):
            found = _TABLES["wood"].get(species) or _MISSPELT["wood"].get(species)
            if species != key and found:
                return Word(found, f"{kept} is how it is made; moved to construction", kept)
    return None


def _unknown(column: str, key: str, text: str) -> Word:
    if column == "finish" and _says_no_finish(key):
        return Word(None, "what was done, no finish; left out")
    if column == "finish" and is_a_paint_colour(key):
        return Word("paint", COLOUR_ALONE)
    kept = " ".join(text.split())
    if column != "channel":
        kept = kept.casefold()
    near = nearest(key, _TABLES[column], most=_TRIED, alike=0.8)
    known = next((n for n in near if _may_be_misspelt(key, n)), "")
    return Word(
        kept,
        "" if kept == text else "small letters",
        suggestion=_TABLES[column][known] if known else "",
    )


_TRIED = 5  # near spellings


def _may_be_misspelt(typed: str, known: str) -> bool:
    """Whether each word may be the known one misspelt: a slip seldom puts another first letter in its place, and
    "lockers" are no rockers, a "writing table" is no dining table. Common practice, no source."""
    pairs = list(zip(typed.split(), known.split(), strict=False))
    if len(typed.split()) != len(known.split()):
        pairs = [(typed, known)]
    return all(a[0] == b[0] or a[0] == b[1:2] or a[1:2] == b[0] for a, b in pairs)


COLOUR_ALONE = "a colour alone, so read as paint"


def _quoted(text: str) -> str:
    return f'"{text}"'
