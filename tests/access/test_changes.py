"""Forms that act once, two editors, histories, undo, withdrawing and destroying."""

from __future__ import annotations

import re
import threading
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.access.merging import merge
from archive.access.models import ChangeSet, Tombstone
from archive.access.undo import CannotUndo, undo
from archive.things.models import Thing
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def _form(sheet: str, **more: Any) -> dict[str, Any]:
    return {"title": "A box of buttons", "kind_code": "unknown", "count": "1", "form_id": sheet, **more}


@pytest.fixture
def sheet(as_keeper: Any) -> str:
    """The id of a form that the server handed out."""
    page = as_keeper.get(reverse("things:add")).content.decode()
    return page.split('name="form_id" value="')[1].split('"')[0]


def test_a_form_sent_twice_acts_once(as_keeper: Any, sheet: str) -> None:
    first = as_keeper.post(reverse("things:add"), _form(sheet))
    second = as_keeper.post(reverse("things:add"), _form(sheet))
    assert Thing.objects.count() == 1
    assert first["Location"] == second["Location"] == Thing.objects.get().get_absolute_url()
    as_keeper.post(reverse("things:add"), _form(sheet, title="Another box"))
    assert Thing.objects.count() == 2  # the same sheet with other words is another act


def test_another_file_of_one_name_and_size_is_another_act(as_keeper: Any, make_thing: Any, home: Any) -> None:
    """Scans without compression have one size, and a scanner gives them one name; the sheet may be gone back to."""
    import io

    from django.core.files.uploadedfile import SimpleUploadedFile
    from PIL import Image

    thing = make_thing()
    address = reverse("pictures:add", args=[thing.public_id])
    sheet = as_keeper.get(address).content.decode().split('name="form_id" value="')[1].split('"')[0]

    def scan(grey: int) -> SimpleUploadedFile:
        file = io.BytesIO()
        Image.new("L", (300, 200), grey).save(file, format="TIFF")
        return SimpleUploadedFile("scan.tif", file.getvalue())

    for grey, there in ((40, 1), (40, 1), (200, 2)):
        assert as_keeper.post(address, {"form_id": sheet, "pictures": scan(grey)}).status_code == 302
        assert thing.pictures.count() == there


@pytest.mark.django_db(transaction=True)
def test_a_form_sent_ten_times_at_once_acts_once(keeper: Any, sheet: str) -> None:
    from django.db import connection

    answers: list[int] = []

    def send() -> None:
        client = Client(raise_request_exception=False)
        client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
        answers.append(client.post(reverse("things:add"), _form(sheet)).status_code)
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [302] * 10
    assert Thing.objects.count() == 1


def test_an_error_keeps_what_was_typed_and_sent(as_keeper: Any, sheet: str, home: Any) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    from tests.conftest import jpeg

    files = [SimpleUploadedFile("good.jpg", jpeg()), SimpleUploadedFile("bad.jpg", b"")]
    answer = as_keeper.post(reverse("things:add"), _form(sheet, title="", note="Typed with care", pictures=files))
    page = answer.content.decode()
    assert answer.status_code == 422 and "Typed with care" in page and "bad.jpg" in page and "0 bytes" in page
    held = page.split('name="held" value="')[1].split('"')[0]
    as_keeper.post(reverse("things:add"), _form(sheet, held=held))
    assert Thing.objects.get().pictures.count() == 1


@settings(max_examples=200, deadline=None)
@given(*(st.dictionaries(st.sampled_from("abc"), st.integers(0, 2), min_size=3) for _ in range(3)))
def test_merging_never_drops_a_change(base: Any, theirs: Any, mine: Any) -> None:
    result = merge(base, theirs, mine, {})
    for name, wanted in mine.items():
        if name in result.values:
            if wanted != base[name]:
                assert result.values[name] == wanted
            else:
                assert result.values[name] == theirs[name]
        else:
            assert wanted not in (base[name], theirs[name]) and theirs[name] != base[name]


def test_two_editors(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Spoons", note="first")
    address = reverse("things:edit", args=[thing.public_id])
    same = {"kind_code": "letter", "count": "1", "opened_version": "1"}
    as_keeper.post(address, {**same, "title": "Six spoons", "note": "first"})
    as_keeper.post(address, {**same, "title": "Spoons", "note": "second"})
    thing.refresh_from_db()
    assert (thing.title, thing.note) == ("Six spoons", "second")  # both changes stand
    clash = as_keeper.post(address, {**same, "title": "Seven spoons", "note": "first"})
    assert clash.status_code == 409 and "Six spoons" in clash.content.decode()
    thing.refresh_from_db()
    assert thing.title == "Six spoons"


def test_undo_brings_back_the_old_value_and_says_who(as_keeper: Any, as_relative: Any, make_thing: Any) -> None:
    thing = make_thing("Kist", note="old")
    address = reverse("things:edit", args=[thing.public_id])
    as_keeper.post(address, {"title": "Kist", "kind_code": "furniture", "note": "new", "count": "1"})
    change = ChangeSet.objects.filter(verb="things.edit").get()
    page = as_relative.get(reverse("access:history", args=["things", thing.public_id])).content.decode()
    assert "Kaja Keeper" in page and "Furniture" in page and "Undo this" not in page
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    thing.refresh_from_db()
    assert (thing.kind_code, thing.note) == ("letter", "old")
    undone = ChangeSet.objects.filter(verb="access.undo").get()
    as_keeper.post(reverse("access:undo", args=[undone.public_id]))
    thing.refresh_from_db()
    assert (thing.kind_code, thing.note) == ("furniture", "new")


def test_a_long_history_comes_in_pages(
    as_keeper: Any, keeper: Any, make_thing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.access import queries
    from archive.things.actions import set_fields

    monkeypatch.setattr(queries, "ACTS_ON_A_PAGE", 2)
    thing = make_thing("Kist")
    for note in ("one", "two", "three"):
        set_fields(keeper, thing, {"note": note}, "things.edit")
    address = reverse("access:history", args=["things", thing.public_id])
    first, second = (as_keeper.get(address, {"page": n}).content.decode() for n in (1, 2))
    assert "three" in first and "recorded it" not in first and "page=2" in first
    assert "recorded it" in second and "three" not in second


def test_undo_says_why_not_when_something_later_touched_the_field(keeper: Any, as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Kist")
    address = reverse("things:edit", args=[thing.public_id])
    for title in ("Chest", "Trunk"):
        as_keeper.post(address, {"title": title, "kind_code": "letter", "count": "1"})
    first = ChangeSet.objects.filter(verb="things.edit").order_by("pk").first()
    with pytest.raises(CannotUndo) as caught:
        undo(first, keeper)
    assert (caught.value.clashes[0].old, caught.value.clashes[0].now) == ("Kist", "Trunk")
    answer = as_keeper.post(reverse("access:undo", args=[first.public_id]))
    assert answer.status_code == 409 and "Kist" in answer.content.decode()
    thing.refresh_from_db()
    assert thing.title == "Trunk"


def test_a_history_tells_of_pictures_and_can_bring_one_back(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Kist", pictures=2)
    picture = thing.pictures.first()
    as_keeper.post(reverse("pictures:remove", args=[picture.public_id]))
    address = reverse("access:history", args=["things", thing.public_id])
    page = as_keeper.get(address).content.decode()
    assert "recorded it, recorded a picture" in page and "removed a picture" in page
    newest = page.split("/undo/")[1].split("/")[0]
    answer = as_keeper.post(reverse("access:undo", args=[newest]), {"next": thing.get_absolute_url()}, follow=True)
    assert answer.status_code == 200 and thing.pictures.count() == 2


def test_undoing_that_a_thing_was_recorded_does_not_lead_to_where_it_was(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Recorded by mistake", pictures=1)
    page = as_keeper.get(reverse("access:history", args=["things", thing.public_id])).content.decode()
    change, goal = page.split("/undo/")[1].split("/")[0], page.split('name="next" value="')[1].split('"')[0]
    answer = as_keeper.post(reverse("access:undo", args=[change]), {"next": goal}, follow=True)
    assert answer.status_code == 200 and not Thing.objects.exists()


FIELDS = st.fixed_dictionaries(
    {
        "title": st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40).filter(str.strip),
        "note": st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40),
        "count": st.integers(1, 9),
    }
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(FIELDS, min_size=1, max_size=4))
def test_do_then_undo_leaves_things_as_they_were(keeper: Any, make_thing: Any, edits: list[dict[str, Any]]) -> None:
    from archive.access.undo import fields_of
    from archive.preferences.queries import preferences
    from archive.things.actions import edit_thing

    thing = make_thing("Before")

    def state() -> dict[str, Any]:
        fresh = Thing.objects.get(pk=thing.pk)
        return {f.name: getattr(fresh, f.attname) for f in fields_of(Thing)}

    before = state()
    changes = []
    for values in edits:
        edit_thing(keeper, Thing.objects.get(pk=thing.pk), values, preferences())
        changes.append(ChangeSet.objects.order_by("-pk").first())
    for change in reversed(changes):
        undo(change, keeper)
    assert state() == before


def test_a_write_outside_a_change_set_is_refused(make_thing: Any) -> None:
    from archive.access.signals import WriteOutsideChange

    thing = make_thing()
    thing.title = "Sneaked in"
    with pytest.raises(WriteOutsideChange):
        thing.save()


def test_destroyed_for_good_leaves_a_tombstone_and_nothing_else(
    as_keeper: Any, keeper: Any, make_thing: Any, home: Any
) -> None:
    from archive.keeping.media_store import original_path

    thing = make_thing("To be forgotten", pictures=1)
    digest = thing.pictures.first().sha256
    address = reverse("access:destroy", args=["things", thing.public_id])
    body = {"reason": "A quarrel", "password": PASSWORD}
    assert as_keeper.post(address, body).status_code == 422  # it must be withdrawn first
    as_keeper.post(reverse("access:withdraw", args=["things", thing.public_id]), {"reason": "hide it"})
    assert as_keeper.post(address, {**body, "password": "wrong"}).status_code == 422
    assert Thing.objects.filter(pk=thing.pk).exists() and original_path(digest).exists()
    assert as_keeper.post(address, body).status_code == 302
    assert not Thing.objects.filter(pk=thing.pk).exists()
    assert not Thing.history.filter(id=thing.pk).exists() and not original_path(digest).exists()
    stone = Tombstone.objects.get()
    assert (stone.number, stone.reason) == (thing.number, "A quarrel")
    assert "A quarrel" in as_keeper.get(reverse("access:withdrawn")).content.decode()


def test_a_history_says_values_in_words(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Letter", kind_code="letter")
    values = {
        "title": "Letter", "kind_code": "iron-gall-document", "count": "1", "made_text": "1910-05-12",
        "states": ["red-rot", "acrid-smell"],
    }  # fmt: skip
    as_keeper.post(reverse("things:edit", args=[thing.public_id]), values)
    form = {"standing": "undecided", "standing_why": "?", "standing_on": "2026-02-03", "open_question": "Whose?"}
    as_keeper.post(reverse("sorting:standing", args=[thing.public_id]), form)
    as_keeper.post(reverse("things:inscriptions", args=[thing.public_id]), {
        "rows-TOTAL_FORMS": "1", "rows-INITIAL_FORMS": "0", "rows-0-text": "To Ida",
    })  # fmt: skip
    page = as_keeper.get(reverse("access:history", args=["things", thing.public_id])).content.decode()
    told = re.sub(r"<[^>]*>", "", page)
    assert "Letter became Writing in iron gall ink" in told and "nothing became 1910-05-12" in told
    assert "nothing became 3 February 2026" in told and "recorded an inscription" in told
    assert "iron-gall-document" not in told and "acrid-smell" not in told and "as read" not in told
    # The page that says why something cannot be undone speaks alike.
    first = ChangeSet.objects.filter(verb="things.edit").order_by("pk").first()
    as_keeper.post(
        reverse("things:edit", args=[thing.public_id]), {**values, "kind_code": "map-or-plan", "made_text": "1911"}
    )
    with pytest.raises(CannotUndo) as caught:
        undo(first, keeper)
    assert {(each.field, each.old, each.now) for each in caught.value.clashes} == {
        ("kind", "Letter", "Map or plan"), ("made", "nothing", "1911"),
    }  # fmt: skip
