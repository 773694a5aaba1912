"""What every form shares: the box it is laid out in, its answers, and what it needs of a shop."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol
from weakref import WeakKeyDictionary

import pandas as pd

from fleetlib.base.errors import CannotSave, FleetError
from fleetlib.base.kit import is_kit_demo
from fleetlib.base.opening import why
from fleetlib.desk.forms import fields
from fleetlib.desk.forms.fields import Field, FieldError
from fleetlib.records.piece import Piece
from fleetlib.shown.html_blocks import escape

CHOOSE, NO_PIECE = "(choose)", "Choose the piece."
_DEMO = (
    "This is the invented demo shop, which is never written to. Make your own copy with "
    '"fleetlib start my-shop --demo" and open the notebooks there.'
)


class ShopFront(Protocol):
    """What the forms need of a shop."""

    records: Any
    fits: Any

    def piece(self, name: str) -> Piece: ...
    def advise(self, piece: Piece) -> Any: ...
    def plan(self, piece: Piece, *, offer: float | None = None) -> Any: ...
    def log_advice(self, advice: Any) -> Any: ...
    def what_to_pay(self, piece: Piece) -> Any: ...
    def reread(self) -> None: ...


def on_hand(shop: ShopFront, *statuses: str) -> list[tuple[str, str]]:
    """(shown, name) of each piece in one of `statuses`: the one last logged, then in that order, by name."""
    flips, log = shop.records.flips, shop.records.events
    latest = str(log.loc[log["line"].idxmax(), "piece"]) if len(log) else ""
    rows = flips[flips["status"].isin(statuses)]
    order = pd.Categorical(rows["status"], categories=list(statuses), ordered=True)
    rows = rows.assign(_order=order, _used=rows["piece"].ne(latest))
    rows = rows.sort_values(["_used", "_order", "piece"], kind="stable")
    shown = []
    for row in rows.itertuples(index=False):
        words = [row.wood, row.furniture_type]
        what = " ".join(plain(str(w)) for w in words if isinstance(w, str))
        shown.append((f"{row.piece}: {what} ({row.status})", str(row.piece)))
    return shown


_LISTS: WeakKeyDictionary[Any, list[Callable[[], None]]] = WeakKeyDictionary()


def piece_list(
    shop: ShopFront,
    key: str,
    label: str,
    *statuses: str,
    blank: str = CHOOSE,
    chosen: Callable[[], None] | None = None,
) -> Field:
    """A drop-down list of the pieces in one of `statuses`; `reread` keeps it up to date.

    `chosen` is called when the person chooses, not when the list is renewed around their choice.
    """
    made = fields.choice(key, label, on_hand(shop, *statuses), blank=blank)
    control, renewing = made.control, [False]

    def renew() -> None:
        was, options = control.value, [(blank, ""), *on_hand(shop, *statuses)]
        if options == list(control.options):
            return
        renewing[0] = True
        try:
            control.options = options
            control.value = was if was in [meant for _, meant in options] else ""
        finally:
            renewing[0] = False
        if control.value != was and chosen is not None:
            chosen()

    if chosen is not None:
        act = chosen
        control.observe(lambda _: None if renewing[0] else act(), names="value")
    _LISTS.setdefault(shop, []).append(renew)
    return made


def reread(shop: ShopFront) -> None:
    """Read the folder again after something was logged, and renew every list of pieces, on other tabs too."""
    shop.reread()
    for renew in _LISTS.get(shop, []):
        renew()


def logged(shop: ShopFront, place: Any, text: str) -> bool:
    """Say in `place` what was logged, then read the folder again; True where it could be read.

    What was logged stays logged and said, whatever the reading meets.
    """
    place.value = sentence(text)
    try:
        reread(shop)
    except (FleetError, OSError) as problem:
        place.value = sentence(
            f"{text} That is kept: do not log it again. But the folder could not be read again, so this page shows it "
            f"as it was: {problem}"
        )
        return False
    return True


def last_used(shop: ShopFront, count: int) -> list[str]:
    """The names of up to `count` pieces on hand that were last logged or saved advice on, the latest first."""
    flips, found = shop.records.flips, []
    standing = flips.loc[flips["status"].isin(["listed", "in work"]), "piece"].astype(str)
    for log, day in ((shop.records.logged, "on"), (shop.records.advice_log, "date")):
        found += list(zip(log[day], log["line"], log["piece"].astype(str), strict=True))
    names = [name for _, _, name in sorted(found, reverse=True) if name in set(standing)]
    return list(dict.fromkeys(names))[:count]


def refuse_demo(shop: ShopFront) -> None:
    """Raise CannotSave when the shop is the demo that came with the kit."""
    if is_kit_demo(shop.records.folder):
        raise CannotSave(_DEMO)


def plain(word: str) -> str:
    """A word of the records as one would write it: `chest of drawers`."""
    return word.replace("_", " ")


def answer_place(name: str = "answer") -> Any:
    """An empty place for an answer; it is filled by one assignment of HTML."""
    import ipywidgets as widgets

    made = widgets.HTML("")
    made.add_class(f"a-{name}")
    return made


def sentence(text: str) -> str:
    """`text`, escaped, as a paragraph that is read out when it appears."""
    return f'<p role="status">{escape(text)}</p>'


def working(place: Any) -> None:
    """Say in `place` that the answer is being worked out, so that no earlier sentence stands meanwhile."""
    place.value = sentence("Working it out: a few seconds.")


def guarded(action: Callable[[], None], place: Any) -> None:
    """Run a button's action; a refusal becomes a sentence in `place`, or is already beside its field."""
    try:
        action()
    except FieldError:
        place.value = sentence("Nothing was done: see the sentence beside the field.")
    except FleetError as refusal:
        place.value = sentence(str(refusal))
    except OSError as problem:
        place.value = sentence(
            f"{problem.filename or 'The system'} cannot be used: {why(problem)}."
        )
    except Exception as mistake:
        place.value = sentence(
            f"That went wrong inside fleetlib, not by what you typed: {type(mistake).__name__}: {mistake}"
        )
        raise


def heading_of(text: str) -> Any:
    """The heading of a form: the level below the page's own, the size of the one below that."""
    import ipywidgets as widgets

    return widgets.HTML(f'<h2 style="font-size:1.17em;margin:.4em 0">{escape(text)}</h2>')


def form_box(heading: str, *groups: list[Any]) -> Any:
    """A heading, then each group: fields and answers one below the other, buttons side by side."""
    import ipywidgets as widgets

    children: list[Any] = [heading_of(heading)]
    for group in groups:
        if group and all(isinstance(item, widgets.Button) for item in group):
            children.append(widgets.HBox(group, layout={"flex_flow": "row wrap"}))
        else:
            children += [item.box if isinstance(item, Field) else item for item in group]
    made = widgets.VBox(children)
    made.add_class("fleet-form")
    return made
