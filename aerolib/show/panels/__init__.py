"""Panels of the workbooks: widgets over the library, testable without a browser."""

from aerolib.show.panels.angles import AnglesPanel, angles_panel
from aerolib.show.panels.byhand import ByHandPanel, by_hand_panel
from aerolib.show.panels.glance import GlancePanel, glance_panel
from aerolib.show.panels.lesson import LessonPanel, lesson_panel
from aerolib.show.panels.stalls import StallsPanel, stalls_panel

__all__ = ["AnglesPanel", "ByHandPanel", "GlancePanel", "LessonPanel", "StallsPanel", "angles_panel", "by_hand_panel",
           "glance_panel", "lesson_panel", "stalls_panel"]  # fmt: skip
