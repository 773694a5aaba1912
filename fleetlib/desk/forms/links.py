"""Links in a form's answer: the page, the tag and the calendar of a piece, carried in the links themselves.

Nothing is written for them, and nothing is asked of the server: a press opens the page in a tab of its own
(`forms.js`), and without that script keeps it among the downloads.
"""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

from fleetlib.shown.html_blocks import escape

if TYPE_CHECKING:
    from fleetlib.week.advice import Advice


def advice_links(advice: Advice) -> str:
    """Links to the page, the price tag and the calendar of `advice`, as HTML."""
    from fleetlib.desk.pages import page_html, safe_name
    from fleetlib.plan.calendar import calendar_bytes
    from fleetlib.week.tag import price_tag

    name = safe_name(advice.piece.piece or "piece")
    tag = page_html(price_tag(advice.piece, advice.plan, settings=advice.settings))
    links = [
        _link("page to print", f"advice-{name}.html", page_html(advice).encode()),
        _link("price tag", f"tag-{name}.html", tag.encode()),
        _link("calendar", f"markdowns-{name}.ics", calendar_bytes(advice.plan)),
    ]
    return f'<p class="fleet-links">{" ".join(links)}</p>'


def _link(words: str, name: str, content: bytes) -> str:
    kind = "text/calendar" if name.endswith(".ics") else "text/html"
    address = f"data:{kind};charset=utf-8;base64,{base64.b64encode(content).decode('ascii')}"
    return f'<a class="fleet-link" download="{escape(name)}" href="{address}">{escape(words)}</a>'
