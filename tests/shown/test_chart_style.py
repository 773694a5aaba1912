"""The common look: the same bytes each time, money never read as a formula, labels that don't collide."""

import io
import subprocess
import sys
import textwrap

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.text import Text
from PIL import Image

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.pictures import picture
from fleetlib.shown import chart_paper
from fleetlib.shown.chart_paper import in_few_colours
from fleetlib.shown.chart_style import (
    COLOURS,
    INK,
    PHONE_IN,
    SOFT,
    Picture,
    as_wide_as,
    finding,
    leading,
    new_picture,
    spread_out,
    with_colours,
)


def _drawn(text: str = "From $100 to $200, A_1 and A^2") -> Picture:
    figure, (axes,) = new_picture(2.0)
    axes.plot([1, 2], [1, 3], label=text)
    axes.set_xlabel(text)
    axes.set_ylabel("turned")
    finding(figure, text)
    figure.alt = text
    return figure


def test_the_same_picture_gives_the_same_bytes():
    figure = _drawn()
    assert figure.png() == figure.png() == _drawn().png()


def test_a_picture_is_laid_out_and_drawn_once_and_is_the_one_that_would_be_saved(monkeypatch):
    figure = _drawn()
    drawn, laid_out = [], []
    draw, execute = Picture.draw, ConstrainedLayoutEngine.execute
    monkeypatch.setattr(Picture, "draw", lambda *a: drawn.append(1) or draw(*a))
    monkeypatch.setattr(
        ConstrainedLayoutEngine, "execute", lambda *a: laid_out.append(1) or execute(*a)
    )
    png = figure.png()
    figure.dark_png()
    assert (len(drawn), len(laid_out)) == (1, 1)
    monkeypatch.undo()
    saved, small = io.BytesIO(), io.BytesIO()
    figure.savefig(saved, format="png", dpi=160)
    with Image.open(saved) as image:
        few = image.convert("RGB").quantize(128, dither=Image.Dither.NONE)
    few.save(small, format="PNG", compress_level=7)
    assert png == small.getvalue()


@pytest.mark.parametrize("white", [0, 40, 200, 20_000])
def test_few_colours_are_those_of_all_dots_however_many_are_white(white):
    rng = np.random.default_rng(2026)
    dots = rng.integers(0, 256, (white + 300, 1, 4), np.uint8) // 16 * 17
    dots[rng.permutation(len(dots))[:white]] = 255
    few = in_few_colours(dots, 32)
    whole = Image.fromarray(dots).convert("RGB").quantize(32, dither=Image.Dither.NONE)
    assert few.getpalette() == whole.getpalette()
    assert np.array_equal(np.asarray(few), np.asarray(whole))


def test_a_white_picture_is_one_colour():
    few = in_few_colours(np.full((5, 7, 4), 255, np.uint8), 32)
    assert few.convert("RGB").getcolors() == [(35, (255, 255, 255))]


def test_other_colours_are_those_of_the_image_turned_over_one_by_one():
    png = _drawn().png()
    turned = with_colours(png, lambda colour: [255 - v for v in colour])
    with Image.open(io.BytesIO(png)) as one, Image.open(io.BytesIO(turned)) as other:
        assert np.array_equal(np.asarray(one), np.asarray(other))  # the same dots
        assert np.array_equal(
            255 - np.asarray(one.convert("RGB")), np.asarray(other.convert("RGB"))
        )


def test_two_amounts_in_one_sentence_are_not_a_formula():
    figure = _drawn()
    figure.png()
    from matplotlib.text import Text

    assert [t for t in figure.findobj(Text) if t.get_parse_math()] == []


def test_a_picture_shows_itself_with_its_words_escaped():
    page = _drawn('a "quoted" <b>')._repr_html_()
    assert 'alt="a &quot;quoted&quot; &lt;b&gt;"' in page
    assert "data:image/png;base64," in page


@pytest.mark.parametrize("letter", ["W", "e", "$5 "])
def test_a_long_title_is_broken_so_that_it_fits_the_picture(letter):
    figure, _ = new_picture(3.0)
    finding(figure, " ".join([letter * 5] * 40))
    box = figure._suptitle.get_window_extent()
    assert box.x1 <= figure.bbox.x1
    assert box.width > 0.85 * figure.bbox.width


def test_few_ways_to_break_a_title_are_measured(monkeypatch):
    measured = []
    chart_paper._measured.cache_clear()
    size = RendererAgg.get_text_width_height_descent
    monkeypatch.setattr(
        RendererAgg,
        "get_text_width_height_descent",
        lambda self, words, *how: measured.append(words) or size(self, words, *how),
    )
    with as_wide_as(PHONE_IN):
        figure, _ = new_picture(3.0)
    said = "Ask $515 until 14 March, then $465, and sell by the end of May, 8 times out of 10"
    finding(figure, said)
    assert 1 <= len([line for line in measured if line.count(" ") > 1]) <= 4  # of the 40 ways' 120
    monkeypatch.undo()
    lines = figure._suptitle.get_text()
    most = 0.97 * figure.bbox.width
    ways = (textwrap.fill(said, letters) for letters in range(100, 20, -2))
    assert lines == next(way for way in ways if _width(figure, way) <= most)
    assert _width(figure, lines) > 0.8 * figure.bbox.width


def _width(figure: Picture, words: str) -> float:
    figure._suptitle.set_text(words)
    return float(figure._suptitle.get_window_extent().width)


def test_words_with_a_line_reach_as_far_as_the_words_and_the_line_is_drawn():
    figure, (axes,) = new_picture(2.0)
    axes.set(xlim=(0, 1), ylim=(0, 1))
    leading(axes, "mid $120", (0.5, 0.9), (0.1, 0.1), colour="#D55E00")
    before = figure.png()
    (note,) = axes.texts
    assert note.get_text() == "mid $120"
    assert note.get_window_extent().width == Text.get_window_extent(note).width
    assert note.arrow_patch.get_window_extent().width > note.get_window_extent().width
    note.arrow_patch.set_visible(False)
    figure._png = b""
    assert figure.png() != before


def test_what_has_no_picture_is_refused_by_name():
    with pytest.raises(BadQuestion, match=r"no picture of a list.*PriceEstimate"):
        picture([1, 2])


def test_drawing_never_opens_a_window():
    code = (
        "import sys; from fleetlib.shown.chart_style import new_picture; new_picture(2)[0].png();"
        "print('matplotlib.pyplot' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def _contrast(colour: str) -> float:
    """Contrast with white, by the formula of WCAG 2.1 (relative luminance)."""
    parts = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return 1.05 / (float(linear @ [0.2126, 0.7152, 0.0722]) + 0.05)


def test_letters_and_the_main_marks_stand_out_from_the_white():
    # W3C, WCAG 2.1, 1.4.3 (letters: 4.5) and 1.4.11 (marks: 3.0); limits, formula and the two values from memory.
    assert _contrast("#000000") == pytest.approx(21)
    assert _contrast("#767676") == pytest.approx(4.54, abs=0.01)
    assert min(_contrast(INK), _contrast(SOFT)) >= 4.5
    assert min(_contrast(colour) for colour in COLOURS[:3]) >= 3.0


@given(st.lists(st.tuples(st.floats(0, 1000), st.floats(0.1, 200)), min_size=1, max_size=8))
def test_labels_keep_their_order_and_do_not_touch(labels):
    places, widths = (np.array(column) for column in zip(*labels, strict=True))
    moved = np.array(spread_out(list(places), list(widths)))
    order = np.argsort(places, kind="stable")
    needed = (widths[order][1:] + widths[order][:-1]) / 2
    assert (np.diff(moved[order]) >= needed - 1e-6).all()
    if (np.diff(places[order]) >= needed).all():
        assert moved == pytest.approx(places)


def test_two_labels_on_one_place_move_apart_evenly():
    assert spread_out([10.0, 10.0], [4.0, 4.0]) == [8.0, 12.0]
    assert spread_out([10.0, 50.0, 10.0], [4.0, 4.0, 2.0]) == [8.5, 50.0, 11.5]


def test_labels_stay_between_the_ends_without_touching():
    assert spread_out([1.0, 2.0], [4.0, 4.0], within=(0.0, 20.0)) == [2.0, 6.0]
    assert spread_out([19.0, 18.0], [4.0, 4.0], within=(0.0, 20.0)) == [18.0, 14.0]
    assert spread_out([8.0, 14.0], [4.0, 4.0], within=(0.0, 20.0)) == [8.0, 14.0]
