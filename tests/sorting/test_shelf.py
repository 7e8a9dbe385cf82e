"""The waiting shelf and standings: why a thing waits, questions in place, and that nothing leaves unsaid."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

pytestmark = pytest.mark.django_db

GOING = {
    "standing": "let go", "standing_why": "We have nine of them", "gone_how": "To the charity shop",
    "gone_agreed": "Ragna and I", "copy_kept": "true",
}  # fmt: skip


def standing(client: Any, *things: Any, **values: Any) -> Any:
    sent = {**GOING, "standing_on": timezone.localdate().isoformat(), "thing": [t.public_id for t in things], **values}
    return client.post(reverse("sorting:standing"), sent)


def test_what_waits_and_why(as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.people.models import Person
    from archive.pictures.models import PersonMark
    from archive.things.models import ThingPerson

    make_thing("Settled letter")
    make_thing("A dark box", kind_code="unknown")
    make_thing("Asked about", open_question="Whose hand is this?")
    make_thing("Group portrait")
    marked = make_thing("Picnic", pictures=1)
    make_thing("Half decided", standing="undecided", open_question="Does Jonas want it?")
    make_thing("Left long ago", kind_code="unknown", standing="returned", standing_why="It was theirs",
               gone_how="to Ida", gone_agreed="all", copy_kept=False)  # fmt: skip
    with changing(keeper, "test"):
        boy = Person(name="The boy on the right", unidentified=True)
        boy.save()
        hidden = Person(name="The hidden guest", unidentified=True, access="keeper")
        hidden.save()
        from archive.things.models import Thing

        ThingPerson(thing=Thing.objects.get(title="Group portrait"), person=hidden).save()
        PersonMark(picture=marked.pictures.get(), person=boy).save()
    page = as_keeper.get(reverse("sorting:waiting")).content.decode()
    for words in ("A dark box", "Whose hand is this?", "Group portrait", "The hidden guest", "Picnic", "Half decided"):
        assert words in page, words
    assert "5 things wait" in page and "Settled letter" not in page and "Left long ago" not in page
    page = as_relative.get(reverse("sorting:waiting")).content.decode()
    # That somebody closed to relatives is in it must not be told by its standing on the shelf.
    assert "4 things wait" in page and "Group portrait" not in page and "hidden guest" not in page
    assert "The boy on the right" in page and "<form" not in page.split("<main")[1].split("</main>")[0]


def test_a_question_is_changed_and_answered_in_place(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Letter", note="In a drawer.", open_question="Whose hand?")
    address = reverse("sorting:question", args=[thing.public_id])
    as_keeper.post(address, {"question": "Whose hand is it?", "opened_question": "Whose hand?"})
    thing.refresh_from_db()
    assert thing.open_question == "Whose hand is it?"
    late = as_keeper.post(address, {"question": "Mine", "opened_question": "Whose hand?", "answer": "Nobody’s"})
    thing.refresh_from_db()
    page = late.content.decode()
    assert late.status_code == 409 and "Nobody’s" in page and "Whose hand is it?" in page
    assert thing.open_question == "Whose hand is it?"
    as_keeper.post(
        address, {"question": "Whose hand is it?", "opened_question": "Whose hand is it?", "answer": "Ida’s"}
    )
    thing.refresh_from_db()
    assert thing.open_question == "" and thing.note.startswith("In a drawer.\n\nAsked: Whose hand is it? Answer (")
    assert thing.note.endswith("Kaja Keeper): Ida’s")


def test_a_question_put_better_and_answered_is_one_act_or_none(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.access.undo import undo

    full = make_thing("Letter", note="x" * 19_990, open_question="Whose hand?")
    sent = {"question": "Whose hand is it?", "opened_question": "Whose hand?", "answer": "Ida’s"}
    refused = as_keeper.post(reverse("sorting:question", args=[full.public_id]), sent)
    full.refresh_from_db()
    assert refused.status_code == 409 and (full.open_question, full.version) == ("Whose hand?", 1)
    thing = make_thing("Letter", open_question="Whose hand?")
    as_keeper.post(reverse("sorting:question", args=[thing.public_id]), sent)
    thing.refresh_from_db()
    assert thing.open_question == "" and "Asked: Whose hand is it? Answer" in thing.note
    undo(ChangeSet.objects.latest("pk"), keeper)
    thing.refresh_from_db()
    assert (thing.open_question, thing.note) == ("Whose hand?", "")


@pytest.mark.parametrize("missing", ["standing_why", "gone_how", "gone_agreed", "copy_kept", "standing_on"])
def test_nothing_leaves_with_something_unsaid(as_keeper: Any, make_thing: Any, missing: str) -> None:
    thing = make_thing("Tablecloth")
    answer = standing(as_keeper, thing, **{missing: ""})
    thing.refresh_from_db()
    assert answer.status_code == 422 and f"id_{missing}" in answer.content.decode() and thing.standing == "kept"
    assert "We have nine" in answer.content.decode() or missing == "standing_why"


@pytest.mark.parametrize("to", ["passed on", "let go", "returned", "lost"])
def test_no_other_way_out(keeper: Any, make_thing: Any, to: str) -> None:
    """Ways that know nothing of sorting are refused too, in a sentence: one thing, and many at once."""
    from archive.access.bulk import change_many
    from archive.access.changes import changing
    from archive.preferences.queries import preferences
    from archive.sorting.actions import set_standing
    from archive.sorting.rules import LeavesUnsaid
    from archive.things.actions import edit_thing

    thing = make_thing("Tablecloth")
    with pytest.raises(LeavesUnsaid, match="nothing leaves without a reason"):
        edit_thing(keeper, thing, {"standing": to}, preferences())
    thing.refresh_from_db()

    def batch() -> None:
        with changing(keeper, "test"):
            thing.standing = to
            change_many([thing], ["standing"])

    with pytest.raises(LeavesUnsaid):
        batch()
    thing.refresh_from_db()
    assert thing.standing == "kept"
    values = dict.fromkeys(("standing_why", "gone_how", "gone_agreed", "open_question"), " ")
    with pytest.raises(LeavesUnsaid, match="still wants a reason"):
        set_standing(keeper, [thing], {**values, "standing": to, "standing_on": None, "copy_kept": None})
    with pytest.raises(LeavesUnsaid):
        make_thing("Gone from the start", standing=to)


def test_undecided_wants_its_question(as_keeper: Any, make_thing: Any) -> None:
    thing = make_thing("Clock")
    assert standing(as_keeper, thing, standing="undecided", open_question="").status_code == 422
    assert standing(as_keeper, thing, standing="undecided", open_question="Does it go?").status_code == 302
    thing.refresh_from_db()
    assert (thing.standing, thing.open_question, thing.gone_how, thing.copy_kept) == (
        "undecided",
        "Does it go?",
        "",
        None,
    )
    later = (timezone.localdate() + timedelta(days=3)).isoformat()
    assert standing(as_keeper, thing, standing="kept", standing_on=later).status_code == 422


def test_several_leave_in_one_act_and_come_back(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.access.models import ChangeSet
    from archive.boxes.models import Box
    from archive.things.actions import issue_number
    from archive.things.models import Thing

    with changing(keeper, "test"):
        box = Box(serial=issue_number("boxes"), title="Carton")
        box.save()
    things = [make_thing(f"Tablecloth {n}", box=box) for n in range(3)]
    page = as_keeper.get(reverse("sorting:standing"), {"numbers": ", ".join(t.number for t in things)}).content.decode()
    assert all(f'name="thing" value="{t.public_id}"' in page for t in things)
    assert standing(as_keeper, *things).status_code == 302
    rows = set(Thing.objects.values_list("standing", "standing_why", "gone_how", "gone_agreed", "copy_kept", "box"))
    assert rows == {("let go", "We have nine of them", "To the charity shop", "Ragna and I", True, None)}
    assert "Let go" in as_keeper.get(reverse("things:list")).content.decode()
    change = ChangeSet.objects.get(verb="sorting.standing")
    as_keeper.post(reverse("access:undo", args=[change.public_id]))
    assert set(Thing.objects.values_list("standing", "standing_why", "box")) == {("kept", "", box.pk)}


def test_the_law_comes_before_the_bin(as_keeper: Any, make_thing: Any) -> None:
    gun, brooch = make_thing("Old rifle", kind_code="firearm"), make_thing("Brooch", parts=["ivory-bone-horn"])
    page = as_keeper.get(reverse("sorting:standing"), {"thing": [gun.public_id, brooch.public_id]}).content.decode()
    assert "asking the police" in page and "Protected animals" in page
    assert page.index("asking the police") < page.index('name="standing"')
    assert standing(as_keeper, gun).status_code == 422
    gun.refresh_from_db()
    assert gun.standing == "kept"
    assert standing(as_keeper, gun, asked="on").status_code == 302


def test_what_is_lent_to_us_is_given_back_and_not_away(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    from archive.access.changes import changing
    from archive.people.models import Person

    with changing(keeper, "test"):
        ida = Person(name="Ida")
        ida.save()
    thing = make_thing("Ida’s clock", borrowed_from=ida)
    answer = standing(as_keeper, thing)
    assert answer.status_code == 422 and "on loan to us" in answer.content.decode()
    assert standing(as_keeper, thing, standing="returned").status_code == 302


def test_the_shelf_asks_the_database_a_constant_number_of_times(as_keeper: Any, make_thing: Any) -> None:
    def count() -> int:
        as_keeper.get(reverse("sorting:waiting"))
        with CaptureQueriesContext(connection) as queries:
            as_keeper.get(reverse("sorting:waiting"))
        return len(queries)

    make_thing("first", kind_code="unknown", pictures=1)
    few = count()
    for n in range(29):
        make_thing(f"thing {n}", kind_code="unknown", pictures=n % 2, open_question="?")
    assert count() == few <= 15


def test_the_triage_card(as_relative: Any) -> None:
    from archive.kinds import KIND_CODES
    from archive.sorting import texts

    assert [each.value for each in texts.levels()] == [5, 4, 3, 2, 1]
    statuses = {"confirmed", "second-hand", "from memory", "common practice", "our default"}
    for line in (*texts.levels(), *texts.triage_lines("may_go"), *texts.triage_lines("never"), *texts.cautions()):
        assert line.backing.source and line.backing.status in statuses
    covered = set().union(*(each.kinds for each in texts.cautions()))
    assert covered <= KIND_CODES
    for code in ("firearm", "ivory-bone-horn", "medicine-or-chemical", "ashes-or-human-remains", "ammunition"):
        assert texts.cautions_for([code]), code
    assert texts.cautions_for(["letter", "quilt"]) == []
    page = as_relative.get(reverse("sorting:triage")).content.decode()
    assert "Never without asking" in page and "What may usually go" in page and "5" in page
