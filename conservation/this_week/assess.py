"""Jobs as This week shows them: how long, how pressing, why, and what fits into the time there is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from archive.extend import Job
from conservation.science import repeats, week
from conservation.science.sources import register
from conservation.science.week import Learnt, Offer, Stake
from conservation.science.words import word, words
from conservation.this_week.models import OwnJob, Work
from conservation.this_week.queries import Kept, code_of

DANGER, CLOCK, ASK, REST = 1, 2, 3, 4
_SHORT_SIGNS = 100
_LONG_MINUTES = 90  # above this a time is told in half hours: nobody knows it to the minute
_SAID_ABOVE = {DANGER: "People come first.", CLOCK: "It gets worse while it waits."}
WHOLE, BEGIN, WAIT = "whole", "begin", "wait"


@dataclass(frozen=True)
class Line:
    """One job on a page."""

    job: Job
    code: str
    learnt: Learnt
    expected: int
    stake: Stake
    today: date
    day: date | None  # when it is due, or comes back
    first: str = ""
    fits: str = WHOLE

    @property
    def key(self) -> str:
        return self.job.key

    @property
    def minutes(self) -> int:
        return self.learnt.minutes

    @property
    def figure(self) -> str:
        """How long it takes, as the large figure of its line."""
        return time_of(self.minutes)[0]

    @property
    def unit(self) -> str:
        """The unit of the figure."""
        return time_of(self.minutes)[1]

    @property
    def label(self) -> str:
        """What makes it press, in words: people in danger, a running clock, the living."""
        return word("week_tier", str(self.job.tier)) if self.job.tier != REST else ""

    @property
    def due_words(self) -> str:
        """When it is due, in words."""
        if self.day is None:
            return ""
        days = (self.day - self.today).days
        if days < -1:
            return f"Due {-days} days ago."
        near = {-1: "Due yesterday.", 0: "Due today.", 1: "Due tomorrow."}.get(days)
        return near or f"Due on {self.day:%A}, {self.day.day} {self.day:%B}."

    @property
    def short_why(self) -> str:
        """The beginning of the reason, in whole sentences; what the heading says already is left out."""
        sentences = re.split(r"(?<=[.?!]) ", self.job.why.removeprefix(_SAID_ABOVE.get(self.job.tier, "")).strip())
        short = sentences[0]
        for each in sentences[1:]:
            if len(short) + len(each) > _SHORT_SIGNS:
                break
            short += f" {each}"
        return short

    @property
    def stakes(self) -> list[str]:
        """How the job was weighed, in words."""
        job, told = self.job, []
        if job.matters is not None:
            told.append(word("week_matters", str(min(max(round(job.matters), 1), 5))))
        if job.vulnerable is not None:
            told.append(_step("week_vulnerable", job.vulnerable))
        if job.exposed is not None:
            told.append(_step("week_exposed", job.exposed))
        if self.stake.many > 1:
            told.append(f"It helps {job.things} things at once.")
        if self.stake.late > 1:
            told.append(word("week", "overdue" if self.day and self.day < self.today else "due_soon"))
        return told

    @property
    def sum_words(self) -> str:
        """The figures of the weighing, as they stand."""
        stake = self.stake
        job = self.job
        product = (
            f"Worth {job.benefit:g}"
            if job.matters is None and job.vulnerable is None and job.exposed is None
            else f"Matters {stake.matters:g} × delicate {stake.vulnerable:.2g} × exposed {stake.exposed:g}"
        )
        for factor, of_what in ((stake.many, "for many at once"), (stake.late, "for its day")):
            if factor > 1:
                product += f" × {factor:.2g} {of_what}"
        points = stake.points / week.POINT
        if "×" in product:
            product += f" = {points:.3g}"
        return f"{product} for {self.minutes} min, {points / max(self.minutes, 1):.2g} a minute."

    @property
    def minutes_words(self) -> str:
        """How we know how long it takes."""
        if not self.learnt.times:
            return f"{self.expected} min is what we expect."
        times = "once" if self.learnt.times == 1 else f"{self.learnt.times} times"
        said = f"You have said {times} how long such a job took, so we say {self.minutes} min."
        return f"We expect {self.expected} min. {said}"

    @property
    def source_words(self) -> str:
        """Who says so, and how well it is known."""
        citation = week.citation_of(self.job.sort)
        return f"{register()[citation.key].title}: weights of This week, minutes of jobs ({citation.status})"


def time_of(minutes: int) -> tuple[str, str]:
    """Return a time as a figure and its unit: minutes, or half hours where it is long."""
    if minutes <= _LONG_MINUTES:
        return str(minutes), "min"
    halves = round(minutes / 30)
    return f"{halves // 2}{'½' if halves % 2 else ''}", "h"


def _step(which: str, value: float) -> str:
    """Return the words of the highest step that a value of 1 to 3 reaches."""
    reached = [code for code in words()[which] if value >= float(code)]
    return word(which, max(reached, key=float) if reached else min(words()[which], key=float))


@dataclass
class Week:
    """This week: what is shown, what is left out, and why."""

    pressing: list[Line]
    chosen: list[Line]
    more: list[Line]  # the rest that is due now
    later: list[Line]
    put_off: list[Line]
    have: int | None = None
    spoken: int = 0

    @property
    def shown(self) -> list[Line]:
        return [*self.pressing, *self.chosen]

    @property
    def open_now(self) -> list[Line]:
        """All that may be begun now, in order."""
        return sorted([*self.pressing, *self.chosen, *self.more], key=_order)


def lines_of(jobs: Sequence[Job], said: Kept, today: date) -> list[Line]:
    """Return jobs as lines in their order; what was ticked off is left out, and so is what is in hand."""
    in_hand = {row.key for row in said.in_hand}
    found = []
    for job in jobs:
        if job.key in in_hand or _ticked(job, said.done.get(job.key), today):
            continue
        off = said.put_off.get(job.key)
        day = job.due if off is None or off.until <= today else max(off.until, job.due or off.until)
        found.append(_line(job, said, today, day))
    return sorted(found, key=_order)


def _line(job: Job, said: Kept, today: date, day: date | None) -> Line:
    expected = week.minutes_of(job.sort) or max(job.minutes, 1)
    stake = week.worth(
        job.matters, job.vulnerable, job.exposed, things=job.things, benefit=job.benefit,
        days_left=(day - today).days if day is not None else None,
    )  # fmt: skip
    learnt = week.learn(expected, said.times.get(job.sort, ()))
    first = (job.first or word("week_first", str(job.tier))).rstrip(".")
    return Line(job, code_of(job.key), learnt, expected, stake, today, day, first)


def _ticked(job: Job, done_on: date | None, today: date) -> bool:
    if not job.tick or done_on is None:
        return False
    if job.again_days is not None:
        return done_on + timedelta(days=job.again_days) > today
    return job.due is None or done_on >= job.due


def _order(line: Line) -> tuple[int, float, date, str]:
    """Danger and clocks by their day and weight; the rest by what a minute brings."""
    day = line.day or date.max
    if line.job.tier <= CLOCK:
        return (line.job.tier, -line.stake.points, day, line.key)
    return (line.job.tier, -line.stake.points / line.minutes, day, line.key)


def plan(jobs: Sequence[Job], said: Kept, today: date, have: int | None = None) -> Week:
    """Return This week: danger and clocks always; of the rest the best set for ``have`` minutes, or the first few.

    What the pressing jobs take is taken off the time first: whole where it is enough, else their first ten minutes.
    """
    put_off, later, now = [], [], []
    last = today + timedelta(days=week.rule("days_ahead"))
    for line in lines_of(jobs, said, today):
        off = said.put_off.get(line.key)
        if off is not None and off.until > today:
            put_off.append(line)
        elif line.job.tier > CLOCK and line.day is not None and line.day > last:
            later.append(line)
        else:
            now.append(line)
    pressing = [line for line in now if line.job.tier <= CLOCK]
    rest = [line for line in now if line.job.tier > CLOCK]
    if have is None:
        shown = week.rule("rest_shown")
        return Week(pressing, rest[:shown], rest[shown:], later, put_off)
    left, begun = have, []
    for line in pressing:
        if line.minutes <= left:
            left -= line.minutes
            begun.append(line)
        elif left >= week.rule("first_minutes"):
            left -= week.rule("first_minutes")
            begun.append(replace(line, fits=BEGIN))
        else:
            begun.append(replace(line, fits=WAIT))
    offers = [Offer(line.key, line.minutes, line.stake.points, line.job.tier == ASK) for line in rest]
    picked = week.pick(offers, left)
    keys = set(picked.keys)
    return Week(
        begun,
        [line for line in rest if line.key in keys],
        [line for line in rest if line.key not in keys],
        later,
        put_off,
        have,
        have - left + picked.minutes,
    )


def may_wait_days(tier: int) -> int | None:
    """Return for how many days a job may be put off without a reason; None where any day will do."""
    return {DANGER: week.rule("danger_put_off"), CLOCK: week.rule("clock_put_off")}.get(tier)


def longest_put_off() -> int:
    """Return the days after which everything comes back."""
    return week.rule("longest_put_off")


def minutes_of(sort: str) -> int | None:
    """Return the minutes that a kind of job takes by our figures; None where its subject says it each time."""
    return week.minutes_of(sort)


def sort_words(sort: str) -> str:
    """Return a kind of job in words."""
    return words()["job_sort"].get(sort, word("week", "other_job"))


@dataclass(frozen=True)
class Times:
    """How long a kind of job took, and what is expected of it now."""

    words: str
    taken: tuple[Work, ...]
    learnt: Learnt
    expected: int


def times_table(rows: Sequence[Work]) -> list[Times]:
    """Return the keeper's own times by kind of job, the kind timed last first."""
    by_sort: dict[str, list[Work]] = {}
    for row in rows:
        by_sort.setdefault(row.sort, []).append(row)
    found = []
    for sort, taken in by_sort.items():
        expected = week.minutes_of(sort) or taken[0].expected
        learnt = week.learn(expected, [(float(row.expected), float(row.minutes or 0)) for row in taken])
        name = taken[0].words if sort.startswith("own/") else sort_words(sort)
        found.append(Times(name, tuple(taken[:5]), learnt, expected))
    return found


def rule_of(own: OwnJob) -> str | None:
    """Return the rule by which a job of one's own comes back on set days; None where there is none."""
    first = own.starts or own.due
    if not own.repeat or own.from_done or first is None:
        return None
    return repeats.rule_of(own.repeat, own.every, first, own.until)  # type: ignore[arg-type]


def next_day(own: OwnJob, done_on: date) -> date | None:
    """Return when a job of one's own comes back after it was done; None when it does not."""
    if not own.repeat:
        return None
    if own.from_done or own.due is None:
        day: date | None = repeats.later_by(own.repeat, own.every, done_on)  # type: ignore[arg-type]
    else:
        day = repeats.next_after(rule_of(own) or "", own.starts or own.due, max(done_on, own.due))
    return None if day is None or (own.until is not None and day > own.until) else day


def days_of(own: OwnJob, start: date, end: date) -> list[date]:
    """Return the days from ``start`` to ``end`` on which a job of one's own is due, from the day it is due next."""
    if own.due is None:
        return []
    rule = rule_of(own)
    if rule is None:
        return [own.due] if start <= own.due <= end else []
    return repeats.days_between(rule, own.starts or own.due, max(start, own.due), end)


def repeat_words(own: OwnJob) -> str:
    """Return in words how a job of one's own comes back."""
    if not own.repeat:
        return ""
    one = {"day": "day", "week": "week", "month": "month", "year": "year"}[own.repeat]
    span = f"Every {one}" if own.every == 1 else f"Every {own.every} {one}s"
    return f"{span}{', counted from the day it was done' if own.from_done else ''}."
