"""Groups and proposed groups: against a naive computation, what is refused, what is already together, and speed."""

from __future__ import annotations

import random
import time
from collections import defaultdict
from itertools import combinations
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

pytestmark = pytest.mark.django_db


def test_a_group_in_its_order(as_keeper: Any, as_relative: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.sorting.models import Group

    one, two, three = make_thing("one"), make_thing("two"), make_thing("three", access="keeper")
    sent = {"title": "The wedding", "sort": "event", "numbers": f"{two.number}, {one.number}, {three.number}"}
    as_keeper.post(reverse("sorting:add_group"), sent)
    group = Group.objects.get()
    things = reverse("sorting:group_things", args=[group.public_id])

    def order() -> list[str]:
        return [row.thing.title for row in group.thing_rows.select_related("thing")]

    assert order() == ["two", "one", "three"]
    as_keeper.post(things, {"back": group.thing_rows.first().public_id})
    assert order() == ["one", "two", "three"]
    as_keeper.post(things, {"remove": group.thing_rows.first().public_id})
    assert order() == ["two", "three"]
    assert as_keeper.post(things, {"numbers": "0000-0"}).status_code == 422
    as_keeper.post(things, {"numbers": f"{one.number} {two.number}"})
    assert order() == ["two", "three", "one"]
    page = as_relative.get(group.get_absolute_url()).content.decode()
    assert "2 things" in page and ">three<" not in page
    assert "2 things" in as_relative.get(reverse("sorting:groups")).content.decode()
    # Taken out and put in again: that it was taken out cannot be undone as well, and that is said, not an error.
    change = ChangeSet.objects.get(verb="sorting.remove_from_group")
    assert as_keeper.post(reverse("access:undo", args=[change.public_id])).status_code == 409
    as_keeper.post(things, {"remove": group.thing_rows.last().public_id})
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert order() == ["one", "two", "three"]


def test_two_keepers_at_one_group(as_keeper: Any, keeper: Any) -> None:
    from archive.sorting.group_actions import add_group

    group = add_group(keeper, {"title": "Trip", "note": "", "sort": "trip", "access": "relatives"})
    address = reverse("sorting:edit_group", args=[group.public_id])
    base = {"title": "Trip", "sort": "trip", "access": "relatives", "opened_version": "1", "note": ""}
    as_keeper.post(address, base | {"title": "Trip to the sea"})
    as_keeper.post(address, base | {"note": "By boat"})
    group.refresh_from_db()
    assert (group.title, group.note) == ("Trip to the sea", "By boat")
    assert as_keeper.post(address, base | {"title": "Voyage"}).status_code == 409


# -- proposals against a naive computation ----------------------------------------------------------------------


def make_archive(keeper: Any, seed: int, how_many: int) -> None:
    """Many things with lots, people, dates, kinds and pictures, drawn at random; some hidden, withdrawn or gone."""
    from django.utils import timezone

    from archive.access.bulk import create_many
    from archive.access.changes import changing
    from archive.people.models import Person
    from archive.pictures.models import Picture
    from archive.sorting.group_actions import add_group
    from archive.sorting.lot_actions import add_lot
    from archive.things.actions import issue_numbers
    from archive.things.models import Thing, ThingPerson

    chance = random.Random(seed)
    kinds = ["letter", "book", "quilt", "unknown", "postcard-or-stamp", "silver", "garment", "carpet"]
    with changing(keeper, "test"):
        lots = [add_lot(keeper, {"title": f"Lot {n}"}) for n in range(how_many // 40 + 3)]
        people = create_many([Person(name=f"P{n}", name_folded=f"p{n}") for n in range(how_many // 20 + 3)])
        rows = []
        for serial in issue_numbers("things", how_many):
            year = chance.randint(1880, 1989)
            span = chance.choice(
                [(year, year), (year, year), (year // 10 * 10, year // 10 * 10 + 9), (year, year + 12)]
            )
            dated = chance.random() < 0.8
            rows.append(
                Thing(
                    serial=serial, title=f"Thing {serial.serial}", kind_code=chance.choice(kinds),
                    lot=chance.choice([*lots, None]) if chance.random() < 0.4 else None,
                    made_earliest=f"{span[0]}-01-01" if dated else "", made_latest=f"{span[1]}-12-31" if dated else "",
                    standing=chance.choice(["kept"] * 9 + ["let go"]), standing_why="Spoilt", gone_how="Bin",
                    gone_agreed="All", copy_kept=True,
                    withdrawn_at=timezone.now() if chance.random() < 0.05 else None,
                )
            )  # fmt: skip
        things = create_many(rows)
        links = {(chance.choice(things).pk, chance.choice(people).pk) for _ in range(how_many)}
        create_many([ThingPerson(thing_id=thing, person_id=person) for thing, person in sorted(links)])
        pictures = []
        prints = [chance.getrandbits(64) for _ in range(how_many // 3 + 1)]
        for thing in things:
            for _ in range(chance.randint(0, 3)):
                base = chance.choice(prints) if chance.random() < 0.5 else chance.getrandbits(64)
                for _ in range(chance.randint(0, 5)):
                    base ^= 1 << chance.randrange(64)
                pictures.append(
                    Picture(thing=thing, sha256="0" * 64, original_name="p", mime="image/jpeg", width=1, height=1,
                            fingerprint=f"{base:016x}")
                )  # fmt: skip
        create_many(pictures)
        add_group(keeper, {"title": "Made"}, [each for each in things if each.lot_id == lots[0].pk])


def naive(reader: Any) -> dict[str, set[int]]:
    """The same proposals, thing by thing and pair by pair, without SQL grouping or bands."""
    from archive.pictures.models import Picture
    from archive.sorting.models import GroupThing
    from archive.sorting.texts import limit
    from archive.things.models import Thing, ThingPerson

    few, many = limit("fewest_things"), limit("most_things")
    things = [
        each for each in Thing.objects.visible_to(reader).select_related("lot")
        if each.withdrawn_at is None and each.standing not in ("passed on", "let go", "returned")
    ]  # fmt: skip
    pks = {each.pk for each in things}
    found: dict[str, set[int]] = defaultdict(set)
    for each in things:
        if each.lot is not None:
            found[f"lot:{each.lot.public_id}"].add(each.pk)
        if each.kind_code != "unknown":
            found[f"kind:{each.kind_code}"].add(each.pk)
        for name, digits in (("year", 4), ("decade", 3)):
            if each.made_earliest and each.made_earliest[:digits] == each.made_latest[:digits]:
                found[f"{name}:{each.made_earliest[:digits]}"].add(each.pk)
    for row in ThingPerson.objects.select_related("person"):
        if row.thing_id in pks:
            found[f"person:{row.person.public_id}"].add(row.thing_id)
    kind_of = {each.pk: each.kind_code for each in things}
    for key in [key for key in found if key.startswith(("year:", "decade:")) and len(found[key]) > many]:
        for pk in found[key]:
            if kind_of[pk] != "unknown":
                name, _, span = key.partition(":")
                found[f"{name}-kind:{span}:{kind_of[pk]}"].add(pk)
    public = {each.pk: each.public_id for each in things}
    prints = [
        (int(p.fingerprint, 16), p.thing_id) for p in Picture.objects.filter(thing__in=pks)
        if p.fingerprint and 6 <= int(p.fingerprint, 16).bit_count() <= 58
    ]  # fmt: skip
    near: dict[int, set[int]] = defaultdict(set)
    for (one, thing), (other, its) in combinations(prints, 2):
        if (one ^ other).bit_count() <= limit("alike_bits"):
            near[thing].add(its)
            near[its].add(thing)
    seen: set[int] = set()
    for start in sorted(near):
        chain, todo = set(), [start]
        while todo:
            pk = todo.pop()
            if pk not in chain:
                chain.add(pk)
                todo.extend(near[pk])
        if start not in seen:
            found[f"alike:{public[min(chain)]}"] = chain
        seen |= chain
    groups = defaultdict(set)
    for row in GroupThing.objects.all():
        groups[row.group_id].add(row.thing_id)
    return {
        key: members for key, members in found.items()
        if few <= len(members) <= many and not any(members <= group for group in groups.values())
    }  # fmt: skip


@pytest.mark.parametrize(("seed", "how_many"), [(1, 60), (2, 400), (3, 700)])
def test_proposals_are_those_of_a_naive_computation(
    keeper: Any, seed: int, how_many: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    from archive.sorting import proposals
    from archive.sorting.texts import limit

    # Without the cap on how many of a sort are offered, both must find the same.
    monkeypatch.setattr(proposals, "limit", lambda name: 10_000 if name == "most_of_a_sort" else limit(name))
    make_archive(keeper, seed, how_many)
    found = {key: set(each.things) for each in proposals.proposals(keeper) for key in each.keys}
    wanted = naive(keeper)
    assert found == wanted
    sorts = {key.partition(":")[0] for key in wanted}
    assert {"person", "lot", "decade", "alike"} <= sorts if how_many > 100 else sorts


def test_everything_proposed_is_present_and_may_be_seen(keeper: Any, relative: Any) -> None:
    from archive.access.changes import changing
    from archive.sorting.proposals import proposals
    from archive.things.models import Thing

    make_archive(keeper, 4, 300)
    with changing(keeper, "test"):
        for thing in Thing.objects.order_by("pk")[::3]:
            thing.access = "keeper"
            thing.save()
    for reader in (keeper, relative):
        allowed = set(Thing.objects.visible_to(reader).present().values_list("pk", flat=True))
        gone = set(Thing.objects.filter(standing="let go").values_list("pk", flat=True))
        found = proposals(reader)
        assert found
        for each in found:
            assert len(each.things) >= 3 and each.things <= allowed and not each.things & gone


@given(prints=st.lists(st.integers(0, 2**64 - 1), max_size=40), bits=st.integers(0, 12), data=st.data())
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
def test_near_pairs_are_all_pairs_within_the_bits(prints: list[int], bits: int, data: Any) -> None:
    from archive.sorting.proposals import near_pairs

    for at in data.draw(st.lists(st.integers(0, len(prints) - 1), max_size=20)) if prints else []:
        flips = data.draw(st.lists(st.integers(0, 63), max_size=bits + 1))
        other = prints[at]
        for flip in flips:
            other ^= 1 << flip
        prints.append(other)
    prints = sorted(set(prints))
    wanted = [(i, j) for i, j in combinations(range(len(prints)), 2) if (prints[i] ^ prints[j]).bit_count() <= bits]
    assert near_pairs(prints, bits) == sorted(wanted)


def test_proposals_of_5000_things_take_at_most_a_second(keeper: Any) -> None:
    from archive.sorting.proposals import proposals

    make_archive(keeper, 5, 5_000)
    proposals(keeper)  # numpy loads on first use
    start = time.process_time()
    with CaptureQueriesContext(connection) as queries:
        found = proposals(keeper)
    spent = time.process_time() - start
    assert found and len(queries) <= 20
    assert spent <= 1.0, spent


def test_accept_change_refuse_and_propose_again(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.access.changes import changing
    from archive.people.actions import person_for
    from archive.people.queries import NewName
    from archive.sorting.models import Group, RefusedProposal
    from archive.things.models import ThingPerson

    things = [make_thing(f"Letter {n}", kind_code="letter", made_text="1923") for n in range(4)]
    extra = make_thing("A quilt", kind_code="quilt")
    with changing(keeper, "test"):
        elsbeth = person_for(keeper, NewName("Elsbeth"))
        for thing in things:
            ThingPerson(thing=thing, person=elsbeth).save()
    page = as_keeper.get(reverse("sorting:proposals")).content.decode()
    # One set of things, all reasons with it; the most telling names it.
    for words in (
        "All have to do with Elsbeth.",
        "All were made in 1923.",
        "made in the 1920s",
        "All are of one kind: Letter",
    ):
        assert words in page
    assert "1 in all" in page
    key = f"person:{elsbeth.public_id}"
    one = reverse("sorting:proposal")
    assert 'value="Elsbeth"' in as_keeper.get(one, {"key": key}).content.decode()
    # Refused, for none of its reasons again, until asked for.
    as_keeper.post(one, {"key": key, "act": "refuse"})
    assert RefusedProposal.objects.count() == 4
    page = as_keeper.get(reverse("sorting:proposals")).content.decode()
    assert "Nothing is proposed now" in page and "Not proposed any more" in page and "Elsbeth" in page
    as_keeper.post(reverse("sorting:proposals"), {"key": key})
    page = as_keeper.get(reverse("sorting:proposals")).content.decode()
    assert "1 in all" in page and "All were made in 1923." not in page.split("Not proposed any more")[0]
    # Accepted with one left out and another put in; it is not proposed again.
    ticked = [thing.public_id for thing in things[:3]]
    sent = {"key": key, "title": "Elsbeth writes", "sort": "person", "thing": ticked, "numbers": extra.number}
    as_keeper.post(one, sent)
    group = Group.objects.get()
    assert [row.thing for row in group.thing_rows.all()] == [*things[:3], extra] and group.sort == "person"
    assert "Nothing is proposed now" in as_keeper.get(reverse("sorting:proposals")).content.decode()


def test_what_is_together_already_is_not_proposed(keeper: Any, make_thing: Any) -> None:
    from archive.access.actions import withdraw
    from archive.sorting.group_actions import add_group
    from archive.sorting.proposals import proposals

    things = [make_thing(f"Quilt {n}", kind_code="quilt") for n in range(3)]
    assert [each.key for each in proposals(keeper)] == ["kind:quilt"]
    group = add_group(keeper, {"title": "Quilts"}, things)
    assert proposals(keeper) == []
    withdraw(keeper, group, "wrong")
    assert len(proposals(keeper)) == 1


def test_pages_of_groups_ask_the_database_a_constant_number_of_times(
    as_keeper: Any, keeper: Any, make_thing: Any
) -> None:
    from archive.sorting.group_actions import add_group, add_things

    group = add_group(keeper, {"title": "G"}, [make_thing(f"t{n}", pictures=1) for n in range(3)])
    addresses = [group.get_absolute_url(), reverse("sorting:groups")]

    def counts() -> list[int]:
        found = []
        for address in addresses:
            as_keeper.get(address)
            with CaptureQueriesContext(connection) as queries:
                as_keeper.get(address)
            found.append(len(queries))
        return found

    few = counts()
    add_things(keeper, group, [make_thing(f"more {n}", pictures=n % 2) for n in range(27)])
    for n in range(10):
        add_group(keeper, {"title": f"G{n}"}, [make_thing(f"x{n}", pictures=1)])
    assert counts() == few and max(few) <= 15
