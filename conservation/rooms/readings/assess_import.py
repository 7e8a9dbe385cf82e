"""What a file of readings is understood to be, in plain data for a page; and its readings, for the store."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, cast

from conservation.rooms.readings.store import Stored, in_hundredths
from conservation.science import readings as files

# Ten years of ten-minute readings are 15 to 30 MB; what is larger than this is hardly readings.
MOST_MEGABYTES = 100
MOST_LISTED = 200
ROLES = (
    ("stamp", "date and time"),
    ("date", "date alone"),
    ("clock", "time of day alone"),
    ("temperature", "temperature"),
    ("humidity", "humidity"),
    ("dew", "dew point"),
    ("sensor", "name of the sensor"),
    ("channel", "what is measured"),
    ("value", "the value of what is measured"),
    ("index", "a row number"),
    ("other", "something else, left out"),
)
_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}
_TIME_KINDS = {
    "stamp": "date and time together",
    "split": "date and time in columns of their own",
    "epoch": "seconds since 1970",
    "epoch-ms": "thousandths of a second since 1970",
    "serial": "day numbers of a spreadsheet",
}


def _choices(kept: Mapping[str, Any]) -> files.Choices:
    columns = {int(place): cast(Any, role) for place, role in (kept.get("columns") or {}).items()}
    return files.Choices(kept.get("day_first"), kept.get("unit"), kept.get("tz"), columns or None)


def look(path: Path, kept: Mapping[str, Any], progress: Callable[[float], None] | None = None) -> dict[str, Any]:
    """Return what a file was understood to be; ``not_readings`` holds the sentence why it cannot be used."""
    try:
        seen = files.preview(path, _choices(kept), progress)
    except files.NotReadings as error:
        return {"not_readings": str(error)}
    found = seen.readings
    return {
        "encoding": seen.encoding,
        "delimiter": _DELIMITERS.get(seen.delimiter, seen.delimiter),
        "decimal_comma": seen.decimal_comma,
        "time_kind": _TIME_KINDS.get(seen.time_kind, seen.time_kind),
        "columns": [[each.head, each.role, each.unit or "", each.sensor] for each in seen.columns],
        "sample": [[row.line, list(row.cells)[:40]] for row in seen.sample],
        "sensors": [_sensor(series) for series in found.series],
        "questions": [_question(each) for each in found.questions],
        "blocked": found.blocked,
        **_noted(found),
        "day_first": found.day_first,
        "unit": found.unit,
        "doubles": found.doubles_merged,
        "rows": found.rows_used,
    }


def _sensor(series: files.Series) -> dict[str, Any]:
    import numpy as np

    steps = np.diff(series.times_s)
    return {
        "name": series.sensor,
        "rows": len(series),
        "first_s": int(series.times_s[0]),
        "last_s": int(series.times_s[-1]),
        "interval_s": float(np.median(steps)) if len(steps) else None,
        "t": [float(series.temperature_c.min()), float(series.temperature_c.max())],
        "h": [float(series.relative_humidity_pct.min()), float(series.relative_humidity_pct.max())],
    }


def _question(asked: files.Question) -> dict[str, Any]:
    return {
        "code": asked.code,
        "text": asked.text,
        "choice": asked.choice,
        "suggested": asked.suggested,
        "blocking": asked.blocking,
    }


def read_all(
    path: Path,
    kept: Mapping[str, Any],
    progress: Callable[[float], None] | None = None,
) -> tuple[dict[str, Stored], dict[str, Any]]:
    """Return the readings of every sensor of a file, by its name there, and what is to be noted of the file.

    Raises:
        NotReadings: the file is none, or a question is open; with a sentence.
    """
    found = files.read(path, _choices(kept), progress)
    if found.blocked:
        raise files.NotReadings(found.questions[0].text)
    series = {
        each.sensor: in_hundredths(each.times_s, each.temperature_c, each.relative_humidity_pct)
        for each in found.series
    }
    return series, _noted(found)


def _noted(found: files.Readings) -> dict[str, Any]:
    """Return the refused rows and what was noticed. A row refused for each of several sensors is one row."""
    refused = list(dict.fromkeys((row.line, row.why) for row in found.refused))
    unlisted = found.refused_count - len(found.refused)
    return {
        "refused_count": len({line for line, _ in refused}) + unlisted,
        "refused": [list(row) for row in refused[:MOST_LISTED]],
        "notes": list(found.notes),
    }


NotReadings = files.NotReadings
