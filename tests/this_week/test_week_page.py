"""The first page: tiers, time, putting off, doing, own times, own jobs; and what others see at the same address."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from archive.access.models import ChangeSet
from archive.access.undo import undo
from conservation.this_week import actions, assess, queries
from conservation.this_week.models import OwnJob, PutOff, Work
from tests.this_week.cast import a_line, lines, own_job, this_week, words_of

pytestmark = pytest.mark.django_db

PAGE = "/this_week/"


@pytest.fixture(autouse=True)
def _clock_of_the_home() -> Iterator[None]:
    """Days are those of the home, as on pages."""
    with timezone.override(ZoneInfo("Europe/Berlin")):
        yield


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def full(keeper: Any, make_thing: Any) -> None:
    """Something of every tier."""
    make_thing("Shell from the field", kind_code="ammunition")
    own_job(keeper, "Dry the wet carton", tier=2, minutes=90, first="Lay the top layer on towels")
    own_job(keeper, "Ask Ragna about the jetty", tier=3, minutes=40)
    for n, minutes in enumerate((5, 10, 25, 120)):
        own_job(keeper, f"Job {n}", minutes=minutes, matters=3)


# -- who sees what at the first address ------------------------------------------------------------------------------


def test_the_first_page_is_this_week_for_the_keeper_alone(
    full: None, as_keeper: Any, as_relative: Any, as_visitor: Any, make_thing: Any
) -> None:
    make_thing("Open to all", access="all")
    page = as_keeper.get("/").content.decode()
    assert "<h1>This week</h1>" in page and "Shell from the field" in page and "The latest things" in page
    assert 'aria-current="true">This week' in page
    assert as_keeper.get(PAGE).content.decode().count("<h1>This week</h1>") == 1
    for client in (as_relative, as_visitor):
        page = client.get("/").content.decode()
        assert "<h1>The test house</h1>" in page and "The latest things" in page and "Open to all" in page
        assert "This week" not in page and "Ask Ragna" not in page
        assert client.get(PAGE).status_code in (302, 404)


def test_an_empty_archive_says_what_will_be_here(as_keeper: Any) -> None:
    page = as_keeper.get("/").content.decode()
    assert "Here will be what to do next" in page and page.count("do-next") == 1


def test_one_thing_is_to_be_done_next(full: None, as_keeper: Any, keeper: Any) -> None:
    for address in ("/", "/?minutes=30", "/?minutes=1"):
        assert as_keeper.get(address).content.decode().count('class="do-next"') == 1, address
    as_keeper.post(reverse("this_week:start", args=[this_week(keeper).pressing[0].code]))
    page = as_keeper.get("/").content.decode()
    assert page.count('class="do-next"') == 1 and "In hand" in page


# -- tiers and time --------------------------------------------------------------------------------------------------


def test_danger_before_clocks_before_the_living_before_the_rest(full: None, keeper: Any) -> None:
    week = this_week(keeper)
    assert [line.job.tier for line in week.shown] == sorted(line.job.tier for line in week.shown)
    assert week.pressing[0].job.words.startswith("Keep away from") and week.pressing[0].job.tier == 1
    assert "Stop. Do not touch" in week.pressing[0].job.why
    rest = [line for line in week.shown if line.job.tier == 4]
    assert words_of(rest)[:4] == ["Job 0", "Job 1", "Job 2", "Job 3"]  # worth the same, so the shorter first


@pytest.mark.parametrize("have", [1, 10, 30, 60, 120, 600])
def test_pressing_jobs_always_show_and_time_is_never_overspent(full: None, keeper: Any, have: int) -> None:
    week = this_week(keeper, have)
    assert [line.job.tier for line in week.pressing] == [1, 2]
    assert week.spoken <= have
    spent = sum(line.minutes for line in week.shown if line.fits == assess.WHOLE)
    spent += 10 * sum(line.fits == assess.BEGIN for line in week.pressing)
    assert spent == week.spoken
    everything = {line.key for line in [*week.shown, *week.more]}
    assert everything == {line.key for line in this_week(keeper).open_now}


def test_too_little_time_shows_the_first_ten_minutes(full: None, as_keeper: Any, keeper: Any) -> None:
    week = this_week(keeper, 60)
    wet = week.pressing[1]
    assert wet.fits == assess.BEGIN and wet.first == "Lay the top layer on towels"
    page = as_keeper.get("/?minutes=60").content.decode()
    assert "The first ten minutes are:" in page and "Lay the top layer on towels" in page
    assert f"{week.spoken} of your 60 minutes are spoken for" in page
    assert this_week(keeper, 5).pressing[1].fits == assess.WAIT
    assert this_week(keeper, 600).pressing[1].fits == assess.WHOLE


@pytest.mark.parametrize("typed", ["0", "-5", "601", "soon"])
def test_a_time_that_is_none_is_said(full: None, as_keeper: Any, typed: str) -> None:
    answer = as_keeper.get("/", {"minutes": typed})
    assert answer.status_code == 422 and "Please look at this again" in answer.content.decode()


def test_why_is_told_in_words_and_figures_with_their_status(full: None, as_keeper: Any, keeper: Any) -> None:
    own_job(keeper, "Mend the folder", matters=5, due=timezone.localdate() - timedelta(days=2))
    line = a_line(keeper, OwnJob.objects.latest("pk").key)
    assert line.stakes == ["The family would miss it most (5 of 5).", "Its day has passed."]
    assert line.sum_words.startswith("Matters 5 × delicate 2 × exposed 1 × 2 for its day = 20 for 15 min")
    page = as_keeper.get(reverse("this_week:job", args=[line.code])).content.decode()
    assert "our default" in page and "Due 2 days ago." in page and line.sum_words in page


def test_what_is_due_in_a_month_waits_for_its_time(keeper: Any, as_keeper: Any, today: date) -> None:
    own_job(keeper, "Far away", due=today + timedelta(days=40))
    own_job(keeper, "Far away and pressing", due=today + timedelta(days=40), tier=2)
    week = this_week(keeper)
    assert words_of(week.later) == ["Far away"] and words_of(week.pressing) == ["Far away and pressing"]
    assert "Far away" in as_keeper.get(reverse("this_week:everything")).content.decode()


# -- putting off -----------------------------------------------------------------------------------------------------


def test_a_job_put_off_comes_back_on_its_day(full: None, keeper: Any, as_keeper: Any, today: date) -> None:
    job = next(line for line in lines(keeper) if line.job.words == "Job 1")
    day = today + timedelta(days=20)
    as_keeper.post(reverse("this_week:put_off", args=[job.code]), {"until": day.isoformat(), "reason": "No folders"})
    assert "Job 1" not in words_of(this_week(keeper).open_now)
    everything = as_keeper.get(reverse("this_week:everything")).content.decode()
    assert "No folders" in everything and "Put off" in everything
    found = queries.jobs(keeper)
    said = queries.kept(found)
    assert "Job 1" not in words_of(assess.plan(found, said, day - timedelta(days=1)).open_now)
    assert "Job 1" in words_of(assess.plan(found, said, day).open_now)
    as_keeper.post(reverse("this_week:bring_back", args=[PutOff.objects.get().public_id]))
    assert "Job 1" in words_of(this_week(keeper).open_now)


def test_putting_off_can_be_undone(full: None, keeper: Any, today: date) -> None:
    job = next(line for line in lines(keeper) if line.job.words == "Job 1")
    actions.put_off(keeper, job, today + timedelta(days=3), "")
    actions.put_off(keeper, job, today + timedelta(days=9), "Ill")
    second, first = ChangeSet.objects.filter(verb="this_week.put_off").order_by("-pk")
    undo(second, keeper)
    assert PutOff.objects.get().until == today + timedelta(days=3)
    undo(first, keeper)
    assert not PutOff.objects.exists() and "Job 1" in words_of(this_week(keeper).open_now)


@pytest.mark.parametrize(
    ("tier", "days", "reason", "status"),
    [
        (1, 3, "", 302), (1, 4, "", 422), (1, 4, "The police come on Monday", 302), (2, 30, "", 302),
        (2, 31, "", 422), (4, 300, "", 302), (4, 400, "Why not", 422), (4, 0, "", 422), (4, -1, "", 422),
    ],
)  # fmt: skip
def test_danger_is_not_put_off_for_long_without_saying_why(
    keeper: Any, as_keeper: Any, today: date, tier: int, days: int, reason: str, status: int
) -> None:
    own = own_job(keeper, "A job", tier=tier)
    sent = {"until": (today + timedelta(days=days)).isoformat(), "reason": reason}
    answer = as_keeper.post(reverse("this_week:put_off", args=[queries.code_of(own.key)]), sent)
    assert answer.status_code == status and PutOff.objects.exists() == (status == 302)
    if status == 422 and reason:
        assert reason in answer.content.decode()  # nothing typed is lost


def test_a_button_puts_off_for_a_week(keeper: Any, as_keeper: Any, today: date) -> None:
    own = own_job(keeper, "A job")
    as_keeper.post(reverse("this_week:put_off", args=[queries.code_of(own.key)]), {"days": "7", "until": ""})
    assert PutOff.objects.get().until == today + timedelta(days=7)
    nothing = as_keeper.post(reverse("this_week:put_off", args=[queries.code_of(own.key)]), {"until": ""})
    assert nothing.status_code == 422


def test_a_job_that_is_not_there_is_not_there(as_keeper: Any) -> None:
    for name in ("job", "start", "put_off", "done"):
        address = reverse(f"this_week:{name}", args=["0123456789abcdef"])
        assert (as_keeper.get if name == "job" else as_keeper.post)(address).status_code == 404


# -- doing -----------------------------------------------------------------------------------------------------------


def test_started_done_and_learnt(keeper: Any, as_keeper: Any, make_thing: Any) -> None:
    for title in ("One", "Two"):
        make_thing(title, kind_code="unknown")
    one, two = [line for line in lines(keeper) if line.job.sort == "housing.find-kind"]
    assert one.minutes == two.minutes == 5
    answer = as_keeper.post(reverse("this_week:start", args=[one.code]))
    assert answer.headers["Location"] == one.job.url
    as_keeper.post(reverse("this_week:start", args=[one.code]))  # begun once, however often it is pressed
    work = Work.objects.get()
    assert work.done_on is None and one.key not in {line.key for line in this_week(keeper).open_now}
    answer = as_keeper.post(reverse("this_week:finish", args=[work.public_id]), {"minutes": "20"}, follow=True)
    assert "until its own page says" in answer.content.decode()  # it still has no kind
    again = a_line(keeper, two.key)
    assert again.minutes == round(5 * 4 ** (1 / 3)) == 8 and "You have said once" in again.minutes_words
    table = as_keeper.get(reverse("this_week:times")).content.decode()
    assert "Finding out what a thing is" in table and "8 min" in table
    undo(ChangeSet.objects.get(verb="this_week.done"), keeper)
    assert a_line(keeper, two.key).minutes == 5 and Work.objects.get().done_on is None


def test_what_was_begun_can_be_left(keeper: Any, as_keeper: Any) -> None:
    own = own_job(keeper, "A job")
    as_keeper.post(reverse("this_week:start", args=[queries.code_of(own.key)]))
    as_keeper.post(reverse("this_week:finish", args=[Work.objects.get().public_id]), {"act": "stop"})
    assert not Work.objects.exists() and words_of(this_week(keeper).open_now) == ["A job"]


@pytest.mark.parametrize("typed", ["0", "601", "long"])
def test_minutes_that_cannot_be_are_asked_again(keeper: Any, as_keeper: Any, typed: str) -> None:
    own = own_job(keeper, "A job")
    code = queries.code_of(own.key)
    assert as_keeper.post(reverse("this_week:done", args=[code]), {"minutes": typed}).status_code == 422
    as_keeper.post(reverse("this_week:start", args=[code]))
    work = Work.objects.get()
    answer = as_keeper.post(reverse("this_week:finish", args=[work.public_id]), {"minutes": typed})
    assert answer.status_code == 422 and f'value="{typed}"' in answer.content.decode()
    assert Work.objects.get().done_on is None
    later = {"done_on": (timezone.localdate() + timedelta(days=1)).isoformat()}
    assert as_keeper.post(reverse("this_week:done", args=[code]), later).status_code == 422


def test_a_job_without_a_page_is_ticked_off_and_comes_back(keeper: Any, monkeypatch: Any, today: date) -> None:
    from archive import extend

    job = extend.Job("Look at the seals", "/rooms/", 10, key="rooms.seals", tick=True, again_days=30)
    once = replace(job, key="rooms.once", again_days=None)
    yearly = replace(job, key="rooms.yearly", again_days=None, due=today)
    monkeypatch.setattr(extend, "jobs", lambda who: [job, once, yearly])
    for each in lines(keeper):
        actions.done(keeper, each, today, 12)
    assert lines(keeper) == []
    said = queries.kept(queries.jobs(keeper))
    assert [line.key for line in assess.lines_of([job, once], said, today + timedelta(days=30))] == ["rooms.seals"]
    assert assess.lines_of([job], said, today + timedelta(days=29)) == []
    next_year = replace(yearly, due=today + timedelta(days=365))
    assert [line.key for line in assess.lines_of([next_year], said, today)] == ["rooms.yearly"]


def test_jobs_without_a_name_get_one_and_stand_once(keeper: Any, monkeypatch: Any) -> None:
    from archive import extend

    plain = extend.Job("Do it", "/things/", 10)
    monkeypatch.setattr(extend, "jobs", lambda who: [plain, replace(plain, words="Again"), replace(plain, url="/x/")])
    assert [job.key for job in queries.jobs(keeper)] == ["job:/things/", "job:/x/"]


# -- own jobs --------------------------------------------------------------------------------------------------------


def test_an_own_job_comes_back_by_its_rule(keeper: Any, as_keeper: Any, today: date) -> None:
    form = {
        "words": "Vacuum behind the bureau", "minutes": "25", "due": "2026-01-31", "repeat": "month", "every": "1",
        "tier": "4", "matters": "", "first": "",
    }  # fmt: skip
    assert as_keeper.post(reverse("this_week:add"), form).status_code == 302
    own = OwnJob.objects.get()
    code = queries.code_of(own.key)
    as_keeper.post(reverse("this_week:done", args=[code]), {"done_on": "2026-02-02", "minutes": "30"})
    own.refresh_from_db()
    assert own.due == date(2026, 2, 28)
    as_keeper.post(reverse("this_week:done", args=[code]), {"done_on": "2026-03-01"})
    own.refresh_from_db()
    assert own.due == date(2026, 3, 31)  # the rule's own day, not the shortened one
    assert a_line(keeper, own.key).learnt.times == 1
    undo(ChangeSet.objects.filter(verb="this_week.done").latest("pk"), keeper)
    own.refresh_from_db()
    assert own.due == date(2026, 2, 28) and Work.objects.count() == 1


def test_counted_from_the_day_it_was_done_and_no_more_after(keeper: Any) -> None:
    own = own_job(keeper, "Feed the moths", due=date(2026, 1, 10), repeat="week", every=2, from_done=True)
    actions.done(keeper, a_line(keeper, own.key), date(2026, 1, 20), None)
    own.refresh_from_db()
    assert own.due == date(2026, 2, 3)
    actions.save_own(keeper, own, {"due": own.due, "repeat": "week", "every": 2, "until": date(2026, 2, 10)})
    actions.done(keeper, a_line(keeper, own.key), date(2026, 2, 3), None)
    own.refresh_from_db()
    assert own.ended_on == date(2026, 2, 3) and lines(keeper) == []


def test_an_own_job_is_changed_and_ended(keeper: Any, as_keeper: Any) -> None:
    own = own_job(keeper, "Once")
    address = reverse("this_week:own", args=[own.public_id])
    bad = as_keeper.post(address, {"words": "Still once", "minutes": "0", "tier": "4", "repeat": "week"})
    page = bad.content.decode()
    assert bad.status_code == 422 and "Still once" in page and "Say when it is due first." in page
    stale = {"words": "Stale", "minutes": "5", "tier": "4", "opened_version": "7"}
    assert as_keeper.post(address, stale).status_code == 422
    assert as_keeper.post(address, {"words": "Twice", "minutes": "5", "tier": "3"}).status_code == 302
    own.refresh_from_db()
    assert (own.words, own.tier, own.every) == ("Twice", 3, 1)
    as_keeper.post(address, {"act": "end"})
    assert lines(keeper) == [] and as_keeper.post(address, {"act": "end"}).status_code == 404
    assert "Ended on" in as_keeper.get(address).content.decode()


# -- the rest ----------------------------------------------------------------------------------------------------------


def test_figures_of_the_catalogue_and_of_the_data_agree() -> None:
    """Without care the catalogue shows its own minutes; they must not differ from those of This week."""
    from archive.people import extension as people
    from archive.sorting.texts import work
    from archive.stories import extension as stories
    from archive.things import extension as things
    from conservation.science.week import minutes_of

    assert minutes_of("people.ask") == people._MINUTES_TO_ASK
    assert minutes_of("people.unknown") == people._MINUTES_TO_SHOW
    assert minutes_of("stories.read") == stories._MINUTES and minutes_of("things.loan") == things._MINUTES
    assert minutes_of("sorting.look-again") == work("minutes_to_look_again")
    assert minutes_of("sorting.ask") == work("minutes_to_ask_somebody")
    assert minutes_of("sorting.question") == work("minutes_for_a_question")
    assert minutes_of("sorting.first-look") == work("minutes_for_a_first_look")


def test_every_kind_of_job_has_words() -> None:
    import re
    from pathlib import Path

    from conservation.science.figures import figures
    from conservation.science.words import words

    told = set(words()["job_sort"])
    assert set(figures("jobs")) <= told
    root = Path(__file__).resolve().parents[2]
    files = [path for folder in ("archive", "conservation") for path in (root / folder).glob("**/extension.py")]
    used = {sort for path in files for sort in re.findall(r'sort="([a-z_.-]+)"', path.read_text(encoding="utf-8"))}
    assert len(used) > 20 and used <= told


def test_as_many_queries_however_much_there_is(keeper: Any, as_keeper: Any, make_thing: Any) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    pages = [reverse(f"this_week:{name}") for name in ("page", "everything", "times", "month")]

    def fill(count: int) -> None:
        for n in range(count):
            make_thing(f"Thing {n}", kind_code="unknown")
            make_thing(f"Shell {n}", kind_code="ammunition")
            for tier in (2, 3, 4):
                own = own_job(keeper, f"Job {n} of {tier}", tier=tier, due=timezone.localdate(), repeat="week")
                line = a_line(keeper, own.key)
                if n % 3 == 0:
                    actions.put_off(keeper, line, timezone.localdate() + timedelta(days=5), "")
                elif n % 3 == 1:
                    actions.done(keeper, line, timezone.localdate(), 9)
                else:
                    actions.begin(keeper, line)

    def counted() -> list[int]:
        found = []
        for address in pages:
            as_keeper.get(address)
            with CaptureQueriesContext(
                connection,
            ) as queries_made:
                as_keeper.get(address)
            found.append(len(queries_made))
        return found

    fill(3)
    few = counted()
    fill(4)
    assert counted() == few
