"""Dated records → the sum of days that matter → the year's occasions in words, with their things."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from archive.access.models import Account
from archive.dates.words import in_words
from conservation.on_show.models import OccasionChoice
from conservation.on_show.occasions import queries
from conservation.on_show.occasions.queries import Fact, Link, ThingLine
from conservation.reasons import Reason, reason
from conservation.science import occasions as sums
from conservation.science.words import word

STRIP_WIDTH, STRIP_HEIGHT = 720.0, 96.0
MOST = 200  # days of the catalogue that are looked at with their things, the heaviest; our default
_SHOWN_THINGS = 3


@dataclass
class Occasion:
    """A day of the year that matters: when, why, how much, and the things that would be right for it."""

    key: str
    day: date
    title: str
    why: str
    weight: int
    counts: bool
    grip: str
    is_round: bool
    url: str
    is_own: bool = False
    record: str = ""
    things: list[ThingLine] = field(default_factory=list)
    status: str = "our default"

    @property
    def id(self) -> str:
        """The name of this day in this year, for a plan."""
        return f"{self.key}@{self.day.isoformat()}"

    @property
    def first_things(self) -> list[ThingLine]:
        return self.things[:_SHOWN_THINGS]

    @property
    def more_things(self) -> int:
        return max(0, len(self.things) - _SHOWN_THINGS)

    @property
    def what(self) -> str:
        return self.key.partition(":")[0]


@dataclass(frozen=True)
class Mark:
    """One day on the drawn strip of a year."""

    x: float
    y: float
    height: float
    style: str
    title: str


def occasions_between(reader: Account | None, first: date, last: date) -> list[Occasion]:
    """Return the days that matter from first to last, each with its things, in order; the query count is constant.

    Of the catalogue’s days that may have things the ``MOST`` heaviest are among them, and as many that have none.
    """
    facts = _facts(reader, first, last)
    own = queries.own(reader)
    chosen = queries.choices()
    by_key = {each.key: each for each in facts}
    known = [sums.Known(each.key, each.kind, each.edtf, each.earliest, each.latest) for each in facts]
    comings = _heaviest(sums.comings(known, first, last), by_key, chosen)
    links = _links([by_key[key] for key in dict.fromkeys(each.key for each in comings)], reader)
    own_links = queries.links_of_own(each.pk for each in own)
    things = queries.lines_of({link.thing for some in [*links.values(), *own_links.values()] for link in some}, reader)
    found = []
    for coming in comings:
        fact = by_key[coming.key]
        choice = chosen.get(coming.key)
        weight = choice.weight if choice is not None and choice.weight else coming.weight
        found.append(
            Occasion(
                coming.key, coming.day, _title(fact, coming.years), _why(fact, coming), weight,
                choice is None or choice.counts, coming.grip, coming.is_round, fact.url,
                record=fact.record, things=_lines(links.get(fact.key, []), things),
            )
        )  # fmt: skip
    for each in own:
        for day, years in _own_days(each, first, last):
            since = f" ({_years(years)} on)" if years else ""
            found.append(
                Occasion(
                    f"own:{each.public_id}", day, f"{each.title}{since}", each.note or word("occasion_why", "own"),
                    each.weight, True, "day", False, each.get_absolute_url(), is_own=True, record=each.public_id,
                    things=_lines(own_links.get(each.pk, []), things),
                )
            )  # fmt: skip
    return sorted(found, key=lambda each: (each.day, -each.weight, each.title))


def _heaviest(
    comings: list[sums.Coming], facts: Mapping[str, Fact], chosen: Mapping[str, OccasionChoice]
) -> list[sums.Coming]:
    """Return the days that weigh most, of those to which things may belong and of the others."""
    linked = queries.linked_people()

    def weight(each: sums.Coming) -> int:
        choice = chosen.get(each.key)
        return choice.weight if choice is not None and choice.weight else each.weight

    found: dict[bool, list[sums.Coming]] = {True: [], False: []}
    for each in sorted(comings, key=lambda one: -weight(one)):
        people = facts[each.key].people
        some = found[not people or not linked.isdisjoint(people)]
        if len(some) < MOST:
            some.append(each)
    return [*found[True], *found[False]]


def _facts(reader: Account | None, first: date, last: date) -> list[Fact]:
    stories = [Fact(**{**each.__dict__, "kind": sums.story_kind(each.text)}) for each in queries.of_stories(reader)]
    return [
        *queries.of_people(reader), *queries.of_couples(reader), *stories,
        *queries.of_things(reader, _round_origins(first.year, last.year)),
    ]  # fmt: skip


def _round_origins(first: int, last: int) -> list[int]:
    """Return the years that lie a round number of years before some years; nothing in a home is older than 1,000."""
    return sorted(
        {year - back for year in range(first, last + 1) for back in range(1, 1001) if sums.is_round(back)}
        & set(range(1, last))
    )


def _links(facts: Iterable[Fact], reader: Account | None) -> dict[str, list[Link]]:
    facts = list(facts)
    of_people = queries.links_of_people((person for each in facts for person in each.people), reader)
    of_stories = queries.links_of_stories((each.story for each in facts if each.story is not None), reader)
    found: dict[str, list[Link]] = {}
    for each in facts:
        if each.thing is not None:
            found[each.key] = [Link(each.thing, "itself")]
        elif each.story is not None:
            found[each.key] = of_stories[each.story]
        else:
            some = [of_people[person] for person in each.people]
            # Of a couple what has to do with both; where there is no such thing, what has to do with either.
            both = set.intersection(*({link.thing for link in links} for links in some))
            found[each.key] = [link for links in some for link in links if not both or link.thing in both]
    return found


def _lines(links: Iterable[Link], things: dict[int, ThingLine]) -> list[ThingLine]:
    """Return the things of a day, each once with all reasons, those that matter most first."""
    found: dict[int, ThingLine] = {}
    for link in links:
        thing = things.get(link.thing)
        if thing is None:
            continue
        line = found.setdefault(link.thing, ThingLine(**{**thing.__dict__, "how": []}))
        words = word("occasion_link", link.how).replace("{name}", link.name)
        if (link.how, words) not in line.how:
            line.how.append((link.how, words))
    return sorted(found.values(), key=lambda each: (-(each.significance or 0), each.number))


def _own_days(own: Any, first: date, last: date) -> list[tuple[date, int]]:
    if own.yearly:
        days = sums.anniversaries(own.day, first, last)
        return [(own.day, 0), *days] if first <= own.day <= last else days
    return [(own.day, 0)] if first <= own.day <= last else []


def _years(years: int) -> str:
    return "1 year" if years == 1 else f"{years} years"


def _title(fact: Fact, years: int) -> str:
    return word("occasion", fact.kind).replace("{who}", fact.who).replace("{years}", _years(years))


def _why(fact: Fact, coming: sums.Coming) -> str:
    words = word("occasion_why", coming.grip).replace("{date}", in_words(fact.edtf) or fact.edtf)
    if coming.is_round:
        words += " " + word("occasion_why", "round")
    if date.fromisoformat(fact.earliest).timetuple()[1:3] == (2, 29) and coming.day.day == 28:
        words += " " + word("occasion_why", "leap")
    if fact.kind in ("move", "service"):
        words += " " + word("occasion_why", fact.kind)
    return words


def reasons() -> list[Reason]:
    """Return who says what days weigh and which make a day."""
    tables = ("weight", "round", "uncertain", "leap", "words")
    return [reason(word("occasion_rule", table), sums.citation(table)) for table in tables]


def without_a_day(reader: Account | None, year: int, how_many: int = 24) -> list[tuple[str, str]]:
    """Return what had its year a round number of years ago and makes no day, as sentence and address."""
    facts = queries.of_years_only(reader, _round_origins(year, year), how_many)
    by_key = {each.key: each for each in facts}
    known = [sums.Known(each.key, each.kind, each.edtf, each.earliest, each.latest) for each in facts]
    rows = sums.round_years(known, year)
    found = [(_title(by_key[key], years), by_key[key].url, years) for key, years in rows]
    found.sort(key=lambda each: (-(each[2] % 100 == 0), -(each[2] % 50 == 0), each[0]))
    return [(title, url) for title, url, _ in found[:how_many]]


def strip(found: Iterable[Occasion], year: int) -> list[Mark]:
    """Return the marks of a drawn year: where each day lies, and as high as it weighs."""
    start = date(year, 1, 1)
    whole = (date(year + 1, 1, 1) - start).days
    base = STRIP_HEIGHT - 26
    marks = []
    for each in found:
        x = round((each.day - start).days / whole * STRIP_WIDTH, 1)
        height = 20.0 * each.weight
        style = "off" if not each.counts else "own" if each.is_own else "known"
        marks.append(Mark(x, round(base - height, 1), height, style, f"{each.day.day} {each.day:%B}: {each.title}"))
    return marks


def months(year: int) -> list[tuple[float, str]]:
    """Return where the months begin on the drawn year, with their first letters."""
    start = date(year, 1, 1)
    whole = (date(year + 1, 1, 1) - start).days
    firsts = [date(year, month, 1) for month in range(1, 13)]
    return [(round((each - start).days / whole * STRIP_WIDTH, 1), f"{each:%b}") for each in firsts]


def year_of(year: int) -> tuple[date, date]:
    """Return the first and the last day of a year."""
    return date(year, 1, 1), date(year + 1, 1, 1) - timedelta(days=1)


def known_sort(what: str) -> bool:
    """Say whether the catalogue knows days of a sort, by the code that stands in their addresses."""
    return what in ("birthday", "death", "wedding", "letter", "made", "story")


def find(key: str, reader: Account | None, year: int) -> Occasion | None:
    """Return one day of the catalogue as it comes in a year, if this reader may see it."""
    first, last = year_of(year)
    return next((each for each in occasions_between(reader, first, last) if each.key == key), None)
