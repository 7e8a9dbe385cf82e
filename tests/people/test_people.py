"""People as keeper, relative and visitor meet them: what is typed, what is seen, what is refused."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from archive.people import actions
from archive.people.family import family_of, impossible
from archive.people.models import Parentage, Partnership, Person, PersonName
from archive.people.queries import NewName, named
from archive.people.tree import draw
from archive.preferences.queries import preferences

pytestmark = pytest.mark.django_db


@pytest.fixture
def make_person(keeper: Any) -> Any:
    def make(name: str, **values: Any) -> Person:
        return actions.add_person(keeper, {"name": name, "access": "all", **values}, preferences())

    return make


def _line(keeper: Any, *people: Person) -> None:
    """Make each one the parent of the one before."""
    for child, parent in pairwise(people):
        actions.add_parent(keeper, child, parent)


def text_of(answer: Any) -> str:
    return answer.content.decode()


# -- recording ---------------------------------------------------------------------------------------------------------


def test_a_person_is_recorded_changed_and_undone(as_keeper: Any, keeper: Any) -> None:
    answer = as_keeper.post(
        reverse("people:add"),
        {"name": "Elsbeth Aldermoor", "born_text": "about 1880", "born_where": "Skerrow", "died_text": "3/4/1951"},
        follow=True,
    )
    person = Person.objects.get()
    # EDTF of “about 1880” is 1880~ (ISO 8601-2:2019, 8.4); which days that may mean is archive/dates' affair.
    assert person.born_edtf == "1880~" and person.born_where is not None and person.born_where.name == "Skerrow"

    assert "Do you mean 4 March 1951 or 3 April 1951?" in text_of(answer)  # asked, since nobody said which comes first

    page = as_keeper.get(reverse("people:edit", args=[person.public_id]))
    assert f'name="opened_version" value="{person.version}"' in text_of(page)
    as_keeper.post(
        reverse("people:edit", args=[person.public_id]),
        {"name": "Elsbeth Wray", "born_text": "1881", "opened_version": person.version},
    )
    person.refresh_from_db()
    assert (person.name, person.born_edtf, person.died_edtf, person.born_where) == ("Elsbeth Wray", "1881", "", None)
    history = as_keeper.get(reverse("access:history", args=["people", person.public_id]))
    undo = re.search(r'action="(/undo/\w+/)"', text_of(history))
    assert undo is not None
    as_keeper.post(undo[1], {"next": "/"})
    person.refresh_from_db()
    assert (person.name, person.born_edtf, person.died_text) == ("Elsbeth Aldermoor", "1880~", "3/4/1951")


def test_what_two_keepers_typed_is_merged_or_asked(as_keeper: Any, make_person: Any) -> None:
    person = make_person("Ragna", born_text="1900")
    address, base = reverse("people:edit", args=[person.public_id]), {"name": "Ragna", "born_text": "1900"}
    opened = {"opened_version": person.version}
    as_keeper.post(address, {**base, **opened, "note": "Was at the sanatorium."})
    # From the same sheet another one changes another field: both stand.
    as_keeper.post(address, {**base, **opened, "died_text": "1931"})
    person.refresh_from_db()
    assert (person.note, person.died_text) == ("Was at the sanatorium.", "1931")
    clash = as_keeper.post(address, {**base, **opened, "note": "Never was there."})
    assert clash.status_code == 409
    assert "Was at the sanatorium." in text_of(clash) and "Never was there." in text_of(clash)


def test_nothing_typed_is_lost_when_a_form_is_wrong(as_keeper: Any) -> None:
    answer = as_keeper.post(reverse("people:add"), {"name": "", "note": "Had a wooden leg."})
    assert answer.status_code == 422 and "Had a wooden leg." in text_of(answer) and Person.objects.count() == 0


def test_one_sheet_sent_twice_makes_one_person(as_keeper: Any) -> None:
    page = text_of(as_keeper.get(reverse("people:add")))
    form_id = re.search(r'name="form_id" value="([^"]+)"', page)
    assert form_id is not None
    for _ in range(2):
        as_keeper.post(reverse("people:add"), {"name": "Haken", "form_id": form_id[1]})
    assert Person.objects.filter(name="Haken").count() == 1


def test_a_name_with_a_sorting_name_is_found_as_it_is_written(make_person: Any, keeper: Any) -> None:
    """A page writes the label into a field; saving that field again must mean the same person, not make a new one."""
    person = make_person("Łucja Ålander (the elder)", sort_name="Ålander, Łucja", born_text="1902", died_text="1971")
    for typed in (person.label, person.name, "lucja alander (the elder)"):
        assert named(typed, keeper) == [person], typed
    actions.add_name(keeper, person, {"name": "Lulla", "sort": "called"})
    assert named("lulla", keeper) == [person] and named("Lull", keeper) == []


@pytest.mark.parametrize("name", ["🎻" * 300, "مريم بنت يوسف", "W" * 300, '<b>Ida</b> & "sons"'])
def test_any_name_fits_everywhere(name: str, as_keeper: Any, make_person: Any, keeper: Any) -> None:
    person, child = make_person(name, sort_name=name), make_person(name[::-1])
    actions.add_parent(keeper, child, person)
    for address in (
        reverse("people:list"), person.get_absolute_url(), reverse("people:family", args=[child.public_id]),
        reverse("people:edit", args=[person.public_id]), reverse("access:unite", args=["people", person.public_id]),
    ):  # fmt: skip
        answer = as_keeper.get(address)
        assert answer.status_code == 200 and "<b>Ida" not in text_of(answer)


# -- family ------------------------------------------------------------------------------------------------------------


def test_a_person_who_is_their_own_grandmother_is_refused_with_the_loop(as_keeper: Any, make_person: Any) -> None:
    anna, bertha, clara = make_person("Anna"), make_person("Bertha"), make_person("Clara")
    add = lambda child, parent: as_keeper.post(  # noqa: E731
        reverse("people:add_row", args=[child.public_id, "parent"]), {"person": parent, "sort": "birth"}
    )
    assert add(anna, "Bertha").status_code == add(bertha, "Clara").status_code == 302
    refused = add(clara, "Anna")
    assert refused.status_code == 422 and "Clara → Anna → Bertha → Clara" in text_of(refused)
    # The other way round as well: Clara as a child of Anna.
    refused = as_keeper.post(
        reverse("people:add_row", args=[anna.public_id, "child"]), {"person": "Clara", "sort": "birth"}
    )
    assert refused.status_code == 422 and "Clara → Anna → Bertha → Clara" in text_of(refused)
    assert add(anna, "Anna").status_code == 422 and add(anna, "Bertha").status_code == 422
    assert Parentage.objects.count() == 2


def test_a_refused_parent_leaves_no_new_person_behind(as_keeper: Any, make_person: Any) -> None:
    ida = make_person("Ida")
    answer = as_keeper.post(
        reverse("people:add_row", args=[ida.public_id, "partner"]), {"person": "Ida", "sort": "married"}
    )
    assert answer.status_code == 422 and Person.objects.count() == 1
    as_keeper.post(reverse("people:add_row", args=[ida.public_id, "partner"]), {"person": "Olaf", "sort": "married"})
    assert Person.objects.count() == 2 and Partnership.objects.get().other.name == "Olaf"


def test_dates_that_cannot_be_are_said_and_not_refused(make_person: Any, keeper: Any) -> None:
    child = make_person("Kid", born_text="1900", died_text="1890")
    young = make_person("Young", born_text="1905")
    dead = make_person("Dead", born_text="1850", died_text="1897")
    step = make_person("Step", born_text="1850", died_text="1897")
    wed = make_person("Wed", born_text="1895")
    fine = make_person("Fine", born_text="between 1870 and 1901")  # may have been born before the child: nothing to say
    for parent, sort in ((young, "birth"), (dead, "birth"), (step, "step"), (fine, "birth")):
        actions.add_parent(keeper, child, parent, sort)
    actions.add_partner(keeper, child, wed, {"since_text": "1880", "until_text": "1879"}, preferences())
    said = impossible(family_of(child, keeper))
    assert said == [
        "Kid is recorded as having died before being born.",
        "Young is recorded as a parent of Kid, but was born later than Kid.",
        "Dead is recorded as a parent of Kid, but died more than a year before the birth.",
        "Kid and Wed are recorded as together since 1880, before Kid was born.",
        "Kid and Wed are recorded as together since 1880, before Wed was born.",
        "Kid and Wed are recorded as together until 1879, which is before 1880.",
    ]


def test_the_family_sheet_reaches_nobody_through_somebody_hidden(
    as_visitor: Any, as_relative: Any, make_person: Any, keeper: Any
) -> None:
    """A visitor sees the dead; a living mother is not there, and neither is the grandmother behind her."""
    me = make_person("Me", died_text="1999")
    father, mother = make_person("Father", died_text="1990"), make_person("Mother", born_text="1960")
    grandfather, grandmother = make_person("Grandpa", died_text="1950"), make_person("Grandma", died_text="1950")
    secret = make_person("Zinnober", died_text="1940", access="keeper")
    _line(keeper, me, father, grandfather)
    _line(keeper, me, mother, grandmother)
    actions.add_parent(keeper, me, secret, "step")
    sister = make_person("Sister", died_text="1998")
    actions.add_parent(keeper, sister, mother)
    address = reverse("people:family", args=[me.public_id])
    seen = text_of(as_visitor.get(address))
    assert "Father" in seen and "Grandpa" in seen
    for name in ("Mother", "Grandma", "Sister", "Zinnober"):
        assert name not in seen, name
    told = text_of(as_relative.get(address))
    assert "Mother" in told and "Grandma" in told and "Sister" in told and "Zinnober" not in told
    assert "Zinnober" in text_of(_as(keeper).get(address))


def _as(account: Any) -> Any:
    from django.test import Client

    client = Client(REMOTE_ADDR="192.168.7.8")
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_every_box_of_the_tree_is_apart_and_everybody_is_drawn(make_person: Any, keeper: Any) -> None:
    """Three parents with four grandparents, two partners, five children: nobody left out, nobody on top of another."""
    me = make_person("Me")
    parents = [make_person(f"Parent {n}") for n in range(3)]
    grands = [make_person(f"Grand {n}") for n in range(4)]
    children = [make_person(f"Child {n} with a name that is far too long for its box") for n in range(5)]
    for n, parent in enumerate(parents):
        actions.add_parent(keeper, me, parent, "birth" if n < 2 else "step")
    for n, grand in enumerate(grands):
        actions.add_parent(keeper, parents[n // 2], grand)
    for child in children:
        actions.add_parent(keeper, child, me)
    for n in range(2):
        actions.add_partner(keeper, me, NewName(f"Partner {n}"), {}, preferences())
    tree = draw(family_of(me, keeper))
    assert len(tree.boxes) == 1 + 3 + 4 + 2 + 5
    corners = {(box.x, box.y) for box in tree.boxes}
    assert len(corners) == len(tree.boxes)
    for x, y in corners:
        assert not any(a == x and 0 < b - y < tree.tall for a, b in corners)
        assert x >= 0 and x + tree.column <= tree.width and y + tree.tall <= tree.height
    assert all(len(line) <= 16 for box in tree.boxes for line in box.lines)


# -- who may see whom --------------------------------------------------------------------------------------------------


def test_the_presumption_of_living_decides_and_is_said(as_visitor: Any, as_relative: Any, make_person: Any) -> None:
    today = date.today()  # noqa: DTZ011 - the day on which the test runs is what the rule is about
    old, young = str(today.year - 111), str(today.year - 109)
    cases = {
        "nothing known": ({}, False),
        "born long ago": ({"born_text": old}, True),
        "born lately": ({"born_text": young}, False),
        "known dead": ({"known_dead": True}, True),
        "died": ({"born_text": young, "died_text": young}, True),
        "opened": ({"open_though_living": True}, True),
    }
    for name, (values, open_to_all) in cases.items():
        person = make_person(name, **values)
        assert as_visitor.get(person.get_absolute_url()).status_code == (200 if open_to_all else 404), name
        assert (name in text_of(as_visitor.get(reverse("people:list")))) is open_to_all, name
        page = text_of(as_relative.get(person.get_absolute_url()))
        living = name in ("nothing known", "born lately", "opened")
        assert ("Taken to be living" in page) is living, name
        assert ("only relatives who are signed in see this page" in page) is (living and not open_to_all), name


def test_a_private_person_is_named_nowhere(as_relative: Any, make_person: Any, make_thing: Any, keeper: Any) -> None:
    from archive.access.changes import changing
    from archive.things.models import ThingPerson

    hidden = make_person("Zinnober", access="keeper", unidentified=True)
    shown = make_person("Anton")
    actions.add_name(keeper, hidden, {"name": "Zinnoberchen", "sort": "called"})
    actions.add_parent(keeper, shown, hidden)
    open_thing, private = make_thing("Open letter", access="all"), make_thing("Kobalt letter", access="keeper")
    with changing(keeper, "test"):
        for thing in (open_thing, private):
            for person in (hidden, shown):
                ThingPerson(thing=thing, person=person, role="wrote").save()
    addresses = [
        reverse("people:list"), reverse("people:list") + "?name=zin", reverse("people:list") + "?unidentified=1",
        shown.get_absolute_url(), reverse("people:family", args=[shown.public_id]),
        reverse("people:linked", args=[shown.public_id, "things"]), reverse("people:suggest") + "?person=zinn",
        hidden.get_absolute_url(), reverse("people:family", args=[hidden.public_id]),
        reverse("people:linked", args=[hidden.public_id, "things"]),
    ]  # fmt: skip
    for address in addresses:
        answer = as_relative.get(address)
        assert "Zinnober" not in text_of(answer) and "Kobalt" not in text_of(answer), address
        assert answer.status_code == (404 if hidden.public_id in address else 200), address
    row = next(row for row in _rows(as_relative) if "Anton" in row)
    assert "1 thing<" in row  # the private one is not counted


def _rows(client: Any) -> list[str]:
    return re.findall(r"<li>.*?</li>", text_of(client.get(reverse("people:list"))), re.DOTALL)


# -- lists and pages ---------------------------------------------------------------------------------------------------


def test_the_list_filters_and_asks_the_database_as_often_for_thirty_as_for_three(
    as_keeper: Any, make_person: Any, make_thing: Any, keeper: Any
) -> None:
    from archive.access.changes import changing
    from archive.things.models import ThingPerson

    thing = make_thing("A letter")

    def some(first: int, last: int) -> None:
        with changing(keeper, "test"):
            for n in range(first, last):
                person = make_person(f"Person {n:02}", sort_name=f"Name {n:02}", unidentified=n % 2 == 0)
                ThingPerson(thing=thing, person=person, role="shown").save()
                PersonName(person=person, name=f"Uncle {n:02}").save()

    def queries(address: str) -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert as_keeper.get(address).status_code == 200
        return len(asked)

    some(0, 3)
    page = Person.objects.order_by("pk")[0].get_absolute_url()
    few, few_page = queries(reverse("people:list")), queries(page)
    some(3, 60)
    assert queries(reverse("people:list")) == few
    assert queries(page) == few_page <= 15
    assert "Page 1 of 2" in text_of(as_keeper.get(reverse("people:list")))
    for typed, how_many in (("uncle 07", 1), ("name 1", 10), ("person 20", 1), ("1", 10), ("nobody", 0)):
        found = as_keeper.get(reverse("people:list"), {"name": typed}).context["page"].paginator.count
        assert found == how_many, typed
    assert as_keeper.get(reverse("people:list") + "?unidentified=1").context["page"].paginator.count == 30


def test_a_page_shows_everything_that_is_linked(
    as_keeper: Any, as_relative: Any, as_visitor: Any, make_person: Any, make_thing: Any, keeper: Any
) -> None:
    """One link of each kind, and no kind of link that the page forgets: the foreign keys say which there are."""
    from archive.access.changes import changing
    from archive.access.uniting import pointing_to
    from archive.boxes.models import Box
    from archive.people.linked import KINDS
    from archive.pictures.models import PersonMark
    from archive.sorting.models import FirstLook, Group, GroupThing, Lot
    from archive.stories.models import Story, StoryPerson
    from archive.things.actions import issue_number
    from archive.things.models import Loan, Piece, PiecePerson, Share, ThingPerson

    person = make_person("Tobias", died_text="1940")
    thing = make_thing("The medal", pictures=1, access="all", came_from=person, borrowed_from=person)
    with changing(keeper, "test"):
        ThingPerson(thing=thing, person=person, role="owned").save()
        piece = Piece(thing=thing, order=3, title="The third leaf")
        piece.save()
        PiecePerson(piece=piece, person=person).save()
        PersonMark(picture=thing.pictures.get(), person=person, left=2500, top=2500, width=1000, height=2000).save()
        told = Story(title="The big ice", body="x", teller=person, access="all")
        told.save()
        about = Story(title="The ferryman", body="x", access="all")
        about.save()
        StoryPerson(story=about, person=person).save()
        Loan(thing=thing, person=person, since=date(1930, 1, 2)).save()
        Share(thing=thing, person=person, part="one half").save()
        Lot(serial=issue_number("lots"), title="From the loft", from_whom=person, access="all").save()
        box = Box(serial=issue_number("boxes"), title="Cigar box", access="all")
        box.save()
        FirstLook(box=box, packed_by=person).save()
        group = Group(title="The ice night", access="all")
        group.save()
        GroupThing(group=group, thing=thing).save()
    found = {section.code: section.total for section in as_keeper.get(person.get_absolute_url()).context["sections"]}
    assert found == dict.fromkeys(KINDS, 1)
    page = text_of(as_keeper.get(person.get_absolute_url()))
    for words in ("The medal", "The third leaf", "The big ice", "The ferryman", "since 2 January 1930", "one half",
                  "From the loft", "Cigar box", "The ice night"):  # fmt: skip
        assert words in page, words
    # The square around the mark, in pixels of a picture of 640 × 480: 64 × 96 at (160, 120), widened to 96.
    assert 'viewBox="144 120 96 96"' in page
    for client, not_theirs in ((as_relative, {"loans"}), (as_visitor, {"shares", "loans", "borrowed", "given"})):
        codes = {section.code for section in client.get(person.get_absolute_url()).context["sections"]}
        assert codes == set(KINDS) - not_theirs
        hidden = [client.get(reverse("people:linked", args=[person.public_id, code])) for code in not_theirs]
        assert {answer.status_code for answer in hidden} == {404}
    shown = {"ThingPerson.person", "PiecePerson.person", "PersonMark.person", "Story.teller", "StoryPerson.person",
             "Loan.person", "Thing.came_from", "Thing.borrowed_from", "Lot.from_whom", "FirstLook.packed_by",
             "Share.person", "PersonName.person", "Parentage.child", "Parentage.parent", "Partnership.one",
             "Partnership.other"}  # fmt: skip
    archive = [column for column in pointing_to(Person) if column.model._meta.app_label == "archive"]
    assert {f"{column.model.__name__}.{column.name}" for column in archive} == shown


def test_rows_beside_a_person_are_changed_taken_away_and_brought_back(
    as_keeper: Any, make_person: Any, keeper: Any
) -> None:
    person = make_person("Ida")
    name = actions.add_name(keeper, person, {"name": "Idchen", "sort": "called"})
    address = reverse("people:row", args=["name", name.public_id])
    as_keeper.post(address, {"name": "Idi", "sort": "birth", "opened_version": name.version})
    stale = as_keeper.post(address, {"name": "Other", "sort": "birth", "opened_version": name.version})
    name.refresh_from_db()
    assert stale.status_code == 409 and "it now says: Idi" in text_of(stale) and name.name == "Idi"
    as_keeper.post(address, {"remove": "1"})
    assert not PersonName.objects.exists()
    history = text_of(as_keeper.get(reverse("access:history", args=["people", person.public_id])))
    undo = re.search(r'action="(/undo/\w+/)"', history)
    assert undo is not None
    as_keeper.post(undo[1], {"next": "/"})
    assert PersonName.objects.get().name == "Idi"
