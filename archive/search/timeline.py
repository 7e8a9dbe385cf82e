"""What was going on then: things made, people alive and stories told of a time, and counts over the decades."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, QuerySet
from django.db.models.functions import Substr

from archive.access.models import Account
from archive.people.models import Person
from archive.preferences.models import Preferences
from archive.search.asking import Span, read_span
from archive.search.documents import MODELS
from archive.search.queries import in_time, kept
from archive.stories.models import Story
from archive.things.models import Thing

THINGS_SHOWN, PEOPLE_SHOWN, STORIES_SHOWN = 24, 60, 24
DECADES_AT_MOST = 30
_WIDTH, _HEIGHT, _FOOT = 720.0, 180.0, 40.0
# Beyond this age at the start of a time, somebody without a known death is shown with a doubt (our default).
_OLD = 80
_ONE_YEAR = re.compile(r"((?:about|around|circa|c\.?) ?)?([0-9]{4})", re.IGNORECASE)


@dataclass(frozen=True)
class Alive:
    """Somebody who lived then, or perhaps did."""

    person: Person
    perhaps: bool


@dataclass(frozen=True)
class Decade:
    """One bar of the strip: the decade, what falls into it, and where it is drawn."""

    start: int
    things: int
    stories: int
    x: float
    width: float
    things_y: float
    things_height: float
    stories_y: float
    stories_height: float
    chosen: bool

    @property
    def name(self) -> str:
        return f"{self.start}s"


@dataclass(frozen=True)
class TimeLine:
    """The page of one time."""

    span: Span
    before: str
    after: str
    thing_ids: list[int]
    things_more: bool
    people: list[Alive]
    people_more: bool
    story_ids: list[int]
    stories_more: bool


def time_line(typed: str, reader: Account | None, settings: Preferences) -> TimeLine | None:
    """Return what falls into a typed time, as far as the reader may see it; None when no time can be read."""
    span = read_span(typed[:200], settings)
    if span is None:
        return None
    before, after = _neighbours(typed.strip(), span)
    things = _inner_first(Thing.objects.visible_to(reader).present(), "things", span, THINGS_SHOWN)
    stories = _inner_first(Story.objects.visible_to(reader).present(), "stories", span, STORIES_SHOWN)
    people = in_time(Person.objects.visible_to(reader).present(), "people", span, settings.privacy_years)
    alive = [_alive(person, span) for person in people.order_by("born_earliest", "pk")[: PEOPLE_SHOWN + 1]]
    return TimeLine(
        span, before, after,
        things[:THINGS_SHOWN], len(things) > THINGS_SHOWN,
        alive[:PEOPLE_SHOWN], len(alive) > PEOPLE_SHOWN,
        stories[:STORIES_SHOWN], len(stories) > STORIES_SHOWN,
    )  # fmt: skip


def _inner_first(records: QuerySet[Any], subject: str, span: Span, shown: int) -> list[int]:
    """Return one id more than are shown: first what lies wholly within the time, then what overlaps it."""
    first, last = ("made_earliest", "made_latest") if subject == "things" else ("about_earliest", "about_latest")
    overlapping = in_time(records, subject, span)
    inner = overlapping
    if span.earliest is not None:
        inner = inner.filter(**{f"{first}__gte": span.earliest})
    if span.latest is not None:
        inner = inner.filter(**{f"{last}__lte": span.latest}).exclude(**{last: ""})
    ids = list(inner.order_by(first, "pk").values_list("pk", flat=True)[: shown + 1])
    if len(ids) <= shown:
        rest = overlapping.exclude(pk__in=ids).order_by(f"-{first}", "pk").values_list("pk", flat=True)
        ids += list(rest[: shown + 1 - len(ids)])
    return ids


def _alive(person: Person, span: Span) -> Alive:
    """Say whether it is certain that somebody lived then, or whether they were not yet old and no death is known."""
    born = bool(person.born_latest) and (span.latest is None or person.born_latest <= span.latest)
    died = bool(person.died_earliest) and (span.earliest is None or person.died_earliest >= span.earliest)
    if not died and not person.died_text and not person.known_dead and person.born_earliest and span.earliest:
        died = int(span.earliest[:4]) - int(person.born_earliest[:4]) < _OLD if span.earliest[:1] != "-" else False
    return Alive(person, not (born and died))


def _neighbours(typed: str, span: Span) -> tuple[str, str]:
    """Return the time before and the time after, as one would type them; nothing where the time is open."""
    if one := _ONE_YEAR.fullmatch(typed):
        lead, year = one[1] or "", int(one[2])
        return f"{lead}{year - 1}", f"{lead}{year + 1}"
    if span.earliest is None or span.latest is None or span.earliest.startswith("-"):
        return "", ""
    first, last = int(span.earliest[:4]), int(span.latest[:4])
    step = last - first + 1
    if first - step < 1000 or last + step > 9999:
        return "", ""
    return _years(first - step, last - step), _years(first + step, last + step)


def _years(first: int, last: int) -> str:
    if first == last:
        return str(first)
    return f"{first}s" if first % 10 == 0 and last - first == 9 else f"{first} to {last}"


def strip(reader: Account | None, span: Span | None) -> list[Decade]:
    """Return the decades in which something is dated, with counts; gaps between them are there too."""
    things, stories = _counts("things", "made_earliest", reader), _counts("stories", "about_earliest", reader)
    starts = sorted(set(things) | set(stories))
    if not starts:
        return []
    decades = list(range(starts[0], starts[-1] + 10, 10))[-DECADES_AT_MOST:]
    most = max((things.get(each, 0) + stories.get(each, 0) for each in decades), default=1) or 1
    room, width = _HEIGHT - _FOOT - 4, _WIDTH / len(decades)
    found = []
    for place, start in enumerate(decades):
        made, told = things.get(start, 0), stories.get(start, 0)
        high, low = (max(2.0, room * each / most) if each else 0.0 for each in (made, told))
        base = _HEIGHT - _FOOT
        found.append(
            Decade(
                start, made, told, round(place * width + width * 0.12, 1), round(width * 0.76, 1),
                round(base - high, 1), round(high, 1), round(base - high - low, 1), round(low, 1), _meets(start, span),
            )
        )  # fmt: skip
    return found


def _meets(decade: int, span: Span | None) -> bool:
    if span is None:
        return False
    return not (
        (span.latest is not None and span.latest < f"{decade:04d}")
        or (span.earliest is not None and span.earliest > f"{decade + 9:04d}-12-31")
    )


def _counts(subject: str, column: str, reader: Account | None) -> dict[int, int]:
    """Return how many records begin in each decade."""

    def count() -> dict[int, int]:
        records = MODELS[subject].objects.visible_to(reader).present().filter(**{f"{column}__gte": "1000"}).order_by()
        rows = records.annotate(_decade=Substr(column, 1, 3)).values_list("_decade").annotate(how_many=Count("pk"))
        return {int(decade) * 10: how_many for decade, how_many in rows if decade.isdecimal()}

    return kept(f"decades of {subject}", reader, count)
