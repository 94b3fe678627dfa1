"""Maximum lift of a wing and of the trimmed airplane, from its sections."""

from aerolib.predicted.wing.clmax import CAUTIONS, METHOD, TRIM_LOSS, SpanIncrement, wing_clmax, wing_spread
from aerolib.predicted.wing.result import WingClmax

__all__ = ["CAUTIONS", "METHOD", "TRIM_LOSS", "SpanIncrement", "WingClmax", "wing_clmax", "wing_spread"]
