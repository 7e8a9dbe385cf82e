"""What the keeper alone reads of rooms is not told in histories either, which relatives may open."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from archive.boxes.actions import add_box, move

pytestmark = pytest.mark.django_db
CANARY = "Zinnoberkanarie"


def _history(client: Any, code: str, record: Any) -> str:
    answer = client.get(reverse("access:history", args=[code, record.public_id]))
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_findings_moves_and_the_cold_stay_out_of_a_relatives_histories(
    as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any
) -> None:
    from conservation.rooms.actions import say_what_it_is_like
    from conservation.rooms.cold import actions as cold
    from conservation.rooms.freezing.actions import add_freezing
    from conservation.rooms.living.actions import decide
    from conservation.rooms.rounds import actions as rounds

    today, now = timezone.localdate(), timezone.now()
    room, thing = add_box(keeper, {"title": "Attic", "level": "room"}), make_thing("Coat")
    move(keeper, [thing], [], room)
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": today}
    finding = rounds.add_finding(keeper, room, values, [thing], [])
    rounds.close_finding(keeper, finding, today, f"Rang {CANARY}")
    for note in ("", CANARY):
        say_what_it_is_like(keeper, room, {"note": note})
    for note in ("", CANARY):
        place = cold.say_it_is_cold(keeper, room, {"appliance": "freezer", "note": note})
    trip = cold.take_out(
        keeper, place, thing, {"package": "box", "out_at": now, "opens_at": now + timedelta(days=1), "why": CANARY}
    )
    cold.note_opened(keeper, trip, now)
    decide(keeper, thing, {"answer": "refused", "reason": CANARY})
    add_freezing(keeper, {"title": CANARY}, [(thing, False)])
    told = (CANARY, "finding", "out of the cold", "move decided", "treated by cold", "cold place")
    for code, record in (("boxes", room), ("things", thing)):
        mine, theirs = _history(as_keeper, code, record), _history(as_relative, code, record)
        assert [words for words in told if words in theirs] == []
        assert len([words for words in told if words in mine]) >= 3


def test_notes_on_what_hung_and_plans_stay_out_of_a_relatives_histories(
    as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any
) -> None:
    from conservation.on_show.plans import actions as plans
    from conservation.on_show.spots import actions as spots

    thing = make_thing("Quilt")
    spot = spots.save_spot(keeper, None, {"title": "Wall", "form": "wall"})
    showing = spots.hang(keeper, thing, spot, as_it_happened=True)
    spots.take_down(keeper, showing, note=CANARY)
    plan = plans.add_plan(keeper, {"title": "A year", "starts_on": timezone.localdate(), "weeks": 4})
    plans.change_plan(keeper, plan, {"note": CANARY})
    plans.put_in(keeper, plan, thing, spot, 0, 2, is_copy=False, pinned=True)
    mine, theirs = _history(as_keeper, "things", thing), _history(as_relative, "things", thing)
    assert CANARY in mine and "planned showing" in mine and "Came down" in theirs
    assert CANARY not in theirs and "planned showing" not in theirs
    assert CANARY in _history(as_keeper, "plans", plan) and CANARY not in _history(as_relative, "plans", plan)
