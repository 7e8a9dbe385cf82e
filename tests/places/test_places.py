"""Places: what is typed, where they lie, what is seen; and reading degrees."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive.places import actions
from archive.places.coordinates import NotCoordinates, in_words, read_coordinates
from archive.places.models import Place
from archive.places.queries import named

# Minutes and seconds are sixtieths (ISO 6709:2022, 6; so does every map): 19′30″ = 19.5 / 60 = 0.325.
READINGS = {
    "54.32 N, 10.14 E": (54.32, 10.14),
    "54.32, 10.14": (54.32, 10.14),
    "54.32; 10.14": (54.32, 10.14),
    "54.32 10.14": (54.32, 10.14),
    "-33.9, -70.2": (-33.9, -70.2),
    "−33.9, −70.2": (-33.9, -70.2),
    "54°19′N 10°8′E": (54 + 19 / 60, 10 + 8 / 60),
    "54°19'N, 10°8'E": (54 + 19 / 60, 10 + 8 / 60),
    "54° 19′ 30″ N 10° 8′ 15″ W": (54.325, -(10 + 8 / 60 + 15 / 3600)),
    "54°19'30\" S 10°8'0\" E": (-54.325, 10 + 8 / 60),
    "54°19.5′ n 10°30.0′ e": (54.325, 10.5),
    "N 54°19.5′, E 10°30′": (54.325, 10.5),
    "10.14 E 54.32 N": (54.32, 10.14),
    "54,32 N 10,14 E": (54.32, 10.14),
    "54.32N10.14E": (54.32, 10.14),
    "90 S, 180 W": (-90, -180),
    "0, 0": (0, 0),
}


@pytest.mark.parametrize("typed", READINGS)
def test_degrees_are_read(typed: str) -> None:
    assert read_coordinates(typed) == pytest.approx(READINGS[typed], abs=1e-9)
    # What the page says is read as the same place again, to a tenth of a metre.
    assert read_coordinates(in_words(*READINGS[typed])) == pytest.approx(READINGS[typed], abs=1e-6)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("91, 10", "between 90° south and 90° north"),
        ("54, 181", "between 180° west and 180° east"),
        ("54 N", "E or W is missing"),
        ("54 N 55 S", "names the latitude twice"),
        ("54°60′N 10°0′E", "60 minutes"),
        ("54°10′60″N 10°0′E", "60 seconds"),
        ("5432", "Two numbers are needed"),
        ("1 2 3", "Two numbers are needed"),
        ("near the mill", "cannot be read as degrees"),
        ("?", "No degrees were found"),
        ("nan, inf", "cannot be read"),
        ("1e5, 3", "cannot be read"),
        ("", "No degrees"),
    ],
)
def test_what_is_no_place_on_the_globe_is_said_in_a_sentence(typed: str, words: str) -> None:
    with pytest.raises(NotCoordinates, match=words) as error:
        read_coordinates(typed)
    assert str(error.value).endswith(".")


pages = pytest.mark.django_db


def _text(answer: Any) -> str:
    return answer.content.decode()


@pages
def test_a_place_is_recorded_changed_and_keeps_its_globe(as_keeper: Any) -> None:
    as_keeper.post(
        reverse("places:add"),
        {"name": "The ferry house", "within": "Skerrow", "globe": "54°19′N 10°8′E", "access": "all"},
    )
    house = Place.objects.get(name="The ferry house")
    assert house.within is not None and house.within.name == "Skerrow"
    page = _text(as_keeper.get(house.get_absolute_url()))
    assert "54.316667° N, 10.133333° E" in page
    # The edit page sent back as it stands changes nothing, the globe included.
    form = as_keeper.get(reverse("places:edit", args=[house.public_id])).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields}
    edit = reverse("places:edit", args=[house.public_id])
    assert as_keeper.post(edit, {**typed, "opened_version": house.version}).status_code == 302
    before = house.latitude, house.longitude, house.within_id
    house.refresh_from_db()
    assert (house.latitude, house.longitude, house.within_id) == before and Place.objects.count() == 2
    wrong = as_keeper.post(reverse("places:add"), {"name": "Mill", "globe": "95, 10", "note": "By the brook."})
    assert wrong.status_code == 422 and "By the brook." in _text(wrong) and "95, 10" in _text(wrong)


@pages
def test_a_place_inside_itself_is_refused_with_the_loop(as_keeper: Any, keeper: Any) -> None:
    shire = actions.add_place(keeper, {"name": "Fen shire"})
    town = actions.add_place(keeper, {"name": "Skerrow", "within": shire})
    house = actions.add_place(keeper, {"name": "Ferry house", "within": town})
    edit = reverse("places:edit", args=[shire.public_id])
    answer = as_keeper.post(edit, {"name": "Fen shire", "within": house.label, "opened_version": shire.version})
    assert answer.status_code == 422
    assert "Fen shire → Ferry house → Skerrow → Fen shire" in _text(answer)
    shire.refresh_from_db()
    assert shire.within is None
    assert as_keeper.post(edit, {"name": "Fen shire", "within": "Fen shire"}).status_code == 422
    assert "Ferry house</bdi></a>, in" not in _text(as_keeper.get(house.get_absolute_url()))
    assert [p.name for p in as_keeper.get(house.get_absolute_url()).context["lies_in"]] == ["Skerrow", "Fen shire"]


@pages
def test_two_places_of_one_name_stay_apart_when_their_pages_are_saved(as_keeper: Any, keeper: Any) -> None:
    north, south = (actions.add_place(keeper, {"name": "Mill"}) for _ in range(2))
    house = actions.add_place(keeper, {"name": "House", "within": south})
    edit = reverse("places:edit", args=[house.public_id])
    saved = as_keeper.post(edit, {"name": "House", "within": "Mill", "note": "White.", "opened_version": house.version})
    house.refresh_from_db()
    assert saved.status_code == 302 and house.within == south and house.note == "White."
    assert named("mill", keeper) == [north, south]


@pages
def test_a_private_place_is_named_nowhere(as_relative: Any, as_visitor: Any, keeper: Any) -> None:
    from archive.people.actions import add_person
    from archive.preferences.queries import preferences

    hidden = actions.add_place(keeper, {"name": "Zinnober hall", "access": "keeper"})
    shown = actions.add_place(keeper, {"name": "Lodge", "within": hidden, "access": "all"})
    inner = actions.add_place(keeper, {"name": "Kobalt room", "within": shown, "access": "keeper"})
    living = {"name": "Karmin", "born_where": shown, "access": "all"}
    add_person(keeper, living, preferences())
    person = add_person(
        keeper, {"name": "Dora", "known_dead": True, "born_where": hidden, "access": "all"}, preferences()
    )
    for client in (as_relative, as_visitor):
        for address in (
            reverse("places:list"), shown.get_absolute_url(),
            reverse("places:linked", args=[shown.public_id, "places"]),
            person.get_absolute_url(), reverse("places:suggest") + "?within=lod", hidden.get_absolute_url(),
        ):  # fmt: skip
            answer = _text(client.get(address))
            assert "Zinnober" not in answer and "Kobalt" not in answer, address
            assert "Karmin" not in answer or client is as_relative
    assert "Karmin" in _text(as_relative.get(shown.get_absolute_url()))
    assert inner.get_absolute_url() in _text(_as(keeper).get(shown.get_absolute_url()))


def _as(account: Any) -> Any:
    from django.test import Client

    client = Client(REMOTE_ADDR="192.168.7.8")
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pages
def test_the_list_finds_older_names_in_as_few_queries_for_thirty_as_for_three(as_keeper: Any, keeper: Any) -> None:
    def some(first: int, last: int) -> None:
        for n in range(first, last):
            place = actions.add_place(keeper, {"name": f"Town {n:02}", "within": Place.objects.first()})
            actions.add_name(keeper, place, {"name": f"Old Stead {n:02}", "when": "until 1920"})

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_keeper.get(reverse("places:list")).status_code == 200
        return len(asked)

    some(0, 3)
    few = queries()
    some(3, 30)
    assert queries() == few
    assert as_keeper.get(reverse("places:list"), {"name": "stead 07"}).context["page"].paginator.count == 1
    assert "once <bdi>Old Stead 07" in _text(as_keeper.get(reverse("places:list")))


@pages
def test_an_older_name_is_changed_and_taken_away(as_keeper: Any, keeper: Any) -> None:
    place = actions.add_place(keeper, {"name": "Skerrow"})
    as_keeper.post(reverse("places:add_name", args=[place.public_id]), {"name": "Scerhou", "when": "before 1700"})
    name = place.names.get()
    as_keeper.post(reverse("places:name", args=[name.public_id]), {"remove": "1"})
    assert not place.names.exists()
    undo = re.search(
        r'action="(/undo/\w+/)"', _text(as_keeper.get(reverse("access:history", args=["places", place.public_id])))
    )
    assert undo is not None
    as_keeper.post(undo[1], {"next": "/"})
    assert place.names.get().name == "Scerhou"
