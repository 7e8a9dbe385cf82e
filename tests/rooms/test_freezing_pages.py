"""Treating by cold on pages: what is refused, the log, what comes next, jobs and flags."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive import extend
from archive.boxes.actions import add_box
from archive.preferences.actions import begin_with
from conservation.rooms.freezing import actions, assess, queries
from conservation.rooms.freezing.models import Freezing
from conservation.science.freezing import rule

pytestmark = pytest.mark.django_db


def _form_id(page: str) -> str:
    found = re.search(r'name="form_id" value="([^"]+)"', page)
    assert found
    return found[1]


def _sheet(client: Any, address: str, goal: str = "", **values: Any) -> Any:
    page = client.get(address).content.decode()
    return client.post(goal or address, {"form_id": _form_id(page), **values})


def _step(client: Any, bag: Freezing, step: str, **values: Any) -> Any:
    goal = reverse("rooms:freezing_step", args=[bag.public_id])
    return _sheet(client, bag.get_absolute_url(), goal, step=step, **values)


def _here(at: datetime) -> str:
    return at.astimezone(ZoneInfo("Europe/Berlin")).strftime("%Y-%m-%dT%H:%M")


def _packed(keeper: Any, thing: Any, hours: list[tuple[float, float]], since: float = 200) -> Freezing:
    now = timezone.now()
    bag = actions.add_freezing(keeper, {"title": "Scarves"}, [(thing, False)], now - timedelta(hours=since))
    for ago, celsius in hours:
        actions.read(keeper, bag, now - timedelta(hours=ago), celsius)
    return queries.find_freezing(bag.public_id)


WEEK = [(190.0 - 24 * n, -22.0) for n in range(8)]


@pytest.mark.parametrize("kind", ["oil-or-acrylic-painting", "daguerreotype", "magnetic-tape", "celluloid-object"])
def test_what_must_not_be_frozen_is_refused_with_what_to_do_instead(as_keeper: Any, make_thing: Any, kind: str) -> None:
    thing = make_thing("Not this", kind_code=kind)
    answer = _sheet(as_keeper, reverse("rooms:add_freezing"), title="Bag", things=thing.number, advised="on")
    page = answer.content.decode()
    assert answer.status_code == 422 and "Not to be frozen" in page and not Freezing.objects.exists()
    assert 'value="Bag"' in page and page.index("Read this first") < page.index("A name for the bag")


def test_wet_and_inlaid_things_are_refused(as_keeper: Any, make_thing: Any) -> None:
    wet = make_thing("Wet shawl", kind_code="wool-textile", states=["wet"])
    box = make_thing("Box", kind_code="wooden-object")
    address = reverse("rooms:add_freezing")
    assert "ice would burst it" in _sheet(as_keeper, address, title="Bag", things=wet.number).content.decode()
    inlaid = _sheet(as_keeper, address, title="Bag", things=box.number, told_inlaid="on")
    assert inlaid.status_code == 422 and "spring apart" in inlaid.content.decode()
    assert _sheet(as_keeper, address, title="Bag", things=box.number).status_code == 302


def test_glass_and_bone_want_a_conservators_word(as_keeper: Any, make_thing: Any) -> None:
    comb = make_thing("Bone comb", kind_code="ivory-bone-horn")
    address = reverse("rooms:add_freezing")
    asked = _sheet(as_keeper, address, title="Bag", things=comb.number)
    assert asked.status_code == 422 and "Only on a conservator’s word" in asked.content.decode()
    assert _sheet(as_keeper, address, title="Bag", things=comb.number, advised="on").status_code == 302
    assert Freezing.objects.get().things.get().advised is True


def test_the_whole_way_on_pages(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    room = add_box(keeper, {"title": "Attic", "level": "room"})
    scarf, now = make_thing("Scarf", kind_code="knitted-garment"), timezone.now()
    made = _sheet(
        as_keeper, reverse("rooms:add_freezing"), title="Scarves", things=scarf.number, box=room.number, freezer="Small"
    )
    bag = Freezing.objects.get()
    assert made["Location"] == bag.get_absolute_url()
    assert _step(as_keeper, bag, "in", at=_here(now - timedelta(hours=200))).status_code == 302
    for ago, celsius in WEEK:
        typed = f"{celsius}".replace("-", "−").replace(".", ",")
        assert _step(as_keeper, bag, "read", at=_here(now - timedelta(hours=ago)), celsius=typed).status_code == 302
    page = as_keeper.get(bag.get_absolute_url()).content.decode()
    assert "Done. The bag may come out." in page and "for 7 days together (confirmed)" in page
    assert page.count("do-next") == 1
    early = _step(as_keeper, bag, "opened", at=_here(now))
    assert early.status_code == 422 and "Say first when it came out." in early.content.decode()
    assert _step(as_keeper, bag, "out", at=_here(now - timedelta(hours=10))).status_code == 302
    page = as_keeper.get(bag.get_absolute_url()).content.decode()
    assert "Keep it shut" in page and "is safer" in page
    assert _step(as_keeper, bag, "opened", at=_here(now)).status_code == 302
    assert [job.key for job in extend.jobs(keeper) if "freezing" in job.key] == [f"freezing.recheck/{bag.public_id}"]
    assert _step(as_keeper, bag, "recheck").status_code == 302
    bag.refresh_from_db()
    assert bag.is_over and not [job for job in extend.jobs(keeper) if "freezing" in job.key]
    assert bag.public_id in as_keeper.get(reverse("rooms:freezings")).content.decode()


@pytest.mark.parametrize("typed", ["cold", "", "-200", "900", "nan", "1e999"])
def test_a_reading_that_is_none_is_refused(as_keeper: Any, keeper: Any, make_thing: Any, typed: str) -> None:
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), [])
    answer = _step(as_keeper, bag, "read", at=_here(timezone.now()), celsius=typed)
    assert answer.status_code == 422 and not bag.readings.exists()
    later = _step(as_keeper, bag, "read", at="2199-01-01T10:00", celsius="-20")
    assert later.status_code == 422 and "still to come" in later.content.decode()


def test_fahrenheit_is_kept_as_celsius(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    begin_with({"units": "inch"})
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), [])
    assert _step(as_keeper, bag, "read", at=_here(timezone.now()), celsius="-4").status_code == 302
    assert bag.readings.get().celsius == pytest.approx(-20)
    assert "−4 °F" in as_keeper.get(bag.get_absolute_url()).content.decode()


def test_a_unit_typed_behind_the_cold_counts(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    """0 °F is −18 °C: read as 0 °C it would tell of a bag that has thawed."""
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), [])
    assert _step(as_keeper, bag, "read", at=_here(timezone.now()), celsius="0 °F").status_code == 302
    assert bag.readings.get().celsius == pytest.approx(-17.78, abs=0.01)


@pytest.mark.parametrize(
    ("readings", "phase", "words"),
    [
        ([], "in", "nobody has read the thermometer"),
        ([(20, -5.0), (10, -6.0), (1, -5.0)], "in", "Not cold enough"),
        ([(30, -21.0), (6, -21.0)], "in", "The time is running"),
        ([(30, -21.0), (6, -3.0)], "in", "begins anew"),
        (WEEK, "in", "may come out"),
    ],
)
def test_where_a_bag_stands(keeper: Any, make_thing: Any, readings: Any, phase: str, words: str) -> None:
    bag = assess.look_at(_packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), readings))
    assert bag.phase == phase and words in bag.headline
    assert bag.may_come_out is (words == "may come out")


def test_thawing_is_twenty_four_to_forty_eight_hours_and_the_longer_is_used_for_the_job(
    keeper: Any, make_thing: Any
) -> None:
    """The reference names 24–48 h unopened; the job comes when the longer is over."""
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), WEEK)
    out = timezone.now() - timedelta(hours=5)
    actions.take_out(keeper, bag, out)
    shown = assess.look_at(queries.find_freezing(bag.public_id))
    assert shown.open_from == out + timedelta(hours=24) and shown.open_safely == out + timedelta(hours=48)
    job = next(job for job in extend.jobs(keeper) if job.key == f"freezing.open/{bag.public_id}")
    assert job.due == (out + timedelta(hours=48)).date() and job.tier == 2


def test_days_of_jobs_are_those_of_the_home(keeper: Any, make_thing: Any) -> None:
    """20:00 in UTC is the next day in Auckland."""
    out = timezone.now().replace(hour=20, minute=0) - timedelta(days=9)
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), [], since=400)

    def due() -> Any:
        (job,) = [job for job in extend.jobs(keeper) if job.key.startswith("freezing.")]
        return job.due

    with timezone.override(ZoneInfo("Pacific/Auckland")):
        actions.take_out(keeper, bag, out)
        assert due() == out.date() + timedelta(days=2 + 1)
        actions.open_bag(keeper, bag, out)
        assert due() == out.date() + timedelta(days=1) + timedelta(days=rule("recheck_after"))


def test_things_in_a_bag_are_flagged_until_it_is_opened(keeper: Any, make_thing: Any) -> None:
    scarf = make_thing("Scarf", kind_code="knitted-garment")
    bag = _packed(keeper, scarf, WEEK)

    def flagged() -> bool:
        return any("cold" in flag.words for flag in extend.flags([scarf], keeper).get(scarf.pk, []))

    assert flagged() and not extend.flags([scarf], None).get(scarf.pk)
    actions.take_out(keeper, bag, timezone.now())
    assert flagged()
    actions.open_bag(keeper, bag, timezone.now())
    assert not flagged()
    assert [panel.heading for panel in extend.panels(scarf, keeper) if "cold" in panel.heading] == ["Treated by cold"]


def test_a_stopped_treatment_says_why_and_asks_for_nothing(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    bag = _packed(keeper, make_thing("Scarf", kind_code="knitted-garment"), [])
    assert _step(as_keeper, bag, "stop", why="").status_code == 422
    assert _step(as_keeper, bag, "stop", why="The freezer failed").status_code == 302
    assert "The freezer failed" in as_keeper.get(bag.get_absolute_url()).content.decode()
    assert not [job for job in extend.jobs(keeper) if "freezing" in job.key]


def test_the_page_of_all_bags_asks_the_same_however_many(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    def ask() -> list[int]:
        with CaptureQueriesContext(connection) as page:
            assert as_keeper.get(reverse("rooms:freezings")).status_code == 200
        list(extend.jobs(keeper))  # what is counted once after a change
        with CaptureQueriesContext(connection) as jobs:
            list(extend.jobs(keeper))
        return [len(page), len(jobs)]

    _packed(keeper, make_thing("One", kind_code="knitted-garment"), WEEK)
    ask()
    few = ask()
    for number in range(6):
        _packed(keeper, make_thing(f"More {number}", kind_code="knitted-garment"), WEEK)
    ask()  # after a change the catalogue is counted once more
    assert ask() == few
