"""Pages to print, keep or read on a phone: any result as one HTML file that asks for nothing outside itself.

Pictures are carried inside the page with the text that says the same; text from the records is escaped by
the template; the page's own policy forbids scripts and anything from elsewhere.
"""

from __future__ import annotations

import base64
import hashlib
import io
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from fleetlib.base.errors import BadQuestion, CannotSave, FleetError
from fleetlib.base.saving import write_whole
from fleetlib.base.unseen import without_unseen
from fleetlib.care.caution_sheet import DISCLAIMER, CautionSheet
from fleetlib.fits import Fits
from fleetlib.plan.calendar import save_calendar, save_shop_calendar
from fleetlib.quarter.page import review_parts
from fleetlib.quarter.review import QuarterReview
from fleetlib.shown.html_blocks import alone_on_a_page, figure_html
from fleetlib.shown.sheet import Shown, as_html
from fleetlib.week.advice import Advice
from fleetlib.week.log_advice import NO_NAME
from fleetlib.week.page import advice_parts
from fleetlib.week.tag import PriceTag, TagSheet, price_tag, sheet_parts, tag_parts
from fleetlib.week.today import SHADED, Today, photo_of, today

__all__ = ["page_html", "price_tag", "safe_name", "save_advice", "save_page"]

# What stands at the start of every page of ours; the second in those of earlier versions too.
_OURS = (
    b'<meta name="generator" content="fleetlib">',
    b"content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\"",
)
OWN_SALES = "From your own records and past sales; ranges and chances, never certainties."


def save_page(result: object, path: str | Path) -> Path:
    """Write `result` as one HTML page to `path`; returns the path.

    An Advice becomes a sheet with its cautions on the back, a QuarterReview the quarterly review, a PriceTag a tag
    sheet, a CautionSheet the cautions; anything else fleetlib answers with becomes a page of its own tables. Raises
    BadQuestion for something that is no result, CannotSave for a name that does not end on .html, where a file
    is there that is no page of ours, and where the file cannot be written.
    """
    if Path(path).suffix.lower() != ".html":
        raise CannotSave(
            f"{path} is no name for a page; give one that ends on .html, such as review.html. Nothing was written."
        )
    return write_whole(path, page_html(result), over=_OURS)


def page_html(result: object) -> str:
    """The page as text; the same result gives the same text."""
    for kind, (template, parts) in _PAGES.items():
        if isinstance(result, kind):
            return _filled(template, parts(result))
    body = getattr(result, "_repr_html_", None)
    if body is None or not type(result).__module__.startswith("fleetlib."):
        raise BadQuestion(
            f"There is no page for a {type(result).__name__}. Give an answer of fleetlib, such as shop.advise(piece)."
        )
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(result).__name__).capitalize()
    with alone_on_a_page():
        if isinstance(result, Shown):
            sheet = result.sheet()
            words, told = sheet.heading or words, as_html(sheet._replace(heading=""))
        else:
            told = body()
    shown = {"title": words, "under": "", "kind": "plain", "foot": (OWN_SALES,)}
    return _filled("plain.html", shown | {"body": _safe(told), "picture": _picture(result)})


def save_advice(advice: Advice, folder: str | Path) -> tuple[Path, ...]:
    """Write the pages of `advice` into `folder`: advice-NAME.html, markdowns-NAME.ics and tag-NAME.html.

    Returns the paths. Nothing is logged: that is `Shop.log_advice`. A piece without a name has none for its files,
    so it is refused with BadQuestion.
    """
    piece = advice.piece
    if not piece.piece:
        raise BadQuestion(NO_NAME)
    place, name = Path(folder), safe_name(piece.piece)
    return (
        save_page(advice, place / f"advice-{name}.html"),
        save_calendar(advice.plan, place / f"markdowns-{name}.ics"),
        save_page(
            price_tag(piece, advice.plan, settings=advice.settings), place / f"tag-{name}.html"
        ),
    )


_RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def safe_name(text: str) -> str:
    """`text` as part of a file name on any system; two different texts never give the same one.

    >>> safe_name("A-113"), safe_name("../../etc/passwd")
    ('A-113', 'etc-passwd-2ba9c8')
    """
    tidy = re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-")[:40]
    if tidy and tidy == text and tidy.lower() not in _RESERVED:
        return tidy
    mark = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"{tidy}-{mark}" if tidy else f"piece-{mark}"


_DARK, _NARROW = "screen and (prefers-color-scheme:dark)", "screen and (max-width:44rem)"


def _picture(result: object, *, in_a_column: bool = False) -> Any:
    """The picture of a result as a figure, drawn for wide and narrow screens, light and dark; "" where it has none.

    One that stands `in_a_column` of its page is drawn narrow alone.
    """
    from fleetlib.desk.pictures import drawn, picture
    from fleetlib.shown.chart_style import PHONE_IN, as_wide_as

    try:
        with as_wide_as(PHONE_IN):
            narrow = picture(result)
    except FleetError:
        return ""
    if in_a_column:
        return _safe(
            figure_html(narrow.png(), alt=narrow.alt, instead=[(_DARK, narrow.dark_png())])
        )
    wide = drawn(result)
    others = [
        (f"{_DARK} and (max-width:44rem)", narrow.dark_png()),
        (_NARROW, narrow.png()),
        (_DARK, wide.dark_png()),
    ]
    return _safe(figure_html(wide.png(), alt=wide.alt, instead=others))


def _cautions(sheet: CautionSheet) -> dict[str, Any]:
    about = f"Take care: {sheet.concerning}" if sheet.concerning else "Take care: all the cautions"
    return {"title": about, "kind": "plain", "cautions": sheet.cautions, "foot": (DISCLAIMER,)}


def _advice(advice: Advice) -> dict[str, Any]:
    foot = (OWN_SALES, DISCLAIMER) if advice.cautions else (OWN_SALES,)
    return advice_parts(advice) | {"picture": _picture(advice, in_a_column=True), "foot": foot}


def _review(review: QuarterReview) -> dict[str, Any]:
    return review_parts(review) | {"picture": _picture(review), "foot": (OWN_SALES,)}


def save_today(fits: Fits, folder: str | Path, *, made: Today | None = None) -> tuple[Path, ...]:
    """Write today.html (a card per piece), shop.ics (every dated step of every plan) and tags.html into `folder`.

    Cards carry the piece's photograph `photos/NAME.jpg` from the shop folder, shrunk and without the place and
    camera data it may hold, and lead to the advice pages and tags that lie in `folder`. `made` is the day as worked
    out already; left out, it is worked out here. Returns the paths.
    """
    made = made or today(fits)
    place = Path(folder)
    cards = []
    for card in made.card_facts():
        name = safe_name(card["name"])
        near = {"page": f"advice-{name}.html", "tag": f"tag-{name}.html"}
        links = {k: file if (place / file).is_file() else "" for k, file in near.items()}
        cards.append(card | links | {"photo": _photo(photo_of(fits.records.folder, card["name"]))})
    rows = [
        (heading, list(part.itertuples(index=False, name=None))) for heading, part in made.parts()
    ]
    parts = {
        "title": made.title,
        "kind": "plain",
        "parts": rows,
        "cards": cards,
        "notes": made.notes,
        "to_type": SHADED if any(row[-1] for _, part in rows for row in part) else "",
        "tags": "tags.html" if made.plans else "",
    }
    filled = _filled("today.html", parts | {"foot": (OWN_SALES,)})
    page = write_whole(place / "today.html", filled, over=_OURS)
    written = (page, save_shop_calendar(made.plans, place / "shop.ics"))
    if not made.plans:
        return written
    tags = TagSheet(tuple(price_tag(p.piece, p, settings=fits.settings) for p in made.plans))
    return (*written, save_page(tags, place / "tags.html"))


def _photo(path: Path | None) -> str:
    """The photograph as a small data address, turned upright, with nothing in it but the picture; "" for none."""
    if path is None:
        return ""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(path) as held:
            upright = ImageOps.exif_transpose(held).convert("RGB")
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError):
        return ""
    upright.thumbnail((480, 480))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=80)
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode("ascii")


def _tag(tag: PriceTag) -> dict[str, Any]:
    return tag_parts(tag) | {"foot": ()}


def _tags(sheet: TagSheet) -> dict[str, Any]:
    return sheet_parts(sheet) | {"foot": ()}


_PAGES: Mapping[type, tuple[str, Callable[[Any], dict[str, Any]]]] = {
    Advice: ("advice.html", _advice),
    QuarterReview: ("review.html", _review),
    PriceTag: ("tag.html", _tag),
    TagSheet: ("tag.html", _tags),
    CautionSheet: ("cautions.html", _cautions),
}


def _safe(html: str) -> Any:
    """HTML that is escaped already, so that the template leaves it as it is."""
    from markupsafe import Markup

    return Markup(html)


@lru_cache(maxsize=1)
def _templates() -> Any:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _filled(template: str, parts: Mapping[str, Any]) -> str:
    text: str = _templates().get_template(template).render(**parts)
    return without_unseen(text)
