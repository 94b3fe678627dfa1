"""What a trailing-edge flap adds: lift at fixed angle of attack, CLmax, zero-lift and stall angle, moment, drag.

Three steps that can be read one after the other. Thin-aerofoil theory gives the lift of a hinged flat plate
exactly (`flap_theory`). Real flow keeps part of it (`effectiveness`). Of that lift, a share is still there at the
stall (`share_at_stall`): all of it on a thick section, and on a thin one what the leading edge allows. The charts
that handbooks use for these steps were not at hand; what stands in for them is ours and says so.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

import numpy as np

from aerolib.predicted.flap.result import FlapIncrement, FlapSpan
from aerolib.ranges import in_range

DEG = np.pi / 180.0
LARGEST_CHORD, SMALLEST_CHORD = 0.5, 0.05  # flap chord over wing chord [-]
TABLE_THICKNESS = (0.06, 0.24)  # of the sections the share at the stall was fitted to [-]
REYNOLDS_FROM, REYNOLDS_TO = 1e6, 9e6  # inside it the Reynolds number changes little [-]
WING_FACTOR, WING_FACTOR_UNCERTAINTY = 0.92, 0.04  # CLmax of a wing over that of its flapped part [-]
PART_SPAN = 0.20  # standard, relative, times the share of the wing without flap: how far the lifting line differs; ours
PART_SPAN_LIFT = 0.03  # standard, relative: of K_b; ours
GAP_LOSS, GAP_LARGEST = 10.0, 0.02  # loss of effectiveness per gap over chord [-]; the largest gap [-]
# Largest section lift coefficient of a clean section by thickness: means of NACA TR 824 at Re 6e6, smooth [-].
TYPICAL_THICKNESS = (0.06, 0.09, 0.12, 0.15, 0.18, 0.21, 0.24)
TYPICAL_CLMAX = (0.91, 1.16, 1.53, 1.52, 1.46, 1.37, 1.33)


@dataclass(frozen=True)
class FlapKind:
    """What tells one kind of flap from another."""

    name: str
    initial: float  # share of the theoretical lift at small deflection [-]
    fades_at: float  # deflection where a 20 % chord flap has lost 29 % of that [rad]
    lowest: float  # deflections the method covers [rad]
    highest: float
    drag: float  # factor of the drag form [-]
    moment: float  # pitching moment over thin-airfoil theory [-]
    lift_uncertainty: float  # standard, relative [-]
    clmax_uncertainty: float
    grounds: str


_PLAIN_GROUNDS = "fades as the split flap of NACA TR 824"
_SLOTTED_GROUNDS = (
    "fading set by hand to the landing value of a textbook table (Arnedo, Fundamentals of Aerospace Engineering, "
    "table 3.1: slotted 1.3, Fowler 1.3 c'/c, double slotted 1.6 c'/c)"
)
KINDS = {
    k.name: k
    for k in (
        FlapKind("plain", 0.82, 30.2 * DEG, -15 * DEG, 60 * DEG, 1.7, 1.0, 0.12, 0.18, _PLAIN_GROUNDS),
        FlapKind(
            "split", 0.82, 30.2 * DEG, 0.0, 70 * DEG, 1.7, 1.0, 0.08, 0.10, "fitted to 71 sections of NACA TR 824"
        ),
        FlapKind("slotted", 0.90, 45 * DEG, 0.0, 50 * DEG, 0.9, 1.3, 0.12, 0.18, _SLOTTED_GROUNDS),
        FlapKind("Fowler", 0.90, 45 * DEG, 0.0, 45 * DEG, 0.9, 1.3, 0.15, 0.20, _SLOTTED_GROUNDS),
        FlapKind("double slotted", 0.90, 65 * DEG, 0.0, 60 * DEG, 0.9, 1.3, 0.18, 0.25, _SLOTTED_GROUNDS),
    )
}


@dataclass(frozen=True)
class StallShare:
    """The four numbers of `share_at_stall`, fitted to the 71 sections of NACA TR 824 with a split flap."""

    leading_edge: float = 0.0952  # thickness up to which the leading edge decides [-]
    trailing_edge: float = 0.1924  # thickness from which the whole lift of the flap is still there [-]
    thin: float = 0.959  # thin sections, whose clean clmax is low: share with a clean clmax of zero ...
    thin_slope: float = 0.340  # ... and its fall with the clean clmax


SHARE = StallShare()

SOURCE = (
    "thin-airfoil theory (Glauert; Houghton and Carpenter, eq. 4.52) times an effectiveness and a share at the stall "
    "of our own, fitted to NACA TR 824 (split flap 0.20c, 60 deg, 71 sections); wing factor 0.92 after USAF DATCOM "
    "6.1.4.3 (from memory); moment of slotted kinds 1.3 times theory (from memory); drag after Young, "
    "R&M 2622, in McCormick's form (from memory)"
)
CAUTIONS = (
    "An estimate to think with before metal is cut, not a design value. A flap changes the loads on wing, tail and "
    "their attachments, and the trim: that is for licensed practice and local rules.",
    "Placards, flap speeds and approach speeds are not changed from this output.",
)


@in_range(chord_ratio=(0.0, 1.0, "-"))
def flap_theory(chord_ratio: float | np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Lift, moment and leading-edge share of a hinged flat plate.

    cos t = 2 E - 1;  dcl/dd = 2 (pi - t + sin t);  tau = 1 - (t - sin t)/pi;
    dcm/dd = -sin t (1 - cos t)/2;  r = sin t/(pi - t + sin t)

    r is the part of the flap's lift left when the angle of attack is lowered until the suction at the leading edge is
    that of the clean section: the lift sits in A1, the suction in A0 of Glauert's series.

    Parameters
    ----------
    chord_ratio : array [-]
        Flap chord over wing chord, E.

    Returns
    -------
    lift : array [1/rad]
        dcl/dd at fixed angle of attack.
    tau : array [-]
        Zero-lift angle gained per deflection.
    moment : array [1/rad]
        dcm/dd about the quarter chord.
    leading_edge_share : array [-]
        r.

    Source: Glauert (R&M 1095); Houghton and Carpenter, Aerodynamics for Engineering Students, p. 183, eq. 4.50 to 4.52;
    tau and moment in the usual textbook form (from memory); r is our reading of the same series.
    """
    cos = 2.0 * np.asarray(chord_ratio, dtype=float) - 1.0
    t, sin = np.arccos(cos), np.sqrt(1.0 - cos * cos)
    half = np.pi - t + sin
    return 2.0 * half, half / np.pi, -0.5 * sin * (1.0 - cos), sin / half


def effectiveness(kind: str, chord_ratio: float | np.ndarray, deflection: float | np.ndarray) -> np.ndarray:
    """Share of the theoretical lift that a real flap gives at fixed angle of attack. Ours; stands in for a chart.

    eta = eta0/sqrt(1 + (d/dk)^2),  dk = d20 (0.20/E)^(1/4)

    Parameters
    ----------
    kind : str [-]
        One of KINDS.
    chord_ratio : array [-]
    deflection : array [rad]

    Returns
    -------
    array [-]

    eta0 0.80 to 0.85 for sealed plain flaps is common practice (from memory); d20 of plain and split flaps is fitted to
    NACA TR 824 at 60 deg; the fourth root is ours: NACA TN 715 (abstract) found a 0.40c slotted flap only slightly
    better than one of 0.2566c.
    """
    k = kind_of(kind)
    fades_at = k.fades_at * (0.20 / np.asarray(chord_ratio, dtype=float)) ** 0.25
    return k.initial / np.sqrt(1.0 + (deflection / fades_at) ** 2)


@in_range()
def share_at_stall(leading_edge_share, thickness, clmax_clean, fit: StallShare = SHARE) -> np.ndarray:
    """Share of the flap's lift that is still there at the stall. Ours, fitted to a published table.

    s = max(r + (1 - r) g, a - b clmax),  g = (t/c - t1)/(t2 - t1) held within 0 and 1

    Parameters
    ----------
    leading_edge_share : array [-]
        r of `flap_theory`.
    thickness : array [-]
        Section thickness over chord.
    clmax_clean : array [-]
        Largest lift coefficient of the clean section: decides on thin sections only.
    fit : StallShare [-]

    Returns
    -------
    array [-]

    Valid for thickness 0.06 to 0.24; held beyond. Source: fitted to NACA TR 824, 71 sections with both values; with
    each thickness left out in turn the increment is off by 7.5 % in the mean.
    """
    g = np.clip((thickness - fit.leading_edge) / (fit.trailing_edge - fit.leading_edge), 0.0, 1.0)
    thin = fit.thin - fit.thin_slope * np.asarray(clmax_clean)
    return np.maximum(leading_edge_share + (1.0 - leading_edge_share) * g, thin)


def kind_of(kind: str) -> FlapKind:
    """The kind of this name, or ValueError with the nearest names.

    Parameters
    ----------
    kind : str [-]

    Returns
    -------
    FlapKind [-]
    """
    if kind not in KINDS:
        lower = {name.lower(): name for name in KINDS}
        near = difflib.get_close_matches(str(kind).lower(), lower, n=2, cutoff=0.5)
        hint = f"did you mean {' or '.join(repr(lower[n]) for n in near)}?" if near else f"known: {', '.join(KINDS)}"
        raise ValueError(f"flap kind '{kind}' is not known; {hint}")
    return KINDS[kind]


@in_range("thickness", "span", lift_clean=(-3.0, 3.0, "-"))
def flap_increment(
    kind: str,
    chord_ratio: float | np.ndarray,
    deflection: float | np.ndarray,
    *,
    thickness: float | np.ndarray = 0.12,
    clmax_clean: float | np.ndarray | None = None,
    extension: float | np.ndarray = 0.0,
    gap: float | np.ndarray = 0.0,
    reynolds: float = 3e6,
    lift_clean: float = 0.4,
    span: FlapSpan | None = None,
) -> FlapIncrement:
    """What a flap adds to a section, or to a wing where its span is given.

    dcl = eta (dcl/dd) d;  dclmax = s dcl;  with a chord that grows to c': x = c'/c,
    dcl = x dcl' + (x - 1) cl,  dclmax = x dclmax' + (x - 1) clmax,  chord ratio cf/c'
    wing: dCL = dcl K_b a/(2 pi);  dCLmax = 0.92 dclmax S_f/S;  dalpha0 = -dCL/a;  dalpha_stall = (dCLmax - dCL)/a

    Parameters
    ----------
    kind : str [-]
        plain, split, slotted, Fowler or double slotted.
    chord_ratio : array [-]
        Flap chord over the chord with the flap in, 0.05 to 0.5.
    deflection : array [rad]
        Trailing edge down positive.
    thickness : array [-]
        Section thickness over chord.
    clmax_clean : array [-]
        Of the clean section; None: typical of the thickness in NACA TR 824.
    extension : array [-]
        What the flap adds to the chord when out, over the chord; Fowler and the slotted kinds only. A Fowler flap
        without it is refused.
    gap : array [-]
        Open slit at the hinge of a plain flap over chord; 0 where sealed.
    reynolds : float [-]
        Of the flight at the stall; outside 1e6 to 9e6 the ranges are wider.
    lift_clean : float [-]
        Clean lift coefficient at the fixed angle of attack: what a longer chord adds to.
    span : FlapSpan [-]
        From `flap_span`; None: the section.

    Returns
    -------
    FlapIncrement [-]
        Scalars where all settings are scalars, else arrays of their common shape.

    Raises ValueError for an unknown kind, a deflection the method does not cover, a chord ratio outside 0.05 to 0.5, a
    percentage given for a fraction, degrees given for radians, a gap on a flap that has none, a Fowler flap without
    extension.
    """
    k = kind_of(kind)
    settings = (chord_ratio, deflection, thickness, extension, gap)
    chord_ratio, deflection, thickness, extension, gap = (np.asarray(x, dtype=float) for x in settings)
    _check(k, chord_ratio, deflection, thickness, extension, gap, reynolds)
    assumed = clmax_clean is None
    if assumed:
        clmax_clean = np.interp(thickness, TYPICAL_THICKNESS, TYPICAL_CLMAX)
    x = 1.0 + extension
    ratio = chord_ratio / x
    slope, _, slope_m, leading_edge_share = flap_theory(ratio)
    kept = effectiveness(kind, ratio, deflection) * (1.0 - GAP_LOSS * gap)
    extended_lift = slope * kept * deflection
    share = share_at_stall(leading_edge_share, thickness, clmax_clean)
    lift = x * extended_lift + extension * lift_clean
    clmax = x * share * extended_lift + extension * clmax_clean
    # About the quarter chord of the wing with the flap in: the lift of the longer chord acts further aft.
    moment = k.moment * x * x * slope_m * kept * deflection - 0.25 * extension * lift
    drag = k.drag * chord_ratio**1.38 * np.sin(deflection) ** 2
    a, wing_u, lift_u = 2.0 * np.pi, 0.0, k.lift_uncertainty
    if span is not None:
        a, factor = span.slope, span.lift_factor * span.slope / (2.0 * np.pi)
        lift, moment, lift_u = lift * factor, moment * factor, np.hypot(lift_u, PART_SPAN_LIFT)
        wing_u = np.hypot(WING_FACTOR_UNCERTAINTY / WING_FACTOR, PART_SPAN * (1.0 - span.area_share))
        clmax, drag = clmax * WING_FACTOR * span.area_share, drag * span.area_share
    wider, notes = _notes(k, chord_ratio, deflection, thickness, gap, reynolds, assumed)
    return FlapIncrement(
        kind=kind, level="section" if span is None else "wing", lift=lift[()], clmax=clmax[()],
        zero_lift_angle=(-lift / a)[()], stall_angle=((clmax - lift) / a)[()], moment=moment[()], drag=drag[()],
        relative={"lift": wider * lift_u, "clmax": wider * k.clmax_uncertainty,
                  "moment": wider * 0.25, "drag": wider * 0.30, "wing": wing_u},
        slope=a, span=span, notes=notes, grounds=k.grounds, source=SOURCE, cautions=CAUTIONS,
        inputs={"kind": kind, "chord ratio": chord_ratio[()], "deflection [deg]": (deflection / DEG)[()],
                "thickness": thickness[()], "extension": extension[()], "gap": gap[()]},
    )  # fmt: skip


def _check(k, chord_ratio, deflection, thickness, extension, gap, reynolds) -> None:
    named = (("chord ratio", chord_ratio), ("thickness", thickness), ("extension", extension), ("gap", gap))
    for name, value in (*named, ("deflection", deflection), ("Reynolds number", np.asarray(reynolds))):
        if not np.all(np.isfinite(value)):
            raise ValueError(f"{name} holds a value that is not a finite number; give one for every setting")
    for name, value in named:
        if np.any(value > 1.0):
            raise ValueError(
                f"{name} {np.max(value):.4g} is more than the whole chord; it is a fraction: write 0.25 for 25 %"
            )
    if np.any(chord_ratio > LARGEST_CHORD) or np.any(chord_ratio < SMALLEST_CHORD):
        worst = np.max(chord_ratio) if np.any(chord_ratio > LARGEST_CHORD) else np.min(chord_ratio)
        raise ValueError(
            f"chord ratio {worst:.4g}: the method covers {SMALLEST_CHORD:g} to {LARGEST_CHORD:g} of the chord; measure "
            "from the hinge line (or the flap's nose) to the trailing edge"
        )
    if np.any(deflection > k.highest + 1e-9) or np.any(deflection < k.lowest - 1e-9):
        worst = np.max(deflection) if np.any(deflection > k.highest) else np.min(deflection)
        unit = f" ({worst:.4g} rad; was it meant in degrees?)" if abs(worst) > 1.6 else ""
        raise ValueError(
            f"deflection {worst / DEG:.4g} deg{unit} is beyond the method for a {k.name} flap: it covers "
            f"{k.lowest / DEG:.0f} to {k.highest / DEG:.0f} deg, and is not carried further"
        )
    if np.any(thickness < 0.03) or np.any(thickness > 0.30):
        raise ValueError(
            f"thickness {np.min(thickness):.4g} to {np.max(thickness):.4g}: a wing section has 0.03 to 0.30 of its "
            "chord; a single-surface wing is out of range"
        )
    if k.name == "Fowler" and np.any(extension == 0.0):
        raise ValueError(
            "extension 0: a Fowler flap moves back and makes the chord longer; give what it adds to the chord when "
            "down, over the chord with the flap in; a flap that only turns about its hinge behind a slot is 'slotted'"
        )
    if np.any(extension < 0.0) or (np.any(extension > 0.0) and k.name in ("plain", "split")):
        raise ValueError(
            f"extension {np.max(extension):.4g}: a {k.name} flap adds nothing to the chord; choose slotted, Fowler or "
            "double slotted, and 0 or more of the chord"
        )
    if np.any(extension > chord_ratio):
        raise ValueError(
            f"extension {np.max(extension):.4g} is more than the flap's own chord: it cannot travel further than that"
        )
    if np.any(gap < 0.0) or np.any(gap > GAP_LARGEST) or (np.any(gap > 0.0) and k.name != "plain"):
        raise ValueError(
            f"gap {np.max(gap):.4g}: only the slit at the hinge of a plain flap is meant, up to {GAP_LARGEST:g} of the "
            "chord; the slot of a slotted flap is part of its kind"
        )
    if not reynolds > 0.0:
        raise ValueError(f"Reynolds number {reynolds:.4g} must be above zero")


def _notes(k, chord_ratio, deflection, thickness, gap, reynolds, assumed):
    """By how much the range of each setting is widened, and why."""
    wider, notes = np.ones(()), []

    def widen(where, note):
        nonlocal wider
        if np.any(where):
            wider = wider * np.where(where, 1.5, 1.0)
            notes.append(note)

    if k.name == "split":
        widen(
            (np.abs(chord_ratio - 0.2) > 0.051) | (deflection < 44.9 * DEG),
            "The table holds split flaps of 20 % chord at 60 deg; other settings rest on theory and our fading.",
        )
    widen(
        (chord_ratio < 0.1) | (chord_ratio > 0.4),
        "Chord ratios below 0.10 or above 0.40 are rare and were not checked; the range is wider.",
    )
    widen(
        (thickness < TABLE_THICKNESS[0]) | (thickness > TABLE_THICKNESS[1]),
        "Sections of 6 to 24 % thickness were fitted; beyond, the value at the end is held, not continued.",
    )
    widen(
        not REYNOLDS_FROM <= reynolds <= REYNOLDS_TO,
        f"The sections were tested at Re 6e6; Re {reynolds:.2g} is far from it and the range is wider.",
    )
    if np.any(gap > 0.0):
        notes.append(
            "An open slit at the hinge is taken to cost a tenth of the lift per 1 % of chord: ours, unchecked."
        )
    if assumed and np.any(thickness < 0.11):
        notes.append("The clean clmax of a thin section matters here; taken is what such sections had in the table.")
    return wider[()], tuple(notes)
