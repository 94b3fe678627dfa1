"""Panels of the workbooks: widgets over the library, testable without a browser."""

from aerolib.show.panels.angles import AnglesPanel
from aerolib.show.panels.change import ChangePanel, change_panel
from aerolib.show.panels.glance import GlancePanel
from aerolib.show.panels.kneeboard import KneeboardPanel, kneeboard_panel
from aerolib.show.panels.plan import PlanPanel, plan_panel
from aerolib.show.panels.stalls import StallsPanel

__all__ = [
    "AnglesPanel",
    "ChangePanel",
    "change_panel",
    "GlancePanel",
    "PlanPanel",
    "plan_panel",
    "StallsPanel",
    "KneeboardPanel",
    "kneeboard_panel",
]
