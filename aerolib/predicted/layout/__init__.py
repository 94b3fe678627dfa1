"""Where the devices go: positions, distances along the skin, and the record of what was fitted."""

from aerolib.predicted.layout.fitted import SOURCE, FittedRecord, FittedRow, fitted_record
from aerolib.predicted.layout.guidance import GuidanceLine, guidance
from aerolib.predicted.layout.positions import CAUTIONS, METHOD, DeviceLayout, Position, device_layout
from aerolib.predicted.layout.row import KeepOut, Row
from aerolib.predicted.layout.skin import SurfaceLine, surface_line

__all__ = [
    "CAUTIONS", "METHOD", "SOURCE", "DeviceLayout", "FittedRecord", "FittedRow", "GuidanceLine", "KeepOut", "Position",
    "Row", "SurfaceLine", "device_layout", "fitted_record", "guidance", "surface_line",
]  # fmt: skip
