"""Before and after: is the change real?"""

from aerolib.measured.comparison.change import compare
from aerolib.measured.comparison.results import Change, Comparison, OneStall, Verdict, verdict_of

__all__ = ["Change", "Comparison", "OneStall", "Verdict", "compare", "verdict_of"]
