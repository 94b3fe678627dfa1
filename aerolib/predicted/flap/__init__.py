"""What a trailing-edge flap adds, to a section or to a wing."""

from aerolib.predicted.flap.increment import KINDS, WING_FACTOR, effectiveness, flap_increment, flap_theory, kind_of
from aerolib.predicted.flap.result import INCREMENTS, FlapIncrement, FlapSpan
from aerolib.predicted.flap.span import flap_span, trimmed_clmax

__all__ = [
    "INCREMENTS", "KINDS", "WING_FACTOR", "FlapIncrement", "FlapSpan", "effectiveness", "flap_increment", "flap_span",
    "flap_theory", "kind_of", "trimmed_clmax",
]  # fmt: skip
