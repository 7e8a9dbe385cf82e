"""Traps: laid by a tap or by typing, counted, judged, due; nothing typed is lost."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive import extend
from archive.access.changes import changing
from archive.boxes.actions import add_box
from conservation.rooms.models import RoomFacts
from conservation.rooms.traps import actions, assess
from conservation.rooms.traps.models import Trap, TrapCount

pytestmark = pytest.mark.django_db
NONE = {"moth": 0, "beetle": 0, "larva": 0, "silverfish": 0, "other": 0, "renewed": False, "note": ""}


@pytest.fixture
def room(keeper: Any) -> Any:
    return add_box(keeper, {"title": "Attic", "level": "room"})


def _lay(keeper: Any, room: Any, ago: int = 40, **values: Any) -> Trap:
    placed = timezone.localdate() - timedelta(days=ago)
    start = {"across": 100, "along": 900, "where": "", "lure": False, "placed_on": placed}
    return actions.lay(keeper, room, {**start, **values})


def _form_id(page: str) -> str:
    found = re.search(r'name="form_id" value="([^"]+)"', page)
    assert found
    return found[1]


def test_a_tap_sets_the_place_keeps_what_was_typed_and_saves_nothing(as_keeper: Any, room: Any) -> None:
    address = reverse("rooms:add_trap", args=[room.public_id])
    page = as_keeper.get(address).content.decode()
    drawn = assess.plan(room, [])
    sent = {
        "form_id": _form_id(page), "where": "By the hatch", "placed_on": timezone.localdate().isoformat(),
        "tap.x": str(drawn.edge + drawn.inner_width // 4), "tap.y": str(drawn.height - drawn.edge),
    }  # fmt: skip
    tapped = as_keeper.post(address, sent)
    page = tapped.content.decode()
    assert tapped.status_code == 200 and not Trap.objects.exists() and "By the hatch" in page
    assert 'name="across" value="25"' in page and 'name="along" value="100"' in page and "at=250-1000" in page
    saved = as_keeper.post(
        address, {"form_id": _form_id(page), "across": "25", "along": "100", "where": "By the hatch",
                  "placed_on": timezone.localdate().isoformat(), "lure": "on"},
    )  # fmt: skip
    trap = Trap.objects.get()
    assert saved.status_code == 302 and (trap.across, trap.along, trap.lure, trap.label) == (250, 1000, True, 1)


def test_enter_on_the_plan_is_no_tap(as_keeper: Any, room: Any) -> None:
    address = reverse("rooms:add_trap", args=[room.public_id])
    page = as_keeper.get(address).content.decode()
    sent = {"form_id": _form_id(page), "across": "5", "along": "50", "placed_on": timezone.localdate().isoformat()}
    assert as_keeper.post(address, {**sent, "tap.x": "0", "tap.y": "0"}).status_code == 302
    assert Trap.objects.get().across == 50


@pytest.mark.parametrize("value", ["101", "-1", "left", ""])
def test_a_place_outside_the_room_is_refused(as_keeper: Any, room: Any, value: str) -> None:
    address = reverse("rooms:add_trap", args=[room.public_id])
    page = as_keeper.get(address).content.decode()
    answer = as_keeper.post(
        address, {"form_id": _form_id(page), "across": value, "along": "10", "where": "Kept",
                  "placed_on": timezone.localdate().isoformat()},
    )  # fmt: skip
    assert answer.status_code == 422 and "Kept" in answer.content.decode() and not Trap.objects.exists()


def test_the_plan_has_the_rooms_shape_and_is_a_picture(as_keeper: Any, keeper: Any, room: Any) -> None:
    assert not assess.plan(room, []).measured
    with changing(keeper, "test"):
        RoomFacts(box=room, width_mm=6000.0, length_mm=3000.0).save()
    room.refresh_from_db()
    drawn = assess.plan(room, [])
    assert drawn.measured and drawn.inner_width == pytest.approx(2 * drawn.inner_height, abs=2)
    _lay(keeper, room)
    answer = as_keeper.get(reverse("rooms:trap_plan", args=[room.public_id]) + "?at=500-500")
    assert answer["Content-Type"].startswith("image/svg+xml") and b">1</text>" in answer.content
    assert as_keeper.get(reverse("rooms:trap_plan", args=[room.public_id]) + "?at=x-<svg>").status_code == 200


def test_a_tap_on_the_drawn_place_is_that_place() -> None:
    for across, along in ((0, 0), (250, 1000), (1000, 333), (997, 4)):
        height = 340
        x, y = assess._place(across, along, height)
        back = assess.tapped(round(x), round(y), height)
        assert abs(back[0] - across) <= 3 and abs(back[1] - along) <= 3


def test_counting_judges_and_a_new_trap_begins_anew(as_keeper: Any, keeper: Any, room: Any) -> None:
    today = timezone.localdate()
    trap = _lay(keeper, room, ago=60)
    actions.count(keeper, trap, {**NONE, "counted_on": today - timedelta(days=30), "renewed": True})
    address = trap.get_absolute_url()
    page = as_keeper.get(address).content.decode()
    answer = as_keeper.post(
        address, {"form_id": _form_id(page), "moth": "3", "beetle": "", "counted_on": today.isoformat()}
    )
    assert answer.status_code == 302
    last = TrapCount.objects.latest("pk")
    assert (last.moth, last.beetle, last.since) == (3, 0, today - timedelta(days=30))
    trap.refresh_from_db()
    assert trap.fresh_since == today - timedelta(days=30)
    page = as_keeper.get(address).content.decode()
    assert "Moths: 3, more than before" in page and "our default" in page and "<table>" in page and "3!" in page


@pytest.mark.parametrize(("name", "value"), [("moth", "-1"), ("moth", "many"), ("counted_on", "2199-01-01")])
def test_a_count_that_cannot_be_is_refused(as_keeper: Any, keeper: Any, room: Any, name: str, value: str) -> None:
    trap = _lay(keeper, room)
    page = as_keeper.get(trap.get_absolute_url()).content.decode()
    sent = {"form_id": _form_id(page), "counted_on": timezone.localdate().isoformat(), "note": "Kept", name: value}
    answer = as_keeper.post(trap.get_absolute_url(), sent)
    assert answer.status_code == 422 and "Kept" in answer.content.decode() and not TrapCount.objects.exists()


def test_jobs_to_count_to_renew_and_to_look(keeper: Any, room: Any, relative: Any) -> None:
    today = timezone.localdate()
    trap = _lay(keeper, room, ago=80)
    keys = {job.key for job in extend.jobs(keeper)}
    assert {f"traps.count/{room.public_id}", f"traps.renew/{room.public_id}"} <= keys
    actions.count(keeper, trap, {**NONE, "moth": 4, "counted_on": today, "renewed": True})
    found = {job.key: job for job in extend.jobs(keeper) if job.key.startswith("traps.")}
    assert set(found) == {f"traps.look/{trap.public_id}"} and "moths 4" in found[f"traps.look/{trap.public_id}"].why
    actions.take_away(keeper, trap, today)
    assert not [job for job in extend.jobs(keeper) if job.key.startswith("traps.")]
    assert not [job for job in extend.jobs(relative) if job.key.startswith("traps.")]


def test_pages_ask_the_database_the_same_however_many_traps(as_keeper: Any, keeper: Any, room: Any) -> None:
    def ask() -> list[int]:
        counts = []
        for address in (reverse("rooms:traps"), reverse("rooms:room_traps", args=[room.public_id])):
            with CaptureQueriesContext(connection) as seen:
                assert as_keeper.get(address).status_code == 200
            counts.append(len(seen))
        list(extend.jobs(keeper))  # what is counted once after a change
        with CaptureQueriesContext(connection) as seen:
            list(extend.jobs(keeper))
        return [*counts, len(seen)]

    def more() -> None:
        trap = _lay(keeper, room)
        for ago in (30, 2):
            actions.count(keeper, trap, {**NONE, "moth": 2, "counted_on": timezone.localdate() - timedelta(days=ago)})

    more()
    ask()
    few = ask()
    for _ in range(6):
        more()
    ask()  # after a change the catalogue is counted once more
    assert ask() == few
