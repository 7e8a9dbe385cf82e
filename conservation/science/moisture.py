"""How much water wood and paper hold in room air. Functions take numbers or numpy arrays of one shape."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from conservation.science.figures import figures

Values = TypeVar("Values", float, NDArray[np.float64])

_F = figures("moisture")
_WOOD = {
    name: tuple(_F.value(f"{name}_{power}") for power in range(3))
    for name in ("wood_w", "wood_k", "wood_k1", "wood_k2")
}
_P0, _P1, _P2, _P3 = (_F.value(f"paper_p{number}") for number in range(4))


def _coefficient(name: str, temperature_c: Values) -> Values:
    c0, c1, c2 = _WOOD[name]
    return c0 + c1 * temperature_c + c2 * temperature_c * temperature_c


def wood_moisture_pct(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return the equilibrium moisture of wood, in per cent of its dry weight.

    Parameters
    ----------
    temperature_c : number or array [°C, the table spans −1.1…132]
    relative_humidity_pct : number or array [%, the table spans 5…95]

    Returns
    -------
    number or array [%]; beyond the table the formula is carried on

    Notes
    -----
    Two-hydrate Hailwood–Horrobin form; mid-way between wetting and drying, so no better than about half a point.

    References
    ----------
    USDA Forest Products Laboratory, Wood Handbook (2021), chapter 4, equation 4-5 and Table 4-2.
    """
    share = relative_humidity_pct / 100
    w, k, k1, k2 = (_coefficient(name, temperature_c) for name in _WOOD)
    wet = k * share
    both = k1 * wet + 2 * k1 * k2 * wet * wet
    return 1800 / w * (wet / (1 - wet) + both / (1 + k1 * wet + k1 * k2 * wet * wet))


def wood_note(temperature_c: float, relative_humidity_pct: float) -> str | None:
    """Return a sentence where the air lies outside the wood table, None inside it."""
    inside = _F.value("wood_lowest") <= temperature_c <= _F.value("wood_highest") and _F.value(
        "wood_driest"
    ) <= relative_humidity_pct <= _F.value("wood_dampest")
    if inside:
        return None
    return "The table behind the moisture of wood covers −1.1 °C and up, 5 to 95 %; outside it the figure is rough."


def paper_moisture_pct(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return the equilibrium moisture of paper, in per cent of its dry weight.

    Parameters
    ----------
    temperature_c : number or array [°C, about 0…100]
    relative_humidity_pct : number or array [%, 0…100, without 100]

    Returns
    -------
    number or array [%]; not finite at 100 %

    Notes
    -----
    w = [ln(1 − h) / (1.67·T − 285.655)]^(1/(2.491 − 0.012·T)), w in g/g, h the humidity as a share. One public text
    asks for kelvin; only degrees Celsius give water contents that exist.

    References
    ----------
    M. Strlič et al., Heritage Science 3:40 (2015), after Paltakari and Karlsson.
    """
    share = relative_humidity_pct / 100
    with np.errstate(divide="ignore", invalid="ignore"):
        water = (np.log1p(-share) / (_P1 * temperature_c - _P0)) ** (1 / (_P2 - _P3 * temperature_c))
    result: Values = 100 * water
    return result
