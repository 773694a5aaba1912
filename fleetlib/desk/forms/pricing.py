"""The notebook forms for pricing: price a piece, weigh up a find.

Each function returns one ipywidgets box to show. Asking writes nothing; saving the advice writes its page,
tag and calendar beside the records and one row in advice_log.csv. Logging forms are in `log_forms`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from fleetlib.desk.forms import fields
from fleetlib.desk.forms.fields import Field, together
from fleetlib.desk.forms.layout import (
    ShopFront,
    answer_place,
    form_box,
    guarded,
    last_used,
    logged,
    piece_list,
    plain,
    refuse_demo,
    sentence,
    working,
)
from fleetlib.desk.forms.life import find_bought, free_name
from fleetlib.desk.forms.links import advice_links
from fleetlib.desk.forms.ready import as_filled_in, ready
from fleetlib.desk.forms.stepper import ask_stepper
from fleetlib.desk.logging_lines import next_name
from fleetlib.records.parsing.amounts import Cell
from fleetlib.records.parsing.counts import read_counts, read_grades, read_years
from fleetlib.records.parsing.vocabulary import known_words
from fleetlib.records.piece import Piece
from fleetlib.records.schema.columns import COLUMNS, Column
from fleetlib.shown.html_blocks import figure_html, wrap
from fleetlib.week.since_saved import since_saved


def price_form(shop: ShopFront) -> Any:  # noqa: C901 - what the buttons do stands inside the form
    """Price one piece: what it is, your own price first, then the advice, then saving it."""
    import ipywidgets as widgets

    about = _piece_fields(shop)
    currency = shop.records.settings.currency
    name = fields.typed("piece", "Your name for it", hint="A-113")
    gut = fields.money("gut", "Your own price first", currency, example=450)
    no_idea = fields.tick("noidea", "I have no price in mind")
    answer = answer_place()
    saved, rest, others = answer_place("saved"), answer_place("rest"), widgets.VBox()
    links = answer_place("links")
    priced: list[Any] = []  # the advice last given, until its page is saved

    stood_in: list[str] = []

    def fill() -> None:
        places = {**about, "piece": name, "gut": gut}
        no_idea.control.value = False
        if not known.control.value:
            for one in places.values():
                _put(one, None)
            return
        piece = shop.piece(known.control.value)
        stood_in[:] = [known.control.value] if _stands_in(shop, piece) else []
        _fill(places, piece)
        if stood_in:
            _put(gut, None)
        ready(shop).soon([as_filled_in(piece)])  # by the next press much of it is done

    known = piece_list(
        shop,
        "onhand",
        "A piece on record",
        "listed",
        "in work",
        blank="(a new piece)",
        chosen=lambda: guarded(fill, saved),
    )

    def own_price() -> float | None:
        idea = gut.read()
        if idea is None and not no_idea.control.value:
            gut.refuse(
                "Write what you would ask on instinct before you look, or tick the box below."
            )
        return None if idea is None else float(idea)

    def price() -> None:
        priced.clear()
        saved.value = ""
        values, idea = together(lambda: _values(about), own_price)
        if known.control.value:
            if idea is None and known.control.value in stood_in:
                idea = shop.piece(known.control.value).gut_price
            piece = replace(shop.piece(known.control.value), **values, gut_price=idea)
        else:
            piece = Piece(piece=name.read() or "", gut_price=idea, **values)
        others.children = ()
        rest.value = links.value = ""
        working(answer)
        advice = ready(shop).advise(piece)
        short = advice.first_html()
        answer.value = short  # the price first: its picture takes about as long again
        answer.value = short + _pictures(advice)
        if not advice.plan.take_salvage_now:
            ask = float(advice.table["asking_price"].iloc[0])
            others.children = (ask_stepper(shop, piece, ask),)
        rest.value = since(advice) + advice.rest_html()
        priced.append(advice)
        links.value = advice_links(advice)

    def since(advice: Any) -> str:
        """How the ask differs from what was last saved for the piece, and what came between."""
        ask = float(advice.table["asking_price"].iloc[0])
        said = since_saved(shop.records, str(advice.piece.piece or ""), asking_price=ask)
        return sentence(said) if said else ""

    def save() -> None:
        from fleetlib.desk.pages import save_advice

        if not priced:
            saved.value = sentence(
                "Price the piece first; then its page can be saved, once for each pricing."
            )
            return
        if not priced[0].piece.piece:
            name.refuse("Give the piece a name first, so that the advice can be found again.")
        refuse_demo(shop)
        files = save_advice(priced[0], shop.records.folder / "advice")
        shop.log_advice(priced[0])
        priced.clear()
        saved.value = sentence(
            "Saved: " + ", ".join(f"advice/{p.name}" for p in files) + ", and logged."
        )

    go = fields.button("price", "Price it", lambda: guarded(price, answer), main=True)
    keep = fields.button("save", "Save page, tag and calendar", lambda: guarded(save, saved))
    quick = [
        fields.button(f"last{i}", name, partial(setattr, known.control, "value", name), small=True)
        for i, name in enumerate(last_used(shop, QUICK))
    ]
    rows = [name, *about.values(), gut, no_idea]
    return form_box(
        "Price this piece", [known], quick, rows, [go, keep], [saved, answer, links, others, rest]
    )


def find_form(shop: ShopFront) -> Any:
    """What to pay for a find: what it is and what it would take, then the highest price worth paying."""
    about = {k: f for k, f in _piece_fields(shop).items() if k != "buy_price"}
    currency = shop.records.settings.currency
    asked = fields.money("asked", "They ask", currency, example=60)
    gut = fields.money("gut", "Your own price for it, finished", currency, example=450)
    name = fields.typed("called", "Its name, once bought", hint="A-113")
    answer, saved = answer_place(), answer_place("saved")
    name.control.value = next_name(shop.records)

    def described() -> Piece:
        values, price, idea = together(lambda: _values(about), asked.read, gut.read)
        return Piece(buy_price=price, gut_price=idea, **values)

    def weigh() -> None:
        answer.value = saved.value = ""
        piece = described()
        working(answer)
        advice = shop.what_to_pay(piece)
        answer.value = _pictures(advice) + advice._repr_html_()

    def buy() -> None:
        saved.value = ""
        piece, called, _ = together(
            described,
            lambda: free_name(shop, name),
            lambda: asked.need("Write what you paid; 0 when it was free."),
        )
        working(saved)
        day = shop.records.as_of
        planned = find_bought(shop, replace(piece, piece=called), on=day)
        for one in (*about.values(), asked, gut):
            _put(one, None)
        with_plan = ", with the plan it was bought on" if planned else ""
        if logged(shop, saved, f"Logged: {called} bought on {day}{with_plan}."):
            name.control.value = next_name(shop.records)

    go = fields.button(
        "weigh", "What is it worth to me?", lambda: guarded(weigh, answer), main=True
    )
    bought = fields.button("bought", "I bought it for that", lambda: guarded(buy, saved))
    return form_box(
        "What to pay for a find",
        [*about.values(), gut, asked, name],
        [go, bought],
        [saved, answer],
    )


QUICK = 4  # pieces last used, each a button of its own
_NOT_ASKED = ("construction", "year_made", "grade", "channel")  # told by the record, not in a hurry
_LOTS = [("one piece", 1), ("a pair", 2), *[(f"a set of {n}", n) for n in range(3, 25)]]


def _grade(text: str) -> Cell:
    return read_grades([text])[0]


def _year(text: str) -> Cell:
    return read_years([text])[0]


def _piece_fields(shop: ShopFront) -> dict[str, Field]:
    currency, unit = shop.records.settings.currency, shop.records.settings.length_unit
    sizes = {
        "width_in": ("Width", "60"),
        "depth_in": ("Depth", "18 1/2"),
        "height_in": ("Height", "34"),
    }
    made = {
        "furniture_type": fields.choice(
            "type", "What is it?", _words(shop, "furniture_type"), blank="(choose)"
        ),
        "wood": fields.choice("wood", "Wood", _words(shop, "wood"), blank="(not known)"),
        "finish": fields.choice("finish", "Finish", _words(shop, "finish"), blank="(not decided)"),
        "style": fields.choice("style", "Style it sells as", _words(shop, "style"), blank="(none)"),
        "construction": fields.choice(
            "construction", "Made of", _words(shop, "construction"), blank="(not known)"
        ),
        "grade": fields.typed("grade", "Condition after work, 1 to 5", hint="4", reader=_grade),
        "year_made": fields.typed("year", "Year made, about", hint="1960", reader=_year),
        "pieces_in_lot": fields.choice("lot", "Sold together as", _LOTS),
    }
    made |= {
        key: fields.size(key.split("_")[0], f"{label}, {unit}", unit, example=example)
        for key, (label, example) in sizes.items()
    }
    made |= {
        c.name: _field_of(shop, c)
        for c in COLUMNS
        if c.tells and c.of_piece and c.name not in (*made, *_NOT_ASKED)
    }
    made["buy_price"] = fields.money("buy", "What you paid for it", currency)
    made["materials_cost"] = fields.money("materials", "Materials", currency, example=35)
    made["hours"] = fields.hours("hours", "Hands-on hours")
    return made


def _field_of(shop: ShopFront, column: Column) -> Field:
    """The field of a column that tells the price or the hours, by its kind; its name is its label."""
    name, settings = column.name, shop.records.settings
    label = name.replace("_", " ").capitalize()
    match column.kind:
        case "word":
            return fields.choice(name, label, _words(shop, name), blank="(not known)")
        case "money":
            return fields.money(name, label, settings.currency)
        case "size":
            unit = settings.length_unit
            return fields.size(name, f"{label}, {unit}", unit, example=column.example)
        case _:
            return fields.typed(
                name, label, hint=column.example, reader=lambda text: read_counts([text])[0]
            )


def _values(about: dict[str, Field]) -> dict[str, Any]:
    kind = about["furniture_type"]
    readers = [
        partial(f.need, "Choose what it is.") if f is kind else f.read for f in about.values()
    ]
    return dict(zip(about, together(*readers), strict=True))


def _stands_in(shop: ShopFront, piece: Piece) -> bool:
    """True when the record's own price is its first ask standing in: that is not shown as one's own."""
    flips, changes = shop.records.flips, shop.records.changes
    lines = flips.loc[flips["piece"] == piece.piece, "line"]
    of_price = changes["column"].eq("gut_price") & changes["why"].str.contains("stands in")
    return bool(changes.loc[of_price, "line"].isin(lines).any())


def _fill(about: dict[str, Field], piece: Piece) -> None:
    names = {"gut": "gut_price"}
    for key, one in about.items():
        _put(one, getattr(piece, names.get(key, key), None))


def _put(one: Field, value: Any) -> None:
    """Show `value` in the field; None empties it."""
    one.say("")
    if one.reader is None and hasattr(one.control, "options"):
        known = [meant for _, meant in one.control.options]
        one.control.value = value if value in known else "" if "" in known else known[0]
    else:
        one.control.value = (
            "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)
        )


def _words(shop: ShopFront, column: str) -> list[tuple[str, str]]:
    """The person's own words, the most used first, then the other known ones."""
    used = shop.records.flips[column].dropna().astype(str).value_counts()
    own = [(f"{plain(word)} ({count} on record)", word) for word, count in used.items()]
    taken = set(used.index)
    try:
        others = known_words(column)
    except KeyError:  # a style is the person's own word
        others = ()
    return own + [(plain(word), word) for word in others if word not in taken]


def _pictures(result: Any) -> str:
    from fleetlib.desk.pictures import picture_alt, picture_png

    return wrap(figure_html(picture_png(result), alt=picture_alt(result)))
