"""What `wing_clmax` gives: the wing's own maximum lift, and that of the trimmed airplane."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from aerolib.estimate import Estimate
from aerolib.physics.lifting_line import Planform


@dataclass(frozen=True)
class WingClmax:
    """Maximum lift of a wing: the wing's own, and that of the trimmed airplane, which is what a flight measures."""

    planform: Planform
    clmax: Estimate  # of the wing, quoted
    trim_loss: Estimate  # share of the wing's CLmax lost to the tail load
    first_touch: float  # CL where the first section reaches its limit
    first_touch_at: float  # from the centerline [m]
    spread: float  # CL where the stall has spread: the quoted value
    stalled: float  # share of the area at its limit there
    all_at_limit: float  # CL if every section were at its limit: a bound
    alpha_stall: float  # angle of attack of the root chord at the quoted CL [rad]
    bend: float  # of that, because the section's lift curve bends before its limit [rad]
    slope: float  # of the wing [1/rad]
    drag_factor: float  # delta: CDi = (1 + delta) CL^2 / (pi A), untwisted, no flap
    aileron_margin: float | None  # least (limit - cl) / limit over the aileron at first section stall
    aileron_stalled: float | None  # share of the aileron's span at its limit at the quoted CL
    y: np.ndarray  # (N,) from the root outward [m]
    limit: np.ndarray  # (N,) clmax of the section there
    loading: np.ndarray  # (N,) cl at first section stall
    loading_spread: np.ndarray  # (N,) cl at the quoted CL
    inputs: Mapping[str, str]
    notes: tuple[str, ...] = ()

    @property
    def trimmed(self) -> Estimate:
        """CLmax of the trimmed airplane: (1 - loss) CLmax of the wing."""
        kept = 1.0 - self.trim_loss.value
        parts = {s: kept * p for s, p in self.clmax.parts.items()}
        for source, part in self.trim_loss.parts.items():
            parts[source] = parts.get(source, 0.0) - self.clmax.value * part
        return Estimate("CLmax of the trimmed airplane", kept * self.clmax.value, "-", parts)

    @property
    def first_touch_share(self) -> float:
        """Where the stall starts, in shares of the half span."""
        return 2.0 * self.first_touch_at / self.planform.span

    def trimmed_by(self, loss: Estimate) -> WingClmax:
        """The same wing with another share of its CLmax lost to the tail load [-]."""
        return replace(self, trim_loss=loss, inputs={**self.inputs, "tail load": "by the tail's balance"})
