"""Two people change one record of care: whoever saves second is told first, also when their form was not in order."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

pytestmark = pytest.mark.django_db

Form = tuple[str, dict[str, str], dict[str, str], Any]  # address, what one and the other types, what is saved


def _own_job(keeper: Any, thing: Any) -> Form:
    from tests.this_week.cast import own_job

    own = own_job(keeper, "Once")
    sent = {"minutes": "5", "tier": "4"}
    return reverse("this_week:own", args=[own.public_id]), {**sent, "words": "A"}, {**sent, "words": "B"}, own


def _spot(keeper: Any, thing: Any) -> Form:
    from conservation.on_show.spots.actions import save_spot

    spot = save_spot(keeper, None, {"title": "Wall", "form": "wall"})
    sent = {"form": "wall", "capacity": "1"}
    return reverse("on_show:edit_spot", args=[spot.public_id]), {**sent, "title": "A"}, {**sent, "title": "B"}, spot


def _light(keeper: Any, thing: Any) -> Form:
    from conservation.on_show.light.actions import say_of_thing

    row = say_of_thing(keeper, thing, {"wish": 1})
    sent = {"may_be_shown": "plan"}
    return reverse("on_show:say_light", args=[thing.public_id]), {**sent, "why": "A"}, {**sent, "why": "B"}, row


def _day(keeper: Any, thing: Any) -> Form:
    from conservation.on_show.occasions.actions import add_own

    own = add_own(keeper, {"title": "Fair", "day": timezone.localdate()}, [])
    sent = {"day": "2020-06-01", "weight": "2", "access": "all"}
    return reverse("on_show:occasion", args=[own.public_id]), {**sent, "title": "A"}, {**sent, "title": "B"}, own


def _plan(keeper: Any, thing: Any) -> Form:
    from conservation.on_show.plans.actions import add_plan

    plan = add_plan(keeper, {"title": "A year", "starts_on": timezone.localdate(), "weeks": 4})
    sent = {"starts_on": "2026-01-05", "weeks": "4", "changeovers": "2", "seconds": "5"}
    return reverse("on_show:plan_settings", args=[plan.public_id]), {**sent, "title": "A"}, {**sent, "title": "B"}, plan


def _cold(keeper: Any, thing: Any) -> Form:
    from conservation.rooms.cold.actions import add_cold_place

    place = add_cold_place(keeper, "Freezer", None, {"appliance": "freezer"})
    sent = {"appliance": "freezer"}
    address = reverse("rooms:cold_say", args=[place.box.public_id])
    return address, {**sent, "note": "A"}, {**sent, "note": "B"}, place


def _finding(keeper: Any, thing: Any) -> Form:
    from archive.boxes.actions import add_box
    from conservation.rooms.rounds.actions import add_finding

    today = timezone.localdate()
    values = {"check_code": "moth", "box": None, "gravity": "clear", "words": "", "found_on": today}
    found = add_finding(keeper, add_box(keeper, {"title": "Attic", "level": "room"}), values, [], [])
    sent = {"check_code": "moth", "gravity": "clear", "found_on": today.isoformat()}
    address = reverse("rooms:change_finding", args=[found.public_id])
    return address, {**sent, "words": "A"}, {**sent, "words": "B"}, found


def _place(keeper: Any, thing: Any) -> Form:
    from archive.boxes.actions import add_box
    from conservation.housing.actions import say_where_it_stands
    from conservation.housing.models import StandingPlace

    box = add_box(keeper, {"title": "Chest"})
    say_where_it_stands(keeper, box, "", "bedroom")
    row = StandingPlace.objects.get()
    return reverse("housing:place", args=[box.public_id]), {"location": "loft"}, {"location": "cellar"}, row


FORMS = {
    "own job": _own_job, "spot": _spot, "light": _light, "day": _day, "plan": _plan, "cold place": _cold,
    "finding": _finding, "place of a box": _place,
}  # fmt: skip


def _opened(page: str) -> dict[str, str]:
    return {
        name: found[1]
        for name in ("form_id", "opened_version")
        if (found := re.search(rf'name="{name}" value="([^"]*)"', page))
    }


@pytest.mark.parametrize("which", FORMS)
def test_whoever_saves_second_is_told_and_may_save_again(
    as_keeper: Any, keeper: Any, make_thing: Any, which: str
) -> None:
    address, mine, theirs, row = FORMS[which](keeper, make_thing("Quilt"))
    opened = _opened(as_keeper.get(address).content.decode())
    assert opened["opened_version"] == str(row.version)
    assert as_keeper.post(address, {**theirs, **_opened(as_keeper.get(address).content.decode())}).status_code == 302
    row.refresh_from_db()
    saved = row.version
    # A form that was not in order first still knows what it was opened with.
    name = next(each for each in mine if mine[each] != theirs.get(each))
    if name not in ("why", "note", "location"):
        broken = dict.fromkeys(mine, "")
        wrong = as_keeper.post(address, {**broken, "words": "", **opened})
        assert wrong.status_code == 422
        opened = _opened(wrong.content.decode())
    late = as_keeper.post(address, {**mine, **opened})
    page = late.content.decode()
    assert late.status_code == 422 and "Somebody changed this while your form was open" in page
    assert mine[name] in page
    row.refresh_from_db()
    assert row.version == saved
    assert as_keeper.post(address, {**mine, **_opened(page)}).status_code == 302
    row.refresh_from_db()
    assert row.version > saved and getattr(row, name) == mine[name]


def test_a_finding_is_closed_once(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    *_, found = _finding(keeper, make_thing("Quilt"))
    for how in ("Vacuumed", "Again"):
        opened = _opened(as_keeper.get(found.get_absolute_url()).content.decode())
        sent = {"closed_how": how, "closed_on": timezone.localdate().isoformat(), **opened}
        assert as_keeper.post(found.get_absolute_url(), sent).status_code == 302
    found.refresh_from_db()
    assert found.closed_how == "Vacuumed"
