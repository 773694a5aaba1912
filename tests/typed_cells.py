"""Cells as people type them, each with what it means: written from typing habits, before a look at the reader.

A line is `spelling => meaning`, with `@ context` after it where the cells around it say something. Letters in
braces are drawn: in amounts b is what was paid in the end, a the higher price asked before, u the price of one,
k a count from two to four, d a small charge, t thousands with one decimal; in dates the parts of one day; in
hours h and m; in sizes w, d and h. The meaning `?` says that the cell holds two readings or none, so that it
must be asked about and left empty. Every fourth spelling is kept back: it was looked at only when the reader
was done, and is reported apart.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

AMOUNTS = """
{b} => b
${b} => b
$ {b} => b
{b}$ => b
{b}.00 => b
${b}.00 => b
{b} dollars => b
{b} bucks => b
{b} USD => b
USD {b} => b
US${b} => b
{b}? => b
{b}?? => b
{b}!! => b
{b}! => b
~{b} => b
~${b} => b
approx {b} => b
about {b} => b
around {b} => b
abt {b} => b
c. {b} => b
ca {b} => b
roughly {b} => b
{b}ish => b
{b}-ish => b
{b} ish => b
{b} (ish) => b
{b}+/- => b
{b} cash => b
cash {b} => b
{b} by transfer => b
{b} obo => b
{b} OBO => b
{b} o.b.o. => b
{b} or best offer => b
{b} firm => b
{b} ono => b
{b} neg => b
{b}* => b
{b}.- => b
{b},- => b
{b}/- => b
**{b}** => b
'{b} => b
"{b}" => b
={b} => b
({b}) => ?
-{b} => ?
{t}k => tk
${t}k => tk
{t}K => tk
${t} k => tk
{t} grand => tk
{big} => big
${big} => big
{spaced} => big
{b} quid => b @ pounds
{u} each => ku @ pair
{u} ea => ku @ pair
{u} ea. => ku @ pair
${u} each => ku @ pair
{u} apiece => ku @ pair
{u}/each => ku @ pair
{u} each => ? @ plain
{k} x {u} => kxu
{k} x ${u} => kxu
{k}x{u} => kxu
{k} @ {u} => kxu
{k} @ ${u} => kxu
{k} @ {u} each => kxu
{k} at {u} => kxu
{k} for {b} => b
{b} for {k} => b
{b} for the pair => b
${b}/pair => b
{b}/pr => b
{b} pair => b
{b} the pair => b
{b} (pair) => b
{b} for both => b
{b} + {d} delivery => b
{b} + {d} del => b
{b} +{d} delivery => b
{b} plus {d} delivery => b
{b} plus {d} for delivery => b
{b} & {d} delivery => b
{b} incl delivery => ?
{b} incl {d} delivery => b-d
sold {b} => b
sold for {b} => b
sold @ {b} => b
SOLD ${b} => b
sold {b} (asked {a}) => b
sold for {b}, asked {a} => b
{b} (asked {a}) => b
{b} (was {a}) => b
{b} was {a} => b
was {a} now {b} => b
was {a}, {b} now => b
{a} now {b} => b
{a}, now {b} => b
{a} -> {b} => b
${a} -> ${b} => b
{a}->{b} => b
{a} → {b} => b
{a} > {b} => b
{a} >> {b} => b
{a} down to {b} => b
{a} dropped to {b} => b
{a} reduced to {b} => b
{a} to {b} => ?
{a} took {b} => b
asked {a} got {b} => b
asked {a}, got {b} => b
got {b} => b
{b} asking {a} => b
{b} after haggling => b
{b} final => b
{b} paid in full => b
{b} paid => b
{b} less {d} for scratch => b-d
{b} - {d} fees => ?
{b}/{a} => ?
{b}-{a} => ?
{b} - {a} => ?
{b} or {a} => ?
{b} to {a} => ?
{b}, {a} => ?
between {b} and {a} => ?
{b} / {a} => ?
{b}–{a} => ?
{b} deposit => ?
{d} deposit, {b} total => b
{b} ({d} deposit) => b
free => 0 @ bought
FREE! => 0 @ bought
gift => ?
? => ?
?? => ?
tbd => ?
n/a => ?
- => ?
?{b} => b
${b}? => b
{b} I think => b
{b} i think => b
think {b} => b
maybe {b} => b
{b} or so => b
{b} something => ?
{b}ea => ku?
l00 => ?
{b}O => ?
3fifty => ?
three fifty => ?
{b} and a lamp => ?
{b} + chair => ?
{b} trade => ?
lots => ?
ask Dale => ?
see notes => ?
$ => ?
${b}(pd) => b
{b} pd => b
{b}.50 => b.50
${b}.5 => b.50
{b} , 50 => ?
"""

DATES = """
{Y}-{mm}-{dd} => day @ iso
{Y}/{mm}/{dd} => day @ iso
{Y}.{mm}.{dd} => day @ iso
{Y}{mm}{dd} => day @ iso
{m}/{d}/{Y} => day @ us
{m}/{d}/{yy} => day @ us
{mm}/{dd}/{yy} => day @ us
{m}-{d}-{yy} => day @ us
{m}-{d}-{Y} => day @ us
{m}.{d}.{yy} => day @ us
{m}/{d} => day @ us
{m}-{d} => day @ us
{m}/{d}/'{yy} => day @ us
{m}/{d}/{yy}? => day @ us
~{m}/{d}/{yy} => day @ us
{m}/{d}/{yy} am => day @ us
{m}/{d}/{yy} 3pm => day @ us
{m}/{d}/{Y} 14:30 => day @ us
{wd} {m}/{d}/{yy} => day @ us
{m}/{d}/{yy} ({wd}) => day @ us
{m}/{d}/{Yless10} => ? @ us
{Yless10}-{mm}-{dd} => ? @ iso
{d}/{m}/{Y} => day @ eu
{d}/{m}/{yy} => day @ eu
{dd}/{mm}/{yy} => day @ eu
{d}.{m}.{Y} => day @ eu
{d}.{m}.{yy} => day @ eu
{d}.{m}. => day @ eu
{d}-{m}-{Y} => day @ eu
{d}/{m} => day @ eu
{d} {mon} {Y} => day @ eu
{d}-{mon}-{yy} => day @ iso
{d}-{mon}-{Y} => day @ iso
{d} {mon} {yy} => day @ iso
{d}{mon}{yy} => day @ iso
{d} {month} {Y} => day @ iso
{d}th {month} {Y} => day @ iso
{month} {d}, {Y} => day @ iso
{mon} {d}, {Y} => day @ us
{mon} {d} {Y} => day @ us
{mon}. {d}, {Y} => day @ us
{mon} {d} '{yy} => day @ us
{mon} {d}th => day @ us
{mon} {d} => day @ us
{month} {d} => day @ us
{month} {d}th => day @ us
{d} {mon} => day @ eu
{d} {month} => day @ eu
{d}th {mon} => day @ eu
{MON} {d} => day @ us
{mon}-{d} => day @ us
{d}-{mon} => day @ iso
{wd} {mon} {d} => day @ us
{wd}, {mon} {d} {Y} => day @ us
{wd} {d} {mon} => day @ eu
{weekday}, {month} {d}, {Y} => day @ us
{month} {d} I think => day @ us
around {mon} {d} => day @ us
early {mon} => ? @ us
mid {month} => ? @ us
late {mon} {Y} => ? @ us
{mon}-{yy} => ? @ iso
{mon} {Y} => ? @ iso
{month} => ? @ us
{m}/{yy} => ? @ us
{mm}/{Y} => ? @ us
{Y} => ? @ iso
{Y}-{mm} => ? @ iso
spring {Y} => ? @ us
{yy}-{mm}-{dd} => day @ yy
{yy}/{mm}/{dd} => day @ yy
{yy}.{mm}.{dd} => day @ yy
{yy}{mm}{dd} => day @ yy
{yy}-{mm}-{dd} => day @ iso
{Y}-{mm}-{dd}T00:00:00 => day @ iso
{Y}-{mm}-{dd} 00:00:00 => day @ iso
{Y}-{mm}-{dd} (sat) => ? @ iso
{serial} => day @ us
{m}/{d}/{yy}, {m}/{dnext}/{yy} => ? @ us
{m}/{d} or {m}/{dnext} => ? @ us
{m}/{d}-{m}/{dnext} => ? @ us
last Sunday => ? @ us
yesterday => ? @ us
a while back => ? @ us
? => ? @ us
tbd => ? @ us
not yet => ? @ us
2/30/26 => ? @ us
13/13/26 => ? @ us
{m}/{d}/2062 => ? @ us
{m}//{d}/{yy} => ? @ us
{m}/{d}/{yy}. => day @ us
{m} / {d} / {yy} => day @ us
{m}/{d}/ {yy} => day @ us
listed {m}/{d}/{yy} => day @ us
on {m}/{d}/{yy} => day @ us
{m}\\{d}\\{yy} => day @ us
"""

HOURS = """
{h} => h @ plain
{h}.0 => h @ plain
{h}.5 => h.5 @ plain
{h}.25 => h.25 @ plain
{h},5 => h.5 @ plain
{h} h => h @ plain
{h}h => h @ plain
{h} hr => h @ plain
{h} hrs => h @ plain
{h}hrs => h @ plain
{h} hrs. => h @ plain
{h} hours => h @ plain
{h}.5 hours => h.5 @ plain
{h} 1/2 => h.5 @ plain
{h}-1/2 => h.5 @ plain
{h}½ => h.5 @ plain
{h} ½ hrs => h.5 @ plain
{h} 1/4 => h.25 @ plain
{h} and a half => h.5 @ plain
{h} and a half hours => h.5 @ plain
{h} & 1/2 => h.5 @ plain
{h}:{mm} => hm @ clock
{h}:{mm}:00 => hm @ clock
0{h}:{mm} => hm @ clock
{h}.{mm} => ? @ clock
{h}h{mm} => hm @ plain
{h}h {m}m => hm @ plain
{h}h{mm}m => hm @ plain
{h}h{mm}m00s => hm @ plain
{h} h {m} min => hm @ plain
{h} hrs {m} mins => hm @ plain
{h} hr {m} => hm @ plain
{h}hr {m}min => hm @ plain
{h} hours {m} minutes => hm @ plain
{h} hours and {m} minutes => hm @ plain
{h}hrs, {m}min => hm @ plain
{h}h{m}' => hm @ plain
{min}' => min @ plain
{min} min => min @ plain
{min}min => min @ plain
{min} mins => min @ plain
{min} minutes => min @ plain
{min}m => min @ plain
{min} => min @ minutes
{min} m => min @ plain
{min} => min @ plain
2 days => ? @ plain
2 days (8h) => ? @ plain
a day => ? @ plain
half a day => ? @ plain
1 day => ? @ plain
a weekend => ? @ plain
2 evenings => ? @ plain
~{h} => h @ plain
~{h} hrs => h @ plain
{h}? => h @ plain
{h}ish => h @ plain
about {h} => h @ plain
approx {h} hrs => h @ plain
{h}+ => ? @ plain
>{h} => ? @ plain
{h} or so => h @ plain
{h}-{h1} => ? @ plain
{h} - {h1} hrs => ? @ plain
{h} to {h1} => ? @ plain
{h} or {h1} => ? @ plain
{h}/{h1} => ? @ plain
{h} + {h1} => sum @ plain
{h}+{h1} => sum @ plain
{h}h + {h1}h => sum @ plain
{h} + {h1} + 2 => sum2 @ plain
{h} hrs + {h1} hrs => sum @ plain
{h} sanding, {h1} finish => ? @ plain
{h} x 2 => ? @ plain
{h} hrs total => h @ plain
{h} total => h @ plain
total {h} => h @ plain
lots => ? @ plain
too many => ? @ plain
forever => ? @ plain
? => ? @ plain
n/a => ? @ plain
tbd => ? @ plain
-{h} => ? @ plain
{h}.5h => h.5 @ plain
{h} man hours => h @ plain
{h} hrs so far => h @ plain
so far {h} => h @ plain
{h} (est) => h @ plain
est {h} => h @ plain
{h}°° => ? @ plain
$ {h}0 => ? @ plain
seven => ? @ plain
"""

SIZES = """
{w} x {d} x {h} => wdh
{w}x{d}x{h} => wdh
{w}X{d}X{h} => wdh
{w} X {d} X {h} => wdh
{w}*{d}*{h} => wdh
{w} × {d} × {h} => wdh
{w} by {d} by {h} => wdh
{w}/{d}/{h} => wdh
{w}-{d}-{h} => wdh
{w}, {d}, {h} => wdh
{w} {d} {h} => wdh
{w}" x {d}" x {h}" => wdh
{w}"x{d}"x{h}" => wdh
{w}''x{d}''x{h}'' => wdh
{w}” x {d}” x {h}” => wdh
{w} in x {d} in x {h} in => wdh
{w}in x {d}in x {h}in => wdh
{w} x {d} x {h} in => wdh
{w} x {d} x {h} inches => wdh
{w} x {d} x {h}" => wdh
{w}W x {d}D x {h}H => wdh
{w}w x {d}d x {h}h => wdh
{w}"W x {d}"D x {h}"H => wdh
{w}" W x {d}" D x {h}" H => wdh
{w}wx{d}dx{h}h => wdh
{h}H x {w}W x {d}D => wdh
{h}h x {w}w x {d}d => wdh
{h}"H x {w}"W x {d}"D => wdh
{w}L x {d}W x {h}H => wdh
{w}"L x {d}"W x {h}"H => wdh
{w}L x {d}D x {h}H => wdh
W{w} D{d} H{h} => wdh
H{h} W{w} D{d} => wdh
H{h} x W{w} x D{d} => wdh
W {w} D {d} H {h} => wdh
W: {w} D: {d} H: {h} => wdh
W={w} D={d} H={h} => wdh
w{w} x d{d} x h{h} => wdh
{w} wide, {d} deep, {h} high => wdh
{w} wide x {d} deep x {h} tall => wdh
{h} tall {w} wide {d} deep => wdh
{w} long {d} wide {h} high => wdh
{h} high => h
{w} wide => w
{w}W => w
{h}" tall => h
{h}H => h
{w}" w => w
{w}W x {h}H => wh
{w}w x {d}d => wd
{w} wide x {h} high => wh
H{h} W{w} => wh
{w} x {d} x {h}h => wdh
{w}x{d}x{h}h => wdh
{w}w x {d} x {h} => wdh
{w} x {h} => ?
{w}x{d} => ?
{w} => ?
{w}" => ?
{w}.5 x {d} x {h} => w.5
{w} 1/2 x {d} x {h} => w.5
{w}-1/2 x {d} x {h} => w.5
{w}½ x {d} x {h} => w.5
{w} 1/2" x {d}" x {h}" => w.5
{wcm} x {dcm} x {hcm} cm => wdhcm
{wcm}x{dcm}x{hcm}cm => wdhcm
{wcm} cm x {dcm} cm x {hcm} cm => wdhcm
{wcm}cm W x {dcm}cm D x {hcm}cm H => wdhcm
{wcm} x {dcm} x {hcm} => wdhcm @ cm
{h} x {w} x {d} => wdh @ hwd
{h}x{w}x{d} => wdh @ hwd
{w}x{d}x{h} approx => wdh
approx {w} x {d} x {h} => wdh
~{w}x{d}x{h} => wdh
{w}x{d}x{h}? => wdh
{w} x {d} x ? => wd
{w} x ? x {h} => wh
? x {d} x {h} => dh
{w} x {d} x  => ?
5' x {d} x {h} => ft5
5'0" x {d}" x {h}" => ft5
5ft x {d}in x {h}in => ft5
5' 2" x {d}" x {h}" => ft52
{dia}" round => ?
{dia} dia x {h}h => ?
{w}x{d}x{h}x4 => ?
big => ?
small => ?
standard => ?
queen => ?
? => ?
n/a => ?
see photo => ?
{w}-60 x {d} x {h} => ?
{w}x{d}x{h} (w/ mirror 70) => ?
{w}w {d}d {h}h => wdh
{w}wide {d}deep {h}high => wdh
({w} x {d} x {h}) => wdh
{w} x {d} x {h} (WxDxH) => wdh
{h} x {w} x {d} (HxWxD) => wdh
WxDxH {w} x {d} x {h} => wdh
"""

WORDS = """
dresser => kind dresser
Dresser => kind dresser
DRESSER => kind dresser
dresser  => kind dresser
dressers => kind dresser
6 drawer dresser => kind dresser
6-drawer dresser => kind dresser
9 drawer lowboy dresser => kind dresser
tall dresser => kind dresser
dresser w/ mirror => kind dresser
dresser with mirror => kind dresser
dresser (no mirror) => kind dresser
small dresser => kind dresser
big ugly dresser => kind dresser
MCM dresser => kind dresser
oak dresser => kind dresser
white dresser => kind dresser
antique dresser => kind dresser
dresser - walnut => kind dresser
dresser, walnut => kind dresser
dresser #2 => kind dresser
dresser 2 => kind dresser
dresser? => kind dresser
maybe dresser => kind dresser
Dresser / changing table => kind ?
green hutch => kind hutch
corner hutch => kind hutch
hutch top only => kind ?
vanity w/ mirror => kind vanity
vanity and stool => kind vanity
makeup vanity => kind vanity
nesting tables => kind nest of tables
table => kind ?
set of nightstands => kind nightstand
pair of nightstands => kind nightstand
nightstands (pair) => kind nightstand
2 nightstands => kind nightstand
nightstand x2 => kind nightstand
night stand => kind nightstand
night stands => kind nightstand
bedside table => kind nightstand
end table => kind side table
end tables (2) => kind side table
coffee table w/ shelf => kind coffee table
round coffee table => kind coffee table
dining table + 4 chairs => kind ?
dining set => kind ?
kitchen table => kind dining table
dining room table => kind dining table
chairs (4) => kind chair
set of 4 chairs => kind chair
set (4) chairs => kind chair
rocking chair => kind chair
bookshelf => kind bookcase
book shelf => kind bookcase
tall bookcase => kind bookcase
roll top desk => kind desk
desk w/ hutch => kind desk
kids desk => kind desk
writing desk and chair => kind ?
tv console => kind tv stand
tv stand/credenza => kind ?
cedar chest => kind trunk
blanket chest => kind trunk
chest of drawers => kind chest of drawers
chest o drawers => kind chest of drawers
5 drawer chest => kind chest of drawers
tallboy => kind ?
armoire/wardrobe => kind armoire
dreser => kind dresser
nite stand => kind nightstand
bed frame => kind bed
headboard only => kind ?
lamp => kind ?
misc => kind ?
parts => kind ?
oak => wood oak
Oak => wood oak
oak? => wood oak
oak ? => wood oak
oak?? => wood oak
oak (?) => wood oak
oak i think => wood oak
pine i think => wood pine
I think pine => wood pine
prob maple => wood maple
probably maple => wood maple
maybe cherry => wood cherry
maple maybe => wood maple
looks like walnut => wood walnut
walnut, I think => wood walnut
mahog => wood mahogany
mahog. => wood mahogany
mahogony => wood mahogany
oak veneer => wood oak
oak veneer? => wood oak
walnut veneer over pine => wood ?
solid oak => wood oak
solid maple! => wood maple
quarter sawn oak => wood oak
qs oak => wood oak
tiger oak => wood oak
knotty pine => wood pine
old pine => wood pine
pine w/ oak top => wood ?
oak/pine => wood ?
oak and pine => wood ?
oak or ash => wood ?
maple or birch? => wood ?
pine mostly => wood pine
mostly pine => wood pine
blk walnut => wood walnut
black walnut => wood walnut
wal => wood ?
not oak => wood ?
dark => wood ?
brown => wood ?
red => wood ?
hardwood => wood ?
wood => wood ?
? => wood ?
no idea => wood ?
idk => wood ?
particle board => wood ?
painted => wood ?
maple top => wood maple
golden oak => wood oak
cherry stained pine => wood pine
cherry stain => wood ?
painted white => finish paint
painted => finish paint
white paint => finish paint
white => finish ?
black paint => finish paint
painted sage green => finish paint
chalk paint => finish chalk-type paint
chalk paint, wax => finish chalk-type paint
milk paint + wax => finish milk paint
poly => finish polyurethane
poly x3 => finish polyurethane
2 coats poly => finish polyurethane
satin poly => finish polyurethane
water based poly => finish polyurethane
wipe on poly => finish polyurethane
stain and poly => finish ?
stain + poly => finish ?
oil => finish oil
danish oil => finish oil
danish oil 2 coats => finish oil
tung oil => finish oil
oiled => finish oil
oil? => finish oil
waxed => finish wax
dark wax => finish wax
hemp oil => finish oil
lacquer => finish lacquer
sprayed lacquer => finish lacquer
lacquered => finish lacquer
shellac? => finish shellac
spar varnish => finish varnish
two tone => finish two-tone
two-tone, white body => finish two-tone
none => finish ?
as is => finish ?
not yet => finish ?
pretty => finish ?
"""

# Words in a money or a day cell that say what became of the piece: the meaning is its status.
OUTCOMES = """
sold => sold @ price
SOLD => sold @ price
sold! => sold @ price
sold (forgot price) => sold @ price
sold - ? => sold @ price
? => sold @ price
120/140 => sold @ price
traded => sold @ price
traded for a lathe => sold @ price
donated => withdrawn @ price
donated to shelter => withdrawn @ price
Donated! => withdrawn @ price
kept => withdrawn @ price
kept it => withdrawn @ price
keeping => withdrawn @ price
kept for us => withdrawn @ price
gave to my sister => withdrawn @ price
gave away => withdrawn @ price
given away => withdrawn @ price
gift to mom => withdrawn @ price
scrapped => withdrawn @ price
junked => withdrawn @ price
dump => withdrawn @ price
trashed => withdrawn @ price
curb => withdrawn @ price
returned => listed @ price
fell through => listed @ price
sale fell through => listed @ price
no sale => listed @ price
not sold => listed @ price
unsold => listed @ price
free => withdrawn @ price
not yet => listed @ price
pending => listed @ price
sold => sold @ day
yes => sold @ day
y => sold @ day
donated => withdrawn @ day
kept => withdrawn @ day
gave to my sister => withdrawn @ day
returned => listed @ day
fell through => listed @ day
not yet => listed @ day
no => listed @ day
n => listed @ day
pending => listed @ day
"""

_MONTHS = "January February March April May June July August September October November December"
_WEEKDAYS = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday"


@dataclass(frozen=True, slots=True)
class Spelling:
    """One line of a table: the family it is of, its text with braces, its meaning and its context."""

    family: str
    text: str
    meaning: str
    context: str
    kept_back: bool


def spellings() -> list[Spelling]:
    """Every spelling of every family, every fourth of each family kept back."""
    found = []
    for family, table in (
        ("amounts", AMOUNTS),
        ("dates", DATES),
        ("hours", HOURS),
        ("sizes", SIZES),
        ("words", WORDS),
        ("outcomes", OUTCOMES),
    ):
        for n, line in enumerate(table.strip("\n").splitlines()):
            text, _, rest = line.rpartition(" => ")
            meaning, _, context = rest.partition(" @ ")
            found.append(
                Spelling(family, text, meaning.strip(), context.strip() or "plain", n % 4 == 3)
            )
    return found


def drawn(rng: np.random.Generator) -> dict[str, str]:
    """One draw of every letter that a spelling may hold."""
    b, u, k, d = (int(rng.integers(lo, hi)) for lo, hi in ((12, 80), (8, 30), (2, 5), (2, 8)))
    b, u, d = 5 * b, 5 * u, 5 * d
    a = b + 5 * int(rng.integers(4, 20))
    t = int(rng.integers(11, 30))
    if t % 10 == 0:
        t += 1
    big = 1000 + 5 * int(rng.integers(1, 190))
    money = {
        "b": b, "a": a, "u": u, "k": k, "d": d, "t": f"{t / 10:.1f}", "big": f"{big:,}",
        "spaced": f"{big:,}".replace(",", " "),
    }  # fmt: skip
    return {key: str(v) for key, v in money.items()}


def amount_meant(meaning: str, v: dict[str, str]) -> float | None:
    """The amount that `meaning` says with the letters `v`, or None where it must be asked about."""
    b, u, k, d = (float(v[x]) for x in "bukd")
    return {
        "?": None, "ku?": None, "0": 0.0, "b": b, "b.50": b + 0.5, "b-d": b - d, "ku": 2 * u, "kxu": k * u,
        "tk": round(float(v["t"]) * 1000, 2), "big": float(v["big"].replace(",", "")),
    }[meaning]  # fmt: skip


def day_letters(day: date) -> dict[str, str]:
    """The letters of one day."""
    month, weekday = _MONTHS.split()[day.month - 1], _WEEKDAYS.split()[day.weekday()]
    return {
        "Y": f"{day:%Y}", "yy": f"{day:%y}", "m": str(day.month), "mm": f"{day:%m}", "d": str(day.day),
        "dd": f"{day:%d}", "mon": month[:3], "MON": month[:3].upper(), "month": month, "wd": weekday[:3],
        "weekday": weekday, "Yless10": str(day.year - 10), "dnext": str(day.day + 1),
        "serial": str((day - date(1899, 12, 30)).days),
    }  # fmt: skip


def a_day(rng: np.random.Generator) -> date:
    """A day of early 2026 whose number can only be a day (13 to 27), so that its cell says its own order."""
    first = date(2026, int(rng.integers(1, 7)), 13)
    return first + timedelta(days=int(rng.integers(0, 15)))


def hour_letters(rng: np.random.Generator) -> dict[str, str]:
    """Hours h, minutes m of the hour (not read as tenths), and a whole count of minutes."""
    h, m = int(rng.integers(3, 9)), 5 * int(rng.integers(2, 12))
    return {
        "h": str(h), "h1": str(h + 1), "m": str(m), "mm": f"{m:02d}",
        "min": str(15 * int(rng.integers(9, 30))),
    }  # fmt: skip


def hours_meant(meaning: str, v: dict[str, str]) -> float | None:
    """The hours that `meaning` says, or None where it must be asked about."""
    h, m = float(v["h"]), float(v["m"])
    return {
        "?": None, "h": h, "h.5": h + 0.5, "h.25": h + 0.25, "hm": h + m / 60, "min": float(v["min"]) / 60,
        "sum": 2 * h + 1, "sum2": 2 * h + 3,
    }[meaning]  # fmt: skip


def size_letters(rng: np.random.Generator) -> dict[str, str]:
    """Width, depth and height of a low wide piece in whole inches, and the same in whole centimetres."""
    w, d, h = (int(rng.integers(lo, hi)) for lo, hi in ((46, 66), (15, 22), (28, 40)))
    cm = {f"{k}cm": str(round(2.54 * x)) for k, x in (("w", w), ("d", d), ("h", h))}
    return {"w": str(w), "d": str(d), "h": str(h), "dia": str(w - 10), **cm}


def size_meant(
    meaning: str, v: dict[str, str]
) -> tuple[float | None, float | None, float | None] | None:
    """Width, depth and height in inches (None: not said), or None where the cell must be asked about."""
    w, d, h = (float(v[x]) for x in "wdh")
    if meaning == "?":
        return None
    if meaning == "wdhcm":
        return float(v["wcm"]) / 2.54, float(v["dcm"]) / 2.54, float(v["hcm"]) / 2.54
    if meaning in ("w.5", "ft5", "ft52"):
        return {"w.5": w + 0.5, "ft5": 60.0, "ft52": 62.0}[meaning], d, h
    return (
        w if "w" in meaning else None,
        d if "d" in meaning else None,
        h if "h" in meaning else None,
    )


def filled(text: str, letters: dict[str, str]) -> str:
    """`text` with its letters in place."""
    return re.sub(r"\{(\w+)\}", lambda m: letters[m.group(1)], text)
