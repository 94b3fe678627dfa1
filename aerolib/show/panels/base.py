"""What every panel shares: one place for errors, pictures redrawn only when their data changed, a stale mark."""

from __future__ import annotations

import functools
import html
import logging

import ipywidgets as w

from aerolib.show.fault import words_of
from aerolib.show.pictures import Picture
from aerolib.show.style import PANEL_STYLE

LOG = logging.getLogger("aerolib.panels")


def guarded(handler=None, *, clears=True):
    """A handler that shows what went wrong in its panel instead of losing it in the browser's log.

    It clears an earlier message first, unless what it does cannot have mended the cause.
    """
    if handler is None:
        return functools.partial(guarded, clears=clears)

    @functools.wraps(handler)
    def run(self, *arguments, **named):
        try:
            if clears:
                self.say("")
            return handler(self, *arguments, **named)
        except Exception as e:  # the last place where it can still be seen
            LOG.debug("in %s", handler.__qualname__, exc_info=True)
            self.say(words_of(e))
        return None

    return run


class PictureBox:
    """A fixed-size image with its caption; draws only when the key of its data changed."""

    def __init__(self, name: str, width: int, height: int):
        self.image = w.Image(format="png", width=width, height=height)
        self.image.add_class(f"picture-{name}")
        self.image.layout = w.Layout(width=f"{width}px", height=f"{height}px", flex="0 0 auto", object_fit="contain")
        self.caption = w.HTML()
        self.box = w.VBox([self.image, self.caption])
        self.size = (width, height)  # of the picture last drawn [pixels]
        self.drawn = 0  # how often it was drawn, for tests and benchmarks
        self._key = None

    def show(self, key, draw) -> None:
        """Draw by `draw()` unless `key`, what the picture depends on, is that of the last time."""
        if key == self._key:
            return
        picture: Picture = draw()
        self.image.value = picture.png
        self.image.alt = picture.alternative
        self.caption.value = f"<div style='max-width:800px'>{html.escape(picture.caption)}</div>"
        self._key, self.drawn, self.size = key, self.drawn + 1, (picture.width, picture.height)


class Panel:
    """Base of all panels: `error` shows messages, `box` is what a workbook displays.

    A panel that cannot be made shows why, in its place.
    """

    def __init_subclass__(cls, **named):
        super().__init_subclass__(**named)
        cls.__init__ = guarded(clears=False)(cls.__init__)

    def __init__(self):
        self.error = w.HTML()
        self.error.add_class("aerolib-error")
        self.box = w.VBox()
        self.box.add_class("aerolib-panel")
        self.assemble()

    def assemble(self, *children) -> None:
        """Put the parts in order, the place for messages first unless a part named it elsewhere."""
        first = () if self.error in children else (self.error,)
        self.box.children = (w.HTML(PANEL_STYLE), *first, *children)

    def say(self, message: str) -> None:
        """Show a message, or clear it."""
        self.error.value = f"<pre role='alert'>{html.escape(message)}</pre>" if message else ""

    def _repr_mimebundle_(self, **kwargs):
        return self.box._repr_mimebundle_(**kwargs)
