"""Simulated, not measured: the balance of the tail beside a flight-dynamics library that has its own moment arithmetic.

Airplanes with known tables (invented): jsbsim says at what incidence the full-up elevator leaves no pitching
acceleration, whether the lift peak can be reached, and how far forward the centre of gravity may go for it.
"""

import math
import os

import numpy as np
import pytest
from scipy.optimize import brentq

os.environ.setdefault("JSBSIM_DEBUG", "0")
jsbsim = pytest.importorskip("jsbsim")

from aerolib.consequences.balance import Airplane, Flap, flow, forward_cg_limit, lift_limits, limiting  # noqa: E402

D = math.radians(1.0)
CHORD, AREA = 4.2, 118.0  # ft, ft2
SLOPE, LIFT0, PEAK = 4.6, 0.32, 15.0 * D  # of the linear lift table, and where it ends
CM0, CMA, CMD = 0.04, -0.75, -1.15
FLAPS = {"up": (0.0, 0.0), "down": (0.55, -0.12)}  # lift, moment
CGS, STOPS = (0.12, 0.18, 0.24, 0.30), (-12.0, -18.0, -26.0)


def table(rows):
    return "<tableData>" + "\n".join(f"{a:.6f} {b:.6f}" for a, b in rows) + "</tableData>"


def xml(cg_inches, flap):
    """An airplane with a lift table, drag of it, and a moment about the quarter chord; no engine, no wheels."""
    lift, moment = FLAPS[flap]
    alpha = np.concatenate([np.linspace(-0.3, PEAK, 20), PEAK + np.array([0.03, 0.08, 0.2, 0.6, 1.5])])
    top = LIFT0 + SLOPE * PEAK
    cl = np.concatenate([LIFT0 + SLOPE * alpha[:20], top - np.array([0.05, 0.2, 0.5, 0.8, 1.2])]) + lift
    place = '<location name="{}" unit="IN"><x>{}</x><y>0</y><z>0</z></location>'.format
    q = "<property>aero/qbar-psf</property><property>metrics/Sw-sqft</property>"
    qc = q + "<property>metrics/cbarw-ft</property>"
    of = "<table><independentVar>aero/alpha-rad</independentVar>{}</table>".format

    def term(name, *factors):
        return f'<function name="aero/{name}"><product>{"".join(factors)}</product></function>'

    return f"""<?xml version="1.0"?><fdm_config name="tail" version="2.0" release="ALPHA">
<fileheader><author>invented</author></fileheader>
<metrics><wingarea unit="FT2">{AREA}</wingarea><wingspan unit="FT">29</wingspan><chord unit="FT">{CHORD}</chord>
{place("AERORP", 0)}{place("EYEPOINT", 0)}{place("VRP", 0)}</metrics>
<mass_balance><ixx unit="SLUG*FT2">800</ixx><iyy unit="SLUG*FT2">900</iyy><izz unit="SLUG*FT2">1500</izz>
<emptywt unit="LBS">1300</emptywt>{place("CG", cg_inches)}</mass_balance><ground_reactions/><propulsion/>
<flight_control name="f"><channel name="p"><pure_gain name="fcs/e"><input>fcs/elevator-cmd-norm</input><gain>1</gain>
<output>fcs/elevator-pos-rad</output></pure_gain></channel></flight_control>
<aerodynamics><axis name="LIFT">{term("L", q, of(table(zip(alpha, cl))))}</axis>
<axis name="DRAG">{term("D", q, of(table(zip(alpha, 0.04 + 0.055 * cl**2))))}</axis>
<axis name="PITCH">{term("M0", qc, f"<value>{CM0 + moment}</value>")}
{term("Ma", qc, "<property>aero/alpha-rad</property>", f"<value>{CMA}</value>")}
{term("Mq", qc, "<property>aero/ci2vel</property><property>velocities/q-aero-rad_sec</property>", "<value>-14</value>")}
{term("Md", qc, "<property>fcs/elevator-pos-rad</property>", f"<value>{CMD}</value>")}</axis>
</aerodynamics></fdm_config>"""


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    """Function (cg share, flap, elevator [rad], incidence [rad]) -> the library's airplane at that instant."""
    folder = tmp_path_factory.mktemp("aircraft")
    models = {}

    def at(cg, flap, elevator, alpha):
        if (cg, flap) not in models:
            name = f"t{len(models)}"
            (folder / name).mkdir()
            (folder / name / f"{name}.xml").write_text(
                xml((cg - 0.25) * CHORD * 12, flap).replace('"tail"', f'"{name}"')
            )
            f = jsbsim.FGFDMExec(None)
            f.set_debug_level(0)
            f.disable_output()
            f.load_model_with_paths(name, str(folder), str(folder), str(folder), True)
            models[cg, flap] = f
        f = models[cg, flap]
        f["ic/h-sl-ft"], f["ic/vc-kts"], f["ic/gamma-deg"], f["ic/alpha-deg"] = 3000.0, 55.0, -6.0, math.degrees(alpha)
        f["fcs/elevator-cmd-norm"] = elevator
        f["fcs/elevator-pos-rad"] = elevator
        f.run_ic()
        return f

    return at


@pytest.fixture(scope="module")
def fly(model):
    """Function (cg share, flap, elevator [rad], incidence [rad]) -> pitching acceleration of the library [rad/s2]."""
    return lambda *given: model(*given)["accelerations/qdot-rad_sec2"]


def ours(flap, stop):
    """The same tables in the terms of the balance: moments split between body and tail in one of many ways."""
    lift, moment = FLAPS[flap]
    volume, body, downwash = 0.5, 0.1, 0.35
    tail = (body - CMA) / (volume * (1.0 - downwash))
    # what flap and zero-lift downwash do at the tail is taken out of the moments, so that the sum is the library's
    at_zero = volume * tail * downwash * LIFT0 / SLOPE
    a = Airplane(
        span=29.0, mean_chord=CHORD, aspect_ratio=7.1, taper=1.0, slope=SLOPE, alpha0=-LIFT0 / SLOPE,
        wing_incidence=0.0,
        moment0=CM0 - at_zero, fuselage_slope=body, tail_volume=volume, tail_slope=tail, tail_incidence=0.0,
        tail_above_wing=0.0, downwash=downwash, effectiveness=-CMD / (volume * tail), stop_up=stop, tail_pressure=1.0,
        tail_clmax=9.0, falls_to=1.0,
    )  # fmt: skip
    return a, Flap(flap, lift, moment - volume * tail * downwash * lift / SLOPE, LIFT0 + SLOPE * PEAK + lift)


@pytest.mark.parametrize("flap", FLAPS)
@pytest.mark.parametrize("stop", STOPS)
def test_incidence_at_the_stop_and_what_binds(fly, flap, stop):
    a, f = ours(flap, stop * D)
    for cg in CGS:
        limits = lift_limits(a, f, cg)
        _, which = limiting(limits)
        mine = list(limits)[int(which)]
        reached = fly(cg, flap, stop * D, PEAK) > 0.0  # still pitching up where the lift ends
        assert mine == ("wing" if reached else "elevator stop"), (cg, stop, flap)
        if not reached:
            theirs = brentq(lambda x, cg=cg: fly(cg, flap, stop * D, x), -5 * D, PEAK)
            alpha = float(flow(a, f, limits["elevator stop"]).alpha)
            assert math.degrees(alpha - theirs) == pytest.approx(0.0, abs=0.2)


def test_both_limits_occur(fly):
    names = {list(lift_limits(*ours(f, s * D), c))[int(limiting(lift_limits(*ours(f, s * D), c))[1])]
             for f in FLAPS for s in STOPS for c in CGS}  # fmt: skip
    assert names == {"wing", "elevator stop"}


@pytest.mark.parametrize("flap, stop", [("up", -18.0), ("down", -26.0), ("down", -18.0)])
def test_forward_cg_limit(fly, flap, stop):
    """The CG at which the full-up elevator just holds the lift peak: within 1 % of the chord."""
    a, f = ours(flap, stop * D)
    mine = float(forward_cg_limit(a, f, f.clmax))
    grid = np.arange(0.02, 0.40, 0.02).round(2)
    up = np.array([fly(c, flap, stop * D, PEAK) for c in grid])
    theirs = float(np.interp(0.0, up, grid))
    assert up[0] < 0.0 < up[-1]
    assert mine == pytest.approx(theirs, abs=0.01)


@pytest.mark.parametrize("cg, flap, stop", [(0.12, "up", -12.0), (0.18, "up", -12.0), (0.18, "down", -12.0)])
def test_flown_with_the_stick_held_on_its_stop(model, cg, flap, stop):
    """Two minutes of glide, the slow oscillation averaged out: the incidence it settles to, within 0.2 degrees."""
    a, f = ours(flap, stop * D)
    limits = lift_limits(a, f, cg)
    assert list(limits)[int(limiting(limits)[1])] == "elevator stop"
    alpha = float(flow(a, f, limits["elevator stop"]).alpha)
    fdm, seen = model(cg, flap, stop * D, alpha - 2 * D), []
    fdm["fcs/elevator-cmd-norm"] = stop * D
    while fdm.get_sim_time() < 120.0 and fdm["position/h-sl-ft"] > 200.0:
        fdm.run()
        seen.append(fdm["aero/alpha-rad"])
    settled = np.array(seen[len(seen) // 2 :])
    assert len(seen) > 3000 and np.ptp(settled) < 2 * D
    assert math.degrees(settled.mean() - alpha) == pytest.approx(0.0, abs=0.2)
