"""What numbers can be: scales, units, ranges, error values, and oddities worth a word."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from conservation.science.air import dew_point_c
from conservation.science.figures import figures
from conservation.science.readings.model import Question, Unit

Array = NDArray[np.float64]
Values = TypeVar("Values", float, Array)
Times = NDArray[np.int64]
Mask = NDArray[np.bool_]
Codes = NDArray[np.int8]

_F = figures("readings")
LOWEST_C, HIGHEST_C = _F.value("temperature_lowest"), _F.value("temperature_highest")
COUNTS_AS_FULL_PCT = _F.value("humidity_counts_as_full")
GAP_INTERVALS = _F.value("gap_intervals")
_FAHRENHEIT_GUESS = _F.value("fahrenheit_guess")
_HOTTEST_F = 140.0  # above this no home is, in either unit

UNKNOWN, CELSIUS, FAHRENHEIT = 0, 1, 2
UNIT_CODE: dict[Unit | None, int] = {None: UNKNOWN, "C": CELSIUS, "F": FAHRENHEIT}
_ERROR_VALUES_C = (-40.0, 85.0)  # what common sensors say when they are cut off or starting


def to_celsius(fahrenheit: Values) -> Values:
    """Return degrees Celsius for degrees Fahrenheit."""
    return (fahrenheit - 32) / 1.8


@dataclass(slots=True)
class Columns:
    """The numbers of one sensor as written, in the order of the file."""

    temperature: Array
    humidity: Array
    dew: Array | None
    unit: Codes  # what the head or the cells say of the temperature


@dataclass(slots=True)
class Understood:
    """The numbers in °C and %, and what had to be supposed."""

    temperature_c: Array
    humidity_pct: Array
    unit: Unit | None
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def understand(columns: Columns, chosen: Unit | None) -> Understood:
    """Bring one sensor's numbers to °C and %, from its heads, its cells, its dew points or the numbers themselves.

    Parameters
    ----------
    columns : Columns
    chosen : the keeper's unit, for cells and heads that name none

    Returns
    -------
    Understood; with a blocking question where the unit stays open
    """
    notes: list[str] = []
    humidity = _scaled_humidity(columns.humidity, notes)
    temperature, shrink = _scaled_temperature(columns.temperature, notes)
    dew = None if columns.dew is None else columns.dew / shrink
    unit = columns.unit.copy()
    questions: list[Question] = []
    said = {int(code) for code in np.unique(unit)}
    if chosen is not None and len(said) == 1:
        unit[:] = UNIT_CODE[chosen]  # the keeper knows better than a wrong head
    open_rows = unit == UNKNOWN
    if chosen is None and open_rows.any():
        supposed, question = _guess_unit(temperature[open_rows], humidity[open_rows], _part(dew, open_rows), notes)
        unit[open_rows] = UNIT_CODE[supposed or "C"]
        if question:
            questions.append(question)
    elif chosen is None:
        _doubt_head(temperature, humidity, dew, unit, notes, questions)
    else:
        unit[open_rows] = UNIT_CODE[chosen]
    celsius = np.where(unit == FAHRENHEIT, to_celsius(temperature), temperature)
    codes = {int(code) for code in np.unique(unit)}
    if codes == {CELSIUS, FAHRENHEIT}:
        notes.append("The file holds °C and °F; each row was read in the unit it names.")
    settled: Unit | None = "F" if codes == {FAHRENHEIT} else "C" if codes == {CELSIUS} else None
    return Understood(celsius, humidity, settled, questions, notes)


def _part(values: Array | None, which: Mask) -> Array | None:
    return None if values is None else values[which]


def _scaled_humidity(humidity: Array, notes: list[str]) -> Array:
    known = humidity[np.isfinite(humidity) & (humidity >= 0)]
    if not len(known):
        return humidity
    if known.max() <= 1 and (known % 1 != 0).any():
        notes.append("Humidity was written as a share of 1 and was read as per cent.")
        return humidity * 100
    middle = float(np.median(known))
    if middle > COUNTS_AS_FULL_PCT and (known % 1 == 0).all():
        for shrink, word in ((10, "tenths"), (100, "hundredths")):
            if middle / shrink <= 100:
                notes.append(f"Humidity was written in {word} of a per cent.")
                return humidity / shrink
    return humidity


def _scaled_temperature(temperature: Array, notes: list[str]) -> tuple[Array, float]:
    known = temperature[np.isfinite(temperature)]
    ordinary = known[np.abs(known) < 20_000]
    if not len(ordinary) or (ordinary % 1 != 0).any() or abs(np.median(ordinary)) <= _HOTTEST_F:
        return temperature, 1.0
    for shrink, word in ((10.0, "tenths"), (100.0, "hundredths")):
        if abs(np.median(ordinary)) / shrink <= _HOTTEST_F:
            notes.append(f"Temperature was written in {word} of a degree.")
            return temperature / shrink, shrink
    return temperature, 1.0


def _guess_unit(
    temperature: Array, humidity: Array, dew: Array | None, notes: list[str]
) -> tuple[Unit | None, Question | None]:
    by_dew = unit_by_dew_point(temperature, humidity, dew)
    if by_dew:
        notes.append(f"No unit is named; the dew points fit °{by_dew}.")
        return by_dew, None
    plausible = temperature[np.isfinite(temperature) & (temperature > -60) & (temperature <= _HOTTEST_F)]
    if not len(plausible):
        return None, None
    high = plausible > _FAHRENHEIT_GUESS
    if not high.any() or (np.median(plausible) <= _FAHRENHEIT_GUESS and not _leaps_in_unit(plausible)):
        notes.append("No unit is named; the temperatures were read as °C.")
        return "C", None
    if _leaps_in_unit(plausible):
        return None, _mixed_units()
    if np.mean(plausible > HIGHEST_C) >= 0.01:
        notes.append(f"No unit is named; temperatures above {HIGHEST_C:g} can only be °F.")
        return "F", None
    middle = float(np.median(plausible))
    text = (
        f"No unit is named and temperatures are about {middle:.0f}. "
        f"Is that {middle:.0f} °C, or {middle:.0f} °F ({to_celsius(middle):.0f} °C)?"
    )
    return None, Question("unit", text, "unit", ("C", "F"), "F")


def _mixed_units() -> Question:
    text = "Temperatures leap between two levels as if °C and °F were mixed. Part the file, or name the unit."
    return Question("unit", text, "unit", ("C", "F"), None)


def _leaps_in_unit(plausible: Array) -> bool:
    """Return whether one step goes from a room's °C to the same in °F, or back, and both levels last."""
    if len(plausible) < 2:
        return False
    high = plausible > _FAHRENHEIT_GUESS
    if not 0.02 < high.mean() < 0.98:
        return False
    crossing = np.flatnonzero(np.diff(high.astype(np.int8)) != 0)
    leaps = [(plausible[place], plausible[place + 1]) for place in crossing]
    low_high = [(min(pair), max(pair)) for pair in leaps]
    return bool(low_high) and all(abs(to_celsius(top) - bottom) < 5 and top - bottom > 20 for bottom, top in low_high)


def unit_by_dew_point(temperature: Array, humidity: Array, dew: Array | None) -> Unit | None:
    """Return the unit in which temperature, humidity and dew point agree, None where neither or both do.

    Parameters
    ----------
    temperature, humidity : arrays [°C or °F, %]
    dew : array of dew points in the same unit as the temperature, or None

    Returns
    -------
    "C", "F" or None
    """
    if dew is None:
        return None
    whole = np.isfinite(temperature) & np.isfinite(humidity) & np.isfinite(dew) & (humidity > 1) & (humidity <= 100)
    if not whole.any():
        return None
    warmth, damp, dews = temperature[whole], humidity[whole], dew[whole]
    close = _F.value("dew_point_agreement")
    off_c = float(np.median(np.abs(dew_point_c(warmth, damp) - dews)))
    off_f = float(np.median(np.abs(dew_point_c(to_celsius(warmth), damp) - to_celsius(dews))))
    if (off_c <= close) == (off_f <= close):
        return None
    return "C" if off_c <= close else "F"


def _doubt_head(
    temperature: Array, humidity: Array, dew: Array | None, unit: Codes, notes: list[str], questions: list[Question]
) -> None:
    """Say where the dew points or the numbers themselves speak against the unit that the file names."""
    codes = {int(code) for code in np.unique(unit)}
    by_dew = unit_by_dew_point(temperature, humidity, dew)
    if by_dew and codes == {UNIT_CODE["F" if by_dew == "C" else "C"]}:
        notes.append(f"The head and the dew points disagree: the dew points fit °{by_dew}.")
    known = temperature[np.isfinite(temperature) & (temperature > -60) & (temperature <= _HOTTEST_F)]
    if len(codes) == 1 and _leaps_in_unit(known):
        questions.append(_mixed_units())
    elif codes == {CELSIUS} and len(known) and np.median(known) > _FAHRENHEIT_GUESS and by_dew != "C":
        text = f"The file says °C, but temperatures of about {np.median(known):.0f} look like °F. Which is it?"
        questions.append(Question("unit", text, "unit", ("C", "F"), "F", blocking=False))


def error_values(temperature_c: Array) -> Mask:
    """Return which temperatures are a sensor's error value: exactly −40 or 85, with nothing else near.

    Parameters
    ----------
    temperature_c : array [°C]

    Returns
    -------
    array of bool
    """
    marked = np.zeros(len(temperature_c), dtype=bool)
    ordinary = ~np.isin(temperature_c, _ERROR_VALUES_C)
    if ordinary.sum() < 3:
        return marked
    for value in _ERROR_VALUES_C:
        if np.abs(temperature_c[ordinary] - value).min() > 3 * _F.value("lonely_value"):
            marked |= temperature_c == value
    return marked


def oddities(times_s: Times, temperature_c: Array, humidity_pct: Array) -> list[str]:
    """Say in words what is odd about readings that were used all the same: leaps, and humidity that never moves.

    Parameters
    ----------
    times_s : array [epoch seconds], rising
    temperature_c, humidity_pct : arrays [°C, %]

    Returns
    -------
    list of sentences
    """
    if len(times_s) < 2:
        return []
    said = []
    near = np.diff(times_s) <= _F.value("jump_within") * 60
    leaps = near & (
        (np.abs(np.diff(temperature_c)) > _F.value("jump_temperature"))
        | (np.abs(np.diff(humidity_pct)) > _F.value("jump_humidity"))
    )
    if leaps.any():
        times = "once" if leaps.sum() == 1 else f"{leaps.sum()} times"
        said.append(f"Temperature or humidity leapt {times} within a quarter of an hour; was the logger moved?")
    start, end = _longest_standstill(times_s, np.round(humidity_pct, 1))
    hours = (times_s[end] - times_s[start]) / 3600
    if hours >= _F.value("stuck_hours"):
        value = humidity_pct[start]
        why = "a wet or failed sensor" if value >= 99.95 else "a failed sensor, or a very still place"
        said.append(f"Humidity stood at exactly {value:.1f} % for {hours / 24:.1f} days: {why}.")
    return said


def _longest_standstill(times_s: Times, values: Array) -> tuple[int, int]:
    edges = np.flatnonzero(np.diff(values) != 0) + 1
    starts = np.concatenate([[0], edges])
    ends = np.concatenate([edges, [len(values)]]) - 1
    longest = int(np.argmax(times_s[ends] - times_s[starts]))
    return int(starts[longest]), int(ends[longest])
