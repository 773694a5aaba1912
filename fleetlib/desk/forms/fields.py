"""The fields that the notebook forms are made of: a label, a control, and a sentence beside it.

A field reads what was typed with the same readers as the records, so `60 1/2`, `5'6"`, `$1,150` and
`3h 30m` mean the same in a form as in the spreadsheet. What cannot be read is answered beside the field
and nothing else happens.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from fleetlib.base.money import format_money
from fleetlib.desk.forms.clicks import Clicks
from fleetlib.records.parsing.amounts import Cell, read_hours, read_money, read_sizes
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.said_days import said_day
from fleetlib.shown.html_blocks import escape

_LABEL = {"description_width": "12rem"}
_WIDE = {"width": "27rem", "max_width": "100%"}
# Weight and a bar set a refusal apart, in either theme; its letters keep the theme's own colour.
_ASKS = "font-weight:600;border-left:4px solid #D55E00;padding-left:.5rem"


@dataclass(frozen=True, eq=False, slots=True)
class Field:
    """One labelled control. `box` is what is shown; `read()` gives the value, None when left blank.

    A text that cannot be read makes `read()` raise FieldError after the sentence has been put beside it.
    """

    key: str
    label: str
    control: Any = field(repr=False)
    box: Any = field(repr=False)
    message: Any = field(repr=False)
    reader: Callable[[str], Cell] | None = field(default=None, repr=False)
    remedy: str = ""
    convert: Callable[[Any], Any] | None = field(default=None, repr=False)

    def read(self) -> Any:
        """The value as typed: a number, a word, a day or None."""
        self.say("")
        typed = self.control.value
        if self.reader is None:
            return typed or None
        text = str(typed).strip()
        if not text:
            return None
        cell = self.reader(text)
        if cell.refused or cell.value is None:
            why = f": it {cell.why}" if cell.why else ""
            return self.refuse(f'"{text}" was not understood{why}. {self.remedy}')
        return cell.value if self.convert is None else self.convert(cell.value)

    def need(self, sentence: str) -> Any:
        """The value, which may not be blank: then `sentence` is put beside the field and FieldError raised."""
        value = self.read()
        return self.refuse(sentence) if value is None else value

    def say(self, sentence: str) -> None:
        """Put `sentence` beside the field; an empty one clears it."""
        self.message.value = (
            f'<span role="alert" class="fleet-asks" style="{_ASKS}">{escape(sentence)}</span>'
            if sentence
            else ""
        )

    def refuse(self, sentence: str) -> Any:
        """Put `sentence` beside the field and stop what was being done."""
        self.say(sentence)
        raise FieldError(sentence)


class FieldError(Exception):
    """A field holds something that cannot be used; the sentence is already beside it."""


def together(*readers: Callable[[], Any]) -> list[Any]:
    """The value of each of `readers`, all of them tried: every mistake is shown at once, then FieldError raised."""
    values, wrong = [], []
    for read in readers:
        try:
            values.append(read())
        except FieldError as mistake:
            wrong.append(mistake)
    if wrong:
        raise FieldError("; ".join(str(w) for w in wrong))
    return values


class Doubts:
    """Questions put beside a field: pressed again with the same answers, they are taken as meant."""

    def __init__(self) -> None:
        self._put: set[str] = set()

    def ask(self, one: Field, question: str) -> None:
        """Put `question` beside the field and stop, unless it stood there at the press before."""
        if question not in self._put:
            self._put.add(question)
            one.refuse(f"{question} Press again if that is right.")

    def over(self) -> None:
        """The entry was logged: the next one is questioned anew."""
        self._put.clear()


def _made(
    key: str,
    label: str,
    control: Any,
    reader: Callable[[str], Cell] | None = None,
    remedy: str = "",
) -> Field:
    import ipywidgets as widgets

    control.add_class(f"f-{key}")
    message = widgets.HTML("")
    message.add_class(f"m-{key}")
    box = widgets.HBox([control, message], layout={"flex_flow": "row wrap"})
    box.add_class("fleet-field")
    return Field(key, label, control, box, message, reader, remedy)


def typed(
    key: str, label: str, *, hint: str = "", reader: Callable[[str], Cell] | None = None
) -> Field:
    """A line to type in; `hint` is the example shown in the empty box, and the remedy when refused."""
    import ipywidgets as widgets

    control = widgets.Text(
        description=label,
        placeholder=hint,
        style=_LABEL,
        layout=_WIDE,
        continuous_update=False,
    )
    return _made(key, label, control, reader, f"Write it like this: {hint}.")


def money(key: str, label: str, currency: str, *, example: float = 80) -> Field:
    """A line for an amount of money."""
    hint = format_money(example, currency)
    return typed(
        key, label, hint=hint, reader=lambda text: read_money([text], currency=currency)[0]
    )


def size(key: str, label: str, unit: str, *, example: str) -> Field:
    """A line for an outside dimension; a bare number is in `unit`."""
    return typed(
        key, label, hint=example, reader=lambda text: read_sizes([_point(text)], unit=unit)[0]
    )


def hours(key: str, label: str, *, minutes: bool = False) -> Field:
    """A line for hands-on time; a bare number is hours, or with `minutes` minutes."""
    unit = "minutes" if minutes else "hours"
    hint = "45, or 1h 30m" if minutes else "9, or 3h 30m"
    return typed(key, label, hint=hint, reader=lambda text: _hours(text, unit))


def _hours(text: str, unit: str) -> Cell:
    return read_hours([_point(text)], unit=unit)[0]


def _point(text: str) -> str:
    """A decimal comma as a point: `1,5` is one and a half; `1,500` is left as it is."""
    return re.sub(r"^(\s*\d+),(\d{1,2})(?!\d)", r"\1.\2", text)


def day(key: str, label: str, as_of: date) -> Field:
    """A line for a day, filled with `as_of`; written 2026-09-30, or as one says it."""
    made = typed(
        key,
        label,
        hint="2026-09-30, yesterday or fri",
        reader=lambda text: said_day(text, as_of) or read_dates([text], as_of=as_of).cells[0],
    )
    made.control.value = as_of.isoformat()
    return replace(made, convert=date.fromisoformat)


def choice(key: str, label: str, options: Sequence[tuple[str, Any]], *, blank: str = "") -> Field:
    """A drop-down list of (shown, meant) pairs; with `blank`, an empty first choice worded so.

    The empty choice is held as "", since a drop-down shows nothing at all for None; `read()` gives None.
    """
    import ipywidgets as widgets

    offered = ([(blank, "")] if blank else []) + list(options)
    control = widgets.Dropdown(description=label, options=offered, style=_LABEL, layout=_WIDE)
    return _made(key, label, control)


def tick(key: str, label: str) -> Field:
    """A box to tick."""
    import ipywidgets as widgets

    control = widgets.Checkbox(
        description=label, value=False, indent=True, style=_LABEL, layout=_WIDE
    )
    return _made(key, label, control)


def button(
    key: str,
    label: str,
    action: Callable[[], None],
    *,
    main: bool = False,
    small: bool = False,
    tip: str = "",
) -> Any:
    """A button that runs `action`; `main` marks the one a form is for, `small` one of a row of many."""
    import ipywidgets as widgets

    made = widgets.Button(
        description=label,
        tooltip=tip or label,
        button_style="primary" if main else "",
        layout={"width": "auto", "height": "auto", "min_width": "5rem" if small else "9rem"},
    )
    made.add_class(f"b-{key}")
    once = Clicks()
    made.on_click(lambda _: once.take(action))
    return made
