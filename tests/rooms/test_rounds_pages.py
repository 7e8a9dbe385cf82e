"""Rounds and findings: lists made from the house, a walk on a phone, pictures that lose nothing, jobs and flags."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive import extend
from archive.access.changes import changing
from archive.access.models import ChangeSet
from archive.access.undo import undo
from archive.boxes.actions import add_box, move
from archive.things.models import Thing
from conservation.rooms.models import RoomFacts
from conservation.rooms.rounds import actions, assess, queries
from conservation.rooms.rounds.models import Finding, Round, RoundRoom
from tests.conftest import jpeg
from tests.rooms.conftest import a_year

pytestmark = pytest.mark.django_db


@pytest.fixture
def attic(keeper: Any) -> Any:
    return add_box(keeper, {"title": "Attic", "level": "room"})


def _facts(keeper: Any, room: Any, **values: Any) -> None:
    with changing(keeper, "test"):
        RoomFacts(box=room, **values).save()


def _plan(keeper: Any, title: str) -> Any:
    today = timezone.localdate()
    plans = assess.plan_house(queries.rows_of_rooms(keeper, today), today)
    return next(each for each in plans if each.room.title == title)


def _codes(plan: Any) -> set[str]:
    return {line.check.code for line in plan.lines}


def _sheet(client: Any, address: str, **values: Any) -> Any:
    form_id = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert form_id
    return client.post(address, {"form_id": form_id[1], **values})


# -- the list is made from this house ----------------------------------------------------------------------------------


def test_only_what_the_room_has_is_on_its_list(keeper: Any, attic: Any, make_thing: Any) -> None:
    cellar = add_box(keeper, {"title": "Cellar", "level": "room"})
    _facts(keeper, cellar, floor="cellar", equipment=["air-conditioner"], windows=0, water=["pipes"])
    chest = add_box(keeper, {"title": "Chest", "level": "furniture", "inside": attic})
    coat = make_thing("Coat", kind_code="wool-textile")
    move(keeper, [coat], [], chest)
    there = _codes(_plan(keeper, "Cellar"))
    assert {"air-conditioner", "pipes", "ground-water"} <= there and not {"moth", "window-seals", "roof"} & there
    above = _codes(_plan(keeper, "Attic"))
    assert {"moth", "window-seals"} <= above and not {"air-conditioner", "pipes", "ground-water"} & above
    assert not {"moth"} & _codes(_plan(keeper, "Cellar"))


def test_things_that_are_withdrawn_do_not_count(keeper: Any, attic: Any, make_thing: Any) -> None:
    coat = make_thing("Coat", kind_code="wool-textile")
    move(keeper, [coat], [], attic)
    assert "moth" in _codes(_plan(keeper, "Attic"))
    with changing(keeper, "test"):
        coat.refresh_from_db()
        coat.withdrawn_at = timezone.now()
        coat.save()
    assert "moth" not in _codes(_plan(keeper, "Attic"))


def test_a_finding_makes_its_check_more_frequent_and_the_page_says_why(as_keeper: Any, keeper: Any, attic: Any) -> None:
    today = timezone.localdate()
    round_ = actions.begin_round(keeper, today, [(attic, ["insects", "dust"])])
    actions.answer_room(keeper, round_.rooms.get(), {"insects": "found", "dust": "fine"}, today)
    values = {"check_code": "insects", "box": None, "gravity": "clear", "words": "", "found_on": today}
    finding = actions.add_finding(keeper, attic, values, [], [], round_)
    line = next(each for each in _plan(keeper, "Attic").lines if each.check.code == "insects")
    assert line.every.days == 7 and line.every.rest_days == 30 and line.due == today + timedelta(days=7)
    page = as_keeper.get(reverse("rooms:rounds")).content.decode()
    assert "Something found there is still open." in page and "At rest every 30 days." in page
    actions.close_finding(keeper, finding, today, "Vacuumed")
    line = next(each for each in _plan(keeper, "Attic").lines if each.check.code == "insects")
    assert line.every.days == 14  # found lately


def test_three_fine_looks_make_it_rarer_and_not_looked_counts_for_nothing(keeper: Any, attic: Any) -> None:
    today = timezone.localdate()
    for ago, said in ((50, "fine"), (40, "fine"), (30, "not-looked"), (20, "fine")):
        day = today - timedelta(days=ago)
        round_ = actions.begin_round(keeper, day, [(attic, ["dust"])])
        actions.answer_room(keeper, round_.rooms.get(), {"dust": said}, day)
    line = next(each for each in _plan(keeper, "Attic").lines if each.check.code == "dust")
    assert line.every.days == 60 and line.last == today - timedelta(days=20)


# -- a walk ------------------------------------------------------------------------------------------------------------


def test_a_walk_from_beginning_to_end_without_scripts(as_keeper: Any, attic: Any, make_thing: Any, keeper: Any) -> None:
    hall = add_box(keeper, {"title": "Hall", "level": "room"})
    begun = _sheet(as_keeper, reverse("rooms:rounds"), rooms=[attic.public_id, hall.public_id])
    round_ = Round.objects.get()
    assert begun.status_code == 302 and begun["Location"] == round_.get_absolute_url()
    rows = {row.box.title: row for row in round_.rooms.select_related("box")}
    address = reverse("rooms:round_room", args=[round_.public_id, attic.public_id])
    page = as_keeper.get(address).content.decode()
    assert page.count('value="fine"') == len(rows["Attic"].checks) + 1 and "Mould can make you ill" in page
    # Half of it, then left: what was said is kept, and the page shows it.
    first, second = rows["Attic"].checks[:2]
    _sheet(as_keeper, address, **{f"answer_{first}": "fine"})
    again = as_keeper.get(address).content.decode()
    assert re.search(rf'name="answer_{first}" value="fine"[^>]*checked', again)
    # Something found leads to writing it up, the rest called fine at once.
    answer = _sheet(as_keeper, address, **{f"answer_{second}": "found"}, rest="fine")
    assert answer["Location"] == reverse("rooms:add_finding", args=[attic.public_id]) + (
        f"?round={round_.public_id}&check={second}"
    )
    rows["Attic"].refresh_from_db()
    assert rows["Attic"].answers[second] == "found" and not rows["Attic"].open_checks()
    assert set(rows["Attic"].answers.values()) == {"fine", "found"}
    round_.refresh_from_db()
    assert round_.finished_at is None
    done = _sheet(as_keeper, reverse("rooms:round_room", args=[round_.public_id, hall.public_id]), rest="fine")
    assert done.status_code == 302
    round_.refresh_from_db()
    assert round_.finished_at is not None


def test_after_a_storm_only_what_water_and_wind_do_is_walked(as_keeper: Any, keeper: Any, attic: Any) -> None:
    """The reference on housing, §8: after a storm roof, pipes, basement, walls, boxes on the floor."""
    _facts(keeper, attic, floor="loft", water=["roof", "pipes"], outside_walls=["west"])
    _sheet(as_keeper, reverse("rooms:rounds"), rooms=[attic.public_id], which="storm")
    assert RoundRoom.objects.get().checks == ["leaks", "window-seals", "pipes", "roof", "outer-walls"]
    _sheet(as_keeper, reverse("rooms:rounds"), rooms=[attic.public_id], which="everything")
    assert len(RoundRoom.objects.latest("pk").checks) == len(_plan(keeper, "Attic").lines)
    assert _sheet(as_keeper, reverse("rooms:rounds"), which="everything").status_code == 422  # no room ticked


def test_two_phones_in_one_room_keep_each_others_answers(keeper: Any, attic: Any) -> None:
    today = timezone.localdate()
    round_ = actions.begin_round(keeper, today, [(attic, ["leaks", "smell", "dust"])])
    one, other = RoundRoom.objects.get(), RoundRoom.objects.get()
    actions.answer_room(keeper, one, {"leaks": "fine"}, today)
    actions.answer_room(keeper, other, {"smell": "found", "nonsense": "fine"}, today)
    assert RoundRoom.objects.get().answers == {"leaks": "fine", "smell": "found"}
    actions.end_round(keeper, round_)
    assert _plan(keeper, "Attic").lines and "dust" in {line.check.code for line in _plan(keeper, "Attic").due}


def test_the_sheet_has_every_room_every_check_and_the_cautions(as_keeper: Any, keeper: Any, attic: Any) -> None:
    round_ = actions.begin_round(keeper, timezone.localdate(), [(attic, ["leaks", "mould", "dust"])])
    page = as_keeper.get(reverse("rooms:round_sheet", args=[round_.public_id])).content.decode()
    assert page.count("box-to-tick") == 9 and "Water and electricity together kill" in page and "FFP3" in page


def test_an_answer_nobody_offers_is_refused(as_keeper: Any, keeper: Any, attic: Any) -> None:
    round_ = actions.begin_round(keeper, timezone.localdate(), [(attic, ["leaks"])])
    address = reverse("rooms:round_room", args=[round_.public_id, attic.public_id])
    assert _sheet(as_keeper, address, answer_leaks="perhaps").status_code == 422
    assert RoundRoom.objects.get().answers == {}
    other = add_box(keeper, {"title": "Other", "level": "room"})
    assert as_keeper.get(reverse("rooms:round_room", args=[round_.public_id, other.public_id])).status_code == 404


# -- findings ----------------------------------------------------------------------------------------------------------


def test_a_finding_begins_with_its_caution_and_names_what_is_at_risk(
    as_keeper: Any, keeper: Any, attic: Any, make_thing: Any
) -> None:
    coat, letter = make_thing("Coat", kind_code="wool-textile"), make_thing("Letter", kind_code="letter")
    spoon = make_thing("Spoon", kind_code="silver")
    move(keeper, [coat, letter, spoon], [], attic)
    address = reverse("rooms:add_finding", args=[attic.public_id])
    today = timezone.localdate().isoformat()
    answer = _sheet(
        as_keeper, address, check_code="mould", gravity="urgent", words="Grey fluff.", things=coat.number,
        found_on=today, pictures=SimpleUploadedFile("fluff.jpg", jpeg(seed=8)),
    )  # fmt: skip
    finding = Finding.objects.get()
    assert answer["Location"] == finding.get_absolute_url()
    page = as_keeper.get(finding.get_absolute_url()).content.decode()
    caution, means = page.index("Mould can make you ill"), page.index("What it means")
    assert caution < means < page.index("What to do, in this order")
    assert "Coat" in page and "Letter" in page and "Spoon" not in page and page.count("do-next") == 1
    picture = finding.pictures.get().picture
    assert picture.box_id == attic.pk and picture.view == "damage" and picture.public_id in page
    closed = _sheet(as_keeper, finding.get_absolute_url(), closed_how="Wall dried", closed_on=today)
    finding.refresh_from_db()
    assert closed.status_code == 302 and finding.closed_how == "Wall dried"
    undo(ChangeSet.objects.latest("pk"), keeper)
    finding.refresh_from_db()
    assert finding.closed_on is None


def test_a_corrupt_picture_loses_nothing_typed_and_no_good_picture(as_keeper: Any, attic: Any) -> None:
    address = reverse("rooms:add_finding", args=[attic.public_id])
    values = {
        "check_code": "leaks", "gravity": "clear", "words": "Under the skylight.", "things": "",
        "found_on": timezone.localdate().isoformat(),
    }  # fmt: skip
    files = [
        SimpleUploadedFile("good.jpg", jpeg(seed=3)),
        SimpleUploadedFile("cut.jpg", jpeg(seed=4)[:900]),
        SimpleUploadedFile("no picture.jpg", b"MZ" + b"\x00" * 400),
    ]
    answer = _sheet(as_keeper, address, **values, pictures=files)
    page = answer.content.decode()
    assert answer.status_code == 422 and Finding.objects.count() == 0
    assert "Under the skylight." in page and "cut.jpg" in page and "no picture.jpg" in page
    ticket = re.search(r'name="held_pictures" value="([^"]+)"', page)
    form_id = re.search(r'name="form_id" value="([^"]+)"', page)
    assert ticket and form_id
    again = as_keeper.post(
        address, {**values, "form_id": form_id[1], "held_pictures": ticket[1], "without_refused": "1"}
    )
    assert again.status_code == 302
    made = Finding.objects.get()
    assert made.words == "Under the skylight." and made.pictures.count() == 1


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"things": "9999-9"}, "9999-9"),
        ({"found_on": "2199-01-01"}, "still to come"),
        ({"check_code": "ghosts"}, "Choose one from the list."),
        ({"box": "nowhere at all"}, "No box"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(as_keeper: Any, attic: Any, values: Any, why: str) -> None:
    address = reverse("rooms:add_finding", args=[attic.public_id])
    sent = {"check_code": "leaks", "gravity": "clear", "words": "Kept.", "found_on": timezone.localdate().isoformat()}
    answer = _sheet(as_keeper, address, **{**sent, **values})
    assert answer.status_code == 422 and why in answer.content.decode() and "Kept." in answer.content.decode()
    assert not Finding.objects.exists()


def test_a_box_of_another_room_is_no_place_for_it(as_keeper: Any, keeper: Any, attic: Any) -> None:
    other = add_box(keeper, {"title": "Hall", "level": "room"})
    tin = add_box(keeper, {"title": "Tin", "inside": other})
    address = reverse("rooms:add_finding", args=[attic.public_id])
    today = timezone.localdate().isoformat()
    answer = _sheet(as_keeper, address, check_code="leaks", gravity="clear", box=tin.number, found_on=today)
    assert answer.status_code == 422 and "does not stand in Attic" in answer.content.decode()


def test_a_picture_taken_off_leaves_the_finding(keeper: Any, attic: Any) -> None:
    from archive.pictures.actions import remove_picture, take_in

    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg(seed=5))])
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": timezone.localdate()}
    finding = actions.add_finding(keeper, attic, values, [], taken)
    remove_picture(keeper, finding.pictures.get().picture)
    assert not finding.pictures.exists()
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert finding.pictures.count() == 1


# -- the seam ----------------------------------------------------------------------------------------------------------


def test_jobs_say_what_is_due_and_findings_come_in_their_tier(keeper: Any, attic: Any, relative: Any) -> None:
    found = [job for job in extend.jobs(keeper) if job.key.startswith("rounds.")]
    assert [job.key for job in found] == [f"rounds.round/{attic.public_id}"]
    assert found[0].minutes == len(_plan(keeper, "Attic").due) > 0 and found[0].why == "Nobody has walked it yet."
    values = {"check_code": "leaks", "box": None, "gravity": "clear", "words": "", "found_on": timezone.localdate()}
    finding = actions.add_finding(keeper, attic, values, [], [])
    job = next(job for job in extend.jobs(keeper) if job.key == f"rounds.finding/{finding.public_id}")
    assert job.tier == 2 and job.first.startswith("Read the caution.") and job.url == finding.get_absolute_url()
    actions.close_finding(keeper, finding, timezone.localdate(), "Dry")
    assert not [job for job in extend.jobs(keeper) if job.key.startswith("rounds.finding/")]
    assert not [job for job in extend.jobs(relative) if job.key.startswith("rounds.")]


def test_a_round_under_way_is_one_job_and_its_rooms_are_not_due_twice(keeper: Any, attic: Any) -> None:
    round_ = actions.begin_round(keeper, timezone.localdate(), [(attic, ["leaks", "dust"])])
    keys = [job.key for job in extend.jobs(keeper) if job.key.startswith("rounds.")]
    assert keys == [f"rounds.going-on/{round_.public_id}"]


def test_flags_on_things_found_on_and_on_those_in_the_same_box(keeper: Any, attic: Any, make_thing: Any) -> None:
    tin = add_box(keeper, {"title": "Tin", "inside": attic})
    on, near, far = (make_thing(name, kind_code="wool-textile") for name in ("On", "Near", "Far"))
    move(keeper, [near], [], tin)
    move(keeper, [far], [], attic)
    values = {"check_code": "moth", "box": tin, "gravity": "clear", "words": "", "found_on": timezone.localdate()}
    finding = actions.add_finding(keeper, attic, values, [on], [])
    things = list(Thing.objects.filter(pk__in=[on.pk, near.pk, far.pk]))

    def marks() -> dict[int, list[str]]:
        found = extend.flags(things, keeper)
        return {pk: [flag.words for flag in each if "finding" in flag.words] for pk, each in found.items()}

    told = marks()
    assert told[on.pk] == told[near.pk] == ["Open finding: Silk tubes, webbing, bare patches"] and not told.get(far.pk)
    assert not extend.flags(things, None).get(on.pk)
    actions.close_finding(keeper, finding, timezone.localdate(), "Frozen")
    assert not any(marks().values())


def test_pages_ask_the_database_the_same_however_much_there_is(as_keeper: Any, keeper: Any, attic: Any) -> None:
    def ask() -> list[int]:
        counts = []
        for address in (reverse("rooms:rounds"), reverse("rooms:findings"), reverse("rooms:cleaning")):
            with CaptureQueriesContext(
                connection,
            ) as seen:
                assert as_keeper.get(address).status_code == 200
            counts.append(len(seen))
        with CaptureQueriesContext(connection) as seen:
            list(extend.jobs(keeper))
        return [*counts, len(seen)]

    today = timezone.localdate()
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": today}

    def more(number: int) -> None:
        room = add_box(keeper, {"title": f"Room {number}", "level": "room"})
        for finished in (True, False):
            round_ = actions.begin_round(keeper, today, [(room, ["leaks", "dust"]), (attic, ["mould"])])
            actions.add_finding(keeper, room, values, [], [], round_)
            if finished:
                actions.end_round(keeper, round_)

    more(1)
    ask()
    few = ask()
    for number in range(2, 9):
        more(number)
    assert (ask(), ask())[1] == few and max(few[:3]) <= 20


def test_relatives_and_visitors_see_none_of_it(as_relative: Any, as_visitor: Any, keeper: Any, attic: Any) -> None:
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": timezone.localdate()}
    finding = actions.add_finding(keeper, attic, values, [], [])
    for client in (as_relative, as_visitor):
        for address in (finding.get_absolute_url(), reverse("rooms:rounds"), reverse("rooms:findings")):
            assert client.get(address).status_code in (302, 404)


# -- what was measured and caught ----------------------------------------------------------------------------------


def test_measured_damp_and_what_traps_caught_make_checks_more_frequent(
    as_keeper: Any, keeper: Any, room: Any, sensor: Any, lay: Any
) -> None:
    from conservation.rooms.traps.actions import count
    from conservation.rooms.traps.actions import lay as lay_trap

    def days(code: str) -> int:
        return next(line.every.days for line in _plan(keeper, "Parlour").lines if line.check.code == code)

    assert (days("mould"), days("insects")) == (30, 30)
    lay(sensor, *a_year(days=120, damp=82.0))
    assert days("mould") == 14
    today = timezone.localdate()
    placed = {"across": 0, "along": 0, "where": "", "lure": False, "placed_on": today - timedelta(days=40)}
    trap = lay_trap(keeper, room, placed)
    caught = {"moth": 1, "beetle": 0, "larva": 0, "silverfish": 0, "other": 0, "renewed": False, "note": ""}
    count(keeper, trap, {**caught, "counted_on": today})
    assert days("insects") == 14
    page = as_keeper.get(reverse("rooms:rounds")).content.decode()
    assert "Its air was damp when it was measured." in page and "A trap there caught moths" in page


def test_a_cold_store_room_is_looked_at_for_insects_less_often(keeper: Any, room: Any, sensor: Any, lay: Any) -> None:
    lay(sensor, *a_year(days=120, warm=8.0, damp=50.0, swing=2.0))
    line = next(each for each in _plan(keeper, "Parlour").lines if each.check.code == "insects")
    assert line.every.days == 60 and any("too cool" in reason.words for reason in line.reasons)


def test_what_rooms_hold_is_counted_from_an_index_without_opening_a_thing(db: None) -> None:
    """With 50,000 things this is asked on the first page: it must read the index alone."""
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {queries._KINDS}", [*queries._GONE])
        plan = " | ".join(str(row[3]) for row in cursor.fetchall())
    assert "USING COVERING INDEX things_by_place" in plan and "SCAN thing" not in plan


def test_a_room_destroyed_for_good_takes_its_walks_findings_and_traps_with_it(
    as_keeper: Any, keeper: Any, attic: Any, make_thing: Any
) -> None:
    from archive.access.actions import destroy, withdraw
    from archive.access.subjects import subject
    from archive.pictures.actions import take_in
    from conservation.rooms.rounds.models import FindingPicture, FindingThing
    from conservation.rooms.traps.actions import count
    from conservation.rooms.traps.actions import lay as lay_trap
    from conservation.rooms.traps.models import Trap, TrapCount

    today = timezone.localdate()
    round_ = actions.begin_round(keeper, today, [(attic, ["leaks"])])
    actions.answer_room(keeper, round_.rooms.get(), {"leaks": "found"}, today)
    values = {"check_code": "leaks", "box": None, "gravity": "clear", "words": "Drip.", "found_on": today}
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg(seed=6))])
    actions.add_finding(keeper, attic, values, [make_thing("Coat")], taken, round_)
    trap = lay_trap(keeper, attic, {"across": 0, "along": 0, "where": "", "lure": False, "placed_on": today})
    empty = {"moth": 0, "beetle": 0, "larva": 0, "silverfish": 0, "other": 0, "renewed": False, "note": ""}
    count(keeper, trap, {**empty, "counted_on": today})
    history = as_keeper.get(reverse("access:history", args=["boxes", attic.public_id])).content.decode()
    assert "finding" in history and "insect trap" in history
    withdraw(keeper, attic, "Walled up")
    assert "Attic" not in as_keeper.get(reverse("rooms:rounds")).content.decode().split("Rounds done")[0]
    destroy(keeper, subject("boxes"), attic, "Walled up")
    for model in (RoundRoom, Finding, FindingThing, FindingPicture, Trap, TrapCount):
        assert not model.objects.exists() and not model.history.exists(), model
    assert Round.objects.count() == 1
    assert as_keeper.get(round_.get_absolute_url()).status_code == 200


def test_a_finding_with_much_in_it_asks_no_more(as_keeper: Any, keeper: Any, attic: Any, make_thing: Any) -> None:
    from archive.pictures.actions import take_in

    def made(number: int) -> Finding:
        seen = [make_thing(f"Seen {number} {n}", kind_code="wool-textile") for n in range(number)]
        near = [make_thing(f"Near {number} {n}", kind_code="wool-textile") for n in range(number)]
        move(keeper, near, [], attic)
        files = [SimpleUploadedFile(f"{n}.jpg", jpeg(seed=90 + 10 * number + n)) for n in range(number)]
        values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": timezone.localdate()}
        return actions.add_finding(keeper, attic, values, seen, take_in(files)[0])

    def ask(finding: Finding) -> int:
        as_keeper.get(finding.get_absolute_url())
        with CaptureQueriesContext(connection) as seen:
            assert as_keeper.get(finding.get_absolute_url()).status_code == 200
        return len(seen)

    few = ask(made(1))
    assert ask(made(5)) == few <= 20
