"""From pasted rows to things that could be recorded: every row understood, every bad cell named. Nothing is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from archive.folding import fold
from archive.moving.cells import BadCell, Reader, Understood, understand
from archive.moving.columns import TO_NOTE, Column
from archive.people.queries import NewName
from archive.places.queries import NewPlace
from archive.sorting.models import GONE, NEEDS_A_REASON

ROWS_AT_MOST = 5_000
COLUMNS_AT_MOST = 80
NOTE_AT_MOST = 20_000
_DAYS_SHOWN = 4


@dataclass(frozen=True)
class Trouble:
    """A bad cell: its row as counted in what was pasted, its column, what stands in it, and what is wrong."""

    line: int
    column: int
    heading: str
    typed: str
    why: str


@dataclass
class RowRead:
    """One row understood: the thing's own values, what hangs on it, and its bad cells."""

    line: int
    cells: list[str]
    values: dict[str, Any] = field(default_factory=dict)
    people: list[tuple[Any, str]] = field(default_factory=list)
    places: list[tuple[Any, str]] = field(default_factory=list)
    inscriptions: list[str] = field(default_factory=list)
    group: Any = None
    words: dict[int, str] = field(default_factory=dict)  # column → how its cell was understood
    troubles: list[Trouble] = field(default_factory=list)

    def shown(self, headings: Sequence[str]) -> list[tuple[str, str, str, str]]:
        """Return each cell: its heading, what stands in it, the words for that, and what is wrong with it."""
        wrong = {trouble.column: trouble.why for trouble in self.troubles}
        cells = enumerate(zip(headings, self.cells, strict=True))
        return [(heading, cell, self.words.get(n, ""), wrong.get(n, "")) for n, (heading, cell) in cells]


@dataclass
class Preview:
    """All the rows understood."""

    columns: list[Column]
    rows: list[RowRead]
    asks: list[str]  # some dates of which the order of day and month is open

    @property
    def good(self) -> list[RowRead]:
        return [row for row in self.rows if not row.troubles]

    @property
    def troubles(self) -> list[Trouble]:
        return [trouble for row in self.rows for trouble in row.troubles]

    def new_people(self) -> list[str]:
        """Return the names of people who would be recorded."""
        givers = (row.values.get("came_from") for row in self.good)
        return _names([*(who for row in self.good for who, _ in row.people), *givers], NewName)

    def new_places(self) -> list[str]:
        """Return the names of places that would be recorded."""
        return _names((place for row in self.good for place, _ in row.places), NewPlace)

    def new_groups(self) -> list[str]:
        """Return the names of groups that would be made."""
        return list({fold(row.group): row.group for row in self.good if isinstance(row.group, str)}.values())


def _names(values: Iterable[Any], new: type[Any]) -> list[str]:
    return list({fold(value.name): value.name for value in values if isinstance(value, new)}.values())


def preview(rows: Sequence[Sequence[str]], headed: bool, columns: list[Column], reader: Reader) -> Preview:
    """Understand the rows of a table; empty rows are passed over."""
    read: list[RowRead] = []
    asks: dict[str, None] = {}
    for line, cells in enumerate(rows, 1):
        if (headed and line == 1) or not any(cell.strip() for cell in cells):
            continue
        row = RowRead(line, [*cells, *[""] * (len(columns) - len(cells))])
        for column in columns:
            cell = row.cells[column.index].replace("\r\n", "\n").replace("\r", "\n").strip()
            if column.field is None or not cell:
                continue
            try:
                found = understand(cell, column, reader)
            except BadCell as error:
                row.troubles.append(_trouble(row, column, str(error)))
                continue
            if found.words and found.words.casefold() != cell.casefold():
                row.words[column.index] = found.words
            if found.asks and len(asks) < _DAYS_SHOWN:
                asks[cell] = None
            _put(row, column, cell, found)
        _check(row, columns)
        read.append(row)
    return Preview(columns, read, list(asks))


def _put(row: RowRead, column: Column, cell: str, found: Understood) -> None:
    """Put what a cell means where it belongs."""
    into = column.field.into if column.field else ""
    reads = column.field.reads if column.field else ""
    if reads == "people":
        row.people += [each for each in found.value if each not in row.people]
    elif reads == "places":
        row.places += [each for each in found.value if each not in row.places]
    elif reads == "inscription":
        row.inscriptions.append(found.value)
    elif reads == "group":
        row.group = found.value
    elif reads == "note":
        told = found.value
        if column.field is not None and column.field.code == TO_NOTE:
            told = f"{column.name}: {told}"
        before = row.values.get("note", "")
        row.values["note"] = f"{before}\n{told}" if before else told
    elif reads == "states":
        row.values["states"] = list(dict.fromkeys([*row.values.get("states", []), *found.value]))
    elif reads == "size":
        for name, value in zip(("width_mm", "height_mm", "depth_mm"), found.value, strict=False):
            row.values.setdefault(name, value)
    elif reads in ("length", "weight"):
        row.values[into] = found.value[0]
    else:
        row.values[into] = found.value


def _check(row: RowRead, columns: Sequence[Column]) -> None:
    """Look at what only shows in the row as a whole."""
    by_code = {column.field.code: column for column in columns if column.field is not None}
    bad = {trouble.column for trouble in row.troubles}
    title = by_code.get("title")
    if title is not None and not row.values.get("title") and title.index not in bad:
        row.troubles.append(_trouble(row, title, "A title is missing. A few words are enough."))
    if len(row.values.get("note", "")) > NOTE_AT_MOST:
        note = by_code.get("note") or by_code.get(TO_NOTE)
        if note is not None:
            row.troubles.append(_trouble(row, note, f"Together the notes have more than {NOTE_AT_MOST:,} signs."))
    standing = row.values.get("standing")
    if standing in NEEDS_A_REASON:
        _check_leaving(row, by_code)
    if standing and standing != "kept":
        row.values["standing_on"] = timezone.localdate()


def _check_leaving(row: RowRead, by_code: Mapping[str, Column]) -> None:
    standing = row.values["standing"]
    wanted = {"standing_why": "a reason"}
    if standing in GONE:
        wanted |= {
            "gone_how": "how it went and to whom",
            "gone_agreed": "who agreed",
            "copy_kept": "whether a copy is kept",
        }
    missing = [words for name, words in wanted.items() if row.values.get(name) in (None, "")]
    if missing:
        why = f"What leaves needs {', '.join(missing)}, in columns of their own. Add them, or write “undecided”."
        row.troubles.append(_trouble(row, by_code["standing"], why))
    if standing in GONE and "box" in row.values:
        row.troubles.append(_trouble(row, by_code["box"], "What has left is in no box. Empty this cell."))


def _trouble(row: RowRead, column: Column, why: str) -> Trouble:
    return Trouble(row.line, column.index, column.name, row.cells[column.index], why)


# -- mending ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mend:
    """A place in the page to mend a bad cell, or all the bad cells of a column in which the same stands."""

    name: str
    heading: str
    typed: str
    why: str
    lines: tuple[int, ...]
    field: str  # the code of what the column holds

    @property
    def rows_in_words(self) -> str:
        """Return in which rows it stands, the first ten by number."""
        first = ", ".join(str(line) for line in self.lines[:10])
        more = f" and {len(self.lines) - 10} more" if len(self.lines) > 10 else ""
        return f"{'rows' if len(self.lines) > 1 else 'row'} {first}{more}"


def mends(found: Preview) -> list[Mend]:
    """Return what there is to mend, each wrong text of a column once; empty cells one by one."""
    by_text: dict[tuple[Any, ...], list[Trouble]] = {}
    for trouble in found.troubles:
        key = (trouble.column, trouble.typed, trouble.why, None if trouble.typed.strip() else trouble.line)
        by_text.setdefault(key, []).append(trouble)
    codes = {column.index: column.field.code if column.field else "" for column in found.columns}
    return [
        Mend(
            f"mend-{some[0].line}-{some[0].column}",
            some[0].heading,
            some[0].typed,
            some[0].why,
            tuple(each.line for each in some),
            codes[some[0].column],
        )
        for some in by_text.values()
    ]


def mended(rows: Sequence[Sequence[str]], typed: Mapping[str, str]) -> list[list[str]]:
    """Return the table with cells mended as typed (``mend-ROW-COLUMN`` → text), and their likes in the column."""
    table = [list(row) for row in rows]
    for name, text in typed.items():
        _, line, column = name.split("-")
        row, at = int(line) - 1, int(column)
        if not 0 <= row < len(table) or not 0 <= at < COLUMNS_AT_MOST:
            continue
        table[row] += [""] * (at + 1 - len(table[row]))
        before = table[row][at]
        if text == before:
            continue
        for each in table if before.strip() else [table[row]]:
            if len(each) > at and each[at] == before:
                each[at] = text
    return table
