"""What the columns of pasted rows hold: the fields there are, and recognising them by their headings (no Django)."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from archive.kinds.typed import plain
from archive.moving.sizes import unit_in
from archive.moving.table import letters

_ALIKE = 0.85  # our default: one wrong letter in a word of eight
# Columns that may stand there more than once; their cells are taken together.
_SEVERAL = {"note", "people", "places", "inscription", "states"}
TO_NOTE = "to-note"


@dataclass(frozen=True)
class FieldOfRow:
    """Something that a column can hold."""

    code: str
    label: str
    reads: str
    into: str
    words: tuple[str, ...]
    longest: int

    @property
    def may_repeat(self) -> bool:
        return self.reads in _SEVERAL


@dataclass(frozen=True)
class Column:
    """A column of the table: where it stands, its heading, and what it holds (nothing: it is left out)."""

    index: int
    heading: str
    field: FieldOfRow | None
    unit: str | None = None

    @property
    def name(self) -> str:
        """Return its heading, or the letter that spreadsheets give it."""
        return self.heading or f"Column {letters(self.index)}"


@cache
def fields() -> dict[str, FieldOfRow]:
    """Return the fields by their codes, in the order of the list."""
    with (Path(__file__).parent / "columns.toml").open("rb") as file:
        table = tomllib.load(file)
    found = {
        code: FieldOfRow(code, row["label"], row["reads"], row["into"], tuple(row["words"]), row.get("longest", 20_000))
        for code, row in table.items()
    }
    found[TO_NOTE] = FieldOfRow(TO_NOTE, "Add to the note, with the heading", "note", "note", (), 20_000)
    return found


@cache
def _by_word() -> dict[str, str]:
    return {
        word: field.code
        for field in fields().values()
        for word in (plain(field.label), plain(field.code), *field.words)
    }


def recognise(heading: str) -> FieldOfRow | None:
    """Return the field that a heading names; a unit in brackets and one wrong letter make no difference."""
    wanted = plain(re.sub(r"\(.*?\)|\[.*?\]", " ", heading))
    if not wanted:
        return None
    by_word = _by_word()
    for form in (wanted, wanted.removesuffix("s")):
        if form in by_word:
            return fields()[by_word[form]]
    near = difflib.get_close_matches(wanted, by_word, n=1, cutoff=_ALIKE) if len(wanted) > 4 else []
    return fields()[by_word[near[0]]] if near else None


def has_headings(rows: Sequence[Sequence[str]]) -> bool:
    """Say whether the first row names the columns: one of its cells means the title, or half of them are known."""
    first = [cell for cell in (rows[0] if rows else ()) if cell.strip()]
    known = [found for cell in first if len(cell) <= 60 and (found := recognise(cell))]
    if not known:
        return False
    return any(each.code == "title" for each in known) or len(known) * 2 >= len(first)


def columns_of(rows: Sequence[Sequence[str]], headed: bool, chosen: Sequence[str] | None = None) -> list[Column]:
    """Return the columns of a table, as chosen (a code for each, or nothing) or as recognised.

    A heading that means nothing to us goes into the note, so that nothing is lost; a second column of a field that
    can be there once only does too.
    """
    width = max((len(row) for row in rows), default=0)
    headings = [*(rows[0] if headed and rows else ())] + [""] * width
    found: list[Column] = []
    taken: set[str] = set()
    for index in range(width):
        heading = " ".join(headings[index].split())[:200]
        if chosen is not None:
            field = fields().get(chosen[index]) if index < len(chosen) else None
        elif headed:
            field = _recognised(heading, taken)
        else:
            field = fields()["title"] if index == 0 else None
        if field is not None:
            taken.add(field.code)
        found.append(Column(index, heading, field, unit_in(heading)))
    return found


def _recognised(heading: str, taken: set[str]) -> FieldOfRow | None:
    field = recognise(heading)
    if field is not None and (field.may_repeat or field.code not in taken):
        return field
    return fields()[TO_NOTE] if heading else None


def told_twice(columns: Sequence[Column]) -> list[str]:
    """Return the labels of fields that several columns hold though they can be there once only."""
    seen: dict[str, int] = {}
    for column in columns:
        if column.field is not None and not column.field.may_repeat:
            seen[column.field.code] = seen.get(column.field.code, 0) + 1
    return [fields()[code].label for code, times in seen.items() if times > 1]
