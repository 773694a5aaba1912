"""A sheet says the same in text, HTML and Markdown, and what the records hold stays text in each."""

import html5lib
import pandas as pd
import pytest

from fleetlib.shown.sheet import (
    Facts,
    Notes,
    Points,
    Said,
    Sheet,
    Shown,
    Table,
    as_html,
    as_markdown,
    as_text,
)

STEPS = pd.DataFrame({"from": ["Fri 2026-10-02", "Fri 2026-10-16"], "ask": ["$420", "$380"]})
INNER = Sheet("Inside", (Notes(("one thing",)),), folded="More")
WHOLE = Sheet(
    "Plan for A-1",
    (
        Said(("Ask $420.",)),
        Table(STEPS, "What to ask"),
        Facts((("Floor", "$200"),)),
        Notes(("mind the dog",), "Take care"),
        Points((("Is it so?", ("1a  yes", "1b  no")),), "Asked", numbered=True),
        INNER,
    ),
)


@pytest.mark.parametrize("shown", [as_text, as_html, as_markdown])
def test_every_part_is_said_once_and_in_order(shown) -> None:
    text = shown(WHOLE).replace("\\$", "$").replace("\\-", "-").replace("1a yes", "1a  yes")
    text = text.replace("1b no", "1b  no")
    places = [
        text.index(p)
        for p in ("Plan for A-1", "Ask $420.", "What to ask", "Fri 2026-10-16", "Floor", "Take care", "Mind the dog.",
                  "Asked", "Is it so?", "1a  yes", "1b  no")
    ]  # fmt: skip
    assert places == sorted(places)
    assert all(text.count(p) == 1 for p in ("Ask $420.", "Floor", "Take care", "One thing."))


@pytest.mark.parametrize("shown", [as_text, as_html, as_markdown])
def test_parts_without_content_leave_nothing_behind(shown) -> None:
    empty = Sheet(
        "Only this",
        (
            Notes((), "Nothing here"),
            Points((), "Nor here"),
            Table(STEPS.head(0), "No rows"),
            Facts(()),
            Said(()),
        ),
    )
    assert not any(w in shown(empty) for w in ("Nothing here", "Nor here", "No rows"))
    assert as_text(empty) == "Only this"
    assert as_markdown(empty) == "# Only this"


def test_text_keeps_to_the_width_of_a_terminal() -> None:
    long = "word " * 40
    sheet = Sheet(long, (Said((long,)), Notes((long,)), Facts((("Name", long),))))
    assert max(map(len, as_text(sheet).splitlines())) <= 80


def test_what_the_records_hold_is_text_in_html_and_markdown() -> None:
    odd = "<b>*A* | `x` _y_ [z](w)\nnew</b>"
    sheet = Sheet(odd, (Said((odd,)), Table(pd.DataFrame({odd: [odd]}), odd), Notes((odd,), odd)))
    page = html5lib.parse(as_html(sheet), namespaceHTMLElements=False)
    assert page.find(".//b") is None
    rows = [line for line in as_markdown(sheet).splitlines() if line.startswith("|")]
    assert len(rows) == 3
    for row in rows[:1] + rows[2:]:
        bare = row.replace("\\|", "")
        assert bare.count("|") == 2
    # held against a reader of Markdown
    from mistune import html as markdown_to_html

    made = markdown_to_html(as_markdown(sheet))
    assert not any(tag in made for tag in ("<b>", "<em>", "<code>", "<a "))


def test_a_result_is_one_line_to_a_programmer() -> None:
    class Answer(Shown):
        def sheet(self) -> Sheet:
            return WHOLE

    assert repr(Answer()) == "Answer('Plan for A-1')"
    assert "<details>" in Answer()._repr_html_()
    assert Answer().markdown().startswith("# Plan for A-1\n\nAsk")


def test_a_line_to_type_is_never_broken() -> None:
    line = "» " + "sold A-113 for 420 at the market on a long day " * 4
    assert line in as_text(Sheet("Due", (Points((("A-113: do it", (line,)),), typed=True),)))
    assert f"<code>{line}</code>" in as_html(Sheet("", (Points((("x", (line,)),), typed=True),)))
