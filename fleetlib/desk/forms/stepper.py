"""Trying other asks: a number to step up and down, answered at once."""

from __future__ import annotations

from typing import Any

from fleetlib.base.errors import FleetError
from fleetlib.desk.forms.layout import answer_place, sentence
from fleetlib.records.piece import Piece


def ask_stepper(shop: Any, piece: Piece, ask: float) -> Any:
    """A stepper standing on `ask`: chance sold within 4, 8 and 12 weeks and money in hand at the ask shown."""
    import ipywidgets as widgets

    from fleetlib.plan.case import case_for
    from fleetlib.plan.held_ask import held_ask

    fits = shop.fits
    try:
        case = case_for(fits, piece, shop.records.as_of)
    except FleetError as refusal:
        return widgets.HTML(sentence(str(refusal)))
    step = 5 if ask < 200 else 10
    number = widgets.BoundedFloatText(
        value=ask,
        min=step,
        max=max(10 * ask, 100.0),
        step=step,
        description="Try another ask",
        style={"description_width": "12rem"},
        layout={"width": "22rem", "max_width": "100%"},
    )
    number.add_class("f-tryask")
    said = answer_place("tryask")

    def show(_: Any = None) -> None:
        said.value = sentence(held_ask(case, number.value).sentence(fits.settings.currency))

    def stepping(key: str, label: str, by: int) -> Any:
        made = widgets.Button(
            description=label, tooltip=f"{label} {step}", layout={"width": "5rem", "height": "auto"}
        )
        made.add_class(f"b-{key}")

        def move(_: Any) -> None:
            number.value = min(max(number.value + by, number.min), number.max)

        made.on_click(move)
        return made

    number.observe(show, names="value")
    show()
    row = widgets.HBox(
        [number, stepping("less", "less", -step), stepping("more", "more", step)],
        layout={"flex_flow": "row wrap"},
    )
    return widgets.VBox([row, said])
