"""Files of loggers and hand-made tables: what they hold, what is refused and why, what must be asked.

`preview` shows what a file was understood to be, `read` hands over its readings. Neither keeps anything.
"""

from __future__ import annotations

from conservation.science.readings.model import (
    Choices,
    Column,
    NotReadings,
    Preview,
    Question,
    Readings,
    Refused,
    SampleRow,
    Series,
    Stopped,
)
from conservation.science.readings.reader import preview, read
from conservation.science.readings.typed import from_rows

__all__ = [
    "Choices",
    "Column",
    "NotReadings",
    "Preview",
    "Question",
    "Readings",
    "Refused",
    "SampleRow",
    "Series",
    "Stopped",
    "from_rows",
    "preview",
    "read",
]
