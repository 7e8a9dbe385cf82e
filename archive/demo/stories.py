"""The demo household's stories, tied to the things, people and places that are there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from archive.preferences.models import Preferences


def add_stories(
    rows: Sequence[dict[str, Any]],
    accounts: Sequence[Any],
    kept: Preferences,
    picture: Callable[[str, int, str], Any],
) -> None:
    """Record invented stories, each once; a teller who is nobody in the archive stays a name.

    ``accounts`` holds the keeper first; ``picture`` draws a picture by name, seed and title and takes it in.
    """
    from archive.stories.actions import add_story
    from archive.stories.models import Story

    keeper = accounts[0]
    by_name = {each.username: each for each in accounts}
    for position, row in enumerate(rows, 1):
        if Story.objects.filter(title=row["title"]).exists():
            continue
        pictures = [picture(name, 700 + position, row["title"]) for name in row.get("picture", [])]
        writer = by_name.get(row.get("written_by", ""), keeper)
        add_story(writer, _values(row, keeper), _links(row, keeper), pictures, kept)


def _values(row: dict[str, Any], keeper: Any) -> dict[str, Any]:
    from archive.people.queries import named

    told_by = row.get("told_by", "")
    people = named(told_by, keeper) if told_by else []
    teller = people[0] if len(people) == 1 else None
    return {
        "title": row["title"],
        "body": row["body"].strip(),
        "teller": teller,
        "teller_text": "" if teller else told_by,
        "told_text": row.get("told", ""),
        "about_text": row.get("about", ""),
        "access": row.get("access", "relatives"),
    }


def _links(row: dict[str, Any], keeper: Any) -> dict[str, list[Any]]:
    """Return the things, people and places that a row names and that are there, under one name each."""
    from archive.people.queries import named as people_named
    from archive.places.queries import named as places_named
    from archive.stories.queries import things_named

    finders: dict[str, Any] = {"thing": things_named, "person": people_named, "place": places_named}
    found: dict[str, list[Any]] = {}
    for what, find in finders.items():
        matches = [find(name, keeper) for name in row.get(what, [])]
        found[what] = [each[0] for each in matches if len(each) == 1]
    return found
