"""Pictures as fixed-size PNGs with a caption and a text alternative (object-oriented matplotlib, no pyplot)."""

from __future__ import annotations

import base64
import contextlib
import html
import io
import warnings
from dataclasses import dataclass

from aerolib.show.media import printable

# Okabe and Ito's colour-blind-safe palette (Color Universal Design, 2008; values from memory).
BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
BLUE, VERMILION, PURPLE, GREY = "#0072B2", "#D55E00", "#CC79A7", "#777777"
DPI = 100


@dataclass(frozen=True)
class Picture:
    """One picture: PNG bytes, its size [pixels], what to see in it, and what it shows in words."""

    png: bytes
    width: int
    height: int
    caption: str
    alternative: str

    def _repr_png_(self) -> bytes:
        return self.png

    def figure_html(self) -> str:
        """A self-contained HTML figure."""
        data = base64.b64encode(self.png).decode()
        return (
            f"<figure><img src='data:image/png;base64,{data}' width='{self.width}' height='{self.height}' "
            f"alt='{html.escape(self.alternative, quote=True)}'><figcaption>{html.escape(self.caption)}</figcaption>"
            "</figure>"
        )


@contextlib.contextmanager
def own_style():
    """Decorator of everything that draws: matplotlib's own defaults, whatever the reader's matplotlibrc or cells say.

    No text is read as mathematics (an owner's name may hold two dollar signs), and a letter without a glyph is
    drawn as a box without a word.
    """
    import matplotlib

    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams["text.parse_math"] = False
        warnings.filterwarnings("ignore", "Glyph .* missing from", UserWarning)
        yield


def new_figure(width: float, height: float):
    """A matplotlib figure of this size [inch] with an Agg canvas, never registered with pyplot."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), dpi=DPI, layout=None)
    FigureCanvasAgg(figure)
    return figure


def framed(axes, x: str = "", y: str = "", size: float = 10.0):
    """Axes with their labels, a faint grid behind and no frame above and to the right."""
    axes.set_xlabel(x, fontsize=size)
    axes.set_ylabel(y, fontsize=size)
    axes.grid(color="0.92", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=size - 0.5)
    axes.spines[["top", "right"]].set_visible(False)
    return axes


def plain(text: str) -> str:
    """An owner's name for a picture."""
    return printable(text)


def finish(figure, caption: str, alternative: str) -> Picture:
    """Draw once, to PNG."""
    out = io.BytesIO()
    # Level 1 of zlib: the picture goes to a browser on this machine, and packing harder costs more than drawing.
    figure.savefig(out, format="png", dpi=DPI, pil_kwargs={"compress_level": 1})
    width, height = (round(x * DPI) for x in figure.get_size_inches())
    return Picture(out.getvalue(), width, height, caption, alternative)
