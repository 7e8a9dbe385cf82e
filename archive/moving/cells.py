"""Understanding one cell of a pasted row: a reader returns its value and how it was understood, or what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from archive.access.records import ReadAccess
from archive.dates import DateReading, read_date
from archive.entry.queries import Finder, NotNamed
from archive.kinds import kind, state
from archive.kinds.typed import CodeReading, read_kind, read_state, read_word
from archive.moving.columns import Column
from archive.moving.sizes import NoMeasure, read_length, read_size, read_weight
from archive.people.queries import NewName
from archive.places.queries import NewPlace
from archive.things.models import Coming, Standing

LONGEST_SIDE_MM = 20_000
HEAVIEST_G = 2_000_000
_MIDNIGHT = re.compile(r"^(\d{4}-\d{1,2}-\d{1,2})[T ]00:00(:00(\.0+)?)?$")
_LISTED = re.compile(r"\s*[;\n]\s*")


class BadCell(ValueError):
    """A cell that cannot be understood; the message says what is wrong and how it can be mended."""


@dataclass
class Reader:
    """What understanding cells needs: who reads, the keeper's units, and the order of day and month."""

    finder: Finder
    inch: bool
    day_first: bool | None
    southern: bool

    def date(self, text: str) -> DateReading:
        """Return how a date is understood; the same text is read once."""
        return _read_date(text, self.day_first, self.southern)


@dataclass(frozen=True)
class Understood:
    """A cell's value, the words for it where they differ from what was typed, and whether its day order is open."""

    value: Any
    words: str = ""
    asks: bool = False


@lru_cache(maxsize=20_000)
def _read_date(text: str, day_first: bool | None, southern: bool) -> DateReading:
    return read_date(text, day_first=day_first, southern_seasons=southern)


def understand(cell: str, column: Column, reader: Reader) -> Understood:
    """Understand a cell that is not empty.

    Raises:
        BadCell: what is wrong with it, and how it can be mended.
    """
    if column.field is None:
        return Understood(None)
    return _READERS[column.field.reads](cell, column, reader)


def _text(cell: str, column: Column, reader: Reader) -> Understood:
    longest = column.field.longest if column.field else 0
    value = " ".join(cell.split())
    if len(value) > longest:
        raise BadCell(f"It has {len(value)} signs; up to {longest} are kept. Shorten it.")
    return Understood(value)


def _long_text(cell: str, column: Column, reader: Reader) -> Understood:
    longest = column.field.longest if column.field else 0
    if len(cell) > longest:
        raise BadCell(f"It has {len(cell):,} signs; up to {longest:,} are kept. Shorten it.")
    return Understood(cell)


def _kind(cell: str, column: Column, reader: Reader) -> Understood:
    code = _coded(read_kind(cell), "kind")
    return Understood(code, kind(code).name)


def _states(cell: str, column: Column, reader: Reader) -> Understood:
    codes = [_coded(read_state(part), "condition") for part in re.split(r"\s*[;,\n]\s*", _whole(cell)) if part]
    codes = [code for code in dict.fromkeys(codes) if code != "sound"]
    return Understood(codes, ", ".join(state(code).name for code in codes) or "sound")


def _whole(cell: str) -> str:
    """A state's own name may hold a comma (“Mould, dry”): such a cell is one word of the list."""
    read = read_state(cell)
    return read.code if read.code is not None else cell


def _coded(read: CodeReading, word: str) -> str:
    if read.code is None:
        near = f"Near it: {', '.join(read.near)}." if read.near else "Pick one from the list, or empty the cell."
        raise BadCell(f"This {word} is not in the list. {near}")
    return read.code


def _choice(choices: list[tuple[Any, Any]]) -> Callable[[str, Column, Reader], Understood]:
    def read(cell: str, column: Column, reader: Reader) -> Understood:
        found = read_word(cell, [(str(code), str(label)) for code, label in choices])
        if found.code is None:
            raise BadCell(f"Not one of: {', '.join(str(label) for _, label in choices)}.")
        return Understood(found.code, str(dict(choices)[found.code]))

    return read


def _yes(cell: str, column: Column, reader: Reader) -> Understood:
    value = {
        "yes": True,
        "y": True,
        "true": True,
        "1": True,
        "x": True,
        "no": False,
        "n": False,
        "false": False,
        "0": False,
    }
    found = value.get(cell.strip().casefold())
    if found is None:
        raise BadCell("Type yes or no.")
    return Understood(found, "yes" if found else "no")


def _significance(cell: str, column: Column, reader: Reader) -> Understood:
    if cell.strip() not in ("1", "2", "3", "4", "5"):
        raise BadCell("Type a number from 1 to 5.")
    return Understood(int(cell))


def _count(cell: str, column: Column, reader: Reader) -> Understood:
    text = cell.strip()
    if not (text.isascii() and text.isdecimal()) or not 1 <= int(text[:9]) <= 100_000 or len(text) > 6:
        raise BadCell("Type a whole number from 1 to 100,000.")
    return Understood(int(text))


def _length(cell: str, column: Column, reader: Reader) -> Understood:
    return _measured(lambda: [read_length(cell, _unit(column, reader))], LONGEST_SIDE_MM)


def _size(cell: str, column: Column, reader: Reader) -> Understood:
    return _measured(lambda: read_size(cell, _unit(column, reader)), LONGEST_SIDE_MM)


def _unit(column: Column, reader: Reader) -> str:
    return column.unit or ("in" if reader.inch else "mm")


def _weight(cell: str, column: Column, reader: Reader) -> Understood:
    unit = column.unit or ("oz" if reader.inch else "g")
    return _measured(lambda: [read_weight(cell, unit)], HEAVIEST_G, "g")


def _measured(read: Callable[[], list[float]], most: int, unit: str = "mm") -> Understood:
    try:
        values = read()
    except NoMeasure as error:
        raise BadCell(str(error)) from None
    if not all(0.1 <= value <= most for value in values):
        raise BadCell(f"That is {max(values):,.0f} {unit}; from 0.1 to {most:,} {unit} is kept. Look at the unit.")
    return Understood(values, f"{' × '.join(f'{value:.4g}' for value in values)} {unit}")


def _date(cell: str, column: Column, reader: Reader) -> Understood:
    """A date that cannot be read is no fault: it stays as typed, and its page asks."""
    text = _text(cell, column, reader).value
    if (midnight := _MIDNIGHT.match(text)) is not None:  # as spreadsheets write a day
        text = midnight[1]
    read = reader.date(text)
    if read.edtf is None:
        return Understood(text, "kept as typed; no date can be read in it")
    if reader.day_first is not None:
        # Once the order is answered for these rows, the day is written out, so that nobody is asked again.
        open_order = _read_date(text, None, reader.southern).edtf != read.edtf
        return Understood(read.words if open_order else text, read.words)
    order_matters = _read_date(text, True, reader.southern).edtf != read.edtf
    return Understood(text, read.asked or read.words, asks=order_matters)


def _box(cell: str, column: Column, reader: Reader) -> Understood:
    return _named(lambda: reader.finder.box(cell))


def _lot(cell: str, column: Column, reader: Reader) -> Understood:
    return _named(lambda: reader.finder.lot(cell))


def _named(find: Callable[[], Any]) -> Understood:
    try:
        found = find()
    except NotNamed as error:
        raise BadCell(str(error)) from None
    return Understood(found, str(found))


def _group(cell: str, column: Column, reader: Reader) -> Understood:
    name = _short(cell)
    try:
        found = reader.finder.group(name)
    except NotNamed as error:
        raise BadCell(str(error)) from None
    return Understood(found or name, str(found or name))


def _people(cell: str, column: Column, reader: Reader) -> Understood:
    values = [_person(part, reader) for part in _LISTED.split(cell.strip()) if part]
    role = column.field.into if column.field else ""
    return Understood([(value, role) for value in values])


def _giver(cell: str, column: Column, reader: Reader) -> Understood:
    return Understood(_person(cell, reader))


def _person(typed: str, reader: Reader) -> Any:
    name = _short(typed)
    found = reader.finder.people(name)
    if len(found) > 1:
        labels = "; ".join(sorted({person.label for person in found}))
        raise BadCell(f"More than one person is called “{name}”: {labels}. Type the one you mean in full.")
    return found[0] if found else NewName(name)


def _places(cell: str, column: Column, reader: Reader) -> Understood:
    role = column.field.into if column.field else ""
    return Understood([(_place(part, reader), role) for part in _LISTED.split(cell.strip()) if part])


def _place(typed: str, reader: Reader) -> Any:
    name = _short(typed)
    found = reader.finder.places(name)
    if len(found) > 1:
        labels = "; ".join(sorted({place.label for place in found}))
        raise BadCell(f"More than one place is called “{name}”: {labels}. Type the one you mean in full.")
    return found[0] if found else NewPlace(name)


def _short(typed: str) -> str:
    name = " ".join(typed.split())
    if len(name) > 300:
        raise BadCell(f"A name has at most 300 signs; this has {len(name)}. Is it the right column?")
    return name


_READERS: dict[str, Callable[[str, Column, Reader], Understood]] = {
    "text": _text,
    "note": _long_text,
    "inscription": _long_text,
    "kind": _kind,
    "states": _states,
    "date": _date,
    "length": _length,
    "size": _size,
    "weight": _weight,
    "count": _count,
    "significance": _significance,
    "yes": _yes,
    "box": _box,
    "lot": _lot,
    "group": _group,
    "people": _people,
    "places": _places,
    "giver": _giver,
    "access": _choice(list(ReadAccess.choices)),
    "standing": _choice(list(Standing.choices)),
    "came": _choice(list(Coming.choices)),
}
