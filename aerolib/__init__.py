"""What a light airplane's wing does, from what its owner measured.

Every estimate is one function with a plain name; heavy libraries are imported when a function needs them.
"""

from aerolib.measured.airspeed import SpeedCorrection
from aerolib.measured.comparison import compare
from aerolib.measured.stall import ErrorSizes, Thrust, reduce_stalls

__version__ = "0.2.0"
__all__ = ["ErrorSizes", "SpeedCorrection", "Thrust", "compare", "reduce_stalls"]
