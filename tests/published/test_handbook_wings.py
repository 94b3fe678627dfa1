"""Handbook stall speeds beside the predicted CLmax of the trimmed airplane, each type a row.

The wings are from memory, the speeds are lowest speeds (load factor below 1), so the prediction should come out low by
some percent. Nothing was fitted to these rows. `pytest -s` prints the table.
"""

import math

import numpy as np
import pytest

from aerolib.case.published import section_table
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.flap.increment import flap_increment
from aerolib.predicted.section import section_lift
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.together.reconcile import difference

KT, VISCOSITY = 1852 / 3600, 1.461e-5


def predicted(wing, flap, speed):
    """The trimmed airplane of one row; the section at the Reynolds numbers of this speed [m/s]."""
    half, side = wing["span [m]"] / 2, wing["half_width [m]"]
    y = (0.0, side, half / 2, half)
    chord = np.array([wing[f"chord_{k} [m]"] for k in ("root", "root", "middle", "tip")])
    chord *= wing["area [m2]"] / (2 * np.trapezoid(chord, y))
    twist = tuple(math.radians(wing["twist [deg]"]) * max(0.0, x - side) / (half - side) for x in y)
    plan = Planform(2 * half, y, tuple(chord), twist, side=side)
    sections = {
        e: section_lift(wing["section"], speed * float(plan.chord_at(e * half)) / VISCOSITY, table=section_table())
        for e in (0.0, 1.0)
    }
    devices = []
    if flap:
        root = sections[0.0]
        f = flap_increment(wing["flap_kind"], wing["flap_chord_ratio [-]"], math.radians(flap),
                           thickness=root.thickness, clmax_clean=root.clmax.value, reynolds=root.reynolds)  # fmt: skip
        devices = [
            SpanIncrement(wing["flap_inner [m]"], wing["flap_outer [m]"], f.estimate(), f.estimate("zero_lift_angle"))
        ]
    return wing_clmax(plan, sections, increments=devices).trimmed


def test_handbook_stall_speeds(published):
    wings = {w["airplane"]: w for w in published("handbook_wings")}
    errors, inside = [], 0
    print()
    for row in published("handbook_stall_speeds"):
        wing, flap, read = wings[row["airplane"]], row["flap [deg]"], row["lift_coefficient [-]"]
        name = f"{row['airplane']}, flap {flap:g}, CG {row['cg']}: {read:.2f}"
        if wing["why_not"] and (wing["span [m]"] is None or flap):
            print(f"{name}; not possible: {wing['why_not']}")
            continue
        estimate = predicted(wing, float(flap), row["speed [KCAS]"] * KT)
        errors.append(estimate.value / read - 1)
        low, high = estimate.interval95
        inside += low <= read <= high
        print(f"{name}; predicted {estimate.text()}, {100 * errors[-1]:+.0f} %")
    mean, absolute = 100 * np.mean(errors), 100 * np.mean(np.abs(errors))
    print(f"{len(errors)} rows: mean {mean:+.1f} %, mean absolute {absolute:.1f} %; {inside} inside the interval")
    assert len(errors) == 9
    assert np.max(np.abs(errors)) < 0.12
    assert -0.10 < np.mean(errors) < 0.0


@pytest.mark.parametrize("cells", [("Cessna 172P", 30, 0), ("Cessna 172M", 40, 0)])
def test_gain_of_the_flap(published, cells):
    """Flap down over flap up, where what the two share cancels: within 8 % of the handbook's ratio."""
    name, down, up = cells
    wing = {w["airplane"]: w for w in published("handbook_wings")}[name]
    rows = {
        r["flap [deg]"]: r for r in published("handbook_stall_speeds") if r["airplane"] == name and r["cg"] != "aft"
    }
    ratio = rows[down]["lift_coefficient [-]"] / rows[up]["lift_coefficient [-]"]
    found = predicted(wing, down, rows[down]["speed [KCAS]"] * KT).value
    assert found / predicted(wing, 0, rows[up]["speed [KCAS]"] * KT).value == pytest.approx(ratio, rel=0.08)


def test_what_flaps_add_in_handbooks(published):
    """Flap down less flap up, same airplane and CG: printed coefficients beside the whole wing's, trimmed.

    The printed speeds are whole knots: their difference is known to about 0.05, a standard uncertainty of 0.03.
    """
    wings = {w["airplane"]: w for w in published("handbook_wings")}
    rows = [r for r in published("handbook_stall_speeds") if not wings[r["airplane"]]["why_not"]]
    up = {(r["airplane"], r["cg"]): r for r in rows if not r["flap [deg]"]}
    errors, inside = [], 0
    print()
    for row in rows:
        clean, wing, flap = up[row["airplane"], row["cg"]], wings[row["airplane"]], float(row["flap [deg]"])
        if not flap:
            continue
        ends = [predicted(wing, f, r["speed [KCAS]"] * KT) for f, r in ((flap, row), (0.0, clean))]
        gain, read = difference(*ends), row["lift_coefficient [-]"] - clean["lift_coefficient [-]"]
        errors.append(gain.value - read)
        inside += abs(errors[-1]) < 1.96 * math.hypot(gain.standard_uncertainty, 0.03)
        print(f"{row['airplane']}, flap {flap:g}, CG {row['cg']}: {read:.2f}; predicted {gain.text()}")
    print(
        f"{len(errors)} rows: mean {np.mean(errors):+.3f}, mean absolute {np.mean(np.abs(errors)):.3f}; {inside} inside"
    )
    assert len(errors) == 5 == inside
    assert np.mean(np.abs(errors)) < 0.05
