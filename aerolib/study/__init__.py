"""What follows from a case, each estimate once, when it is first asked for: the only glue to the files."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from aerolib.case.folder import Case, opened_case, read_case
from aerolib.case.problems import CaseError
from aerolib.memo import MEMO, Memo

if TYPE_CHECKING:
    from pathlib import Path

    from aerolib.case.stalls import StallTable
    from aerolib.consequences.landing_attitude import LandingAttitude
    from aerolib.consequences.tail_authority import TailAuthority
    from aerolib.measured.airspeed.results import AirspeedCalibration
    from aerolib.measured.checks import ChecksComparison
    from aerolib.measured.comparison import Comparison
    from aerolib.measured.plan import TestPlan
    from aerolib.measured.stalls.results import StallReduction
    from aerolib.physics.lifting_line import Planform
    from aerolib.predicted.devices.flow_control import CleanWing, FlowControl
    from aerolib.predicted.layout.fitted import FittedRecord
    from aerolib.predicted.layout.positions import DeviceLayout
    from aerolib.predicted.section import SectionLift
    from aerolib.predicted.wing import WingClmax
    from aerolib.study.airframe import Airframe
    from aerolib.study.flaps import FlapGain, FlapSettings
    from aerolib.study.plan import OwnScatter
    from aerolib.study.speeds import Operating

__all__ = ["Study", "open_study", "opened_study"]
T = TypeVar("T")


class once(Generic[T]):
    """A property computed at most once; what a case lacks (a CaseError) is kept as well, and raised again."""

    def __init__(self, function: Callable[[Any], T]):
        self.function = function
        functools.update_wrapper(self, function)  # type: ignore[arg-type]

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    def __get__(self, study: Any, owner: type | None = None) -> T:
        if study is None:
            return self  # type: ignore[return-value]
        kept = study._kept
        if self.name not in kept:
            try:
                kept[self.name] = (self.function(study), None)
            except CaseError as e:
                kept[self.name] = (None, e)
        value, problem = kept[self.name]
        if problem is not None:
            raise problem.with_traceback(None)
        return value

    def __set__(self, study: Any, value: T) -> None:
        raise AttributeError(f"a study does not change: ask `changed` for another one in which {self.name} differs")


class Study:
    """One airplane: its files, and everything that follows from them.

    `draws` checks the intervals of the measured results by drawing. A property raises CaseError where the case lacks
    what it takes; the message says what to measure.
    """

    def __init__(self, case: Case, *, draws: int = 0, memo: Memo | None = None, progress: Callable | None = None,
                 trusting: bool = False):  # fmt: skip
        self.case, self.draws, self.progress, self._trusting = case, draws, progress, trusting
        self.memo = MEMO if memo is None else memo
        self._kept: dict[str, tuple[Any, CaseError | None]] = {}

    def changed(self, stalls=None, tables: dict | None = None, draws: int | None = None, progress=None, **aircraft):
        """Another study: an edited frame of stalls, other tables by file name, tables of `aircraft.toml` replaced.

        What does not depend on the change is answered from the memory that both share: `memo.computed` counts.
        """
        case = self.case.with_aircraft(**aircraft) if aircraft else self.case
        if tables is not None:
            case = replace(case, tables={k: v for k, v in {**case.tables, **tables}.items() if v is not None})
        case = case if stalls is None else case.with_stalls(stalls)
        return Study(case, draws=self.draws if draws is None else draws, memo=self.memo, progress=progress)

    def trusting(self) -> Study:
        """The same study with every row taken as it is written, however odd."""
        return Study(self.case, memo=self.memo, trusting=True)

    # What the files say

    @property
    def name(self) -> str:
        """The airplane's name."""
        return self.case.name

    @property
    def folder(self) -> Path:
        """Where the case lies."""
        return self.case.folder

    @property
    def aircraft(self):
        """`aircraft.toml`, SI."""
        return self.case.aircraft

    @once
    def stalls(self) -> StallTable:
        """`stalls.csv`, without the rows that cannot be."""
        from aerolib.study.plausible import without_impossible

        return self.case.stalls if self._trusting else without_impossible(self)

    @property
    def dial_unit(self) -> str:
        """The unit of the airspeed indicator's dial."""
        return self.case.dial_unit

    @property
    def reference_weight(self) -> float:
        """The weight that stall speeds are given at [kg]."""
        return self.case.reference_weight

    @property
    def states(self) -> tuple[str, ...]:
        """Modifications in their order: the first is 'before'."""
        return self.case.states

    # What was measured

    @once
    def calibration(self) -> AirspeedCalibration | None:
        """The airspeed system from its legs; None where there are none."""
        from aerolib.study.calibration import calibration_of

        return calibration_of(self)

    @once
    def unjudged(self) -> StallReduction:
        """The card reduced, nothing said of whether it can be."""
        from aerolib.study.stalls import reduced

        return reduced(self)

    @once
    def reduction(self) -> StallReduction:
        """CLmax of everything on the card."""
        from aerolib.study.stalls import reduction_of

        return reduction_of(self)

    @property
    def flown(self) -> StallReduction | None:
        """`reduction`, or None before the first stall."""
        return self.reduction if len(self.stalls.row) else None

    @once
    def comparison(self) -> Comparison | None:
        """First against last modification; None where only one was flown."""
        from aerolib.study.stalls import comparison_of

        return comparison_of(self)

    @once
    def checks(self) -> ChecksComparison | None:
        """Everything else worth comparing, first against last modification; None without two in `checks.csv`."""
        from aerolib.study.stalls import checks_of

        return checks_of(self)

    @once
    def plan(self) -> TestPlan | None:
        """The next test, for a change of one knot, with the card's own scatter."""
        from aerolib.study.plan import plan_of

        return plan_of(self)

    @once
    def own_scatter(self) -> OwnScatter | None:
        """How much stalls and days differ on this card."""
        from aerolib.study.plan import own_scatter

        return own_scatter(self.reduction)

    @once
    def left_out(self) -> list[str]:
        """One sentence for every row left out."""
        from aerolib.study.leftout import explain_left_out

        return explain_left_out(self)

    # What was predicted

    @once
    def planform(self) -> Planform:
        """The wing from above."""
        from aerolib.study.planform import planform_of

        return planform_of(self.aircraft)

    @once
    def sections(self) -> dict[float, SectionLift]:
        """Sections at root and tip, by share of the half span, at the Reynolds number of the stall."""
        from aerolib.study.wing import sections_of

        return sections_of(self)

    @once
    def wings(self) -> tuple[dict[str, WingClmax], list[str]]:
        """CLmax of the wing in every configuration, and what kept the others from being predicted."""
        from aerolib.study.wing import wings_of

        return wings_of(self)

    @once
    def flap_settings(self) -> FlapSettings | None:
        """The flap; None where there is none."""
        from aerolib.study.flaps import flap_settings

        return flap_settings(self)

    @once
    def flap_gains(self) -> tuple[dict[str, FlapGain], dict[str, list[str]]]:
        """What the flap should add, by configuration, and what kept others out."""
        from aerolib.study.flaps import flap_gains

        return flap_gains(self)

    @once
    def reconciled(self):
        """Measured beside predicted."""
        from aerolib.study.flaps import reconciled

        return reconciled(self)

    @once
    def clean_wing(self) -> CleanWing:
        """What a device meets: the clean wing before anything was fitted."""
        from aerolib.study.devices import clean_wing_of

        return clean_wing_of(self)

    @once
    def devices(self) -> tuple[list[FlowControl], list[str]]:
        """What every device should do, and what kept the others out."""
        from aerolib.study.devices import devices_of

        return devices_of(self)

    @once
    def layouts(self) -> tuple[DeviceLayout, ...]:
        """Both sides of every row of devices."""
        from aerolib.study.layout import plan_layouts

        return plan_layouts(self)

    @once
    def fitted(self) -> dict[str, FittedRecord]:
        """What was fitted, by modification."""
        from aerolib.study.layout import fitted_records

        return fitted_records(self)

    # What follows

    @once
    def airframe(self) -> Airframe:
        """The airplane for balance and landing."""
        from aerolib.study.airframe import airframe_of

        return airframe_of(self)

    @once
    def slowest(self):
        """What the one approach speed of every state and flap setting stands on; and notes on the tail."""
        from aerolib.study.speeds import slowest_of

        return slowest_of(self)

    def attitude(self, cg: float | None = None, mass: float | None = None) -> LandingAttitude:
        """`landing_attitude` at a CG [share of the chord] and mass [kg]; the forward limit, the reference weight."""
        from aerolib.study.airframe import attitude_of

        return attitude_of(self, cg, mass)

    def tail(self, cg: float | None = None, mass: float | None = None, devices=None, only=None) -> TailAuthority:
        """`tail_authority` at a CG [share of the chord] and mass [kg]; `devices`: range of their gain [-].

        `only`: one (modification, flap), and the approach is that of an airplane without the devices.
        """
        from aerolib.study.airframe import authority_of

        return authority_of(self, cg, mass, devices, only)

    @once
    def speeds(self) -> Operating:
        """Approach, distances, limit load: states ready for any mass."""
        from aerolib.study.speeds import operating_of

        return operating_of(self)


def open_study(folder: str | Path, **more) -> Study:
    """Read a case folder, `stalls.csv` with or without rows [-], and make a study of it."""
    return Study(read_case(folder, before_flying=True), **more)


def opened_study() -> Study:
    """The study of the case that a workbook was opened with, else of the demonstration [-]."""
    return Study(opened_case())
