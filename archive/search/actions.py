"""Keeping the index: entries follow their records inside the same transaction, and all can be made anew."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

from django.db import connection, transaction

from archive.access.changes import current_change_set
from archive.search import vocabulary
from archive.search.documents import MODELS, Document, dependents, documents
from archive.search.models import RECIPE, SUBJECTS, SearchEntry, SearchIndex
from archive.search.sources import touched_in

_BATCH = 300
_NOTED = "_search_noted"
# The same words stand in the migration that first made the table.
_TABLE = (
    "CREATE VIRTUAL TABLE archive_searchtext USING fts5("
    "title, names, body, relatives, keeper, tokenize='unicode61', prefix='2 3 4')"
)
_COLUMNS = "title, names, body, relatives, keeper"


def note_changed(subject: str, ids: Iterable[int]) -> None:
    """Have the entries of records made anew at the end of the open change set; without one, at once.

    History rows tell by themselves what a change set touched; this is for what has none.
    """
    change_set = current_change_set()
    pairs = {(subject, record_id) for record_id in ids}
    if change_set is None:
        refresh(pairs)
        return
    noted: set[tuple[str, int]] = change_set.__dict__.setdefault(_NOTED, set())
    noted.update(pairs)


def follow_change_set() -> None:
    """Bring the index up to the open change set; runs inside its transaction, just before it is committed."""
    change_set = current_change_set()
    if change_set is None:
        return
    noted: set[tuple[str, int]] = change_set.__dict__.get(_NOTED, set())
    refresh(touched_in(change_set.pk) | noted)
    if change_set.verb == "access.destroy":
        forget_removed_words()
    # Now, and once more when others can see it: what is kept between pages must not outlive either.
    vocabulary.note_change()
    transaction.on_commit(vocabulary.note_change)


def refresh(pairs: Iterable[tuple[str, int]]) -> None:
    """Make the entries of records anew, with those of records that carry a name which changed."""
    wanted: dict[str, set[int]] = defaultdict(set)
    for subject, record_id in pairs:
        wanted[subject].add(record_id)
    done: dict[str, set[int]] = defaultdict(set)
    with transaction.atomic():
        while wanted:
            renamed: dict[str, set[int]] = {"people": set(), "places": set()}
            for subject in sorted(wanted):
                ids = sorted(wanted[subject] - done[subject])
                done[subject].update(ids)
                for start in range(0, len(ids), _BATCH):
                    changed = _write(subject, ids[start : start + _BATCH])
                    if subject in renamed:
                        renamed[subject] |= changed
            wanted = dependents(renamed["people"], renamed["places"])
            wanted = {subject: ids - done[subject] for subject, ids in wanted.items() if ids - done[subject]}


def _write(subject: str, ids: Sequence[int]) -> set[int]:
    """Write the entries of some records; return those whose name, or who may know it, is another than before."""
    made = {document.record_id: document for document in documents(subject, ids)}
    entries = {entry.record_id: entry for entry in SearchEntry.objects.filter(subject=subject, record_id__in=list(ids))}
    texts = _stored([entry.pk for entry in entries.values()])
    out: list[int] = []
    fresh: list[Document] = []
    renamed: set[int] = set()
    for record_id in ids:
        document, entry = made.get(record_id), entries.get(record_id)
        if document is not None and entry is not None:
            before = texts.get(entry.pk)
            named = (document.title, document.names, document.name_level)
            if before is None or named != (before[0], before[1], entry.name_level):
                renamed.add(record_id)
            if before == document.texts and entry.pk == document.id and entry.name_level == document.name_level:
                continue
        if entry is not None:
            out.append(entry.pk)
        if document is not None:
            out.append(document.id)
            fresh.append(document)
    _take_out(out)
    _put_in(fresh)
    return renamed


def _stored(ids: Sequence[int]) -> dict[int, tuple[str, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT rowid, {_COLUMNS} FROM archive_searchtext "  # noqa: S608 - names of our columns
            "WHERE rowid IN (SELECT value FROM json_each(%s))",
            [json.dumps(list(ids))],
        )
        return {row[0]: tuple(row[1:]) for row in cursor.fetchall()}


def _take_out(ids: Sequence[int]) -> None:
    if not ids:
        return
    with connection.cursor() as cursor:
        for table, key in (("archive_searchtext", "rowid"), ("archive_searchentry", "id")):
            cursor.execute(
                f"DELETE FROM {table} WHERE {key} IN (SELECT value FROM json_each(%s))",  # noqa: S608
                [json.dumps(list(ids))],
            )


def _put_in(made: Sequence[Document]) -> None:
    if not made:
        return
    SearchEntry.objects.bulk_create(
        SearchEntry(
            id=each.id, subject=each.subject, record_id=each.record_id, title=each.title, name_level=each.name_level
        )
        for each in made
    )
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO archive_searchtext (rowid, {_COLUMNS}) VALUES (%s, %s, %s, %s, %s, %s)",  # noqa: S608
            [(each.id, *each.texts) for each in made],
        )
    vocabulary.add(text for each in made for text in each.texts)


def forget_removed_words() -> None:
    """Merge the full-text tables into one part, so that words of entries which are gone stand nowhere in them.

    FTS5 can also do this word by word (its option ``secure-delete``), but then SQLite before 3.42 can no longer read
    the table, and an archive may be carried to a computer that has an older one.
    """
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO archive_searchtext (archive_searchtext) VALUES ('optimize')")
    vocabulary.forget()


def is_complete() -> bool:
    """Say whether the index was made by today's recipe and to its end."""
    return SearchIndex.objects.filter(pk=1, recipe=RECIPE, complete=True).exists()


def rebuild() -> None:
    """Empty the index and make it anew from the records."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DROP TABLE IF EXISTS archive_searchtext")
        cursor.execute(_TABLE)
        SearchEntry.objects.all().delete()
        SearchIndex.objects.update_or_create(pk=1, defaults={"recipe": RECIPE, "complete": False})
    vocabulary.forget()
    complete()


def complete(go_on: Callable[[], bool] = lambda: True) -> bool:
    """Enter every record that is missing and take out entries without a record, in short transactions.

    Return False when it was interrupted; what is done stays done. An index of another recipe is made anew first.
    """
    state = SearchIndex.objects.filter(pk=1).first()
    if state is None or state.recipe != RECIPE:
        rebuild()
        return True
    for subject in SUBJECTS:
        entered = set(SearchEntry.objects.filter(subject=subject).values_list("record_id", flat=True))
        there = set(MODELS[subject]._default_manager.values_list("pk", flat=True))
        ids = sorted(entered ^ there)
        for start in range(0, len(ids), _BATCH):
            if not go_on():
                return False
            with transaction.atomic():
                _write(subject, ids[start : start + _BATCH])
    SearchIndex.objects.filter(pk=1).update(complete=True)
    vocabulary.forget()
    vocabulary.note_change()
    return True
