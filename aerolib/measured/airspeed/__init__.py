"""What the dial shows and the airspeed that makes the lift: corrections, and how legs give them."""

from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.measured.airspeed.correction import LiftCorrection, SpeedCorrection, indicated

__all__ = ["LiftCorrection", "SpeedCorrection", "calibrate_airspeed", "fit_circle", "indicated"]
