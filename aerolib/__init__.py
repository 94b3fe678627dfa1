"""What a light airplane's wing does, from what its owner measured; what a change would add, and whether it can be used.

Each estimate is one function with a plain name. Names are imported when they are first asked for, heavy libraries when
a function needs them. SI throughout. `read_case` and `open_study` read the files of an airplane; everything else takes
plain numbers, arrays and the records named here.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aerolib.case.folder import read_case as read_case
    from aerolib.case.problems import CaseError as CaseError
    from aerolib.case.published import section_lift as section_lift
    from aerolib.consequences.balance import Airplane as Airplane
    from aerolib.consequences.balance import Flap as Flap
    from aerolib.consequences.landing_attitude import landing_attitude as landing_attitude
    from aerolib.consequences.operating_speeds import State as State
    from aerolib.consequences.operating_speeds import operating_speeds as operating_speeds
    from aerolib.consequences.tail_authority import tail_authority as tail_authority
    from aerolib.estimate import Estimate as Estimate
    from aerolib.measured.airspeed import SpeedCorrection as SpeedCorrection
    from aerolib.measured.airspeed import calibrate_airspeed as calibrate_airspeed
    from aerolib.measured.assumptions import ErrorSizes as ErrorSizes
    from aerolib.measured.assumptions import Thrust as Thrust
    from aerolib.measured.comparison import compare as compare
    from aerolib.measured.plan import plan_test as plan_test
    from aerolib.measured.stalls import Stalls as Stalls
    from aerolib.measured.stalls import reduce_stalls as reduce_stalls
    from aerolib.physics.lifting_line import Planform as Planform
    from aerolib.predicted.devices import CleanWing as CleanWing
    from aerolib.predicted.devices import Device as Device
    from aerolib.predicted.devices import Vanes as Vanes
    from aerolib.predicted.devices import flow_control_increment as flow_control  # noqa: F401
    from aerolib.predicted.flap import flap_increment as flap_increment
    from aerolib.predicted.layout import Row as Row
    from aerolib.predicted.layout import device_layout as device_layout
    from aerolib.predicted.wing import wing_clmax as wing_clmax
    from aerolib.study import Study as Study
    from aerolib.study import open_study as open_study
    from aerolib.teach.exercises import answer_key as answer_key

__version__ = "0.2.0"
_PLACES = {
    # files, and all that follows from them
    "read_case": "case.folder", "open_study": "study", "Study": "study", "CaseError": "case.problems",
    # estimates
    "reduce_stalls": "measured.stalls", "compare": "measured.comparison", "plan_test": "measured.plan",
    "calibrate_airspeed": "measured.airspeed", "section_lift": "case.published", "wing_clmax": "predicted.wing",
    "flap_increment": "predicted.flap", "flow_control": "predicted.devices:flow_control_increment",
    "device_layout": "predicted.layout", "landing_attitude": "consequences.landing_attitude",
    "tail_authority": "consequences.tail_authority", "operating_speeds": "consequences.operating_speeds",
    # records they take and give
    "Airplane": "consequences.balance", "Flap": "consequences.balance", "State": "consequences.operating_speeds",
    "Planform": "physics.lifting_line", "CleanWing": "predicted.devices", "Vanes": "predicted.devices",
    "Device": "predicted.devices", "Row": "predicted.layout",
    "Estimate": "estimate", "ErrorSizes": "measured.assumptions", "SpeedCorrection": "measured.airspeed",
    "Stalls": "measured.stalls", "Thrust": "measured.assumptions",
    # for a teacher
    "answer_key": "teach.exercises",
}  # fmt: skip
__all__ = list(_PLACES)


def __getattr__(name):
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, _, attribute = _PLACES[name].partition(":")
    return getattr(import_module(f"{__name__}.{module}"), attribute or name)


def __dir__():
    return [*globals(), *_PLACES]
