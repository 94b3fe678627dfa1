"""What the flap estimate gives back, and the span a flap covers."""

from __future__ import annotations

import html
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.estimate import Estimate, Source, digits

NAMES = {  # attribute: words, unit as shown, factor from SI, which uncertainty
    "lift": ("lift coefficient at fixed incidence", "-", 1.0, "lift"),
    "clmax": ("CLmax", "-", 1.0, "clmax"),
    "zero_lift_angle": ("zero-lift angle", "deg", 180.0 / np.pi, "lift"),
    "stall_angle": ("stall angle", "deg", 180.0 / np.pi, None),
    "moment": ("pitching moment about the quarter chord", "-", 1.0, "moment"),
    "drag": ("profile drag coefficient", "-", 1.0, "drag"),
}


@dataclass(frozen=True)
class FlapSpan:
    """The part of a wing that a flap covers, cut-outs taken away."""

    parts: tuple[tuple[float, float], ...]  # from, to, out along each half [m]
    area_share: float  # wing area in front of and with the flap over wing area [-]
    lift_factor: float  # lift of the part-span flap over that of a full-span one, from the lifting line [-]
    slope: float  # lift slope of the wing [1/rad]
    aspect_ratio: float


@dataclass(frozen=True)
class FlapIncrement:
    """What a flap adds, scalars or arrays alike, each with a standard uncertainty."""

    kind: str
    level: str  # section or wing: the tail's download is not in it
    lift: float | np.ndarray  # [-] at fixed incidence
    clmax: float | np.ndarray  # [-]
    zero_lift_angle: float | np.ndarray  # [rad]
    stall_angle: float | np.ndarray  # [rad]
    moment: float | np.ndarray  # [-] about the quarter chord
    drag: float | np.ndarray  # [-] profile drag
    relative: Mapping[str, float | np.ndarray]  # standard uncertainties over the value [-]
    slope: float  # lift slope used [1/rad]
    span: FlapSpan | None = None
    notes: tuple[str, ...] = ()
    grounds: str = ""
    source: str = ""
    cautions: tuple[str, ...] = ()
    inputs: Mapping[str, object] = field(default_factory=dict)

    def standard_uncertainty(self, name: str) -> float | np.ndarray:
        """Standard uncertainty of one of the increments.

        Parameters
        ----------
        name : str [-]
            lift, clmax, zero_lift_angle, stall_angle, moment or drag.

        Returns
        -------
        array [in the unit of the increment]
        """
        part = NAMES[name][3]
        if part is None:  # the stall angle: what the lift is off by and what CLmax is off by
            both = np.hypot(self.standard_uncertainty("lift"), self.standard_uncertainty("clmax"))
            return both / self.slope
        wing = self.relative["wing"] if name == "clmax" else 0.0
        return np.abs(getattr(self, name)) * np.hypot(self.relative[part], wing)

    def estimate(self, name: str = "clmax") -> Estimate:
        """One increment as an estimate whose sources are named, so that it can be combined with others.

        Parameters
        ----------
        name : str [-]
            lift, clmax, zero_lift_angle, stall_angle, moment or drag; the settings must be scalars.

        Returns
        -------
        Estimate [in the unit of the increment: - or rad]
        """
        value = getattr(self, name)
        if np.ndim(value):
            raise ValueError(f"an estimate is one number; {name} holds {np.size(value)} settings: take one of them")
        words, part = NAMES[name][0], NAMES[name][3]
        unit = "rad" if name.endswith("angle") else "-"
        if part is None:
            parts = {Source("method of the flap's stall", "shared", self.kind): self.standard_uncertainty(name)}
        else:
            parts = {Source(f"method of the flap's {part}", "shared", self.kind): value * self.relative[part]}
            if self.relative["wing"] and part == "clmax":
                parts[Source("flap on part of a wing", "shared")] = value * self.relative["wing"]
        return Estimate(f"increment of {words}, {self.kind} flap", float(value), unit, parts)

    def table(self) -> list[dict[str, str]]:
        """Rows of text: what, increment, 95 % range. For scalar settings."""
        rows = []
        for name, (words, unit, factor, _) in NAMES.items():
            value, u = factor * getattr(self, name), abs(factor) * self.standard_uncertainty(name)
            d = digits(u) if u else 3
            shown = "" if unit == "-" else f" {unit}"
            rows.append({"increment of": words, "value": f"{value:+.{d}f}{shown}",
                         "95 % range": f"{value - 1.96 * u:+.{d}f} to {value + 1.96 * u:+.{d}f}{shown}"})  # fmt: skip
        return rows

    def text(self) -> str:
        """The increments in lines of text."""
        if np.ndim(self.clmax):
            ends = f"CLmax {np.min(self.clmax):+.2f} to {np.max(self.clmax):+.2f}"
            return f"{self.kind} flap, {np.size(self.clmax)} settings: {ends}"
        lines = [f"{r['increment of']}: {r['value']} (95 %: {r['95 % range']})" for r in self.table()]
        return "\n".join([f"{self.kind} flap, {self.level}", *lines, *self.notes])

    def __str__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        if np.ndim(self.clmax):
            return f"<p>{html.escape(self.text())}</p>"
        rows = self.table()
        head = "".join(f"<th>{html.escape(k)}</th>" for k in rows[0])
        body = "".join("<tr>" + "".join(f"<td>{html.escape(v)}</td>" for v in r.values()) + "</tr>" for r in rows)
        given = "; ".join(f"{k} {v:.4g}" if isinstance(v, float) else f"{k} {v}" for k, v in self.inputs.items())
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*self.notes, *self.cautions))
        return (
            f"<table class='aerolib'><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
            f"<p>{html.escape(self.level.capitalize())}, tail not counted. Given: {html.escape(given)}. Method: "
            f"{html.escape(self.source)}. This kind: {html.escape(self.grounds)}.</p><ul class='cautions'>{notes}</ul>"
        )

    def as_dict(self) -> dict:
        """Plain values for the JSON; angles in degrees."""
        out = {"kind": self.level, "flap": self.kind}
        for name, (_, unit, factor, _) in NAMES.items():
            value, u = float(factor * getattr(self, name)), float(abs(factor) * self.standard_uncertainty(name))
            key = name if unit == "-" else f"{name}_deg"
            out[key] = {"value": round(value, 5), "standard_uncertainty": round(u, 5),
                        "interval95": [round(value - 1.96 * u, 5), round(value + 1.96 * u, 5)]}  # fmt: skip
        return out
