"""Where things should live: ranking by what is known of rooms, answers to proposals, jobs, and how many questions."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive import extend
from archive.access.models import ChangeSet
from archive.access.undo import undo
from archive.boxes.actions import add_box, move
from archive.boxes.models import Box
from conservation.housing.actions import say_where_it_stands
from conservation.rooms.actions import say_what_it_is_like
from conservation.rooms.cold.actions import add_cold_place
from conservation.rooms.living import assess, gains, queries
from conservation.rooms.living.models import MoveDecision

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(keeper: Any) -> dict[str, Box]:
    """A damp cellar, a hot loft, a lived-in bedroom with a shelf, and a room that nobody has described."""
    rooms = {name: add_box(keeper, {"title": name, "level": "room"}) for name in ("Cellar", "Loft", "Bedroom", "Study")}
    say_what_it_is_like(keeper, rooms["Cellar"], {"floor": "cellar", "water": ["ground"]})
    say_what_it_is_like(keeper, rooms["Loft"], {"floor": "loft", "light": "dim"})
    say_what_it_is_like(keeper, rooms["Bedroom"], {"floor": "upper", "light": "dim", "heat": ["radiator"]})
    sizes = {"inner_width_mm": 900.0, "inner_height_mm": 350.0, "inner_depth_mm": 400.0}
    shelf = add_box(keeper, {"title": "Bedroom shelf", "level": "shelf", "inside": rooms["Bedroom"], **sizes})
    return {**rooms, "Shelf": shelf}


@pytest.fixture
def letters(keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]) -> Box:
    sizes = {"inner_width_mm": 300.0, "inner_height_mm": 250.0, "inner_depth_mm": 350.0}
    box = add_box(keeper, {"title": "Letters", "inside": house["Cellar"], **sizes})
    move(keeper, [make_thing(f"Letter {n}", significance=4) for n in range(3)], [], box)
    return box


def _sheet(client: Any, address: str, **values: Any) -> Any:
    form_id = re.search(r'name="form_id" value="([^"]+)"', client.get(address).content.decode())
    assert form_id
    return client.post(address, {"form_id": form_id[1], **values})


def _moves(keeper: Any) -> list[Any]:
    house = queries.read_house(keeper)
    quiet = queries.silenced(timezone.localdate(), house)
    return assess.best_moves(assess.whole_house(house, keeper), 5, quiet)


def test_the_damp_cellar_is_left_for_the_shelf_in_the_bedroom(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box
) -> None:
    (found,) = _moves(keeper)
    assert found.unit.node.pk == letters.pk and found.goal.pk == house["Shelf"].pk
    page = as_keeper.get(reverse("rooms:living")).content.decode()
    assert "Letters" in page and "Bedroom shelf" in page and "hours a year too damp" in page
    assert page.count('do-next"') == 1 and "Partly guessed" in page
    unknown = page[page.index("Rooms we know too little of") :]
    assert "Study" in unknown[: unknown.index("How everything fares")]


def test_one_box_is_compared_with_every_room_and_says_how_each_is_known(as_keeper: Any, letters: Box) -> None:
    page = as_keeper.get(reverse("rooms:living_box", args=[letters.public_id])).content.decode()
    body = page[page.index("<tbody>") : page.index("</tbody>")]
    names = re.findall(r"<bdi>([^<]+)</bdi>", body)
    order = [name for name in names if name in ("Bedroom", "Loft", "Cellar", "Study")]
    assert order[:2] == ["Bedroom", "Study"] and set(order[2:]) == {"Loft", "Cellar"}
    assert "Nobody knows the air here" in body and "Guessed from what is known of the room" in body
    assert body.count("year-bar") == 4 and "Better not" in body


def test_measured_air_gives_the_gain_of_the_law(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Paper at 25 °C and 60 % against 18 °C and 35 %: 2.1075 / 0.3965 = 5.3 times (reference climate, C1)."""
    from conservation.rooms.readings.queries import KindAir, RoomAir, Spread

    class Known(RoomAir):
        def of_kind(self, code: str) -> KindAir:
            damp = 876.0 if self.humidity.mean > 50 else 0.0
            return KindAir(1 - damp / 8760, 1.0, damp, 0.0, 0.0, 0.0, "watch" if damp else "suits", False)

    def known(room: Box, temperature: float, humidity: float, slow: float, paper: float) -> RoomAir:
        day = timezone.localdate()
        spread = [Spread(v, v, v, v, v) for v in (temperature, humidity)]
        return Known(room.pk, 1, "S", day, day, 365, 365, 9000, 60, *spread, 9.0, slow, paper, None, False, {})

    air = {
        house["Loft"].pk: known(house["Loft"], 25, 60, 0.4874, 0.3965),
        house["Bedroom"].pk: known(house["Bedroom"], 18, 35, 1.9367, 2.1075),
    }
    monkeypatch.setattr(queries, "air_of_rooms", lambda **_: air)
    move(keeper, [], [letters], house["Loft"])
    page = as_keeper.get(reverse("rooms:living_box", args=[letters.public_id])).content.decode()
    assert "What is in it would last about 5 times as long there" in page
    assert "about 900 fewer hours a year too damp for it" in page
    assert "Measured on 365 days" in page and "Your own readings" in page


def test_accepting_makes_a_job_that_moving_ends(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box
) -> None:
    def jobs() -> list[Any]:
        return [each for each in extend.jobs(keeper) if each.sort == "rooms.move"]

    address = reverse("rooms:living_answer_box", args=[letters.public_id])
    asked = as_keeper.get(f"{address}?goal={house['Shelf'].public_id}").content.decode()
    assert house["Shelf"].number in asked
    answer = _sheet(
        as_keeper, address, answer="accepted", goal=house["Shelf"].number, minutes="20", reason="The cellar floods."
    )
    assert answer.status_code == 302
    decision = MoveDecision.objects.get()
    assert (decision.box, decision.goal, decision.minutes) == (letters, house["Shelf"], 20)
    assert "damp" in decision.gain and decision.reason == "The cellar floods."
    (job,) = jobs()
    assert "Letters" in job.words and job.minutes == 20 and "damp" in job.why
    page = as_keeper.get(reverse("rooms:living")).content.decode()
    assert f"boxes={letters.public_id}&amp;into={house['Shelf'].public_id}" in page.replace("&#x27;", "'")
    assert not _moves(keeper)  # it is not proposed while it is to be done
    change = ChangeSet.objects.latest("pk")
    move(keeper, [], [letters], house["Shelf"])
    assert not jobs()
    brief = reverse("rooms:living_brief_box", args=[letters.public_id])
    assert brief in as_keeper.get(letters.get_absolute_url()).content.decode()
    assert "Moved to" in as_keeper.get(brief).content.decode()
    undo(ChangeSet.objects.latest("pk"), keeper)
    assert len(jobs()) == 1
    undo(change, keeper)
    assert not jobs() and not MoveDecision.objects.exists() and _moves(keeper)


def test_refused_is_not_proposed_again_and_later_comes_back(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box
) -> None:
    address = reverse("rooms:living_answer_box", args=[letters.public_id])
    today = timezone.localdate()
    wrong = _sheet(as_keeper, address, answer="later", until=str(today), reason="Too heavy")
    assert wrong.status_code == 422 and "Too heavy" in wrong.content.decode()
    _sheet(as_keeper, address, answer="later", until=str(today + timedelta(days=9)))
    assert not _moves(keeper)
    placed = queries.read_house(keeper)
    assert queries.silenced(today + timedelta(days=9), placed) == (set(), set())
    _sheet(as_keeper, address, answer="refused", reason="It stays.")
    assert queries.silenced(today + timedelta(days=999), placed) == ({letters.pk}, set())
    assert not _moves(keeper)
    brief = reverse("rooms:living_brief_box", args=[letters.public_id])
    assert "It stays." in as_keeper.get(brief).content.decode()
    nothing = _sheet(as_keeper, address, answer="accepted", goal="")
    assert nothing.status_code == 422
    itself = _sheet(as_keeper, address, answer="accepted", goal=house["Cellar"].number)
    assert itself.status_code == 422 and "It is there already" in itself.content.decode()


def test_what_does_not_fit_goes_elsewhere(keeper: Any, house: dict[str, Box], letters: Box) -> None:
    from archive.boxes.actions import edit_box

    edit_box(keeper, letters, {"inner_height_mm": 500.0})
    (found,) = _moves(keeper)
    assert found.goal.pk == house["Bedroom"].pk  # higher than the shelf: into the room itself
    edit_box(keeper, letters, {"inner_height_mm": 250.0})
    full = {"inner_width_mm": 850.0, "inner_height_mm": 300.0, "inner_depth_mm": 380.0}
    add_box(keeper, {"title": "Hats", "inside": house["Shelf"], **full})
    (found,) = _moves(keeper)
    assert found.goal.pk == house["Bedroom"].pk  # the shelf is full


def test_a_large_thing_does_not_go_onto_a_small_shelf(
    keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]
) -> None:
    rug = make_thing("Rug", kind_code="carpet", width_mm=2400.0, height_mm=1700.0, depth_mm=8.0)
    cloth = make_thing("Cloth", kind_code="wool-textile", width_mm=380.0, height_mm=800.0, depth_mm=4.0)
    move(keeper, [rug, cloth], [], house["Cellar"])
    goals = {each.unit.node.pk: each.goal.pk for each in _moves(keeper)}
    assert goals == {rug.pk: house["Bedroom"].pk, cloth.pk: house["Shelf"].pk}


def test_a_place_on_an_outside_wall_is_no_goal(keeper: Any, house: dict[str, Box], letters: Box) -> None:
    say_where_it_stands(keeper, house["Shelf"], "", "outside-wall")
    (found,) = _moves(keeper)
    assert found.goal.pk == house["Bedroom"].pk


def test_danger_comes_before_any_moving(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box, make_thing: Callable[..., Any]
) -> None:
    move(keeper, [make_thing("Old negatives", kind_code="nitrate-film")], [], letters)
    assert not _moves(keeper)
    page = as_keeper.get(reverse("rooms:living")).content.decode()
    assert "First the hazard" in page
    page = as_keeper.get(reverse("rooms:living_box", args=[letters.public_id])).content.decode()
    assert "First the hazard" in page and "I will move it" not in page


def test_the_most_demanding_kind_governs(
    as_keeper: Any, keeper: Any, letters: Box, make_thing: Callable[..., Any]
) -> None:
    move(keeper, [make_thing("Slides", kind_code="mounted-slide", count=200)], [], letters)
    page = as_keeper.get(reverse("rooms:living_box", args=[letters.public_id])).content.decode()
    assert "Mounted slide</strong> suffers most here and decides" in page and "letter (3)" in page


def test_only_what_may_live_cold_is_sent_there(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box, make_thing: Callable[..., Any]
) -> None:
    values = {"appliance": "freezer", "frost_free": True, "no_food": True, "temperature_c": -18.0}
    place = add_cold_place(keeper, "Small freezer", house["Bedroom"], values)
    slides = add_box(keeper, {"title": "Slides", "inside": house["Cellar"]})
    move(keeper, [make_thing("Slides", kind_code="mounted-slide", count=40)], [], slides)
    goals = {each.unit.node.pk: each.goal.pk for each in _moves(keeper)}
    assert goals[slides.pk] == place.box_id and goals[letters.pk] != place.box_id
    page = as_keeper.get(reverse("rooms:living_box", args=[letters.public_id])).content.decode()
    assert "Small freezer" not in page[page.index("<tbody>") :]
    move(keeper, [make_thing("A plate", kind_code="glass-negative")], [], slides)
    assert {each.unit.node.pk: each.goal.pk for each in _moves(keeper)}.get(slides.pk) != place.box_id


def test_a_thing_by_itself_and_one_that_is_on_show(
    as_keeper: Any, keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]
) -> None:
    from archive.access.changes import changing
    from conservation.on_show.models import Showing, Spot

    quilt = make_thing("Quilt of the sisters", kind_code="quilt", significance=5)
    move(keeper, [quilt], [], house["Loft"])
    assert [each.unit.node.pk for each in _moves(keeper)] == [quilt.pk]
    page = as_keeper.get(quilt.get_absolute_url()).content.decode()
    assert "Where should it live?" in page and reverse("rooms:living_thing", args=[quilt.public_id]) in page
    _sheet(
        as_keeper, reverse("rooms:living_answer_thing", args=[quilt.public_id]), answer="accepted",
        goal=house["Bedroom"].number,
    )  # fmt: skip
    assert MoveDecision.objects.get().thing == quilt
    with changing(keeper, "test"):
        MoveDecision.objects.get().delete()
        spot = Spot(title="Wall", form="wall")
        spot.save()
        Showing(thing=quilt, spot=spot).save()
    assert not _moves(keeper)


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (1.0, ""), (1.2, "about a quarter longer"), (1.65, "about half as long again"), (2.038, "about twice as long"),
        (2.46, "about two and a half times as long"), (5.3, "about 5 times as long"), (43.0, "about 40 times as long"),
    ],
)  # fmt: skip
def test_words_of_lasting(ratio: float, words: str) -> None:
    assert gains.as_long(ratio) == words


def test_an_empty_house_offers_one_thing_to_do(as_keeper: Any) -> None:
    page = as_keeper.get(reverse("rooms:living")).content.decode()
    assert page.count('do-next"') == 1 and reverse("boxes:add") in page


def test_the_number_of_queries_does_not_grow(
    as_keeper: Any, keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]
) -> None:
    def count(address: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert as_keeper.get(address).status_code == 200
        return len(seen)

    def more(how_many: int) -> Box:
        for n in range(how_many):
            room = add_box(keeper, {"title": f"Room {n} of {how_many}", "level": "room"})
            say_what_it_is_like(keeper, room, {"floor": "cellar"})
            box = add_box(keeper, {"title": f"Box {n} of {how_many}", "inside": room})
            loose, packed = (
                make_thing(f"Clock {n}", kind_code="clock-or-watch"),
                make_thing(f"Album {n}", states=["torn"]),
            )
            move(keeper, [loose], [], room)
            move(keeper, [packed], [], box)
            other = add_box(keeper, {"title": f"Trunk {n} of {how_many}", "inside": room})
            from conservation.rooms.living.actions import decide

            decide(keeper, other, {"answer": "accepted", "goal": house["Bedroom"]})
            move(keeper, [make_thing(f"Hat {n}", kind_code="hat-shoe-or-accessory")], [], other)
        return box

    box = more(1)
    pages = (reverse("rooms:living"), reverse("rooms:living_box", args=[box.public_id]), box.get_absolute_url())
    few = [(count(address), count(address))[1] for address in pages]
    more(5)
    assert [(count(address), count(address))[1] for address in pages] == few
    assert few[0] <= 40


# -- what was seen counts more than what is guessed --------------------------------------------------------------------


def _quilts(keeper: Any, room: Box, make_thing: Callable[..., Any]) -> Box:
    box = add_box(keeper, {"title": "Quilts", "inside": room})
    move(keeper, [make_thing("Quilt", kind_code="wool-textile", significance=4)], [], box)
    return box


def _row(client: Any, box: Box, room: str) -> str:
    page = client.get(reverse("rooms:living_box", args=[box.public_id])).content.decode()
    body = page[page.index("<tbody>") : page.index("</tbody>")]
    return str(next(row for row in body.split("<tr")[1:] if f"<bdi>{room}</bdi>" in row[: row.index("</th>")]))


def test_moths_found_in_a_room_and_in_its_trap_turn_the_ranking(
    as_keeper: Any, keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]
) -> None:
    from conservation.rooms.rounds.actions import add_finding, close_finding
    from conservation.rooms.traps.actions import count, lay

    box, today = _quilts(keeper, house["Cellar"], make_thing), timezone.localdate()
    assert [move_.goal.title for move_ in _moves(keeper)] == ["Bedroom shelf"]
    finding = add_finding(
        keeper, house["Bedroom"], {"check_code": "moth", "gravity": "clear", "found_on": today}, [], []
    )
    bedroom = _row(as_keeper, box, "Bedroom")
    assert "Insects or mice were found there, and it is not settled" in bedroom
    read = queries.read_house(keeper)
    assert assess.signs_of(read, house["Bedroom"].pk).pests == "pest-finding-clear"
    place = assess.whole_house(read, keeper).place_of(house["Shelf"].pk)
    assert place is not None and place.pests == 3
    # Settled, it still counts for three months; so does a trap that caught many, and then it is fresher.
    close_finding(keeper, finding, today, "Frozen")
    assert "in the last three months" in _row(as_keeper, box, "Bedroom")
    trap = lay(keeper, house["Bedroom"], {"placed_on": today - timedelta(days=30)})
    count(keeper, trap, {"counted_on": today, "moth": 9})
    assert "Traps there caught more than they should" in _row(as_keeper, box, "Bedroom")


def test_empty_traps_speak_for_a_room_and_moths_at_home_are_looked_for_before_moving(
    as_keeper: Any, keeper: Any, house: dict[str, Box], make_thing: Callable[..., Any]
) -> None:
    from conservation.rooms.rounds.actions import add_finding
    from conservation.rooms.traps.actions import count, lay

    _quilts(keeper, house["Cellar"], make_thing)
    today, before = timezone.localdate(), assess.whole_house(queries.read_house(keeper), keeper)
    trap = lay(keeper, house["Loft"], {"placed_on": today - timedelta(days=80)})
    count(keeper, trap, {"counted_on": today, "other": 2})
    after = assess.whole_house(queries.read_house(keeper), keeper)
    lofts = [placed.place_of(house["Loft"].pk) for placed in (before, after)]
    assert [loft.pests for loft in lofts if loft] == [2, 1]
    add_finding(keeper, house["Cellar"], {"check_code": "moth", "gravity": "urgent", "found_on": today}, [], [])
    page = as_keeper.get(reverse("rooms:living")).content.decode()
    assert "away from the insects or mice that were found" in page
    assert page.index("Before it goes into a clean room") < page.index("I will move it")


def test_an_accepted_move_is_judged_again_when_water_is_found_at_its_goal(
    as_keeper: Any, keeper: Any, house: dict[str, Box], letters: Box, make_thing: Callable[..., Any]
) -> None:
    from conservation.rooms.rounds.actions import add_finding, close_finding

    address = reverse("rooms:living_answer_box", args=[letters.public_id])
    _sheet(as_keeper, address, answer="accepted", goal=house["Shelf"].number, minutes="20")
    quilts = _quilts(keeper, house["Cellar"], make_thing)
    own = reverse("rooms:living_answer_box", args=[quilts.public_id])
    _sheet(as_keeper, own, answer="accepted", goal=house["Loft"].number, reason="My sister wants it so")

    def jobs() -> dict[str, str]:
        return {each.words: each.why for each in extend.jobs(keeper) if each.sort == "rooms.move"}

    assert f"Move {letters} to Bedroom shelf" in jobs()
    today = timezone.localdate()
    leak = add_finding(
        keeper, house["Bedroom"], {"check_code": "leaks", "gravity": "urgent", "found_on": today}, [], []
    )
    said = jobs()[f"Think again about moving {letters} to Bedroom shelf"]
    assert said.startswith("By what is known now it would be no better there.") and "Water or mould was found" in said
    # A move whose goal did not change stays as it was.
    assert f"Move {quilts} to Loft" in jobs()
    for page in (reverse("rooms:living"), reverse("rooms:living_box", args=[letters.public_id])):
        shown = as_keeper.get(page).content.decode()
        assert "Think again before you move it" in shown and "When you decided:" in shown
    close_finding(keeper, leak, today, "The pipe was mended")
    assert f"Move {letters} to Bedroom shelf" in jobs()
