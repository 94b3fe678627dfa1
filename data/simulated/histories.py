"""The time histories in one small file: 10 Hz, every channel scaled to 16-bit integers."""

import numpy as np
from card import stall_instant
from fly import LOG_HZ

BEFORE_S, AFTER_S = 12.0, 5.0

# Channel: unit, resolution. `height` is counted from the height at the stall; thrust is over weight.
SCALES = {
    "cas": ("m/s", 0.002),
    "tas": ("m/s", 0.003),
    "pitch": ("rad", 1e-4),
    "pitch_rate": ("rad/s", 1e-4),
    "alpha": ("rad", 1e-4),
    "nz": ("g", 1e-4),
    "nx": ("g", 1e-4),
    "load_factor": ("g", 1e-4),
    "lift_coefficient": ("", 1e-4),
    "stick": ("", 1e-4),
    "elevator": ("rad", 1e-4),
    "height": ("m", 0.02),
    "vertical_speed": ("m/s", 0.005),
    "thrust": ("weight", 1e-5),
}


def window(flight):
    """Return the part kept: 12 s before the stall until 5 s after it, longer where the stick stayed aft longer.

    Parameters: flight, a Flight.
    Returns: tuple of a slice and the index of the stall inside it.
    """
    stall = stall_instant(flight)
    first = max(0, stall - round(BEFORE_S * LOG_HZ))
    last = max(stall + round(AFTER_S * LOG_HZ), round((flight.recovery + 2) * LOG_HZ))
    return slice(first, last + 1), stall - first


def write(path, flights):
    """Write the histories of all flights.

    Parameters: path; flights, dict of id to Flight.
    Returns: None.
    """
    parts = {name: [] for name in SCALES}
    first, stall = [0], []
    for flight in flights.values():
        kept, at = window(flight)
        h = flight.history
        shifts = {"height": h["height"][kept][at]}
        for name, (_, scale) in SCALES.items():
            values = h[name][kept] - shifts.get(name, 0.0)
            if name == "thrust":
                values = values / flight.weight
            stored = np.round(values / scale)
            if np.abs(stored).max() > np.iinfo(np.int16).max:
                raise OverflowError(f"{name} does not fit its scale")
            parts[name].append(stored.astype(np.int16))
        first.append(first[-1] + len(parts["cas"][-1]))
        stall.append(at)
    arrays = {name: np.concatenate(rows) for name, rows in parts.items()}
    np.savez_compressed(
        path,
        id=np.array(list(flights)),
        first=np.array(first, dtype=np.int32),
        stall=np.array(stall, dtype=np.int32),
        rate_hz=np.array(LOG_HZ),
        channels=np.array(list(SCALES)),
        scales=np.array([s for _, s in SCALES.values()]),
        **arrays,
    )


def read(path):
    """Read the histories back.

    Parameters: path.
    Returns: dict of id to dict of channel arrays, shape (n,), in the units of `SCALES`, and `time` from the stall [s].
    """
    with np.load(path) as stored:
        arrays = {name: stored[name] for name in stored.files}
    out = {}
    for k, name in enumerate(arrays["id"]):
        part = slice(arrays["first"][k], arrays["first"][k + 1])
        one = {c: arrays[c][part] * scale for c, scale in zip(arrays["channels"], arrays["scales"])}
        one["time"] = (np.arange(part.stop - part.start) - arrays["stall"][k]) / arrays["rate_hz"]
        out[str(name)] = one
    return out
