"""Reading pasted rows and spreadsheet files into a table of text cells (pure; no Django).

Cells in quotes may hold separators, line breaks and doubled quotes (RFC 4180, with any of three separators). A quote
that does not close before a separator or the end of a line is an ordinary sign: what is copied from a spreadsheet
carries such cells as they are.
"""

from __future__ import annotations

import codecs
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache

SEPARATORS = {"\t": "tab", ";": "semicolon", ",": "comma"}
_LINES_LOOKED_AT = 50
_LATIN = "kistbook-latin"


class NotText(ValueError):
    """Bytes that no encoding we know makes text of; the message says what to do."""


def decode(data: bytes) -> tuple[str, str]:
    """Return the text of a file and the name of its encoding: UTF-8, UTF-16, or Windows Western (1252).

    Raises:
        NotText: it is a spreadsheet file itself, a picture, or something else that is no text.
    """
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise NotText("This is a spreadsheet file itself. Save it there as CSV, or copy its rows and paste them.")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _strictly(data, "utf-16"), "UTF-16"
    if data.startswith(codecs.BOM_UTF8):
        return _strictly(data, "utf-8-sig"), "UTF-8"
    if data and len(data) % 2 == 0:
        for offset, name in ((1, "utf-16-le"), (0, "utf-16-be")):
            half = data[offset::2][:2000]
            if half.count(0) > len(half) * 0.6:
                return _strictly(data, name), "UTF-16"
    try:
        text, name = data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        # Five bytes have no sign in this code page; they are kept as the control signs that they are elsewhere.
        text = data.decode("cp1252", errors=_LATIN)
        name = "Windows (1252)"
    if "\0" in text:
        raise NotText("This is no text. Save the table as CSV, or copy its rows and paste them.")
    return text, name


def _latin(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeDecodeError):
        raise error
    return error.object[error.start : error.end].decode("latin-1"), error.end


codecs.register_error(_LATIN, _latin)


def _strictly(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        raise NotText("The file is damaged: some of it is no text. Save it again as CSV in UTF-8.") from None


def separator_of(text: str) -> str:
    """Return what stands between cells: the one of three that cuts the most lines into the same number of cells.

    A tab wins where there is one in most lines, as text copied from a spreadsheet has; a comma loses to the others,
    since sentences have commas too.
    """
    best, best_mark = "\t", (0.0, 0)
    for rank, separator in enumerate(("\t", ";", ",")):
        widths = [len(row) for row in _first_rows(text, separator)]
        if not widths:
            continue
        width, often = Counter(widths).most_common(1)[0]
        if width < 2:
            several = sum(each > 1 for each in widths)
            share = several / len(widths) / 2
        else:
            share = often / len(widths)
        mark = (round(share, 1), -rank)
        if share and mark > best_mark:
            best, best_mark = separator, mark
    return best


def _first_rows(text: str, separator: str) -> list[list[str]]:
    rows = _rows(text, separator)
    return [row for row, _ in zip(rows, range(_LINES_LOOKED_AT), strict=False) if any(row)]


def read_table(text: str, separator: str | None = None) -> list[list[str]]:
    """Return the rows of a text; a line with nothing in it is a row with one empty cell."""
    return list(_rows(text, separator_of(text) if separator is None else separator))


@cache
def _cell(separator: str) -> re.Pattern[str]:
    between = re.escape(separator)
    return re.compile(rf'(?:"([^"]*(?:""[^"]*)*)"(?={between}|\r|\n|\Z)|([^{between}\r\n]*))({between}|\r\n|\r|\n|\Z)')


def _rows(text: str, separator: str) -> Iterable[list[str]]:
    if '"' not in text:
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        if lines and not lines[-1]:
            lines.pop()
        yield from (line.split(separator) for line in lines)
        return
    row: list[str] = []
    match = _cell(separator).match
    at, end = 0, len(text)
    while at < end or row:
        found = match(text, at)
        if found is None:  # the pattern fits everywhere; this is for the type checker
            break
        quoted, bare, stop = found.groups()
        row.append(quoted.replace('""', '"') if quoted is not None else bare)
        at = found.end()
        if stop != separator:
            yield row
            row = []


def write_table(rows: Iterable[Sequence[str]]) -> str:
    """Return rows as text that `read_table` reads back: cells between tabs, in quotes where needed."""
    lines = ("\t".join(_quoted(cell) for cell in row) for row in rows)
    return "".join(f"{line}\n" for line in lines)


def _quoted(cell: str) -> str:
    if any(sign in cell for sign in '\t\r\n"'):
        return '"' + cell.replace('"', '""') + '"'
    return cell


def letters(column: int) -> str:
    """Return the name that spreadsheets give a column, counted from 0: A, B … Z, AA."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(65 + rest) + name
    return name
