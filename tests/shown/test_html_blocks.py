"""HTML and text blocks: escaped, aligned, never wider than the terminal."""

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.shown import html_blocks


def test_everything_from_the_records_is_escaped() -> None:
    bad = '<script>alert("x")</script>'
    frame = pd.DataFrame({bad: [bad]})
    shown = (
        html_blocks.table_html(frame, caption=bad)
        + html_blocks.facts_html([(bad, bad)])
        + html_blocks.notes_html([bad])
        + html_blocks.figure_html(b"png", alt=bad, instead=[(bad, b"other")])
        + html_blocks.wrap(heading=bad)
    )
    assert "<script>" not in shown
    assert 'alt="&lt;script&gt;alert(&quot;x&quot;)' in shown


def test_numbers_and_amounts_are_aligned_on_the_right() -> None:
    frame = pd.DataFrame({"piece": ["A-1", "B"], "asked": ["$1,150", "-"], "weeks": [3.0, None]})
    lines = html_blocks.text_table(frame).split("\n")
    assert lines == ["piece   asked  weeks", "A-1    $1,150      3", "B           -"]
    assert html_blocks.table_html(frame).count('class="number"') == 6


def test_missing_whole_and_dated_cells_are_shown_plainly() -> None:
    shown = [
        html_blocks.cell_text(v)
        for v in (None, float("nan"), 3.0, 0.12345, pd.Timestamp("2026-09-30"), pd.NaT)
    ]
    assert shown == ["", "", "3", "0.1235", "30 Sep 2026", ""]


@given(
    st.lists(
        st.tuples(st.text(st.characters(categories=["L", "N", "Zs"]), max_size=120), st.floats()),
        max_size=4,
    )
)
def test_a_text_table_never_runs_over_and_never_loses_a_word(rows) -> None:
    frame = pd.DataFrame(rows, columns=["note", "amount"])
    shown = html_blocks.text_table(frame, width=40)
    assert all(len(line) <= 40 for line in shown.split("\n"))
    for note, _ in rows:
        for word in note.split(" "):  # a no-break space keeps its words together
            if word.strip() and len(word) < 12:  # a cell of blanks alone is an empty one
                assert word in shown


def test_a_column_with_an_empty_heading_and_empty_cells_is_shown() -> None:
    frame = pd.DataFrame({"type": ["dresser"], "": [""]})
    assert html_blocks.text_table(frame) == "type\ndresser"
    assert html_blocks.text_table(frame, width=6) == "type\ndresse\nr"
    assert html_blocks.text_table(pd.DataFrame({"": [""], " ": [None]})) == "\n"


def test_notes_are_wrapped_to_the_terminal() -> None:
    shown = html_blocks.text_notes(["only two of your sales were desks " * 4])
    assert all(len(line) <= html_blocks.USUAL_WIDTH for line in shown.split("\n"))
    assert shown.startswith("- Only")
    assert shown.endswith("desks.")
    assert html_blocks.notes_html([]) == ""
    assert html_blocks.as_sentence("flips.csv is empty") == "flips.csv is empty."
    assert html_blocks.as_sentence("gut_price: missing (2)") == "gut_price: missing (2)."


def test_two_amounts_in_a_notebook_do_not_become_a_formula():
    # MathJax leaves elements of these classes alone: version 3 on, and version 2.
    assert 'class="fleet sheet mathjax_ignore tex2jax_ignore"' in html_blocks.wrap(
        "<p>$5 to $10</p>"
    )
