"""What the quarterly review's page shows, from a QuarterReview."""

from __future__ import annotations

from typing import Any

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said, pieces_said
from fleetlib.quarter import ageing
from fleetlib.quarter import types as quarter_types
from fleetlib.quarter.quarter_review import (
    YEAR_PAY,
    explained_shown,
    stock_sentence,
    stock_shown,
    title,
)
from fleetlib.quarter.review import QuarterReview
from fleetlib.shown.html_blocks import FITS_A_PHONE, cell_text, table_html
from fleetlib.trust.borrowing import quarter_sentence

_PART_THREE = (
    ("35", "inventory at the beginning"),
    ("36", "purchases less what was withdrawn"),
    ("37", "labor (never your own)"),
    ("38", "materials and supplies"),
    ("39", "other costs"),
    ("40", "lines 35 to 39 together"),
    ("41", "inventory at the end"),
    ("42", "cost of goods sold, line 40 less line 41"),
)


def review_parts(review: QuarterReview) -> dict[str, Any]:
    """The template's values; tables are HTML already escaped."""
    from markupsafe import Markup

    c, stock, past = review.currency, review.books.stock, review.past
    shown = review.lines.shown()

    def table(frame: pd.DataFrame) -> Any:
        stacks = frame.shape[1] > FITS_A_PHONE
        return Markup(table_html(frame, stacks=stacks)) if len(frame) else ""

    lines = []
    for row in shown.itertuples(index=False, name=None):
        behind = review.pieces(row[0])
        lines.append(
            {
                "line": row[0],
                "cells": [cell_text(v) for v in row[1:]],
                "pieces": table(_behind(behind, c)),
                "count": pieces_said(len(behind)),
            }
        )
    supplies = review.books.supplies
    return {
        "title": f"Review of {review.quarter}",
        "under": title(review),
        "kind": "review",
        "as_of": day_said(review.as_of),
        "notes": review.notes,
        "steps": [
            {"what": s.what, "why": s.why, "pieces": table(_behind(s.pieces, c))}
            for s in review.next_steps
        ],
        "names": list(shown.columns[1:]),
        "lines": lines,
        "stock": table(stock_shown(stock, c)),
        "stock_sentence": stock_sentence(stock, c),
        "explained": table(explained_shown(stock, c)),
        "stock_behind": [
            {
                "line": line,
                "count": pieces_said(len(stock.pieces(line))),
                "pieces": table(_behind(stock.pieces(line), c)),
            }
            for line in stock.table["line"]
            if len(stock.pieces(line))
        ],
        "form_lines": table(_form_lines(review)) if c == "USD" else "",
        "supplies": table(
            pd.DataFrame(
                {
                    "bought on": supplies["bought_on"],
                    "item": supplies["item"],
                    "cost": [format_money(v, c, cents=True) for v in supplies["cost"]],
                }
            )
        ),
        "long_past": review.long_past,
        "sits": table(ageing.shown(review.ageing, c)),
        "by_type": table(quarter_types.pay_shown(review.by_type, c, heading=review.heading)),
        "year_pay": "" if review.year_pay is None else table(review.year_pay.shown()),
        "year_caption": YEAR_PAY,
        "drift": table(quarter_types.drift_shown(review.drift, heading=review.heading)),
        "ways": quarter_sentence(review.ways),
        "past": [*past.sentences(), *past.notes],
        "past_pieces": table(past.shown()),
        "past_markdowns": table(past.markdowns_shown()),
        "reserve": review.reserve,
    }


_MONEY = (
    "amount",
    "cost",
    "profit",
    "sale_price",
    "asking_price",
    "plan_price",
    "planned_price",
    "to",
    "estimate",
    "gain",
    "expected_net",
    "gain_over_holding",
    "per_hour",
)


def _behind(pieces: pd.DataFrame, currency: str) -> pd.DataFrame:
    """The pieces behind a figure, money as money and names of columns as words."""
    made = pieces.copy()
    for column in made.columns:
        if column in _MONEY:
            made[column] = [format_money(v, currency, cents=True) for v in pieces[column]]
        elif pd.api.types.is_float_dtype(pieces[column]):
            made[column] = pieces[column].round(1)
    return made.rename(columns={c: str(c).replace("_", " ") for c in made.columns})


def _form_lines(review: QuarterReview) -> pd.DataFrame:
    amounts = [format_money(v, review.currency, cents=True) for v in review.books.part_three]
    return pd.DataFrame(
        {
            "line": [n for n, _ in _PART_THREE],
            "what": [w for _, w in _PART_THREE],
            "amount": amounts,
        }
    )
