"""The notebook form for what the check asks: a button an answer, the costliest question first."""

from __future__ import annotations

from functools import partial
from typing import Any

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.answering import write_answers
from fleetlib.desk.forms import fields
from fleetlib.desk.forms.layout import (
    ShopFront,
    answer_place,
    guarded,
    heading_of,
    reread,
    sentence,
)
from fleetlib.records.asked.question import Chosen, Question, at_once
from fleetlib.records.report import ASKED_FIRST
from fleetlib.shown.html_blocks import escape


def question_form(shop: ShopFront) -> Any:
    """What fleetlib needs to know about the record, with a button for each likely answer and a line for another.

    A press appends the answer to answers.csv, reads the record again and shows what is still open.
    """
    import ipywidgets as widgets

    open_ones = widgets.VBox([])
    said = answer_place("saved")

    def give(question: Question, shown: str, meaning: str) -> None:
        lines = write_answers(shop, [Chosen(question, shown, meaning)])
        reread(shop)
        lay()
        left = len(shop.records.to_answer)
        said.value = sentence(f"{' '.join(lines)} {left or 'Nothing'} left to answer.")

    def own(question: Question, line: fields.Field) -> None:
        word = str(line.read() or "").strip()
        if not word:
            raise BadQuestion("Write your own answer in the line first.")
        give(question, word, word)

    def lay() -> None:
        asked = shop.records.to_answer
        open_ones.children = [
            _box(n, q, partial(give, q), partial(own, q), said)
            for n, q in enumerate(asked[: at_once(asked)])
        ] or [widgets.HTML(sentence("Nothing is left to ask about this record."))]

    lay()
    made = widgets.VBox([heading_of(ASKED_FIRST), said, open_ones])
    made.add_class("fleet-form")
    return made


def _box(number: int, question: Question, give: Any, own: Any, said: Any) -> Any:
    """One question: its sentence, its buttons, the line for another answer."""
    import ipywidgets as widgets

    text = f"<p><b>{number + 1}.</b> {escape(question.said)} <i>Until then {escape(question.meanwhile)}.</i></p>"
    buttons = [
        fields.button(
            f"q{number}-{i}", o.shown, partial(guarded, partial(give, *o), said), main=i == 0
        )
        for i, o in enumerate(question.options)
    ]
    parts = [widgets.HTML(text), widgets.HBox(buttons, layout={"flex_flow": "row wrap"})]
    if question.free:
        line = fields.typed(f"q{number}", "or", hint=question.free)
        go = fields.button(
            f"q{number}-own", "Say so", partial(guarded, partial(own, line), said), small=True
        )
        parts.append(widgets.HBox([line.box, go], layout={"flex_flow": "row wrap"}))
    return widgets.VBox(parts)
