"""Panels of the workbooks: widgets over the library, testable without a browser."""

from aerolib.show.panels.angles import AnglesPanel, angles_panel
from aerolib.show.panels.change import ChangePanel
from aerolib.show.panels.glance import GlancePanel
from aerolib.show.panels.kneeboard import KneeboardPanel
from aerolib.show.panels.plan import PlanPanel
from aerolib.show.panels.stalls import StallsPanel

__all__ = [
    "AnglesPanel",
    "angles_panel",
    "ChangePanel",
    "ChecksPanel",
    "GlancePanel",
    "PlanPanel",
    "StallsPanel",
    "KneeboardPanel",
]
