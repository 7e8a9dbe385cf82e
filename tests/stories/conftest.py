"""People, places and stories for the tests of stories."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def make_person(keeper: Any) -> Any:
    from archive.access.changes import changing
    from archive.people.models import Person

    def make(name: str = "Tobias Aldermoor", **values: Any) -> Any:
        with changing(keeper, "people.add"):
            person = Person(name=name, **values)
            person.save()
        return person

    return make


@pytest.fixture
def make_place(keeper: Any) -> Any:
    from archive.access.changes import changing
    from archive.places.models import Place

    def make(name: str = "Skerrow", **values: Any) -> Any:
        with changing(keeper, "places.add"):
            place = Place(name=name, **values)
            place.save()
        return place

    return make


@pytest.fixture
def make_story(keeper: Any) -> Any:
    """Record stories as the pages do: through the actions."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.pictures.actions import take_in
    from archive.preferences.queries import preferences
    from archive.stories.actions import add_story
    from tests.conftest import jpeg

    def make(body: str = "It was raining.", *, by: Any = None, pictures: int = 0, of: Any = (), **values: Any) -> Any:
        files = [SimpleUploadedFile(f"s{n}.jpg", jpeg(seed=n + len(body))) for n in range(pictures)]
        taken, refused = take_in(files)
        assert not refused
        links: dict[str, list[Any]] = {}
        for record in of:
            links.setdefault(type(record).__name__.lower(), []).append(record)
        return add_story(by or keeper, {"body": body, **values}, links, taken, preferences())

    return make
