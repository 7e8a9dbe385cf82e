"""The calendar: read back by icalendar, open by its address alone, telling no more than allowed; the month."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from archive.access.models import ChangeSet
from archive.access.undo import undo
from conservation.this_week import actions, assess, door, queries
from conservation.this_week.models import OwnJob, WeekCalendar
from tests.this_week.cast import a_line, own_job

pytestmark = pytest.mark.django_db

MONTH, SETTINGS, FILE = (reverse(f"this_week:{name}") for name in ("month", "calendar", "file"))
SHIFTY = 'Air the chest; linen, wool \\ "silk" مرحبا ' + "æøå " * 39 + "æøå"


@pytest.fixture(autouse=True)
def _clock_of_the_home() -> Iterator[None]:
    door.forget()
    with timezone.override(ZoneInfo("Europe/Berlin")):
        yield
    door.forget()


def _feed(row: WeekCalendar) -> str:
    return reverse("this_week:feed", args=[queries.token_of(row)])


def _events(content: bytes) -> dict[str, Any]:
    return {str(each["summary"]): each for each in Calendar.from_ical(content).walk("VEVENT")}


def test_icalendar_reads_the_feed_back(keeper: Any, as_visitor: Any, make_thing: Any) -> None:
    """RFC 5545: ends of lines, folding at 75 octets, escaping, whole days with an end that is not included."""
    today = timezone.localdate()
    own_job(keeper, SHIFTY, due=today, minutes=20)
    own_job(keeper, "Last of the month", due=date(2027, 1, 31), repeat="month")
    own_job(keeper, "After it was done", due=today, repeat="week", from_done=True)
    own_job(keeper, "No day")
    answer = as_visitor.get(_feed(actions.set_calendar(keeper, True, "all")))
    assert answer.status_code == 200 and answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    content = answer.content
    assert b"\r\n" in content and b"\n" not in content.replace(b"\r\n", b"")
    assert max(len(line) for line in content.split(b"\r\n")) <= 75
    assert b"VALARM" not in content
    calendar = Calendar.from_ical(content)
    assert calendar["version"] == "2.0" and calendar["prodid"] and calendar["x-wr-timezone"] == "Europe/Berlin"
    events = _events(content)
    assert set(events) == {
        f"{SHIFTY} (20 min)",
        "Last of the month (15 min)",
        "After it was done (15 min)",
    }
    shifty = events[f"{SHIFTY} (20 min)"]
    assert shifty.decoded("dtstart") == today and shifty.decoded("dtend") == today + timedelta(days=1)
    assert shifty.decoded("dtstamp").tzinfo is not None and "rrule" not in shifty
    assert "rrule" not in events["After it was done (15 min)"]
    monthly = events["Last of the month (15 min)"]["rrule"].to_ical().decode()
    from dateutil.rrule import rrulestr

    days = [each.date() for each in rrulestr(monthly, dtstart=datetime(2027, 1, 31, tzinfo=UTC)).xafter(
        datetime(2027, 1, 1, tzinfo=UTC), count=4)]  # fmt: skip
    assert days == [date(2027, 1, 31), date(2027, 2, 28), date(2027, 3, 31), date(2027, 4, 30)]


def test_names_stay_and_changes_count(keeper: Any, as_keeper: Any) -> None:
    own = own_job(keeper, "A job", due=timezone.localdate())
    actions.set_calendar(keeper, True, "all")
    before = _events(as_keeper.get(FILE).content)["A job (15 min)"]
    actions.save_own(keeper, own, {"due": own.due, "repeat": "", "every": 1, "words": "Another word for it"})
    after = _events(as_keeper.get(FILE).content)["Another word for it (15 min)"]
    assert before["uid"] == after["uid"] and own.public_id not in str(after["uid"])
    assert int(after["sequence"]) == int(before["sequence"]) + 1


@pytest.mark.parametrize(
    ("says", "told"),
    [("nothing", set()), ("own", {"Ring the bank"}), ("all", {"Ring the bank", "secret diary"})],
)
def test_it_tells_no_more_than_the_keeper_allows(
    keeper: Any, as_visitor: Any, make_thing: Any, says: str, told: set[str]
) -> None:
    from archive.things.loan_actions import lend

    today = timezone.localdate()
    own_job(keeper, "Ring the bank", due=today)
    thing = make_thing("The secret diary", access="keeper")
    lend(keeper, thing, {"to_text": "Cousin Nils", "since": today, "until": today})
    content = as_visitor.get(_feed(actions.set_calendar(keeper, True, says))).content.decode()
    plain = content.replace("\r\n ", "")
    assert {each for each in ("Ring the bank", "secret diary") if each in plain} == told
    assert plain.count("BEGIN:VEVENT") == 2 and (says == "all") == ("Nils" in plain)
    for private in ("The test house", "Kaja", thing.public_id, thing.number):
        assert private not in plain or (says == "all" and private == thing.number)


def test_only_its_address_opens_it(keeper: Any, as_visitor: Any, as_keeper: Any) -> None:
    from archive.preferences.actions import begin_with

    begin_with({"visitors_allowed": False})
    assert as_visitor.get(_feed(queries.calendar())).status_code == 404  # nothing was turned on
    row = actions.set_calendar(keeper, True, "nothing")
    old = _feed(row)
    assert as_visitor.get(old).status_code == 200 and as_visitor.head(old).status_code == 200
    assert as_visitor.post(old).status_code == 405
    assert as_visitor.get(old.replace(".ics", "0.ics")).status_code == 404
    assert len(queries.token_of(row)) == 40 and row.public_id not in old
    as_keeper.post(SETTINGS, {"act": "new"})
    new = _feed(WeekCalendar.objects.get())
    assert new != old and as_visitor.get(old).status_code == 404 and as_visitor.get(new).status_code == 200
    undo(ChangeSet.objects.get(verb="this_week.new_address"), keeper)
    assert as_visitor.get(old).status_code == 200
    as_keeper.post(SETTINGS, {"says": "nothing"})
    assert as_visitor.get(old).status_code == 404


def test_whoever_tries_addresses_is_shut_out_for_a_while(
    keeper: Any, as_visitor: Any, settings: Any, monkeypatch: Any
) -> None:
    import time

    row = actions.set_calendar(keeper, True, "nothing")
    for n in range(settings.AXES_FAILURE_LIMIT):
        assert as_visitor.get(reverse("this_week:feed", args=[f"wrong{n}"])).status_code == 404
    assert as_visitor.get(_feed(row)).status_code == 429
    assert as_visitor.get(_feed(row), REMOTE_ADDR="192.168.7.8").status_code == 200
    later = time.monotonic() + settings.AXES_COOLOFF_TIME.total_seconds() + 1
    monkeypatch.setattr(door.time, "monotonic", lambda: later)
    assert as_visitor.get(_feed(row)).status_code == 200


def test_the_settings_show_the_address_to_the_keeper(keeper: Any, as_keeper: Any, as_relative: Any) -> None:
    assert "/feed/" not in as_keeper.get(SETTINGS).content.decode()
    as_keeper.post(SETTINGS, {"is_open": "on", "says": "own"})
    row = WeekCalendar.objects.get()
    assert row.is_open and row.says == "own"
    assert f"http://testserver{_feed(row)}" in as_keeper.get(SETTINGS).content.decode()
    assert as_keeper.post(SETTINGS, {"is_open": "on", "says": "everything"}).status_code == 422
    assert as_relative.get(SETTINGS).status_code == 404 and as_relative.get(FILE).status_code == 404


def test_a_job_put_off_stands_on_the_day_it_comes_back(keeper: Any, as_keeper: Any) -> None:
    today = timezone.localdate()
    own = own_job(keeper, "A job", due=today)
    actions.put_off(keeper, a_line(keeper, own.key), today + timedelta(days=9), "")
    actions.set_calendar(keeper, True, "all")
    event = _events(as_keeper.get(FILE).content)["A job (15 min)"]
    assert event.decoded("dtstart") == today + timedelta(days=9)


def test_the_sheet_of_the_month(keeper: Any, as_keeper: Any) -> None:
    own_job(keeper, "Water the trap", due=date(2027, 2, 3), repeat="week", minutes=5)
    own_job(keeper, "The thirty-first", due=date(2027, 1, 31), repeat="month", minutes=7)
    page = as_keeper.get(MONTH, {"month": "2027-02"}).content.decode()
    assert page.count("Water the trap") == 4 and page.count("The thirty-first") == 1
    assert "February 2027" in page and page.count('scope="col"') == 7
    assert as_keeper.get(MONTH, {"month": "2027-13"}).status_code == 200  # this month
    assert as_keeper.get(MONTH, {"month": "0001-01"}).status_code == 404
    assert "Nothing has a day in this month" in as_keeper.get(MONTH, {"month": "2026-12"}).content.decode()


def test_days_of_a_rule_begin_with_the_day_that_is_due(keeper: Any) -> None:
    own = own_job(keeper, "Trap", due=date(2027, 2, 3), repeat="week")
    own.due = date(2027, 2, 17)
    assert assess.days_of(own, date(2027, 2, 1), date(2027, 2, 28)) == [date(2027, 2, 17), date(2027, 2, 24)]
    assert assess.repeat_words(own) == "Every week." and assess.days_of(OwnJob(), date.min, date.max) == []
