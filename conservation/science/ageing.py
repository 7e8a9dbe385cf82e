"""How fast things age chemically in some air, compared with 20 °C and 50 %.

Only ratios are meant to be shown: "about three times as fast as in the hall cupboard". Functions take numbers or
numpy arrays of one shape.
"""

from __future__ import annotations

import csv
from functools import cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from conservation.science.air import ZERO_CELSIUS_K
from conservation.science.figures import figures
from conservation.science.moisture import paper_moisture_pct
from conservation.science.sources import DATA, Citation

Array = NDArray[np.float64]
Values = TypeVar("Values", float, Array)

_F = figures("ageing")
REFERENCE_K = _F.value("reference_temperature")
REFERENCE_RH_PCT = _F.value("reference_humidity")
LEAST_RH_PCT = _F.value("least_humidity")
ENERGY_SLOW_KJ = _F.value("activation_energy_slow")
ENERGY_CELLULOSE_KJ = _F.value("activation_energy_cellulose")
_R = _F.value("gas_constant")


def life_multiplier(temperature_c: Values, relative_humidity_pct: Values, energy_kj_mol: float) -> Values:
    """Return how many times as long a material lasts as it would at 20 °C and 50 %.

    Parameters
    ----------
    temperature_c : number or array [°C, about −20…40]
    relative_humidity_pct : number or array [%, about 20…80; below 5 counts as 5]
    energy_kj_mol : number [kJ/mol], 100 for paper and cotton, 70 for slower-responding materials

    Returns
    -------
    number or array [–]

    Notes
    -----
    (50/RH)^1.3 · exp[(Ea/R)(1/T − 1/293.15)]. With 293 K instead the reference point would not score 1.

    References
    ----------
    S. Michalski, ICOM-CC 13th Triennial Meeting (2002), vol. I, 66–72.
    """
    humidity = np.maximum(relative_humidity_pct, LEAST_RH_PCT)
    dryness = (REFERENCE_RH_PCT / humidity) ** _F.value("humidity_exponent")
    coolness = 1 / (temperature_c + ZERO_CELSIUS_K) - 1 / REFERENCE_K
    result: Values = dryness * np.exp(energy_kj_mol * 1000 / _R * coolness)
    return result


def mean_life_multiplier(
    temperature_c: Array, relative_humidity_pct: Array, energy_kj_mol: float, weights: Array | None = None
) -> float:
    """Return the life multiplier over a stretch of time: the harmonic mean, because rates add and lives do not.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : arrays [°C, %], not empty
    energy_kj_mol : number [kJ/mol]
    weights : array, optional; how long each reading stood for, equal when left out

    Returns
    -------
    number [–]

    References
    ----------
    M. H. J. Martens, Climate risk assessment in museums (2012).
    """
    rates = 1 / life_multiplier(temperature_c, relative_humidity_pct, energy_kj_mol)
    return float(1 / np.average(rates, weights=weights))


def paper_life_ratio(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return how many times as long average paper lasts as at 20 °C and 50 %, by its water content.

    Parameters
    ----------
    temperature_c : number or array [°C]
    relative_humidity_pct : number or array [%, below 100]

    Returns
    -------
    number or array [–]

    Notes
    -----
    The acidity of the paper cancels in the ratio, which is why no years are given.

    References
    ----------
    M. Strlič et al., Heritage Science 3:40 (2015).
    """
    water = paper_moisture_pct(temperature_c, relative_humidity_pct)
    at_reference = paper_moisture_pct(REFERENCE_K - ZERO_CELSIUS_K, REFERENCE_RH_PCT)
    coolness = 1 / (temperature_c + ZERO_CELSIUS_K) - 1 / REFERENCE_K
    drier = (at_reference - water) / 100
    result: Values = np.exp(_F.value("paper_water_factor") * drier + _F.value("paper_temperature_factor") * coolness)
    return result


@cache
def acetate_table() -> tuple[tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Return the table of years to the onset of vinegar syndrome: temperatures [°C], humidities [%], years by row."""
    lines = (DATA / "acetate_1993.csv").read_text(encoding="utf-8").splitlines()
    head, *rows = csv.reader(line for line in lines if not line.startswith("#"))
    return (
        tuple(float(row[0]) for row in rows),
        tuple(float(cell) for cell in head[1:]),
        tuple(tuple(float(cell) for cell in row[1:]) for row in rows),
    )


ACETATE_TABLE_CITATION = Citation("ipi-acetate-1993", "table of years to onset", "from memory")


def acetate_years_by_rate(temperature_c: Values, relative_humidity_pct: Values) -> Values:
    """Return years for fresh acetate film to the onset of vinegar syndrome, by the rate fitted to the guide's table.

    Parameters
    ----------
    temperature_c : number or array [°C]
    relative_humidity_pct : number or array [%, above 0]

    Returns
    -------
    number or array [years]

    Notes
    -----
    k = RH · 5.9·10¹² · exp(−90300/(R·T)) per year. Never for film that already smells.

    References
    ----------
    T. Padfield (2004), constants second-hand.
    """
    kelvin = temperature_c + ZERO_CELSIUS_K
    energy = _F.value("acetate_activation_energy") * 1000
    rate = relative_humidity_pct * _F.value("acetate_rate_constant") * np.exp(-energy / (_R * kelvin))
    result: Values = 1 / rate
    return result


def acetate_years(temperature_c: float, relative_humidity_pct: float) -> float | None:
    """Return years for fresh acetate film to the onset of vinegar syndrome, read from the guide's table.

    Parameters
    ----------
    temperature_c : number [°C, 4.4…26.7]
    relative_humidity_pct : number [%, 20…80]

    Returns
    -------
    number [years], or None outside the table

    Notes
    -----
    Between the rows the logarithm of the years is read off a straight line. Film that smells of vinegar is past this.

    References
    ----------
    J. M. Reilly, IPI Storage Guide for Acetate Film (1993); the table from memory.
    """
    warmths, humidities, years = acetate_table()
    inside = warmths[0] <= temperature_c <= warmths[-1] and humidities[0] <= relative_humidity_pct <= humidities[-1]
    if not inside:
        return None
    by_row = [np.interp(relative_humidity_pct, humidities, np.log(row)) for row in years]
    return float(np.exp(np.interp(temperature_c, warmths, by_row)))


def ageing_citations() -> list[Citation]:
    """Return the citations behind the life multiplier and its mean over time."""
    return _F.cite(
        "reference_temperature",
        "humidity_exponent",
        "gas_constant",
        "activation_energy_slow",
        "least_humidity",
        "averaging",
    )
