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


def painted(figure: Figure, dots_per_inch: int) -> Image:
    """The figure as an image of red, green and blue, laid out once and drawn once."""
    from PIL import Image

    before = figure.dpi
    figure.dpi = dots_per_inch
    try:
        paper = Paper(figure)
        paper.draw()
        return Image.fromarray(np.asarray(paper.buffer_rgba())).convert("RGB")
    finally:
        figure.dpi = before
