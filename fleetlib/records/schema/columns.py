"""The columns of a record: name, kind, unit, meaning, bounds, and the headings people give them.

This page is the one place where a column is described; the reader, the blank record sheet, the Table
Schema and the report all come from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal["name", "word", "count", "size", "year", "grade", "date", "money", "hours", "text"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of flips.csv.

    `low` and `high` are the bounds of a value that is believed (both included, in the column's unit);
    outside them a cell is left out and listed. `headings` are other headings that mean this column.
    `tells` names what is learned from it: "price", "hours" (hours and materials). `of_piece`: known before
    the sale, so that a `Piece` has it too.
    """

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    headings: tuple[str, ...] = ()
    example: str = ""
    tells: tuple[str, ...] = ()
    of_piece: bool = True

    def believes(self, value: float) -> bool:
        """True where `value` is within the bounds, or there are none."""
        if self.low is None or self.high is None:
            return True
        return self.low <= value <= self.high

    @property
    def is_number(self) -> bool:
        """True where the cleaned column holds float64."""
        return self.kind in ("count", "size", "year", "grade", "money", "hours")

    @property
    def is_text(self) -> bool:
        """True where the cleaned column holds text."""
        return self.kind in ("name", "word", "text")


# The highest amounts are far above anything a refinisher meets; they catch a slipped decimal point.
_MONEY = {"kind": "money", "unit": "money", "low": 0.0, "high": 100_000.0}
_SIZE = {"kind": "size", "unit": "in", "low": 1.0, "high": 300.0}
_HOURS = {"kind": "hours", "unit": "hours", "low": 0.0, "high": 300.0}


def _column(name: str, meaning: str, headings: str = "", **rest: Any) -> Column:
    others = tuple(h.strip() for h in headings.split("|") if h.strip())
    return Column(name, meaning=meaning, headings=others, **rest)


COLUMNS: tuple[Column, ...] = (
    _column(
        "piece",
        "Your own name or number for the piece; made from what the row says when left blank.",
        "piece name | piece no | piece number | piece id | id | no | nr | number | item no | item number"
        " | item id | tag | tag no | tag number | ref | reference | stock no | stock number | inventory no"
        " | inventory number | code | label",
        kind="name",
        example="A-113",
    ),
    _column(
        "furniture_type",
        "What it is: dresser, sideboard, nightstand and so on. The one cell every piece needs.",
        "type | furniture type | furniture | item | item type | kind | what | what it is | what is it | piece type"
        " | type of furniture | type of piece | category | kind of furniture | kind of piece | what kind",
        kind="word",
        example="dresser",
        tells=("price", "hours"),
    ),
    _column(
        "wood",
        "The wood you see, as far as you know it.",
        "wood type | type of wood | species | wood species | timber | timber type | main wood",
        kind="word",
        example="oak",
        tells=("price",),
    ),
    _column(
        "construction",
        "How it is made: solid, veneer, plywood, laminate and so on.",
        "made of | build | solid or veneer | solid/veneer | construction type",
        kind="word",
        example="solid",
        tells=("price", "hours"),
    ),
    _column(
        "finish",
        "The finish you gave it: oil, wax, milk paint and so on.",
        "finish type | new finish | finished with | final finish | top coat | topcoat | finish applied",
        kind="word",
        example="oil",
        tells=("price", "hours"),
    ),
    _column(
        "style",
        "The look it sells as: mid-century, farmhouse, Victorian and so on.",
        "look | period | era | design | style period",
        kind="word",
        example="mid-century",
        tells=("price",),
    ),
    _column(
        "pieces_in_lot",
        "How many pieces are sold together as one lot; a pair of nightstands is 2. Blank is one.",
        "pieces in lot | count | qty | quantity | how many | pieces | set of | number of pieces | no of pieces"
        " | units",
        kind="count",
        unit="pieces",
        low=1.0,
        high=100.0,
        example="1",
        tells=("price", "hours"),
    ),
    _column(
        "width_in",
        "Outside width.",
        "width | w | wide | width inches | overall width",
        example="60",
        tells=("price",),
        **_SIZE,
    ),
    _column(
        "depth_in",
        "Outside depth, front to back.",
        "depth | d | deep | depth inches | overall depth",
        example="18",
        tells=("price",),
        **_SIZE,
    ),
    _column(
        "height_in",
        "Outside height.",
        "height | h | high | tall | height inches | overall height",
        example="34",
        tells=("price",),
        **_SIZE,
    ),
    _column(
        "year_made",
        "When it was made, your best guess: 1965 or 1960s.",
        "year | year made | made | made in | year built | age | circa | date made | decade",
        kind="year",
        unit="year",
        low=1500.0,
        high=2100.0,
        example="1965",
        tells=("price",),
    ),
    _column(
        "grade",
        "Your own 1 to 5 for quality and condition after the work.",
        "quality | rating | score | condition after | quality grade",
        kind="grade",
        unit="1 to 5",
        low=1.0,
        high=5.0,
        example="4",
        tells=("price",),
    ),
    _column(
        "condition",
        "How it was when you bought it: no damage, some damage, heavy damage, or parts missing.",
        "condition as bought | condition when bought | condition before | bought condition | damage | state"
        " | shape",
        kind="word",
        example="some damage",
        tells=("hours",),
    ),
    _column(
        "route",
        "What you plan to do, or did: clean up, repair, strip, or paint.",
        "plan | planned work | planned route | treatment | work planned | approach",
        kind="word",
        example="strip",
        tells=("hours",),
    ),
    _column(
        "bought_on",
        "The day you bought it.",
        "bought | date bought | bought date | buy date | purchase date | purchased | date purchased"
        " | purchased on | acquired | date acquired | got it on | day bought | picked up",
        kind="date",
        example="2026-03-04",
    ),
    _column(
        "buy_price",
        "What you paid for it; 0 when it was free.",
        "paid | cost | bought for | what i paid | purchase price | purchase cost | price paid | buy | buy cost"
        " | buying price | cost price | bought at | paid for it | i paid | acquisition cost | paid price",
        example="80",
        **_MONEY,
    ),
    _column(
        "bought_lot",
        "Pieces bought together for one price share a lot name; put the price on one of them.",
        "lot | lot name | lot no | lot number | bought lot | bought with | bought together",
        kind="name",
        example="",
    ),
    _column(
        "materials_cost",
        "Paint, oil, hardware and so on used on this piece.",
        "materials | materials cost | material cost | supplies | supplies cost | cost of materials"
        " | paint and supplies | cost of supplies",
        example="35",
        **_MONEY,
    ),
    _column(
        "other_costs",
        "Hauling, repairs paid to others and the like; delivery to the buyer is a selling cost.",
        "other costs | other cost | other | other expenses | extra costs | extras | misc | misc costs | expenses"
        " | hauling",
        example="0",
        **_MONEY,
    ),
    _column(
        "hours",
        "Hands-on hours, drying time not counted.",
        "hrs | hours worked | hours spent | total hours | time | time spent | labor hours | labour hours"
        " | work hours | hands-on hours | hours total | labor | labour",
        example="9",
        **_HOURS,
    ),
    *(
        _column(
            f"hours_{step}",
            f"Of these, hours {doing}.",
            " | ".join(f"hours {w} | {w} hours | hrs {w} | {w} hrs | {w} time" for w in words),
            of_piece=False,
            **_HOURS,
        )
        for step, doing, words in (
            ("clean", "cleaning", ("clean", "cleaning")),
            ("repair", "repairing", ("repair", "repairing", "repairs")),
            ("sand", "stripping and sanding", ("sand", "sanding", "stripping")),
            ("finish", "finishing", ("finish", "finishing", "painting")),
            ("sell", "photographing, listing and selling", ("sell", "selling", "listing")),
        )
    ),
    _column(
        "gut_price",
        "What you would ask on instinct, written down before you see any advice.",
        "gut | gut price | my price | my guess | own price | instinct price | hoped for | hope to get"
        " | target price | my idea | my price idea | price idea | what i'd ask | what id ask"
        " | what i would ask | my estimate | worth",
        example="450",
        **_MONEY,
    ),
    _column(
        "found_price",
        "What you would ask for it once done, said as you found it: before its finish was chosen.",
        "found price | price as found | own price as found | gut price as found | idea as found | first idea"
        " | price before finishing",
        of_piece=False,
        example="400",
        **_MONEY,
    ),
    _column(
        "listed_on",
        "The first day it was for sale.",
        "listed | date listed | list date | listing date | listed date | for sale since | posted"
        " | date posted | posted on | day listed | on sale since | advertised | date advertised",
        kind="date",
        example="2026-03-20",
    ),
    _column(
        "asking_price",
        "The first price you asked.",
        "asking | ask | asking price | asked | list price | listing price | listed price | listed at"
        " | listed for | first asking price | starting price | first price | initial price",
        example="450",
        **_MONEY,
    ),
    _column(
        "last_asking_price",
        "The price you were asking when it sold, or ask now.",
        "last asking | last asking price | last ask | final asking price | final ask | current price"
        " | current asking price | price now | now asking | reduced to | last price | lowered to | marked down to"
        " | dropped to | came down to",
        example="420",
        **_MONEY,
    ),
    _column(
        "sold_on",
        "The day it sold.",
        "sold | date sold | sold date | sale date | date of sale | day sold | when sold | sell date",
        kind="date",
        example="2026-04-11",
        of_piece=False,
    ),
    _column(
        "sale_price",
        "What the buyer paid, without sales tax and without the delivery charge.",
        "sold for | price | sale price | got | sold price | selling price | sold at | price sold | final price"
        " | sale | sell price | sale amount | got for it | amount received",
        example="410",
        of_piece=False,
        **_MONEY,
    ),
    _column(
        "selling_fees",
        "What the place you sold it kept.",
        "fees | fee | selling fee | selling fees | commission | booth fee | listing fee | listing fees"
        " | selling costs",
        example="0",
        of_piece=False,
        **_MONEY,
    ),
    _column(
        "delivery_charged",
        "What the buyer paid for delivery.",
        "delivery | delivery charge | delivery charged | delivery fee | charged for delivery | delivery paid"
        " | shipping charged | delivery income",
        example="0",
        of_piece=False,
        **_MONEY,
    ),
    _column(
        "channel",
        "Where you sold it or offer it.",
        "where sold | sold where | where | place sold | sold at place | sold through | sold via | sold on site"
        " | outlet | where listed | selling place | place | venue | sold in",
        kind="word",
        example="",
        tells=("price",),
    ),
    _column(
        "withdrawn_on",
        "The day it left the market unsold: kept, given away or scrapped.",
        "withdrawn | date withdrawn | kept | kept on | given away | taken down | taken down on | scrapped"
        " | removed | removed on",
        kind="date",
        example="",
        of_piece=False,
    ),
    _column(
        "outcome",
        "What became of it where no day or price says so: sold, unsold, came back, kept, given away or scrapped.",
        "what became of it | sold or not | sold y/n | sold yes/no",
        kind="word",
        of_piece=False,
        example="",
    ),
    _column(
        "notes",
        "Anything else.",
        "note | comments | comment | remarks | remark | details | what happened",
        kind="text",
        example="",
    ),
)

COLUMN: dict[str, Column] = {c.name: c for c in COLUMNS}
NAMES: tuple[str, ...] = tuple(COLUMN)
# How a piece that was not sold left.
WITHDRAWN, KEPT, GIVEN_AWAY, SCRAPPED = "withdrawn", "kept", "given away", "scrapped"
CAME_BACK = (
    "came back"  # the outcome of a piece whose buyer brought it back and was given the money back
)
CALLED = "type in your words"  # carried beside the columns where the person's word for a kind is another than ours
LEFT_UNSOLD = (WITHDRAWN, KEPT, GIVEN_AWAY, SCRAPPED)  # the first where nothing says which

ASKED_PRICES = (
    "asking_price",
    "last_asking_price",
    "gut_price",
    "found_price",
)  # nobody asks nothing: 0 is none known
DATES: tuple[str, ...] = tuple(c.name for c in COLUMNS if c.kind == "date")
NUMBERS: tuple[str, ...] = tuple(c.name for c in COLUMNS if c.is_number)
TEXTS: tuple[str, ...] = tuple(c.name for c in COLUMNS if c.is_text)
MONEY: tuple[str, ...] = tuple(c.name for c in COLUMNS if c.kind == "money")
STEPS: tuple[str, ...] = ("clean", "repair", "sand", "finish", "sell")
SIZES: tuple[str, ...] = ("width_in", "depth_in", "height_in")
INCHES_IN_A_CUBIC_FOOT = 1728  # cubic ones

# Headings of one column that holds all three outside measures.
SIZE_HEADINGS: tuple[str, ...] = (
    "size",
    "sizes",
    "dims",
    "dim",
    "dimensions",
    "dimension",
    "measurements",
    "measures",
    "overall size",
    "overall dimensions",
)

# Worked out from the record, never read from it: name, unit, meaning.
DERIVED: tuple[tuple[str, str, str], ...] = (
    ("size_cuft", "cubic feet", "Width x depth x height."),
    (
        "days_listed",
        "days",
        "From the first listing to the sale, the withdrawal or the day of the answer.",
    ),
    ("status", "", "in work, listed, sold or withdrawn."),
    (
        "net_price",
        "money",
        "Sale price and delivery charge less fees and what the delivery costs you; a blank fee counts as 0.",
    ),
    (
        "profit",
        "money",
        "Net price less buy price, materials and other costs; missing where the buy price is, while blank "
        "materials and other costs count as 0. Supplies shared by all pieces are not in it.",
    ),
    ("profit_per_hour", "money an hour", "Profit divided by hands-on hours."),
    ("sale_to_ask", "", "Sale price divided by the last asking price."),
)
DERIVED_NAMES: tuple[str, ...] = tuple(name for name, _, _ in DERIVED)
