"""Devices on a wing: vortex generators and what else changes the stall."""

from aerolib.predicted.devices.flow_control import CAUTIONS, METHOD, CleanWing, FlowControl, flow_control_increment
from aerolib.predicted.devices.kinds import KINDS, SURFACES, Device, OnWing
from aerolib.predicted.devices.rule import BIAS, TRIVIAL, Contest, contest_of
from aerolib.predicted.devices.sweep import FlowSweep, sweep_vanes
from aerolib.predicted.devices.vanes import PER_DEGREE, VANE_DRAG, Vanes, drag_increment
from aerolib.predicted.devices.wing import WingCurve, wing_curve

__all__ = [
    "BIAS", "CAUTIONS", "KINDS", "METHOD", "PER_DEGREE", "SURFACES", "TRIVIAL", "VANE_DRAG", "CleanWing", "Contest",
    "Device", "FlowControl", "FlowSweep", "OnWing", "Vanes", "WingCurve", "contest_of", "drag_increment",
    "flow_control_increment", "sweep_vanes", "wing_curve",
]  # fmt: skip
