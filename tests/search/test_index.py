"""The index follows its records inside the same transaction, and is never ahead of them."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection, transaction

pytestmark = pytest.mark.django_db


def found(typed: str, reader: Any, subject: str = "things") -> list[int]:
    from archive.preferences.queries import preferences
    from archive.search.asking import ask
    from archive.search.queries import find

    ranked = find(ask(typed, preferences()), reader).by_subject.get(subject)
    return ranked.ids if ranked else []


def rows() -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rowid, title, names, body, relatives, keeper FROM archive_searchtext ORDER BY rowid")
        return cursor.fetchall()


def person(keeper: Any, name: str, **values: Any) -> Any:
    from archive.access.changes import changing
    from archive.people.models import Person

    with changing(keeper, "people.add"):
        made = Person(name=name, **values)
        made.save()
    return made


def link(keeper: Any, thing: Any, who: Any) -> Any:
    from archive.access.changes import changing
    from archive.things.models import ThingPerson

    with changing(keeper, "things.link"):
        row = ThingPerson(thing=thing, person=who)
        row.save()
    return row


def test_entries_follow_names_links_undo_and_destroying(keeper: Any, make_thing: Any) -> None:
    from archive.access.actions import destroy, withdraw
    from archive.access.changes import changing
    from archive.access.models import ChangeSet
    from archive.access.subjects import subject
    from archive.access.undo import undo
    from archive.people.models import PersonName

    thing, who = make_thing("Letter from the ferry house"), person(keeper, "Łukasz Ørnfjeld")
    assert found("ferry letter", keeper) == [thing.pk] and found("lukasz", keeper) == []
    link(keeper, thing, who)
    assert found("lukasz ornfjeld letter", keeper) == [thing.pk]
    with changing(keeper, "people.name"):
        PersonName(person=who, name="Uncle Quill").save()
    assert found("quill", keeper) == [thing.pk] and found("quill", keeper, "people") == [who.pk]
    with changing(keeper, "people.edit"):
        who.name = "Lukas Bergtal"
        who.save()
    assert found("bergtal", keeper) == [thing.pk] and found("ornfjeld", keeper) == []
    undo(ChangeSet.objects.filter(verb="people.edit").get(), keeper)
    assert found("ornfjeld", keeper) == [thing.pk]
    undo(ChangeSet.objects.filter(verb="things.link").get(), keeper)
    assert found("ornfjeld", keeper) == [] and found("ornfjeld", keeper, "people") == [who.pk]
    withdraw(keeper, thing, "a double")
    assert found("ferry", keeper) == [thing.pk]
    destroy(keeper, subject("things"), thing, "burnt")
    assert found("ferry", keeper) == [] and not any("ferry" in str(row) for row in rows())


def test_a_change_that_is_rolled_back_leaves_nothing(keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing

    thing = make_thing("Lantern")
    before = rows()
    with pytest.raises(RuntimeError), changing(keeper, "things.edit"):
        thing.title = "Zeppelin"
        thing.save()
        raise RuntimeError
    assert rows() == before
    make_thing("Another")  # a later change set takes up nothing of it
    assert found("zeppelin", keeper) == [] and found("lantern", keeper) == [thing.pk]
    with pytest.raises(RuntimeError), transaction.atomic():
        make_thing("Balloon")
        raise RuntimeError
    assert found("balloon", keeper) == []


def test_many_rows_at_once_are_followed_by_their_history(keeper: Any, make_thing: Any) -> None:
    from simple_history.utils import bulk_update_with_history

    from archive.access.changes import changing, current_change_set
    from archive.things.models import Thing

    things = [make_thing(f"Leaf {n}") for n in range(4)]
    with changing(keeper, "things.batch"):
        for thing in things:
            thing.note = "from the heron album"
        bulk_update_with_history(things, Thing, ["note"], custom_historical_attrs={"change_set": current_change_set()})
    assert sorted(found("heron", keeper)) == [thing.pk for thing in things]


def test_made_anew_it_is_the_same_and_what_is_missing_is_entered(keeper: Any, make_thing: Any) -> None:
    from archive.search import actions
    from archive.search.models import SearchEntry, SearchIndex

    thing, who = make_thing("O'Hara’s hat", note="straw"), person(keeper, "Anna-Maria Straße", died_text="1931")
    link(keeper, thing, who)
    schema = "SELECT sql FROM sqlite_master WHERE name = 'archive_searchtext'"
    with connection.cursor() as cursor:
        cursor.execute(schema)
        first = cursor.fetchone()
    before, entries = rows(), list(SearchEntry.objects.order_by("pk").values())
    actions.rebuild()
    assert (rows(), list(SearchEntry.objects.order_by("pk").values())) == (before, entries) and actions.is_complete()
    with connection.cursor() as cursor:
        cursor.execute(schema)
        assert cursor.fetchone() == first
        cursor.execute("DELETE FROM archive_searchtext WHERE rowid = %s", [before[0][0]])
    SearchEntry.objects.filter(pk=before[0][0]).delete()
    SearchIndex.objects.update(complete=False)
    assert actions.complete() and rows() == before
    assert found("ohara", keeper) == found("o'hara", keeper) == found("annamaria strasse", keeper) == [thing.pk]


def test_destroyed_words_stand_in_no_copy_of_the_file(keeper: Any, make_thing: Any, tmp_path: Any) -> None:
    """The words are looked for as bytes in a fresh copy of the database, as a snapshot is one."""
    from archive.access.actions import destroy, withdraw
    from archive.access.subjects import subject

    secret = make_thing("Quixotry", note="zyzzyva pulchritudinous")
    for n in range(30):
        make_thing(f"Ordinary {n}")
    with connection.cursor() as cursor:
        cursor.execute("SELECT group_concat(hex(block), '') FROM archive_searchtext_data")
        assert b"zyzzyva".hex() in cursor.fetchone()[0].lower()
        withdraw(keeper, secret, "why")
        destroy(keeper, subject("things"), secret, "asked for")
        for table, column in (("data", "block"), ("content", "c2")):
            cursor.execute(f"SELECT group_concat(hex({column}), '') FROM archive_searchtext_{table}")  # noqa: S608
            held = bytes.fromhex(cursor.fetchone()[0])
            assert b"zyzzyva" not in held and b"pulchritudinous" not in held and b"quixotry" not in held


@pytest.mark.django_db(transaction=True)
def test_an_index_is_whole_after_every_commit(keeper: Any, make_thing: Any, as_keeper: Any) -> None:
    from archive.search.models import SearchEntry

    make_thing("Committed lamp")
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO archive_searchtext (archive_searchtext) VALUES ('integrity-check')")
    assert SearchEntry.objects.filter(subject="things").count() == 1


_AFTER_UPGRADE = """
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "archive.settings"
import django
django.setup()
from archive.keeping import opening, upkeep
opening.prepare_folder()
opening.open_archive(print)
from archive.access.models import Account
from archive.preferences.queries import preferences
from archive.search import actions, queries
from archive.search.asking import ask
keeper = Account(role="keeper")
find = lambda: queries.find(ask("beginning letter", preferences()), keeper).by_subject
assert not actions.is_complete() and queries.is_being_made() and not find()
from archive.search.models import RECIPE
assert f"search index {RECIPE}" in upkeep.run_due(at_once=True)
assert actions.is_complete() and not queries.is_being_made() and len(find()["things"].ids) == 1
print("found")
"""


def test_an_archive_from_before_the_index_gets_one_by_upkeep(tmp_path: Any) -> None:
    """The stored archive was written before there was an index."""
    import os
    import shutil
    import subprocess
    import sys
    from pathlib import Path

    root = Path(__file__).resolve().parents[2]
    shutil.copy(root / "tests" / "keeping" / "first-archive.sqlite3", tmp_path / "kistbook.sqlite3")
    run = subprocess.run(
        [sys.executable, "-c", _AFTER_UPGRADE], cwd=root, capture_output=True, text=True, timeout=240,
        env={**os.environ, "KISTBOOK_HOME": str(tmp_path)},
    )  # fmt: skip
    assert run.stdout.strip().endswith("found"), run.stdout + run.stderr[-3000:]
