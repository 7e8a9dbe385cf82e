"""Water in air: saturation, dew point, absolute humidity, and what happens at a colder surface.

Every humidity here is over liquid water, below freezing too, as loggers and weather services state it. Functions
take numbers or numpy arrays of one shape and return the same.
"""

from __future__ import annotations

import math
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from conservation.science.figures import figures
from conservation.science.moisture import paper_moisture_pct, wood_moisture_pct, wood_note
from conservation.science.problem import Problem
from conservation.science.sources import Citation, cited

Array = NDArray[np.float64]
Values = TypeVar("Values", float, Array)

_F = figures("air")
_A, _B, _C = _F.value("magnus_a"), _F.value("magnus_b"), _F.value("magnus_c")
_R_VAPOUR = _F.value("vapour_gas_constant")
LOWEST_C, HIGHEST_C = _F.value("accepted_lowest"), _F.value("accepted_highest")
ZERO_CELSIUS_K = 273.15


def saturation_pressure_pa(temperature_c: Values) -> Values:
    """Return the water vapour pressure of saturated air.

    Parameters
    ----------
    temperature_c : number or array [°C, fitted for −40…50]

    Returns
    -------
    number or array [Pa]

    Notes
    -----
    e_s = C·exp(A·T / (B + T)), improved Magnus form over liquid water; under 0.4 % in error over the fitted range.

    References
    ----------
    O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35 (1996) 601–609.
    """
    result: Values = _C * np.exp(_A * temperature_c / (_B + temperature_c))
    return result


def vapour_pressure_pa(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return the water vapour pressure of air.

    Parameters
    ----------
    temperature_c : number or array [°C]
    relative_humidity_pct : number or array [%, 0…100]

    Returns
    -------
    number or array [Pa]
    """
    return saturation_pressure_pa(temperature_c) * relative_humidity_pct / 100


def dew_point_c(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return the temperature at which air becomes saturated when it is cooled.

    Parameters
    ----------
    temperature_c : number or array [°C]
    relative_humidity_pct : number or array [%, 0…100]

    Returns
    -------
    number or array [°C]; NaN at 0 %, where there is no dew point

    Notes
    -----
    γ = ln(RH/100) + A·T/(B + T); T_d = B·γ/(A − γ), the exact inverse of `saturation_pressure_pa`.

    References
    ----------
    M. G. Lawrence, Bull. Am. Meteorol. Soc. 86 (2005) 225–233.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        gamma = np.log(relative_humidity_pct / 100) + _A * temperature_c / (_B + temperature_c)
        result: Values = _B * gamma / (_A - gamma)
        return result


def absolute_humidity_g_m3(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return the mass of water in a cubic metre of air.

    Parameters
    ----------
    temperature_c : number or array [°C]
    relative_humidity_pct : number or array [%, 0…100]

    Returns
    -------
    number or array [g/m³]

    Notes
    -----
    Ideal gas, e/(R_v·T_K); 0.5–0.7 % below a real-gas sum at room temperature.
    """
    pressure = vapour_pressure_pa(temperature_c, relative_humidity_pct)
    return pressure / (_R_VAPOUR * (temperature_c + ZERO_CELSIUS_K)) * 1000


def uncapped_surface_rh_pct(temperature_c: Values, relative_humidity_pct: Values, surface_c: Values) -> Values:
    """Return the relative humidity of room air cooled or warmed to a surface's temperature, over 100 where it is wet.

    Parameters
    ----------
    temperature_c : number or array [°C], the room's air
    relative_humidity_pct : number or array [%, 0…100], the room's air
    surface_c : number or array [°C]

    Returns
    -------
    number or array [%]
    """
    ratio = saturation_pressure_pa(temperature_c) / saturation_pressure_pa(surface_c)
    return relative_humidity_pct * ratio


def surface_rh_pct(temperature_c: Values, relative_humidity_pct: Values, surface_c: Values) -> Values:
    """Return the relative humidity at a surface, capped at 100 %, where water condenses.

    Parameters
    ----------
    temperature_c : number or array [°C], the room's air
    relative_humidity_pct : number or array [%, 0…100], the room's air
    surface_c : number or array [°C]

    Returns
    -------
    number or array [%, 0…100]

    Notes
    -----
    The same vapour pressure is assumed in the room and at the surface.
    """
    result: Values = np.minimum(100, uncapped_surface_rh_pct(temperature_c, relative_humidity_pct, surface_c))
    return result


def wall_surface_c(room_c: Values, outside_c: Values, factor: float) -> Values:
    """Return the temperature of the inner face of an outside wall, in steady weather.

    Parameters
    ----------
    room_c, outside_c : number or array [°C]
    factor : number [–, 0…1], see `WALL_FACTORS`

    Returns
    -------
    number or array [°C]

    Raises
    ------
    ValueError
        The factor is outside 0…1.
    """
    if not 0 <= factor <= 1:
        raise ValueError(f"factor: {factor} is outside 0 to 1")
    return outside_c + factor * (room_c - outside_c)


WALL_FACTORS = {
    "insulated-outside-wall": _F["wall_factor_mould_limit"],
    "outside-wall": _F["wall_factor_old_outside_wall"],
    "behind-picture": _F["wall_factor_behind_picture"],
}
"""Temperature factors of walls, with their sources: 1 is as warm as the room, 0 as cold as outside."""


class Input(Problem):
    """The air of a room, and the temperature of a colder surface in it where that is known."""

    temperature_c: float = Field(ge=LOWEST_C, le=HIGHEST_C)
    relative_humidity_pct: float = Field(ge=0, le=100)
    surface_c: float | None = Field(default=None, ge=LOWEST_C, le=HIGHEST_C)


def work_out(problem: Input) -> dict[str, Any]:
    """Work out what one reading of a room's air means; see the topic ``air``."""
    air_c, air_rh = problem.temperature_c, problem.relative_humidity_pct
    dew = float(dew_point_c(air_c, air_rh))
    paper = paper_moisture_pct(air_c, air_rh)
    surface = problem.surface_c
    at_surface = None if surface is None else float(uncapped_surface_rh_pct(air_c, air_rh, surface))
    return {
        "saturation_pa": float(saturation_pressure_pa(air_c)),
        "vapour_pa": float(vapour_pressure_pa(air_c, air_rh)),
        "dew_point_c": dew if math.isfinite(dew) else None,
        "absolute_g_m3": float(absolute_humidity_g_m3(air_c, air_rh)),
        "surface_rh_pct": None if at_surface is None else min(100.0, at_surface),
        "condenses": None if at_surface is None else at_surface >= 100,
        "wood_moisture_pct": float(wood_moisture_pct(air_c, air_rh)),
        "paper_moisture_pct": float(paper) if math.isfinite(paper) else None,
        "sources": cited(air_citations() + figures("moisture").cite()),
        "notes": _notes(problem, dew, float(paper)),
    }


def air_citations() -> list[Citation]:
    """Return the citations behind saturation, dew point and absolute humidity."""
    return _F.cite("magnus_a", "magnus_b", "magnus_c", "vapour_gas_constant")


def _notes(problem: Input, dew: float, paper: float) -> list[str]:
    notes = []
    if not math.isfinite(dew):
        notes.append("Air without any water has no dew point.")
    elif dew < 0:
        notes.append("The dew point is below freezing; it is given over liquid water, as loggers state it.")
    if problem.temperature_c > _F.value("magnus_highest"):
        notes.append("Above 50 °C the formula for water in air was not fitted; take the figures as rough.")
    if problem.surface_c is None:
        notes.append("No surface temperature was given, so nothing is said about condensation.")
    if note := wood_note(problem.temperature_c, problem.relative_humidity_pct):
        notes.append(note)
    if not math.isfinite(paper):
        notes.append("The formula for paper has no value in saturated air.")
    elif problem.temperature_c < figures("moisture").value("paper_lowest"):
        notes.append("Below 0 °C the formula for paper is carried beyond its range; take the figure as rough.")
    return notes
