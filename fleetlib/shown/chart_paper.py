"""What pictures are painted on: matplotlib's own paper, which looks up a word's size where it was measured before."""

from __future__ import annotations

import functools
from threading import get_ident
from typing import TYPE_CHECKING, Any

import matplotlib
import numpy as np
from matplotlib import ft2font
from matplotlib.backends import backend_agg
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg

if TYPE_CHECKING:
    from matplotlib.backend_bases import GraphicsContextBase
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties
    from PIL.Image import Image

_WHITE = 0xFFFFFFFF  # all four of a dot
_UPRIGHT = np.array([[0x10000, 0], [0, 0x10000]])  # as FreeType writes 1
# Whose way of setting letters one by one, no promise of matplotlib's, is known here.
_KNOWN = matplotlib.__version_info__[:2] == (3, 11)


class _Painter(RendererAgg):
    """One that measures and sets each text once for all pictures of a run, and draws its letters one after another."""

    def draw_text(  # noqa: PLR0913 - as matplotlib calls it
        self,
        gc: GraphicsContextBase,
        x: float,
        y: float,
        s: str,
        prop: FontProperties,
        angle: float,
        ismath: Any = False,
        mtext: Any = None,
    ) -> None:
        """The text from (x, y) on, in dots from the top left. Level letters need no turning."""
        level = _KNOWN and not (angle or ismath) and gc.get_antialiased()
        if not level or (mtext and (mtext.get_fontfeatures() or mtext.get_language())):
            super().draw_text(gc, x, y, s, prop, angle, ismath, mtext)
            return
        size, height, flags = (
            prop.get_size_in_points(),
            int(self.height),
            backend_agg.get_hinting_flag(),
        )
        sized = None
        for font, letter, right, up in _set(s, prop.copy(), self.dpi, get_ident()):
            if font is not sized:
                font.set_size(size, self.dpi)
                sized = font
            place = [round(0x40 * (x + right)), round(0x40 * (self.height - y + up))]
            font._set_transform(_UPRIGHT, place)
            drawn = font._render_glyph(letter, flags, ft2font.RenderMode.NORMAL)
            dots = drawn.buffer
            bottom = height - drawn.top + dots.shape[0]
            self._renderer.draw_text_image(dots, drawn.left, bottom, 0, gc)

    def get_text_width_height_descent(self, s: str, prop: FontProperties, ismath: Any) -> Any:
        """How wide, high and deep the text is, in dots."""
        if ismath:
            return super().get_text_width_height_descent(s, prop, ismath)
        return _measured(s, prop.copy(), self.dpi)

    if _KNOWN:

        def _get_font_height_metrics(self, prop: FontProperties) -> Any:
            """How far its lines go up and down, and the gap between two, in dots."""
            return _heights(prop.copy(), self.dpi)


@functools.lru_cache(maxsize=4)
def _ruler(dots_per_inch: float) -> RendererAgg:
    return RendererAgg(1, 1, dots_per_inch)


@functools.lru_cache(maxsize=4096)
def _measured(words: str, letters: FontProperties, dots_per_inch: float) -> Any:
    return _ruler(dots_per_inch).get_text_width_height_descent(words, letters, False)


@functools.lru_cache(maxsize=4096)
def _set(words: str, letters: FontProperties, dots_per_inch: float, thread: int) -> Any:
    """Each letter's font (a thread has its own) and number, and how far right and above the line it is, in dots."""
    font = _ruler(dots_per_inch)._prepare_font(letters)
    set_one_by_one = font._layout(words, flags=backend_agg.get_hinting_flag())
    return [(one.ft_object, one.glyph_index, one.x, one.y) for one in set_one_by_one]


@functools.lru_cache(maxsize=64)
def _heights(letters: FontProperties, dots_per_inch: float) -> Any:
    font = _ruler(dots_per_inch)._prepare_font(letters)
    told = font.get_sfnt_table("OS/2")
    if told is None:
        return None, None, None  # matplotlib looks on
    unit = 1 / font.get_sfnt_table("head")["unitsPerEm"]
    dots = unit * letters.get_size_in_points() * dots_per_inch / 72
    return told["sTypoAscender"] * dots, -told["sTypoDescender"] * dots, told["sTypoLineGap"] * dots


class Paper(FigureCanvasAgg):
    """The paper of one picture, with a painter that remembers the sizes of words."""

    _of: Any = None

    def get_renderer(self) -> RendererAgg:
        """The painter of this picture at its present size."""
        asked = (*self.get_width_height(physical=True), self.figure.dpi)
        if self._of != asked:
            self._of, self.renderer = asked, _Painter(*asked)
        made: RendererAgg = self.renderer
        return made


def painted(figure: Figure, dots_per_inch: int) -> np.ndarray:
    """The figure as dots of red, green, blue and how full (height, width, 4), laid out once and drawn once."""
    before = figure.dpi
    figure.dpi = dots_per_inch
    try:
        paper = Paper(figure)
        paper.draw()
        return np.asarray(paper.buffer_rgba())
    finally:
        figure.dpi = before


def in_few_colours(dots: np.ndarray, colours: int) -> Image:
    """What Pillow's median cut makes of the dots, looking at no more white ones than count.

    White is the end of every scale of colours: while it is over half of all dots, the first cuts leave it by itself,
    and how many there are changes nothing.
    """
    from PIL import Image

    flat = np.ascontiguousarray(dots).view(np.uint32).ravel()
    marked = np.flatnonzero(flat != _WHITE)
    few = np.full(min(flat.size, 2 * marked.size + 1), _WHITE, np.uint32)
    few[: marked.size] = flat[marked]
    seen = Image.fromarray(few.view(np.uint8).reshape(1, -1, 4)).convert("RGB")
    cut = seen.quantize(colours, dither=Image.Dither.NONE)
    found = np.asarray(cut).ravel()
    told = np.full(flat.size, found[-1], np.uint8)
    told[marked] = found[: marked.size]
    made = Image.fromarray(told.reshape(dots.shape[:2]))
    made.putpalette(cut.getpalette() or [])
    return made
