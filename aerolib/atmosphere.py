"""The standard atmosphere, as far as a light airplane's stall test needs it.

A reduction from calibrated airspeed does not need density at all (its dynamic pressure is that of
sea level); density enters where true airspeed does: GPS calibration, glide angle.
"""

from __future__ import annotations

import numpy as np

from aerolib.ranges import in_range

GRAVITY = 9.80665  # standard gravity g0 [m/s2], ISO 2533:1975
PRESSURE_0 = 101325.0  # sea-level pressure [Pa], ISO 2533:1975
DENSITY_0 = 1.225  # sea-level density [kg/m3], ISO 2533:1975
TEMPERATURE_0 = 288.15  # sea-level temperature [K], ISO 2533:1975
LAPSE = -0.0065  # temperature gradient below 11 km [K/m], ISO 2533:1975
GAS_CONSTANT = 287.05287  # specific gas constant of dry air [J/(kg K)], ISO 2533:1975
KAPPA = 1.4  # ratio of specific heats [-], ISO 2533:1975


def _below_the_tropopause(altitude):
    altitude = np.asarray(altitude, dtype=float)
    if np.any((altitude < -1000.0) | (altitude > 11000.0)):
        raise ValueError("pressure altitude must lie between -1000 m and 11000 m (where these formulae hold)")
    return altitude


def standard_temperature(pressure_altitude):
    """Temperature of the standard atmosphere.

    T = T0 + beta * h

    Parameters
    ----------
    pressure_altitude : float or array (n,) [m]

    Returns
    -------
    float or array (n,) [K]

    Raises
    ------
    ValueError
        Outside -1000 m to 11000 m.

    Source: ISO 2533:1975 (constants as its published implementations state them).
    """
    return TEMPERATURE_0 + LAPSE * _below_the_tropopause(pressure_altitude)


def pressure(pressure_altitude):
    """Static pressure at a pressure altitude.

    p = p0 * (T / T0) ** (-g0 / (R * beta))

    Parameters
    ----------
    pressure_altitude : float or array (n,) [m]

    Returns
    -------
    float or array (n,) [Pa]

    Raises
    ------
    ValueError
        Outside -1000 m to 11000 m.

    Source: ISO 2533:1975.
    """
    return PRESSURE_0 * (standard_temperature(pressure_altitude) / TEMPERATURE_0) ** (-GRAVITY / (GAS_CONSTANT * LAPSE))


@in_range()
def density(pressure_altitude, temperature=None):
    """Density of dry air at a pressure altitude and an outside air temperature.

    rho = p / (R * T)

    Parameters
    ----------
    pressure_altitude : float or array (n,) [m]
    temperature : float or array (n,) [K]
        Outside air temperature; the standard one where None.

    Returns
    -------
    float or array (n,) [kg/m3]

    Raises
    ------
    ValueError
        Outside -1000 m to 11000 m, or a temperature outside 200 K to 330 K.

    Valid range: dry air; at 80 % humidity on a hot day true density is up to 2 % lower.
    Source: ISO 2533:1975 and the ideal gas law.
    """
    p = pressure(pressure_altitude)
    if temperature is None:
        return p / (GAS_CONSTANT * standard_temperature(pressure_altitude))
    temperature = np.asarray(temperature, dtype=float)
    if np.any((temperature < 200.0) | (temperature > 330.0)):
        raise ValueError("air temperature must lie between 200 K and 330 K (-73 to 57 deg C): is the unit right?")
    return p / (GAS_CONSTANT * temperature)


@in_range()
def density_altitude(air_density):
    """Altitude in the standard atmosphere at which the air has this density.

    h = (T0 / beta) * ((rho / rho0) ** (1 / (-g0 / (R beta) - 1)) - 1)

    Parameters
    ----------
    air_density : float or array (n,) [kg/m3]

    Returns
    -------
    float or array (n,) [m]

    Raises
    ------
    ValueError
        A density that is not positive.

    Source: ISO 2533:1975, inverted.
    """
    if np.any(np.asarray(air_density) <= 0.0):
        raise ValueError("air density must be positive")
    exponent = -GRAVITY / (GAS_CONSTANT * LAPSE) - 1.0
    return (TEMPERATURE_0 / LAPSE) * ((np.asarray(air_density) / DENSITY_0) ** (1.0 / exponent) - 1.0)
