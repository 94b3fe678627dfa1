"""Trim beside a hand sum of forces and moments."""

import math

import numpy as np
import pytest

from aerolib.consequences.balance import Airplane, Flap
from aerolib.consequences.trim import to_reference_cg, trim_loss
from aerolib.study import open_study
from aerolib.study.airframe import trim_loss_of

D = math.radians(1.0)
A = Airplane(
    span=9.0, mean_chord=1.3, aspect_ratio=7.0, taper=1.0, slope=4.7, alpha0=-3 * D, wing_incidence=0.0, moment0=-0.08,
    fuselage_slope=0.0, tail_volume=0.6, tail_slope=3.7, tail_incidence=0.0, tail_above_wing=0.0, downwash=0.3,
    effectiveness=0.6, stop_up=-25 * D, tail_pressure=1.0,
)  # fmt: skip


def test_two_forces_two_equations():
    """Wing lift at the quarter chord, tail 4 m behind it, S 12, S_t 2.34: forces and moments about the CG by hand."""
    c, arm, area = 1.3, 4.0, 12.0
    tail_area = 0.6 * area * c / arm
    cl_wing, cg = 1.5, 0.20
    # about the CG at h c: L_w ((h - 1/4) c) + M0 - L_t (arm + (1/4 - h) c) = 0 with the arm counted from the quarter
    # chord; the balance counts the tail's arm from there too, so the exact hand sum differs by the tail's own CG shift
    lt = (cl_wing * area * (cg - 0.25) * c - 0.08 * area * c) / (arm + (0.25 - cg) * c)
    loss = trim_loss(A, Flap(), cl_wing, cg, c / arm)
    assert loss == pytest.approx(-lt / (cl_wing * area), rel=0.02)
    assert tail_area == pytest.approx(2.34, abs=0.01)


def test_cg_moves_clmax_by_the_arm():
    """A tenth of the chord aft with an arm of three chords: a thirtieth more."""
    assert to_reference_cg(1.5, 0.20, 0.30, 1 / 3) == pytest.approx(1.5 * (1 + 0.1 / 3))
    assert to_reference_cg(np.array([1.5, 1.6]), 0.25, 0.25, 0.3) == pytest.approx([1.5, 1.6])


def test_the_loss_and_the_reference_cg_agree():
    """Trimming at one CG and moving to another is the same as trimming there, to second order."""
    wing, k = 1.6, 0.32
    at = {h: wing * (1 - float(trim_loss(A, Flap(), wing, h, k))) for h in (0.18, 0.30)}
    assert to_reference_cg(at[0.18], 0.18, 0.30, k) == pytest.approx(at[0.30], rel=2e-3)


def test_the_demonstration_is_trimmed_by_its_own_tail(case_folder):
    study = open_study(case_folder)
    wings, problems = study.wings
    assert problems == []
    loss = trim_loss_of(study, None, wings["clean"].clmax.value)
    assert 0.0 < loss.value < 0.12 and loss.standard_uncertainty < 0.03
    assert wings["clean"].trimmed.value == pytest.approx(wings["clean"].clmax.value * (1 - loss.value), rel=1e-6)
    for name, gain in study.flap_gains[0].items():
        down = trim_loss_of(study, gain.increment, wings[name].clmax.value)
        assert loss.value < down.value == wings[name].trim_loss.value  # the flap turns the nose down
        assert down.standard_uncertainty > loss.standard_uncertainty
    text = (case_folder / "aircraft.toml").read_text()
    (case_folder / "aircraft.toml").write_text(text.replace('arm = "3.95 m"', ""))
    assert trim_loss_of(open_study(case_folder), None, 1.4) is None  # then 0 to 8 % is assumed, and said
