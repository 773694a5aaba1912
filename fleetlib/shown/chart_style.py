"""How every picture looks: colours with a second cue, a white face, a title that says the finding.

The colours are Okabe & Ito's set for the colour-blind (Okabe and Ito, "Color Universal Design", 2002; the
values from memory). Colour is never the only cue: shape, dash or filling goes with it, so that a picture
still reads on a grey print.
"""

from __future__ import annotations

import colorsys
import io
import textwrap
import zlib
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import pairwise
from typing import TYPE_CHECKING

from matplotlib.figure import Figure
from matplotlib.text import Annotation

from fleetlib.base.money import format_money
from fleetlib.base.said import percent as percent
from fleetlib.shown.html_blocks import escape, figure_html, wrap

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.backend_bases import RendererBase
    from matplotlib.transforms import Bbox

INK, SOFT, PALE = "#222222", "#595959", "#D9D9D9"
BLUE, ORANGE, GREEN = "#0072B2", "#E69F00", "#009E73"
RED, SKY, PINK = "#D55E00", "#56B4E9", "#CC79A7"
COLOURS = (BLUE, RED, GREEN, PINK, ORANGE, SKY)
DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 3)))

WIDTH_IN = 8.0
PHONE_IN = 4.1  # a letter of 9 points is then 11 pixels high on a phone of 390
_width_in = ContextVar("width_in", default=WIDTH_IN)
_DARK_PAPER, _DARK_INK = (28, 26, 23), (236, 231, 220)  # as the pages' own in the dark
_DOTS_PER_INCH = 160
_PRESSED = 7  # of 9: 7% larger than the smallest in a seventh of its time
_LONG_WORDS = 26  # letters of a key that leave no room for a second column on a phone
_AT_LEAST = 0.97  # of a line's words and spaces by themselves, the line
_MOST_LETTERS = 100  # in a line of a title, of the narrowest letters


class Picture(Figure):
    """A matplotlib figure that carries its own words: `title` (the finding) and `alt` (what it shows)."""

    title: str = ""
    alt: str = ""
    _png: bytes = b""

    def draw(self, renderer: RendererBase) -> None:
        """Draw everything; a `$` is money here, never the start of a formula."""
        from matplotlib.text import Text

        for text in self.findobj(Text):
            text.set_parse_math(False)
        super().draw(renderer)

    def dark_png(self) -> bytes:
        """The same picture for a dark page: every colour's lightness turned over, its hue kept."""
        return with_colours(self.png(), _in_the_dark)

    def png(self) -> bytes:
        """The picture as PNG, laid out and drawn once; the same picture gives the same bytes."""
        if self._png:
            return self._png
        from fleetlib.shown.chart_paper import in_few_colours, painted

        small = io.BytesIO()
        # 128 colours show the same and take a third of the room in a notebook or a page.
        few = in_few_colours(painted(self, _DOTS_PER_INCH), 128)
        few.save(small, format="PNG", compress_level=_PRESSED)
        self._png = small.getvalue()
        return self._png

    def _repr_html_(self) -> str:
        return wrap(figure_html(self.png(), alt=self.alt))

    def __repr__(self) -> str:
        return f"Picture({escape(self.title)})"


class _Leading(Annotation):
    """Words that a line leads from. The line ends inside the axes, so how far both reach is asked of the words."""

    def get_window_extent(
        self, renderer: RendererBase | None = None, dpi: float | None = None
    ) -> Bbox:
        """Where the words are, in dots."""
        line = self.arrow_patch, self.arrowprops
        self.arrow_patch = self.arrowprops = None
        try:
            return super().get_window_extent(renderer)
        finally:
            self.arrow_patch, self.arrowprops = line


def with_colours(png: bytes, turned: Callable[[Sequence[int]], list[int]]) -> bytes:
    """A PNG of a palette with each of its colours turned into another; all else stays as it is, to the byte."""
    at = png.index(b"PLTE")
    size = int.from_bytes(png[at - 4 : at], "big")
    light = png[at + 4 : at + 4 + size]
    dark = b"PLTE" + bytes(v for k in range(0, size, 3) for v in turned(light[k : k + 3]))
    return png[:at] + dark + zlib.crc32(dark).to_bytes(4, "big") + png[at + 8 + size :]


def _in_the_dark(colour: Sequence[int]) -> list[int]:
    """A colour (red, green, blue, 0 to 255) turned over: white is the dark page's paper, black its ink."""
    hue, light, full = colorsys.rgb_to_hls(*(v / 255 for v in colour))
    turned = colorsys.hls_to_rgb(hue, 1 - light, full)
    ends = zip(turned, _DARK_PAPER, _DARK_INK, strict=True)
    return [round(low + v * (high - low)) for v, low, high in ends]


@contextmanager
def as_wide_as(inches: float) -> Iterator[None]:
    """Pictures begun inside are `inches` wide, with letters of the same size: PHONE_IN for a phone."""
    before = _width_in.set(inches)
    try:
        yield
    finally:
        _width_in.reset(before)


def width_in() -> float:
    """How wide a picture begun now is, in inches."""
    return _width_in.get()


def is_narrow() -> bool:
    """Whether a picture begun now is for a phone or for one column of a page."""
    return width_in() < WIDTH_IN


def new_picture(
    height_in: float, *, rows: int = 1, heights: Sequence[float] | None = None
) -> tuple[Picture, list[Axes]]:
    """An empty picture of the common width, and its plain axes from top to bottom."""
    figure = Picture(figsize=(width_in(), height_in), facecolor="white", layout="constrained")
    grid = figure.subplots(rows, 1, squeeze=False, gridspec_kw={"height_ratios": heights})
    made = [row[0] for row in grid]
    for axes in made:
        plain(axes)
    return figure, made


def plain(axes: Axes) -> None:
    """White, without the top and right lines, light lines to read values by, dark grey letters."""
    axes.set_facecolor("white")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(SOFT)
    axes.tick_params(colors=INK, labelsize=9.5)
    axes.xaxis.label.set_color(INK)
    axes.yaxis.label.set_color(INK)
    axes.set_axisbelow(True)
    axes.grid(axis="y", color="#E6E6E6", linewidth=0.8)


def bare_scale(axes: Axes) -> None:
    """Only the line along the bottom, for strips and lists whose rows are named in words."""
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="y", visible=False)
    axes.grid(axis="x", color="#E6E6E6", linewidth=0.8)


def leading(
    axes: Axes, words: str, at: tuple[float, float], to: tuple[float, float], *, colour: str
) -> None:
    """Words centred at a place, with a thin line to another that lies inside the axes."""
    line = {"arrowstyle": "-", "color": colour, "linewidth": 0.9, "shrinkA": 1}
    said = _Leading(words, to, at, arrowprops=line, annotation_clip=False, ha="center", va="center")
    said.set(fontsize=9.5, fontweight="bold", color=INK)
    axes.add_artist(said).set_clip_box(None)


def across(axes: Axes, words: str) -> None:
    """What the scale along the bottom is, broken so that it fits beside long names of rows."""
    axes.set_xlabel(textwrap.fill(words, 34 if is_narrow() else 58), fontsize=9.5)


def finding(figure: Picture, said: str) -> None:
    """The title at the left edge of the picture; the finding in words, in as few lines as fit its width."""
    from fleetlib.shown.chart_paper import Paper

    figure.title = said
    text = figure.suptitle("", x=0.012, ha="left", fontsize=12, fontweight="bold", color=INK)
    text.set_parse_math(False)
    renderer, letters = Paper(figure).get_renderer(), text.get_fontproperties()
    most = 0.97 * figure.bbox.width

    def width(line: str) -> float:
        return float(renderer.get_text_width_height_descent(line, letters, ismath=False)[0])

    # What its words by themselves make far too wide isn't measured; a part of a word counts nothing here.
    words = {word: width(word) for word in said.split()}
    space = width("a a") - 2 * width("a")

    def fits(line: str) -> bool:
        parts = line.split(" ")
        alone = sum(words.get(word, 0.0) for word in parts) + space * (len(parts) - 1)
        return _AT_LEAST * alone <= most and width(line) <= most

    tried = ""
    for wide in range(_MOST_LETTERS, 20, -2):
        broken = textwrap.fill(said, wide)
        if broken != tried and all(map(fits, broken.split("\n"))):
            text.set_text(broken)
            return
        tried = broken
    text.set_text(textwrap.fill(said, 22))


def money_scale(axis: object, currency: str) -> None:
    """Ticks in the shop's money."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    axis.set_major_locator(MaxNLocator(nbins=4 if is_narrow() else 7, steps=[1, 2, 2.5, 5, 10]))  # type: ignore[attr-defined]
    axis.set_major_formatter(FuncFormatter(lambda v, _: format_money(v, currency)))  # type: ignore[attr-defined]


def log_money_scale(axis: object, currency: str) -> None:
    """Ticks of a logarithmic money scale: 1, 2, 5, 10, 20, 50 and so on; bare numbers without a currency."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    def said(value: float, _: object) -> str:
        return format_money(value, currency) if currency else f"{value:,.0f}"

    steps = [base * 10**k for k in range(-1, 7) for base in (1, 2, 5)]
    axis.set_major_locator(FixedLocator(steps))  # type: ignore[attr-defined]
    axis.set_minor_locator(NullLocator())  # type: ignore[attr-defined]
    axis.set_major_formatter(FuncFormatter(said))  # type: ignore[attr-defined]


def share_scale(axis: object) -> None:
    """Ticks in per cent of 1."""
    from matplotlib.ticker import FuncFormatter

    axis.set_major_formatter(FuncFormatter(lambda v, _: percent(v)))  # type: ignore[attr-defined]


def key(
    figure: Picture,
    axes: Axes,
    *,
    more: Axes | None = None,
    columns: int = 4,
    without: Collection[str] = (),
) -> None:
    """The key to the marks of `axes` (and of `more`), along the bottom where it hides nothing.

    `without` those that are named where they stand.
    """
    found = [
        pair
        for each in (axes, more)
        if each is not None
        for pair in zip(*each.get_legend_handles_labels(), strict=True)
        if pair[1] not in without
    ]
    own = axes.get_legend()
    if own is not None:
        own.remove()
    if is_narrow():
        columns = 1 if any(len(words) > _LONG_WORDS for _, words in found) else 2
    figure.legend(
        [mark for mark, _ in found],
        [words for _, words in found],
        loc="outside lower left",
        frameon=False,
        fontsize=9,
        ncols=columns,
        labelcolor=INK,
        columnspacing=1.4,
    )


def cut(words: str, letters: int) -> str:
    """`words` as they are, or the first of them and a mark where there are more than so many letters."""
    return words if len(words) <= letters else words[: letters - 1] + "\N{HORIZONTAL ELLIPSIS}"


def spread_out(
    places: Sequence[float], widths: Sequence[float], *, within: tuple[float, float] | None = None
) -> list[float]:
    """The places moved apart, in their order, so that labels of these `widths` centred there do not touch.

    Each stays as near to its own place as that allows (least squares: with the widths taken off, places that
    may not fall are pooled where they would). `within` keeps the labels between two ends, as far as all of
    them find room there.
    """
    order = sorted(range(len(places)), key=lambda i: places[i])
    needed = [0.0]
    for i, j in pairwise(order):
        needed.append(needed[-1] + (widths[i] + widths[j]) / 2)
    pools: list[
        tuple[float, int]
    ] = []  # the mean of each run of labels that touch, and how many they are
    for i, room in zip(order, needed, strict=True):
        mean, count = places[i] - room, 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean = (before * many + mean * count) / (many + count)
            count += many
        pools.append((mean, count))
    levels = [mean for mean, count in pools for _ in range(count)]
    out = [0.0] * len(places)
    if within is not None and levels:
        first, last = order[0], order[-1]
        least = within[0] + widths[first] / 2
        most = within[1] - widths[last] / 2 - needed[-1]
        levels = [max(min(level, most), least) for level in levels]
    for i, level, room in zip(order, levels, needed, strict=True):
        out[i] = level + room
    return out


def listed(parts: Sequence[str]) -> str:
    """Parts as one would say them: `a, b and c`."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"
