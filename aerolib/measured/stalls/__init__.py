"""CLmax from stall speeds."""

from aerolib.measured.assumptions import ErrorSizes, Thrust
from aerolib.measured.stalls.record import BELOW, ENDINGS, KINDS, STALLED, Stalls
from aerolib.measured.stalls.reduction import reduce_stalls
from aerolib.measured.stalls.results import Clmax, StallReduction

__all__ = ["BELOW", "ENDINGS", "KINDS", "STALLED", "Clmax", "ErrorSizes", "StallReduction", "Stalls", "Thrust",
           "reduce_stalls"]  # fmt: skip
