"""Lending: out, due, back; the slip; and what reminds the keeper."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

pytestmark = pytest.mark.django_db
HOME = ZoneInfo("Europe/Berlin")  # the zone of the test house: pages count days by its clock


def test_a_thing_goes_out_and_comes_back(as_keeper: Any, make_thing: Any) -> None:
    from archive.access.models import ChangeSet
    from archive.kinds import state

    thing = make_thing("Quilt of the seven sisters", kind_code="quilt", states=["torn"], pictures=1)
    url = reverse("things:loans", args=[thing.public_id])
    empty = as_keeper.post(url, {"since": "2026-03-01"})
    assert empty.status_code == 422 and "Say to whom it is lent" in empty.content.decode()
    both = as_keeper.post(url, {"since": "2026-03-01", "person": "Ida", "to_text": "The museum"})
    assert both.status_code == 422 and 'value="The museum"' in both.content.decode()
    early = as_keeper.post(url, {"since": "2026-03-01", "until": "2026-02-01", "person": "Ida"})
    assert "cannot be due back before" in early.content.decode() and not thing.loans.exists()
    slip = as_keeper.post(
        url, {"since": "2026-03-01", "until": "2026-04-01", "person": "Ida", "note": "For the wedding"}, follow=True
    ).content.decode()
    loan = thing.loans.get()
    both_names = ("Ida", "Kaja Keeper", "The test house")
    said = (
        "1 March 2026",
        "1 April 2026",
        state("torn").name,
        "For the wedding",
        "Never: ",
        "Do not lend it on",
        "Who borrows",
    )
    for words in (thing.number, "Quilt of the seven", thing.pictures.get().public_id, *both_names, *said):
        assert words in slip, words
    again = as_keeper.post(url, {"since": "2026-03-02", "to_text": "The museum"})
    assert again.status_code == 422 and "It is lent already" in again.content.decode()
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "lent out" in page and "It is overdue" in page
    as_keeper.post(reverse("things:loan", args=[thing.public_id, loan.public_id]), {"act": "back"})
    loan.refresh_from_db()
    assert loan.returned_on == timezone.localdate(timezone=HOME) and loan.version == 2
    page = as_keeper.get(url).content.decode()
    assert "Lent before" in page and "Lend it" in page
    as_keeper.post(reverse("access:undo", args=[ChangeSet.objects.get(verb="things.come_back").public_id]))
    loan.refresh_from_db()
    assert loan.returned_on is None
    as_keeper.post(reverse("things:loan", args=[thing.public_id, loan.public_id]), {"act": "remove"})
    assert not thing.loans.exists()


def test_a_loan_is_changed_without_overwriting_somebody_else(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.things.loan_actions import change_loan, lend

    thing, other = make_thing(), make_thing("Other")
    loan = lend(keeper, thing, {"to_text": "The museum", "since": date(2026, 1, 5)})
    url = reverse("things:loan", args=[thing.public_id, loan.public_id])
    mine = {"to_text": "The museum", "since": "2026-01-05", "until": "2026-06-01", "opened_version": "1"}
    change_loan(keeper, loan, {"note": "Insured", "returned_on": None})
    answer = as_keeper.post(url, mine)
    assert answer.status_code == 422 and "changed this loan meanwhile" in answer.content.decode()
    assert as_keeper.post(url, {**mine, "note": "Insured", "opened_version": "2"}).status_code == 302
    loan.refresh_from_db()
    assert loan.until == date(2026, 6, 1) and loan.note == "Insured"
    assert as_keeper.get(reverse("things:loan", args=[other.public_id, loan.public_id])).status_code == 404


def test_a_hazard_goes_with_the_slip(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    from archive.things.loan_actions import lend

    film = make_thing("Reel", kind_code="nitrate-film")
    loan = lend(keeper, film, {"to_text": "The museum", "since": date(2026, 1, 5)})
    page = as_keeper.get(reverse("things:slip", args=[film.public_id, loan.public_id])).content.decode()
    assert page.index("Stop") < page.index("How to treat it")


def test_reminders_come_a_week_before_and_stay_until_it_is_back(make_thing: Any, keeper: Any, relative: Any) -> None:
    from archive.access.actions import withdraw
    from archive.extend import jobs
    from archive.people.queries import NewName
    from archive.things.actions import set_fields
    from archive.things.loan_actions import come_back, lend

    today = timezone.localdate()
    since = today - timedelta(days=90)
    lent = {}
    for title, days in (("Overdue", -3), ("Soon", 7), ("Later", 8)):
        thing = make_thing(title)
        lent[title] = lend(
            keeper, thing, {"to_text": "The club", "since": since, "until": today + timedelta(days=days)}
        )
    lend(keeper, make_thing("No day"), {"to_text": "The club", "since": since})
    borrowed, gone, hidden = make_thing("Borrowed"), make_thing("Given back"), make_thing("Hidden")
    for thing in (borrowed, gone, hidden):
        set_fields(keeper, thing, {"borrowed_from": NewName("Ida"), "borrowed_until": today}, "things.owners")
    how = {"gone_how": "by hand", "gone_agreed": "all", "standing_why": "It was Ida’s", "copy_kept": True}
    set_fields(keeper, gone, {"standing": "returned", "standing_on": today, **how}, "sorting.standing")
    withdraw(keeper, hidden, "By mistake")

    def said(who: Any) -> list[str]:
        return [job.words for job in jobs(who) if "The club" in job.words or "back to" in job.words]

    overdue, soon = lent["Overdue"].thing, lent["Soon"].thing
    assert said(keeper) == [f"Ask The club for {overdue}", f"Give {borrowed} back to Ida", f"Ask The club for {soon}"]
    assert said(relative) == [] and said(None) == []
    come_back(keeper, lent["Overdue"], today)
    assert len(said(keeper)) == 2
