"""The demo household's people and places, and what they have to do with its things."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from archive.preferences.models import Preferences


def add_people_and_places(
    household: dict[str, Any], keeper: Any, kept: Preferences, say: Callable[[str], None]
) -> None:
    """Record invented places and people, each once; somebody named in a row stands in a row before it."""
    from archive.people.models import Person
    from archive.places.models import Place

    for row in household["place"]:
        if not Place.objects.filter(name=row["name"]).exists():
            _place(row, keeper)
    for row in household["person"]:
        if not Person.objects.filter(name=row["name"]).exists():
            _person(row, keeper, kept)
    say(f"  {len(household['person'])} people and {len(household['place'])} places")


def _place(row: dict[str, Any], keeper: Any) -> None:
    from archive.access.changes import changing
    from archive.places.actions import add_name, add_place
    from archive.places.coordinates import read_coordinates
    from archive.places.models import Place

    latitude, longitude = read_coordinates(row["globe"]) if "globe" in row else (None, None)
    values = {
        "name": row["name"],
        "within": Place.objects.get(name=row["within"]) if "within" in row else None,
        "latitude": latitude,
        "longitude": longitude,
        "note": row.get("note", ""),
        "access": row.get("access", "relatives"),
    }
    with changing(keeper, "places.add"):
        place = add_place(keeper, values)
        for name, when in row.get("names", []):
            add_name(keeper, place, {"name": name, "when": when})


def _person(row: dict[str, Any], keeper: Any, kept: Preferences) -> None:
    from archive.access.changes import changing
    from archive.people.actions import add_name, add_parent, add_partner, add_person
    from archive.people.models import Person
    from archive.places.models import Place

    values = {
        "name": row["name"],
        "sort_name": row.get("sort", ""),
        "unidentified": row.get("unidentified", False),
        "born_text": row.get("born", ""),
        "born_where": Place.objects.get(name=row["born_at"]) if "born_at" in row else None,
        "died_text": row.get("died", ""),
        "died_where": Place.objects.get(name=row["died_at"]) if "died_at" in row else None,
        "known_dead": row.get("dead", False),
        "open_though_living": row.get("open", False),
        "note": row.get("note", ""),
        "access": row.get("access", "relatives"),
    }
    with changing(keeper, "people.add"):
        person = add_person(keeper, values, kept)
        for name, sort, when in row.get("names", []):
            add_name(keeper, person, {"name": name, "sort": sort, "when": when})
        for name in row.get("parents", []):
            add_parent(keeper, person, Person.objects.get(name=name))
        for name, sort, since, until in row.get("partners", []):
            told = {"sort": sort, "since_text": since, "until_text": until}
            add_partner(keeper, Person.objects.get(name=name), person, told, kept)


def tie_to_things(rows: list[dict[str, Any]], keeper: Any) -> None:
    """Say who and what place has to do with the things, where nobody has said so yet."""
    from archive.people.models import Person
    from archive.pictures.actions import mark_person
    from archive.places.models import Place
    from archive.things.link_actions import set_people, set_places
    from archive.things.models import Thing
    from archive.things.rows import RowChange

    for row in rows:
        thing = Thing.objects.filter(title=row["thing"]).order_by("pk").first()
        if thing is None:
            continue
        people = [
            RowChange(None, {"person": Person.objects.get(name=name), "role": role, "sure": True})
            for name, role in row.get("people", [])
        ]
        places = [
            RowChange(None, {"place": Place.objects.get(name=name), "role": role})
            for name, role in row.get("places", [])
        ]
        if people and not thing.person_rows.exists():
            set_people(keeper, thing, people)
        if places and not thing.place_rows.exists():
            set_places(keeper, thing, places)
        picture = thing.pictures.first()
        if picture is not None and not picture.marks.exists():
            for name, left, top, width, height in row.get("marks", []):
                spot = {"left": left, "top": top, "width": width, "height": height, "sure": True}
                mark_person(keeper, picture, Person.objects.get(name=name), spot)
