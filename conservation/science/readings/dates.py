"""Day or month first? The order of dates that do not name it, from all dates of a file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from conservation.science.readings.cells import DateParts, full_year
from conservation.science.readings.model import Question

Days = NDArray[np.int64]
NO_DATE = np.iinfo(np.int64).min
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_FEW_ODD_DATES = 0.05  # so small a share of dates may be slips of the pen


@dataclass(frozen=True, slots=True)
class DateOrder:
    """The epoch day of every date, and how the order was found."""

    days: Days  # NO_DATE where a date does not exist
    day_first: bool | None  # None: the dates name their order themselves
    question: Question | None
    note: str | None


def epoch_day(year: int, month: int, day: int) -> int | None:
    """Return days since 1970-01-01, None where there is no such day."""
    try:
        return date(year, month, day).toordinal() - _EPOCH_DAY
    except ValueError:
        return None


def _read(parts: DateParts, order: str) -> int | None:
    first, second, third = parts.numbers
    if parts.settled:
        return epoch_day(first, second, third)
    if order == "ymd":
        return epoch_day(full_year(first), second, third)
    day, month = (first, second) if order == "dmy" else (second, first)
    return epoch_day(full_year(third), month, day)


def order_dates(parts: list[DateParts], day_first: bool | None, told_by_head: bool | None) -> DateOrder:
    """Decide the order of all dates of a file.

    Parameters
    ----------
    parts : every different date of the file
    day_first : the keeper's choice, if there is one
    told_by_head : what the column's head says, if it does

    Returns
    -------
    DateOrder; with a blocking question and days read day first where the data leave it open
    """
    open_dates = [part for part in parts if not part.settled]
    if not open_dates:
        return DateOrder(_days(parts, "dmy"), None, None, None)
    fits = {order: {part for part in open_dates if _read(part, order) is not None} for order in ("dmy", "mdy", "ymd")}
    if _is_year_first(open_dates, fits):
        return DateOrder(_days(parts, "ymd"), None, None, "Dates were read as year, month, day.")
    only_day_first = fits["dmy"] - fits["mdy"]
    only_month_first = fits["mdy"] - fits["dmy"]
    chosen = told_by_head if day_first is None else day_first
    few = _FEW_ODD_DATES * len(open_dates)
    if only_day_first and len(only_month_first) <= few:
        return _settled(parts, True, chosen)
    if only_month_first and len(only_day_first) <= few:
        return _settled(parts, False, chosen)
    if chosen is not None:
        return DateOrder(_days(parts, "dmy" if chosen else "mdy"), chosen, None, None)
    if only_day_first and only_month_first:
        text = "Some dates can only be day-month and others only month-day. Say which order is meant, or part the file."
        return DateOrder(_days(parts, "dmy"), True, _question(text, None), None)
    if all(part.numbers[0] == part.numbers[1] for part in open_dates):
        return DateOrder(_days(parts, "dmy"), True, None, None)
    if all(part.dotted for part in open_dates):
        return DateOrder(_days(parts, "dmy"), True, None, "Dates with dots were read as day.month.year.")
    return DateOrder(_days(parts, "dmy"), True, _two_readings(parts, open_dates), None)


def _days(parts: list[DateParts], order: str) -> Days:
    read = [_read(part, order) for part in parts]
    return np.array([NO_DATE if day is None else day for day in read], dtype=np.int64)


def _settled(parts: list[DateParts], day_first: bool, chosen: bool | None) -> DateOrder:
    note = None
    if chosen is not None and chosen != day_first:
        order = "day before month" if day_first else "month before day"
        note = f"The dates only make sense with the {order}, so they were read that way."
    return DateOrder(_days(parts, "dmy" if day_first else "mdy"), day_first, None, note)


def _is_year_first(open_dates: list[DateParts], fits: dict[str, set[DateParts]]) -> bool:
    """Return whether 26/02/03 is year, month, day: nothing else fits, or only so the year stands still."""
    if len(fits["ymd"]) < len(open_dates) or any(part.numbers[2] > 99 for part in open_dates):
        return False
    if len(fits["dmy"]) < len(open_dates) and len(fits["mdy"]) < len(open_dates):
        return True
    years = {part.numbers[0] for part in open_dates}
    lasts = {part.numbers[2] for part in open_dates}
    return len(years) <= 2 and min(years) > 12 and len(lasts) > 3


def _question(text: str, suggested: bool | None) -> Question:
    return Question("day-order", text, "day_first", (True, False), suggested)


def _two_readings(parts: list[DateParts], open_dates: list[DateParts]) -> Question:
    example = next(part for part in open_dates if part.numbers[0] != part.numbers[1])
    readings = [date.fromordinal(_EPOCH_DAY + (_read(example, order) or 0)) for order in ("dmy", "mdy")]
    day_month, month_day = (f"{moment.day} {moment:%B %Y}" for moment in readings)
    text = f"Is {example.text} the {day_month} or the {month_day}? Say whether the day comes first."
    # A logger runs from one day to the next: the order with fewer broken steps is the likelier one.
    steps = {order: _broken_steps(_days(parts, order)) for order in ("dmy", "mdy")}
    suggested = None
    if steps["dmy"] != steps["mdy"]:
        suggested = steps["dmy"] < steps["mdy"]
        likelier = "day before month" if suggested else "month before day"
        text += f" Read with the {likelier} the days follow one another."
    return _question(text, suggested)


def _broken_steps(days: Days) -> int:
    known = days[days != NO_DATE]
    return int((np.diff(known) != 1).sum())
