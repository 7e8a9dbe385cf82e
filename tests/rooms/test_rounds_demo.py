"""The demo's rounds, findings, traps and bags: what they name is there, and they show what they are meant to show."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from archive import extend
from archive.boxes.actions import add_box, move
from archive.boxes.models import Box
from archive.demo import read_household
from archive.demo.drawings import PICTURES
from conservation.rooms.freezing import assess as freezing
from conservation.rooms.freezing import queries as bags
from conservation.rooms.freezing.models import Freezing
from conservation.rooms.rounds.models import Finding, Round
from conservation.rooms.traps.models import Trap
from conservation.science.rounds import checks

pytestmark = pytest.mark.django_db


def test_what_the_rows_name_is_there() -> None:
    household = read_household()
    things = {row["title"] for row in household["thing"]}
    boxes = {row["title"] for row in household["box"]}
    boxes |= {f"{row['title']} {n}" for row in household["box"] for n in range(1, row.get("count", 0) + 1)}
    for row in (*household["finding"], *household["freezing"]):
        assert set(row.get("things", [])) <= things and {row.get("box", "Attic"), row.get("room", "Attic")} <= boxes
    assert all(row["check"] in checks() and row.get("picture", "webbing") in PICTURES for row in household["finding"])
    assert {row["finding"] for row in household["freezing"]} <= {row["check"] for row in household["finding"]}


def test_it_is_recorded_and_shows_every_state_of_things(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    household = read_household()
    house = add_box(keeper, {"title": "The ferry house", "level": "home"})
    rooms = {
        title: add_box(keeper, {"title": title, "level": "room", "inside": house})
        for title in ("Attic", "Bedroom", "Cellar", "Hall", "Kitchen", "Parlour")
    }
    for title, room in (("Sea chest", "Attic"), ("Top board", "Hall"), ("Rack shelf 3", "Cellar")):
        add_box(keeper, {"title": title, "level": "shelf", "inside": rooms[room]})
    flag, basket = make_thing("Flag of the river guild", kind_code="flag"), make_thing("Work basket with wool")
    move(keeper, [flag], [], Box.objects.get(title="Sea chest"))
    drawn: list[str] = []

    def draw(name: str, seed: int, title: str) -> Any:
        from django.core.files.uploadedfile import SimpleUploadedFile

        from archive.pictures.actions import take_in
        from tests.conftest import jpeg

        drawn.append(name)
        return take_in([SimpleUploadedFile(f"{name}.jpg", jpeg(seed=seed))])[0][0]

    for _ in range(2):  # what is there already stays as it is
        for each in extend.extensions():
            if each.subject in ("rounds", "traps", "freezing") and each.demo:
                each.demo(household, keeper, draw)
    assert Round.objects.count() == 4 and Round.objects.filter(finished_at=None).count() == 1
    assert Finding.objects.filter(closed_on=None).count() == 3 and Finding.objects.count() == 5
    assert len(drawn) == 3 and Trap.objects.count() == 5
    phases = {each.title: freezing.look_at(bags.find_freezing(each.public_id)) for each in Freezing.objects.all()}
    over, under_way = phases["Flag from the sea chest"], phases["Work basket and what was in it"]
    assert over.phase == "over" and over.treated and over.answer.by and over.answer.by.code == "week"
    assert under_way.phase == "in" and under_way.answer.standing == "running"
    assert basket.pk in {each.thing_id for each in under_way.freezing.things.all()}
    sorts = {job.sort.split(".")[0] for job in extend.jobs(keeper)}
    assert {"rounds", "traps", "freezing"} <= sorts
    assert as_keeper.get(reverse("rooms:rounds")).status_code == 200
