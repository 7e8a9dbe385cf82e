"""Somebody else saves between the moment a page reads a record and the moment it writes it: nothing is lost."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from archive.access.changes import ChangedMeanwhile
from archive.preferences.queries import preferences
from archive.things.actions import edit_thing, set_fields
from archive.things.models import Thing

pytestmark = pytest.mark.django_db


def test_a_record_read_before_somebody_else_saved_is_not_written(keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Spoons")
    stale = Thing.objects.get(pk=thing.pk)
    set_fields(keeper, thing, {"note": "Six of them"}, "things.edit")
    with pytest.raises(ChangedMeanwhile):
        set_fields(keeper, stale, {"title": "Soup spoons"}, "things.edit")
    thing.refresh_from_db()
    assert (thing.title, thing.note, thing.version) == ("Spoons", "Six of them", 2)
    assert thing.history.count() == 2


def _interrupted(monkeypatch: pytest.MonkeyPatch, module: Any, name: str, act: Any) -> list[int]:
    """Have something done once, just after a page's own reading; return how often the page went on from there."""
    went_on: list[int] = []
    own = getattr(module, name)

    def first_somebody_else(*args: Any, **kwargs: Any) -> Any:
        went_on.append(1)
        if len(went_on) == 1:
            act()
        return own(*args, **kwargs)

    monkeypatch.setattr(module, name, first_somebody_else)
    return went_on


def test_both_changes_stand_when_two_save_at_the_same_instant(
    as_keeper: Any, keeper: Any, make_thing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.things import views

    thing = make_thing("Spoons")

    def somebody_else() -> None:
        edit_thing(keeper, Thing.objects.get(pk=thing.pk), {"note": "Six of them"}, preferences())

    went_on = _interrupted(monkeypatch, views, "merge", somebody_else)
    body = {"title": "Soup spoons", "kind_code": "letter", "count": "1", "note": "", "opened_version": "1"}
    answer = as_keeper.post(reverse("things:edit", args=[thing.public_id]), body)
    thing.refresh_from_db()
    assert answer.status_code == 302 and len(went_on) == 2
    assert (thing.title, thing.note, thing.version) == ("Soup spoons", "Six of them", 3)


def test_a_conflict_of_the_same_instant_is_asked(
    as_keeper: Any, keeper: Any, make_thing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.things import views

    thing = make_thing("Spoons")

    def somebody_else() -> None:
        edit_thing(keeper, Thing.objects.get(pk=thing.pk), {"title": "Ladles"}, preferences())

    _interrupted(monkeypatch, views, "merge", somebody_else)
    body = {"title": "Soup spoons", "kind_code": "letter", "count": "1", "opened_version": "1"}
    answer = as_keeper.post(reverse("things:edit", args=[thing.public_id]), body)
    assert answer.status_code == 409 and "Ladles" in answer.content.decode()
    thing.refresh_from_db()
    assert thing.title == "Ladles"


def test_withdrawing_does_not_take_back_what_somebody_else_wrote(
    as_keeper: Any, keeper: Any, make_thing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.access import actions

    thing = make_thing("Spoons")

    def somebody_else() -> None:
        edit_thing(keeper, Thing.objects.get(pk=thing.pk), {"note": "Six of them"}, preferences())

    _interrupted(monkeypatch, actions, "changing", somebody_else)
    as_keeper.post(reverse("access:withdraw", args=["things", thing.public_id]), {"reason": "A doubt"})
    thing.refresh_from_db()
    assert thing.withdrawn_at is not None and thing.note == "Six of them"


@pytest.mark.parametrize("opened", ["9" * 30, "9" * 5000, "٣", "-1", "1.5", "x"])
def test_a_version_that_never_was_is_no_error(opened: str, as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.boxes.actions import add_box
    from archive.people.actions import add_person
    from archive.places.actions import add_place
    from archive.sorting.actions import add_first_look
    from archive.sorting.group_actions import add_group
    from archive.stories.actions import add_story

    thing, story = make_thing(pictures=1), add_story(keeper, {"body": "Once", "access": "all"}, {}, [], preferences())
    look = add_first_look(keeper, {"title": "A tin", "access": "all"}, {}, [])
    counts = {"counts-TOTAL_FORMS": "0", "counts-INITIAL_FORMS": "0"}
    for address, body in (
        (reverse("things:edit", args=[thing.public_id]), {"title": "A", "kind_code": "letter", "count": "1"}),
        (reverse("things:coming", args=[thing.public_id]), {"came_note": "A"}),
        (reverse("people:edit", args=[add_person(keeper, {"name": "Ida"}, preferences()).public_id]), {"name": "A"}),
        (reverse("places:edit", args=[add_place(keeper, {"name": "Skerrow"}).public_id]), {"name": "A"}),
        (reverse("stories:edit", args=[story.public_id]), {"body": "A", "title": "A"}),
        (reverse("boxes:edit", args=[add_box(keeper, {"title": "Tin"}).public_id]), {"title": "A", "level": "box"}),
        (reverse("sorting:edit_group", args=[add_group(keeper, {"title": "G"}).public_id]), {"title": "A"}),
        (reverse("sorting:edit_look", args=[look.public_id]), {"title": "A", "opened_box": opened, **counts}),
        (reverse("pictures:edit", args=[thing.pictures.get().public_id]), {"view": "back"}),
    ):
        answer = as_keeper.post(address, {**body, "opened_version": opened})
        assert answer.status_code == 302, (address, answer.status_code)
