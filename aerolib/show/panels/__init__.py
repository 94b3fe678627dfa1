"""Panels of the workbooks: widgets over the library, testable without a browser."""

from aerolib.show.panels.angles import AnglesPanel, angles_panel
from aerolib.show.panels.change import ChangePanel, change_panel
from aerolib.show.panels.glance import GlancePanel, glance_panel
from aerolib.show.panels.kneeboard import KneeboardPanel, kneeboard_panel
from aerolib.show.panels.lesson import LessonPanel, lesson_panel
from aerolib.show.panels.plan import PlanPanel, plan_panel
from aerolib.show.panels.stalls import StallsPanel, stalls_panel

__all__ = [
    "AnglesPanel",
    "angles_panel",
    "ChangePanel",
    "change_panel",
    "GlancePanel",
    "glance_panel",
    "LessonPanel",
    "lesson_panel",
    "PlanPanel",
    "plan_panel",
    "StallsPanel",
    "stalls_panel",
    "KneeboardPanel",
    "kneeboard_panel",
]
