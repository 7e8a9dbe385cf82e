"""Recording and changing stories, what they are about, their pictures, and that the keeper has read them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.people.actions import person_for
from archive.pictures.actions import TakenIn, attach, edit_picture, remove_picture
from archive.pictures.models import Picture
from archive.places.actions import place_for
from archive.preferences.models import Preferences
from archive.preferences.queries import read_into
from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing
from archive.stories.paragraphs import title_of

_ROWS: dict[str, Any] = {"thing": StoryThing, "person": StoryPerson, "place": StoryPlace}


def add_story(
    who: Account,
    values: Mapping[str, Any],
    links: Mapping[str, Sequence[Any]],
    pictures: Sequence[TakenIn],
    kept: Preferences,
) -> Story:
    """Record a story with what it tells of and its pictures, in one transaction; the files are on disk already.

    ``links`` holds things, people and places under ``thing``, ``person`` and ``place``; new names become records.
    What the keeper writes counts as read.

    Raises:
        archive.keeping.media_store.OriginalGone: a picture was destroyed for good since it was taken in.
    """
    with changing(who, "stories.add"):
        story = Story(**values, written_by=who, seen_by_keeper=who.is_keeper)
        _save(story, kept)
        for what, records in links.items():
            _link(who, story, what, records)
        attach(who, story, pictures)
    return story


def edit_story(
    who: Account,
    story: Story,
    values: Mapping[str, Any],
    kept: Preferences,
    added: Mapping[str, Sequence[Any]] | None = None,
    removed: Mapping[str, Sequence[Any]] | None = None,
) -> None:
    """Change a story's own fields, and add and take off what it tells of.

    What a relative changes, the keeper has not read yet.
    """
    with changing(who, "stories.edit"):
        for name, value in values.items():
            setattr(story, name, value)
        _touch(who, story)
        _save(story, kept)
        for what, records in (removed or {}).items():
            for row in _ROWS[what].objects.filter(story=story, **{f"{what}__in": records}):
                row.delete()
        for what, records in (added or {}).items():
            _link(who, story, what, records)


def add_pictures(who: Account, story: Story, pictures: Sequence[TakenIn]) -> None:
    """Add pictures to a story; a relative's are news to the keeper."""
    with changing(who, "stories.pictures"):
        attach(who, story, pictures)
        _news(who, story)


def caption_picture(who: Account, story: Story, picture: Picture, caption: str) -> None:
    """Say what is in a story's picture."""
    with changing(who, "stories.caption"):
        edit_picture(who, picture, {"caption": caption})
        _news(who, story)


def take_off_picture(who: Account, story: Story, picture: Picture) -> None:
    """Take a picture off a story. The file is kept, and undo brings the row back."""
    with changing(who, "stories.take_off_picture"):
        remove_picture(who, picture)
        _news(who, story)


def mark_read(who: Account, stories: Iterable[Story], read: bool = True) -> None:
    """Note that the keeper has read stories, or has not. It is no change of the stories, so no history tells of it."""
    with changing(who, "stories.read"):
        Story.objects.filter(pk__in=[story.pk for story in stories]).update(seen_by_keeper=read)


def _news(who: Account, story: Story) -> None:
    if not who.is_keeper:
        Story.objects.filter(pk=story.pk).update(seen_by_keeper=False)


def _touch(who: Account, story: Story) -> None:
    touch(story)
    if not who.is_keeper:
        story.seen_by_keeper = False


def _save(story: Story, kept: Preferences) -> None:
    """Save a story with its dates read and a title; what cannot be read stays as typed, and the page asks."""
    story.title = " ".join(story.title.split()) or title_of(story.body)
    read_into(story, "about", kept)
    read_into(story, "told", kept)
    story.save()


def _link(who: Account, story: Story, what: str, records: Sequence[Any]) -> None:
    """Tie a story to records that it is not tied to yet."""
    model = _ROWS[what]
    there = set(model.objects.filter(story=story).values_list(f"{what}_id", flat=True))
    makers: dict[str, Any] = {"person": person_for, "place": place_for}
    for each in records:
        record = makers[what](who, each) if what in makers else each
        if record.pk not in there:
            there.add(record.pk)
            model(story=story, **{what: record}).save()
