"""Days that matter on their pages: from people, couples, letters and stories; chosen, weighed, switched off, added."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive.people import actions as people
from archive.people.models import Person
from archive.preferences.queries import preferences
from archive.stories.actions import add_story
from archive.things.link_actions import set_people
from archive.things.rows import RowChange
from conservation.on_show.models import OccasionChoice, OwnOccasion
from conservation.on_show.occasions import assess
from conservation.on_show.occasions.actions import add_own, choose

pytestmark = pytest.mark.django_db
YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def _person(keeper: Any, name: str, **values: Any) -> Any:
    return people.add_person(keeper, {"name": name, **values}, preferences())


def _tie(keeper: Any, thing: Any, person: Person, role: str = "shown") -> None:
    set_people(keeper, thing, [RowChange(None, {"person": person, "role": role, "sure": True})])


@pytest.fixture
def family(keeper: Any, make_thing: Any) -> dict[str, Any]:
    """Ida was born on a leap day 122 years ago and married 100 years ago; a letter is 75; a story tells of a move."""
    ida = _person(keeper, "Ida", born_text="1904-02-29", died_text="1980-07-03")
    karl = _person(keeper, "Karl", born_text="1901", died_text="about 1960")
    portrait, wedding, letter = make_thing("Portrait"), make_thing("Wedding picture"), make_thing(
        "A letter home", made_text="1951-03-09"
    )  # fmt: skip
    people.add_partner(keeper, ida, karl, {"sort": "married", "since_text": "1926-05-12"}, preferences())
    _tie(keeper, portrait, ida)
    set_people(
        keeper, wedding, [RowChange(None, {"person": each, "role": "shown", "sure": True}) for each in (ida, karl)]
    )
    story = add_story(
        keeper, {"title": "We moved", "body": "The piano came last.", "about_text": "1938-10-01"},
        {"thing": [portrait]}, [], preferences(),
    )  # fmt: skip
    return {"ida": ida, "karl": karl, "portrait": portrait, "wedding": wedding, "letter": letter, "story": story}


def test_days_come_from_dates_known_to_the_day(keeper: Any, family: dict[str, Any]) -> None:
    found = {each.title: each for each in assess.occasions_between(keeper, *YEAR)}
    assert {title: (each.day, each.weight) for title, each in found.items()} == {
        "Ida was born 122 years ago": (date(2026, 2, 28), 1),
        "“A letter home” was written 75 years ago": (date(2026, 3, 9), 1),
        "Ida and Karl married 100 years ago": (date(2026, 5, 12), 3),
        "Ida died 46 years ago": (date(2026, 7, 3), 1),
        "“We moved”, 88 years ago": (date(2026, 10, 1), 1),
    }
    assert "28th" in found["Ida was born 122 years ago"].why
    assert "Taken for a move" in found["“We moved”, 88 years ago"].why
    # Of a couple what has to do with both; of one person everything of theirs; of a letter itself.
    assert [each.title for each in found["Ida and Karl married 100 years ago"].things] == ["Wedding picture"]
    assert {each.title for each in found["Ida died 46 years ago"].things} == {"Portrait", "Wedding picture"}
    assert [each.how for each in found["“A letter home” was written 75 years ago"].things] == [
        [("itself", "it is the day’s own")]
    ]


def test_a_relative_sees_no_day_of_what_they_may_not_see(
    keeper: Any, relative: Any, family: dict[str, Any], as_relative: Any, make_thing: Any
) -> None:
    hidden = _person(keeper, "Secret Sam", born_text="1926-06-06", died_text="1990", access="keeper")
    _tie(keeper, make_thing("Sam’s cap"), hidden)
    _tie(keeper, make_thing("Kept from all", access="keeper"), family["ida"])
    page = as_relative.get(reverse("on_show:occasions") + "?year=2026")
    text = page.content.decode()
    assert page.status_code == 200 and "Ida and Karl" in text
    assert "Secret Sam" not in text and "Kept from all" not in text
    assert as_relative.get(reverse("on_show:add_occasion")).status_code == 404


def test_a_day_is_switched_off_and_weighed_anew(as_keeper: Any, keeper: Any, family: dict[str, Any]) -> None:
    address = reverse("on_show:choose_occasion", args=["birthday", family["ida"].public_id])
    assert as_keeper.get(f"{address}?year=2026").status_code == 200
    page = as_keeper.post(f"{address}?year=2026", {"weight": "3"}, follow=True)
    assert "switched off" in page.content.decode()
    chosen = OccasionChoice.objects.get()
    assert (chosen.counts, chosen.weight) == (False, 3)
    choose(keeper, chosen.key, True, None)
    day = assess.find(chosen.key, keeper, 2026)
    assert day is not None and day.counts and day.weight == 1
    assert as_keeper.get(reverse("on_show:choose_occasion", args=["birthday", "nobody"])).status_code == 404
    assert as_keeper.get(reverse("on_show:choose_occasion", args=["nonsense", "nobody"])).status_code == 404


def test_the_keeper_adds_a_day_with_things(as_keeper: Any, keeper: Any, family: dict[str, Any]) -> None:
    values = {"title": "Fair", "day": "2020-08-15", "yearly": "on", "weight": "3", "access": "relatives"}
    wrong = as_keeper.post(reverse("on_show:add_occasion"), {**values, "thing_0": "no such thing"})
    assert wrong.status_code == 422 and "no such thing" in wrong.content.decode()
    as_keeper.post(reverse("on_show:add_occasion"), {**values, "thing_0": family["portrait"].number})
    own = OwnOccasion.objects.get()
    (day,) = [each for each in assess.occasions_between(keeper, *YEAR) if each.is_own]
    assert (day.day, day.title, day.weight) == (date(2026, 8, 15), "Fair (6 years on)", 3)
    assert [each.title for each in day.things] == ["Portrait"]
    as_keeper.post(reverse("on_show:occasion", args=[own.public_id]), {**values, "yearly": "", "thing_0": ""})
    assert not [each for each in assess.occasions_between(keeper, *YEAR) if each.is_own]
    assert own.history.count() == 2


def test_a_thing_that_is_withdrawn_and_comes_back_is_still_right_for_its_day(
    as_keeper: Any, keeper: Any, family: dict[str, Any]
) -> None:
    from archive.access.actions import bring_back, withdraw

    own = add_own(keeper, {"title": "Fair", "day": date(2020, 8, 15)}, [family["portrait"], family["letter"]])
    withdraw(keeper, family["letter"], "For a while")
    values = {"title": "Fair", "day": "2020-08-16", "yearly": "on", "weight": "3", "access": "relatives"}
    sent = {**values, "thing_0": family["portrait"].number}
    assert as_keeper.post(reverse("on_show:occasion", args=[own.public_id]), sent).status_code == 302
    bring_back(keeper, family["letter"])
    (day,) = [each for each in assess.occasions_between(keeper, *YEAR) if each.is_own]
    assert {each.title for each in day.things} == {"Portrait", "A letter home"}


def test_a_year_alone_is_told_of_without_a_day(as_keeper: Any, keeper: Any, family: dict[str, Any]) -> None:
    text = as_keeper.get(reverse("on_show:occasions") + "?year=2026").content.decode()
    assert "Karl was born 125 years ago" in text and "Round years without a day" in text


def test_the_list_asks_the_same_few_questions_however_many_days(
    as_keeper: Any, keeper: Any, family: dict[str, Any], make_thing: Any
) -> None:
    def count() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            as_keeper.get(reverse("on_show:occasions") + "?year=2026")
        return len(asked)

    as_keeper.get(reverse("on_show:occasions"))
    before = count()
    for number in range(8):
        _tie(keeper, make_thing(f"Thing {number}"), _person(keeper, f"P{number}", born_text=f"1926-03-1{number}"))
    add_own(keeper, {"title": "Another", "day": date(2020, 2, 2)}, [family["portrait"]])
    assert count() <= before + 1  # the own day's things are one question more than none
