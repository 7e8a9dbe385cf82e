"""What the heads of columns mean, in several languages; the words are in ``data/logger_words.toml``."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from functools import cache, lru_cache
from typing import Any, cast

from conservation.science.readings.model import Column, Role, Unit
from conservation.science.sources import DATA

# Where a head could mean two things the earlier role wins: a dew point is a temperature too.
_ORDER: tuple[Role, ...] = (
    "other",
    "dew",
    "humidity",
    "temperature",
    "stamp",
    "date",
    "clock",
    "sensor",
    "index",
    "channel",
    "value",
)
_DEGREE = r"(?:°|º|˚|\ufffd|â°|deg(?:rees)?\.?)"
_FAHRENHEIT = re.compile(rf"{_DEGREE}\s*f\b|℉|\bfahrenheit\b|[\(\[_,\s/]f[\)\]\s,]*$|^f$", re.IGNORECASE)
_CELSIUS = re.compile(rf"{_DEGREE}\s*c\b|℃|\bcelsius\b|[\(\[_,\s/]c[\)\]\s,]*$|^c$", re.IGNORECASE)
_OFFSET = re.compile(r"\b(?:utc|gmt)\s*(?:([+\-−])\s*(\d{1,2})(?::?(\d{2}))?)?", re.IGNORECASE)
_STARTS_WITH_NUMBER = re.compile(r"\s*[+\-−]?\d")  # "19.4 °C" is a reading, though it names a unit
_MONTH_FIRST = re.compile(r"\bm{1,2}[-/. ](?:d{1,2}|t{1,2}|j{1,2})[-/. ]", re.IGNORECASE)
_DAY_FIRST = re.compile(r"\b(?:d{1,2}|t{1,2}|j{1,2}|g{1,2})[-/. ]m{1,2}[-/. ]", re.IGNORECASE)


def fold(text: str) -> str:
    """Return text in small letters without accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


@cache
def words() -> dict[str, Any]:
    """Return ``data/logger_words.toml``."""
    with (DATA / "logger_words.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def month_numbers() -> dict[str, int]:
    """Return the number of every month's name and short form, folded."""
    return {name: int(number) for number, names in words()["months"].items() for name in names}


@cache
def zone_hours() -> dict[str, float]:
    """Return hours east of Greenwich by a zone's letters."""
    return dict(words()["zones"])


@cache
def _roles() -> tuple[tuple[Role, frozenset[str], tuple[str, ...]], ...]:
    table = words()["roles"]
    return tuple((role, frozenset(table[role]["exact"]), tuple(table[role]["parts"])) for role in _ORDER)


def unit_of(text: str) -> Unit | None:
    """Return the temperature unit that a head or a cell names, if it does."""
    if _FAHRENHEIT.search(text):
        return "F"
    return "C" if _CELSIUS.search(text) else None


def utc_offset_s(text: str) -> int | None:
    """Return seconds east of Greenwich where a head says so: "Time (UTC+01:00)"."""
    found = _OFFSET.search(text)
    if not found:
        return None
    sign, hours, minutes = found.groups()
    seconds = int(hours or 0) * 3600 + int(minutes or 0) * 60
    return -seconds if sign in ("-", "−") else seconds


def day_first_of(text: str) -> bool | None:
    """Return the order of day and month where a head shows it: "Date (MM/DD/YYYY)"."""
    if _MONTH_FIRST.search(text):
        return False
    return True if _DAY_FIRST.search(text) else None


def _tokens(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]+|\d+|%|#", fold(text))


@lru_cache(maxsize=4096)
def column_of(head: str) -> Column:
    """Return what a column is by its head."""
    tokens = _tokens(head)
    unit = unit_of(head)
    role, used = _role(tokens)
    if role == "other" and not used:
        # A unit says enough: "Ch1 (°C)".
        if unit:
            role = "temperature"
        elif "%" in tokens or tokens[:1] == ["h"]:
            role = "humidity"
    if role in ("clock", "date") and _both(tokens):
        role = "stamp"
    filler = set(words()["filler"]["words"])
    rest = [word for word in tokens if word not in used and word not in filler and word not in "%#"]
    sensor = " ".join(rest) if role in ("temperature", "humidity", "dew") else ""
    return Column(head.strip(), role, unit if role in ("temperature", "dew") else None, sensor)


def _role(tokens: list[str]) -> tuple[Role, set[str]]:
    for role, exact, parts in _roles():
        used = {token for token in tokens if token in exact or any(part in token for part in parts)}
        if used:
            return role, used
    return "other", set()


def _both(tokens: list[str]) -> bool:
    by_role = {role: exact for role, exact, _ in _roles()}
    return any(token in by_role["date"] for token in tokens) and any(token in by_role["clock"] for token in tokens)


def is_head(cells: list[str]) -> bool:
    """Return whether a row is a row of heads: two roles or more, or words only and one of them a time."""
    roles = {column_of(cell).role for cell in cells if cell.strip() and not _STARTS_WITH_NUMBER.match(cell)}
    named = roles & {"stamp", "date", "clock", "temperature", "humidity", "dew", "channel", "value"}
    if len(named) >= 2:
        return True
    words_only = all(any(letter.isalpha() for letter in cell) for cell in cells if cell.strip())
    return bool(named & {"stamp", "date", "clock"}) and words_only and sum(1 for cell in cells if cell.strip()) >= 3


def quantity_of(channel: str) -> tuple[str, str] | None:
    """Return what a channel's name measures and its sensor: "RH 2" → ("humidity", "2"); None for anything else."""
    column = column_of(channel)
    if column.role in ("temperature", "humidity", "dew"):
        return cast(str, column.role), column.sensor
    return None
