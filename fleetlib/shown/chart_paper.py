"""What pictures are painted on: matplotlib's own paper, which looks up a word's size where it was measured before."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties
    from PIL.Image import Image

_WHITE = 0xFFFFFFFF  # all four of a dot


class _Painter(RendererAgg):
    """One that measures each word once, for all pictures of a run."""

    def get_text_width_height_descent(self, s: str, prop: FontProperties, ismath: Any) -> Any:
        """How wide, high and deep the text is, in dots."""
        if ismath:
            return super().get_text_width_height_descent(s, prop, ismath)
        return _measured(s, prop.copy(), self.dpi)


@functools.lru_cache(maxsize=4)
def _ruler(dots_per_inch: float) -> RendererAgg:
    return RendererAgg(1, 1, dots_per_inch)


@functools.lru_cache(maxsize=4096)
def _measured(words: str, letters: FontProperties, dots_per_inch: float) -> Any:
    return _ruler(dots_per_inch).get_text_width_height_descent(words, letters, False)


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
