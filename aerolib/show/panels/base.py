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
        self.box = w.VBox([self.image, self.caption], layout=w.Layout(display="none"))  # no frame without a picture
        self.size = (width, height)  # of the picture last drawn [pixels]
        self.drawn = 0  # how often it was drawn, for tests and benchmarks
        self._key = None

    def show(self, key, draw) -> None:
        """Draw by `draw()` unless `key`, what the picture depends on, is that of the last time."""
        if key == self._key:
            return
        picture: Picture = draw()
        self.image.value, self.box.layout.display = picture.png, "flex"
        self.image.alt = picture.alternative
        self.caption.value = f"<div style='max-width:800px'>{html.escape(picture.caption)}</div>"
        self._key, self.drawn, self.size = key, self.drawn + 1, (picture.width, picture.height)


def slider(label: str, value: float, low: float, high: float, step: float, digits: int = 1, wide: int = 270):
    """One slider with its unit in the label; a value outside its range widens the range, so that nothing is cut off."""
    low, high = min(low, value), max(high, value)
    return w.FloatSlider(value, min=low, max=high, step=step, description=label, readout_format=f".{digits}f",
                         continuous_update=False, style={"description_width": f"{wide}px"},
                         layout=w.Layout(width=f"{wide + 400}px"))  # fmt: skip


def choice(label: str, options, value=None, wide: int = 270):
    """One menu, wide enough for the names an owner gives."""
    more = {} if value is None else {"value": value}
    return w.Dropdown(options=options, description=label, style={"description_width": f"{wide}px"},
                      layout=w.Layout(width=f"{wide + 250}px"), **more)  # fmt: skip


class Panel(w.VBox):
    """Base of all panels, a widget itself: `error` shows messages, `watch` names what an update depends on.

    A panel that cannot be made shows why, in its place.
    """

    def __init_subclass__(cls, **named):
        super().__init_subclass__(**named)
        type.__setattr__(cls, "__init__", guarded(clears=False)(cls.__init__))

    def __init__(self):
        super().__init__()
        self.error = w.HTML()
        self.error.add_class("aerolib-error")
        self.add_class("aerolib-panel")
        self.assemble()

    def assemble(self, *children) -> None:
        """Put the parts in order, the place for messages first unless a part named it elsewhere."""
        first = () if self.error in children else (self.error,)
        parts = [x.box if isinstance(x, PictureBox) else x for x in children]
        self.children = (w.HTML(PANEL_STYLE), *first, *parts)

    def watch(self, *controls, update=None) -> None:
        """Call `update` (else `_update`) when the reader changes one of these."""
        for control in controls:
            control.observe(update or self._update, "value")

    def say(self, message: str) -> None:
        """Show a message, or clear it."""
        self.error.value = f"<pre role='alert'>{html.escape(message)}</pre>" if message else ""

    @property
    def box(self) -> w.VBox:
        """The widget itself."""
        return self
