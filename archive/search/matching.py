"""Full-text expressions, and what one reader may be answered from. Who may see what is asked of the records later."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import connection
from django.db.models import F, QuerySet
from django.db.models.expressions import RawSQL

from archive.access.models import Account
from archive.search.models import ALL, KEEPER, RECORD_MASK, RELATIVES, SUBJECTS, first_id, subject_of

Words = Sequence[Sequence[str]]
COUNTED = 1000  # more of one subject are not counted, but told as more
_OPEN = "title names body"
# Weights of title, names, body and the two narrower columns in ranking.
_WEIGHTS = "10.0, 5.0, 1.0, 5.0, 1.0"


def level_of(reader: Account | None) -> int:
    """Return the lowest level of entries that a reader may come upon."""
    role = getattr(reader, "role", None)
    return KEEPER if role == "keeper" else ALL if role is None else RELATIVES


def columns_of(reader: Account | None) -> str:
    """Return the columns that a reader may be answered from."""
    level = level_of(reader)
    return f"{_OPEN} relatives keeper" if level == KEEPER else f"{_OPEN} relatives" if level == RELATIVES else _OPEN


def expression(words: Words, columns: str, *, beginnings: bool, near: Mapping[str, Mapping[str, int]] | None = None,
               join: str = "AND") -> str:  # fmt: skip
    """Return the FTS5 expression for words: each quoted, so that no sign of them is an operator."""
    terms = [_term(pieces, beginnings, near or {}) for pieces in words if pieces]
    return f"{{{columns}}} : ({f' {join} '.join(terms)})"


def _term(pieces: Sequence[str], beginnings: bool, near: Mapping[str, Mapping[str, int]]) -> str:
    # A sign alone as a beginning would be half of all words.
    star = " *" if beginnings and len(pieces[-1]) > 1 else ""
    ways = [f'"{" ".join(pieces)}"{star}']
    if len(pieces) > 1:
        ways.append(f'"{"".join(pieces)}"{star}')
        near_pieces = [[piece, *near.get(piece, ())] for piece in pieces]
        if any(len(each) > 1 for each in near_pieces):
            ways.append(
                "(" + " AND ".join("(" + " OR ".join(f'"{w}"' for w in each) + ")" for each in near_pieces) + ")"
            )
    ways += [f'"{word}"' for word in near.get("".join(pieces), ())]
    return ways[0] if len(ways) == 1 else f"({' OR '.join(ways)})"


def id_range(subject: str, level: int) -> tuple[int, int]:
    """Return the ids of a subject's entries from a level up, first included, last excluded."""
    return first_id(subject, level), first_id(subject, 3)


def scan(match: str, level: int, at_most: int) -> dict[str, list[int]]:
    """Return the ids of entries that match, by subject, up to a number of each, the newest first."""
    found: dict[str, list[int]] = {}
    for (entry,) in _first("rowid", match, level, at_most):
        found.setdefault(SUBJECTS[(entry >> 42) - 1], []).append(entry & RECORD_MASK)
    return found


def _first(columns: str, match: str, level: int, at_most: int) -> list[tuple[Any, ...]]:
    """Return columns of entries that match, up to a number of each subject, the newest first; the id is the first.

    With beginnings of words most of the work is to begin a match. So the last entries of all are read first; where they
    are not all that match, the subjects that may have more are asked for it together.
    """
    from_all = f"SELECT {columns} FROM archive_searchtext WHERE archive_searchtext MATCH %s"  # noqa: S608 - our columns
    found: dict[str, list[tuple[Any, ...]]] = {subject: [] for subject in SUBJECTS}
    with connection.cursor() as cursor:
        cursor.execute(f"{from_all} ORDER BY rowid DESC LIMIT {2 * at_most}", [match])
        rows = cursor.fetchall()
        until = rows[-1][0] if len(rows) == 2 * at_most else 0  # what stands below it has not been read
        for row in rows:
            subject = subject_of(row[0])[0]
            if row[0] >= first_id(subject, level) and len(found[subject]) < at_most:
                found[subject].append(row)
        parts = []
        for subject in SUBJECTS:
            low, high = id_range(subject, level)
            if low < until and len(found[subject]) < at_most:
                limit = f"LIMIT {at_most - len(found[subject])}"
                bounds = f"rowid >= {low} AND rowid < {min(high, until)}"
                parts.append(f"SELECT * FROM ({from_all} AND {bounds} ORDER BY rowid DESC {limit})")  # noqa: S608
        if parts:
            cursor.execute(" UNION ALL ".join(parts), [match] * len(parts))
            for row in cursor.fetchall():
                found[subject_of(row[0])[0]].append(row)
    return [row for rows in found.values() for row in rows]


def titled(title: str, level: int, at_most: int) -> dict[tuple[str, int], int]:
    """Return the entries whose title is this one (0) or begins with it (1)."""
    if not title:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT subject, record_id, title = %s FROM archive_searchentry "
            "WHERE title >= %s AND title < %s AND ((id >> 40) & 3) >= %s ORDER BY title LIMIT %s",
            [title, title, title + "\U0010ffff", level, at_most],
        )
        return {(subject, record_id): 0 if exact else 1 for subject, record_id, exact in cursor.fetchall()}


def scores(match: str, ranges: Iterable[tuple[int, int]]) -> dict[int, float]:
    """Return the rank (bm25, smaller is better) of entries that match within ranges of ids."""
    parts = [
        f"SELECT rowid, bm25(archive_searchtext, {_WEIGHTS}) FROM archive_searchtext "  # noqa: S608 - our own figures
        f"WHERE archive_searchtext MATCH %s AND rowid >= {low} AND rowid < {high}"
        for low, high in ranges
    ]
    if not parts:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), [match] * len(parts))
        return dict(cursor.fetchall())


def texts(match: str, columns: str, level: int, at_most: int) -> list[tuple[int, str, str]]:
    """Return entries that match, up to a number of each subject: id, title, and what else the reader may know of."""
    other = " || ' ' || ".join(column for column in columns.split() if column != "title")
    rows: list[Any] = _first(f"rowid, title, {other}", match, level, at_most)
    return rows


def having(records: QuerySet[Any], match: str, subject: str, level: int, *, many: bool = False) -> QuerySet[Any]:
    """Return those of some records that match.

    Of few hits each is looked up; where there are ``many``, the records are gone through in the order of the list (the
    sum with nought keeps SQLite from looking each up), so that the first page is quick either way.
    """
    low, high = id_range(subject, level)
    among = RawSQL(  # noqa: S611 - our own words, and the expression as a value
        f"SELECT rowid & {RECORD_MASK} FROM archive_searchtext WHERE archive_searchtext MATCH %s "  # noqa: S608
        f"AND rowid >= {low} AND rowid < {high}",
        [match],
    )
    return records.alias(_walked=F("pk") + 0).filter(_walked__in=among) if many else records.filter(pk__in=among)


def counted(match: str, subjects: Iterable[str], level: int) -> dict[str, int]:
    """Return how many entries of each of some subjects match, up to one more than are counted."""
    parts, values = [], []
    for subject in subjects:
        low, high = id_range(subject, level)
        parts.append(
            f"SELECT '{subject}', count(*) FROM (SELECT rowid FROM archive_searchtext "  # noqa: S608 - our own words
            f"WHERE archive_searchtext MATCH %s AND rowid >= {low} AND rowid < {high} LIMIT {COUNTED + 1})"
        )
        values.append(match)
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        return dict(cursor.fetchall())


def these(ids: Iterable[int]) -> Any:
    """Return many ids as one value, for use in ``pk__in`` of a queryset."""
    return RawSQL("SELECT value FROM json_each(%s)", [json.dumps(list(ids))])
