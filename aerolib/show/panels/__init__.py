"""Panels of the workbooks: widgets over the library, testable without a browser."""

from aerolib.show.panels.angles import AnglesPanel
from aerolib.show.panels.change import ChangePanel
from aerolib.show.panels.checks import ChecksPanel
from aerolib.show.panels.glance import GlancePanel
from aerolib.show.panels.kneeboard import KneeboardPanel
from aerolib.show.panels.plan import PlanPanel
from aerolib.show.panels.stalls import StallsPanel

__all__ = [
    "AnglesPanel",
    "ChangePanel",
    "ChecksPanel",
    "GlancePanel",
    "PlanPanel",
    "StallsPanel",
    "KneeboardPanel",
]
