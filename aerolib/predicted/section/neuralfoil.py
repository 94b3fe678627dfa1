"""NeuralFoil's lift curve of a section, and what 60 measured sections teach about its maximum."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.predicted.section.shapes import Shape

ALPHAS = np.radians(np.arange(-6.0, 26.1, 0.5))  # [rad]
MODEL = "xlarge"

# ln(measured clmax / NeuralFoil's), least squares over 60 sections of NACA TR 824 with their shape at hand, at three
# Reynolds numbers each (`bias_terms`). A test fits it anew, and once more for each section left out.
BIAS = (-0.07607, -3.768, -3.507, -0.4904, 0.8877)
TABLE_LOWEST, TABLE_MIDDLE, TABLE_HIGHEST = 3e6, 6e6, 9e6  # Reynolds numbers of the table
KINK = 0.12  # thickness over chord
# Relative standard uncertainty by thickness over chord: the left-out error (0.14 at 6 %, 0.10 at 8 to 9 %, 0.04 to 0.06
# from 12 %), not below the 0.08 that sections of other tunnels ask for (data/published/section_clmax.csv).
SCATTER_AT, SCATTER = (0.06, 0.085, 0.105), (0.15, 0.11, 0.08)
ZERO_LIFT = 0.79  # measured zero-lift angle over NeuralFoil's, same sections at 6e6; 0.3 deg off on average
SLOPE = 0.98  # measured slope over NeuralFoil's, same sections; scatter 5 %


@dataclass(frozen=True)
class RawCurve:
    """NeuralFoil's own lift curve, uncorrected."""

    clmax: float  # the first maximum
    alpha0: float  # [rad]
    slope: float  # [1/rad]


def raw_curve(shape: Shape, reynolds: float) -> RawCurve:
    """NeuralFoil's lift curve of a section through aerosandbox, and its first maximum.

    Parameters
    ----------
    shape : Shape [-]
    reynolds : float [-]

    Returns
    -------
    RawCurve [SI]
        Slope and zero lift from a straight line between 0 and 6 degrees. The maximum is the first local one: beyond
        it the curve may rise again, which no tunnel has seen.

    Source: NeuralFoil, model 'xlarge', incompressible.
    """
    import aerosandbox as asb

    got = asb.Airfoil(name="section", coordinates=shape.coordinates).get_aero_from_neuralfoil(
        alpha=np.degrees(ALPHAS), Re=reynolds, mach=0.0, model_size=MODEL
    )
    cl = np.asarray(got["CL"], float)
    clmax, _ = first_maximum(ALPHAS, cl)
    line = (ALPHAS >= -1e-9) & (ALPHAS <= np.radians(6.0) + 1e-9)
    slope, at_zero = np.polyfit(ALPHAS[line], cl[line], 1)
    return RawCurve(clmax, float(-at_zero / slope), float(slope))


def first_maximum(alpha: np.ndarray, cl: np.ndarray) -> tuple[float, float]:
    """First local maximum of a lift curve, by the parabola through its highest point and both neighbours.

    Parameters
    ----------
    alpha : array [rad]
        Evenly spaced, rising.
    cl : array [-]

    Returns
    -------
    clmax : float [-]
    alpha : float [rad]
        Where it stands.

    Raises
    ------
    ValueError
        A curve that has no maximum above 3 degrees.
    """
    for i in range(1, len(cl) - 1):
        if alpha[i] > np.radians(3.0) and cl[i - 1] <= cl[i] >= cl[i + 1]:
            a, b, c = cl[i - 1 : i + 2]
            bend = a - 2.0 * b + c
            d = 0.5 * (a - c) / bend if bend else 0.0
            return float(b - 0.25 * (a - c) * d), float(alpha[i] + d * (alpha[1] - alpha[0]))
    raise ValueError(
        f"the lift curve has no maximum up to {np.degrees(alpha[-1]):.0f} degrees; is it a wing section with its nose "
        "at x = 0?"
    )


def bias_terms(thickness: float | np.ndarray, reynolds: float | np.ndarray) -> np.ndarray:
    """Terms that BIAS multiplies: thin and thick sections apart, each with its Reynolds trend.

    1, (0.12 - t)+, (0.12 - t)+ L, (t - 0.12)+, (t - 0.12)+ L; L = ln(Re/6e6) within the table

    Parameters
    ----------
    thickness : array [-]
        Largest thickness over chord.
    reynolds : array [-]

    Returns
    -------
    array [-]
        (n, 5)

    Chosen over forms with camber and nose shape: those left out less on the table's own sections (4.5 against 5.1 %),
    but read the NACA 4412 15 % high.
    """
    t = np.atleast_1d(np.asarray(thickness, float))
    thin, thick = np.maximum(KINK - t, 0.0), np.maximum(t - KINK, 0.0)
    trend = np.log(np.clip(reynolds, TABLE_LOWEST, TABLE_HIGHEST) / TABLE_MIDDLE)
    return np.column_stack(np.broadcast_arrays(1.0, thin, thin * trend, thick, thick * trend))


def corrected_clmax(shape: Shape, reynolds: float, raw: RawCurve) -> tuple[float, float]:
    """clmax by NeuralFoil, its bias against the measured sections taken out.

    Parameters
    ----------
    shape : Shape [-]
    reynolds : float [-]
        Below 3e6 the bias found at 3e6 is taken out: the table holds nothing lower.
    raw : RawCurve [SI]

    Returns
    -------
    clmax : float [-]
    relative : float [-]
        Its standard uncertainty over it, from the sections left out in turn; no Reynolds number allowance.
    """
    factor = np.exp(bias_terms(shape.thickness, reynolds) @ np.array(BIAS))[0]
    return raw.clmax * float(factor), float(np.interp(shape.thickness, SCATTER_AT, SCATTER))
