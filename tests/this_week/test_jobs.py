"""Jobs that the catalogue and housing give: dangers, boxes nobody looked into, people to ask, people not known."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from archive import extend
from archive.extend import Job

pytestmark = pytest.mark.django_db


def _of(keeper: Any, sort: str) -> list[Job]:
    return [job for job in extend.jobs(keeper) if job.sort == sort]


def test_dangers_stand_once_for_each_hazard_until_they_are_dealt_with(keeper: Any, make_thing: Any) -> None:
    from conservation.housing.actions import decide

    make_thing("Letters", kind_code="letter")
    shell = make_thing("Shell", kind_code="ammunition")
    old = make_thing("Film of 1930", kind_code="film-unknown", made_text="1930")
    make_thing("Film of 1970", kind_code="film-unknown", made_text="1970")
    mouldy = [make_thing(f"Mouldy {n}", states=["mould-active", "torn"], significance=n) for n in (1, 4)]
    moths = make_thing("Moths", kind_code="wool-textile", states=["live-pest"])
    found = _of(keeper, "housing.hazard")
    assert [(job.tier, job.words) for job in found] == [
        (1, f"Keep away from {shell}: Ammunition"),
        (1, f"Set apart {mouldy[1]}, and 1 more: Mould"),
        (1, f"Set apart {old}: Fire: nitrate"),
        (2, f"Set apart {moths}: Insects"),
    ]
    assert found[1].things == 2 and "Mould can make you ill" in found[1].why and found[0].first.startswith("do not")
    today = timezone.localdate()
    for thing in (shell, *mouldy):
        decide(keeper, thing, {"form": "bag", "decided_on": today, "done_on": today})
    left = [job.words for job in _of(keeper, "housing.hazard")]
    assert left[0].startswith("Keep away from") and not any("Mould" in words for words in left)  # no box makes it safe


def test_a_danger_that_joins_is_a_job_anew(keeper: Any, make_thing: Any) -> None:
    make_thing("One", states=["mould-active"])
    before = _of(keeper, "housing.hazard")[0].key
    make_thing("Two", states=["mould-active"])
    assert _of(keeper, "housing.hazard")[0].key != before


def test_what_matters_much_and_has_nothing_decided(keeper: Any, make_thing: Any) -> None:
    from conservation.housing.actions import decide

    much, little = make_thing("Much", significance=5, states=["brittle"]), make_thing("Little", significance=3)
    job, *others = _of(keeper, "housing.decide")
    assert not others and str(much) in job.words and (job.matters, job.exposed) == (5, 1.5)
    decide(keeper, much, {"form": "folder", "decided_on": timezone.localdate()})
    assert _of(keeper, "housing.decide") == []
    [house] = _of(keeper, "housing.house")
    assert str(much) in house.words and house.vulnerable is not None and str(little) not in house.words


def test_what_has_left_the_house_asks_for_nothing(keeper: Any, make_thing: Any) -> None:
    from archive.boxes.actions import add_box
    from archive.sorting.actions import set_standing
    from conservation.housing.actions import decide
    from conservation.rooms.living import actions as living

    decided, unknown, moved = make_thing("Decided"), make_thing("Unknown", kind_code="unknown"), make_thing("Moved")
    decide(keeper, decided, {"form": "folder", "decided_on": timezone.localdate()})
    living.decide(keeper, moved, {"answer": "accepted", "goal": add_box(keeper, {"title": "Hall", "level": "room"})})
    sorts = ("housing.house", "housing.find-kind", "rooms.move")
    assert [len(_of(keeper, sort)) for sort in sorts] == [1, 1, 1]
    gone = {"standing": "let go", "standing_why": "Broken", "standing_on": timezone.localdate(), "copy_kept": False,
            "gone_how": "to the tip", "gone_agreed": "Marit", "open_question": ""}  # fmt: skip
    set_standing(keeper, [decided, unknown, moved], gone)
    assert [len(_of(keeper, sort)) for sort in sorts] == [0, 0, 0]


def test_a_room_that_is_withdrawn_asks_for_nothing(keeper: Any) -> None:
    from archive.access.actions import withdraw
    from archive.boxes.actions import add_box
    from conservation.rooms.readings.actions import type_reading
    from conservation.rooms.rounds.actions import add_finding

    room, today = add_box(keeper, {"title": "Shed", "level": "room"}), timezone.localdate()
    type_reading(keeper, room, int(timezone.now().timestamp()) - 40 * 86400, 12.0, 60.0)
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": today}
    add_finding(keeper, room, values, [], [])
    sorts = ("readings.type", "rounds.finding.clear", "rounds.round")
    assert [len(_of(keeper, sort)) for sort in sorts] == [1, 1, 1]
    withdraw(keeper, room, "Torn down")
    assert [len(_of(keeper, sort)) for sort in sorts] == [0, 0, 0]


def test_boxes_that_nobody_looked_into(keeper: Any, make_thing: Any) -> None:
    from archive.boxes.actions import add_box, move
    from archive.sorting.actions import add_first_look

    shut, looked, full, shelf, outer = (add_box(keeper, {"title": title}) for title in ("A", "B", "C", "D", "E"))
    add_first_look(keeper, {"title": "B", "access": "all"}, {}, [], looked)
    move(keeper, [make_thing("Inside")], [], full)
    move(keeper, [], [shelf], outer)
    told = [job.words for job in _of(keeper, "sorting.first-look")]
    assert told == [f"Take a first look at box {box}" for box in (shut, shelf)]


def test_the_order_of_looks_is_the_same_when_only_the_first_are_read(keeper: Any) -> None:
    from archive.sorting.actions import add_first_look
    from archive.sorting.queries import all_looks, most_pressing

    rows = (
        {"found": ["vinegar"]}, {"found": ["ammunition"], "stays_whole": True}, {"could_tell": "Ragna"},
        {"interest": 5}, {"found": ["damp", "mould"], "urgency": 4}, {"stays_whole": True},
        {"could_tell": "Ragna", "things_done": True},
    )  # fmt: skip
    for n, row in enumerate(rows):
        add_first_look(keeper, {"title": f"Box {n}", "access": "all", **row}, {}, [])
    whole = [look.row.pk for look in all_looks(keeper)[0]]
    assert [look.row.pk for look in most_pressing(keeper, 99)] == whole and len(whole) == 5
    assert [look.row.pk for look in most_pressing(keeper, 2)] == whole[:2]


def test_the_old_who_told_nothing_lately_are_asked(keeper: Any) -> None:
    from archive.people.actions import add_person
    from archive.preferences.queries import preferences
    from archive.stories.actions import add_story
    from archive.stories.models import Story

    kept, year = preferences(), timezone.localdate().year
    old, older = (
        add_person(keeper, {"name": name, "born_text": str(year - age)}, kept)
        for name, age in (("Ida", 80), ("Olaf", 92))
    )
    add_person(keeper, {"name": "Young", "born_text": str(year - 40)}, kept)
    add_person(keeper, {"name": "Dead", "born_text": str(year - 85), "died_text": str(year - 2)}, kept)
    ida, olaf = (f"Ask {name} to tell you something" for name in ("Ida", "Olaf"))
    assert [job.words for job in _of(keeper, "people.ask")] == [olaf, ida]
    add_story(keeper, {"body": "Told.", "teller": older}, {}, [], kept)
    assert [job.words for job in _of(keeper, "people.ask")] == [ida]
    assert str(old) == "Ida" and Story.objects.get().teller == older
    Story.objects.update(created_at=timezone.now() - timedelta(days=200))
    assert len(_of(keeper, "people.ask")) == 2


def test_people_not_known_yet(keeper: Any, relative: Any, make_thing: Any) -> None:
    from archive.people.actions import add_person
    from archive.preferences.queries import preferences
    from archive.things.link_actions import set_people
    from archive.things.rows import RowChange

    kept = preferences()
    boy = add_person(keeper, {"name": "The boy", "unidentified": True}, kept)
    add_person(keeper, {"name": "A woman", "unidentified": True}, kept)
    for n in range(2):
        set_people(
            keeper, make_thing(f"Picture {n}"), [RowChange(None, {"person": boy, "role": "shown", "sure": True})]
        )
    found = _of(keeper, "people.unknown")
    assert [job.words for job in found] == [
        "Find out who this is in 2 things: The boy",
        "Find out who this is: A woman",
    ]
    assert all(job.tier == 3 for job in found) and extend.jobs(relative) == [] and extend.jobs(None) == []
