"""An invented archive of any size, as rows: things, pictures, people, places, stories, boxes. No files.

``fill(50_000)`` makes 50,000 things, 150,000 picture rows, 5,000 people, 500 places, 20,000 stories and 2,500 boxes;
other sizes keep the proportions. The same seed makes the same archive.
"""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

_ONSETS = "b br d dr f fl g gr h j k kl l m n p r s sk sl st t tr v w "
ONSETS = _ONSETS.split()
_VOWELS = "a e i o u ei ie oo au "
VOWELS = _VOWELS.split()
_CODAS = "l m n r s t ld lm nd ng rk rn st th ck "
CODAS = _CODAS.split()
_THINGS = (
    "letter photograph album postcard quilt medal christening gown portrait diary ledger map certificate "
    "brooch negative slide tin spoon clock sampler hymnbook programme telegram receipt drawing notebook "
    "ribbon "
)
THINGS = _THINGS.split()
_JOINS = "from about of with at before after near by for "
JOINS = _JOINS.split()
_PLAIN = (
    "the and with water winter harvest ferry orchard school market kitchen brother sister aunt uncle "
    "wedding journey storm bridge river mill church garden evening morning snow summer house boat road "
    "dog horse bread song dance "
)
PLAIN = _PLAIN.split()
BATCH = 2_000


class Words:
    """Invented names and words, a few very common and many rare, as in a language."""

    def __init__(self, seed: int, how_many: int) -> None:
        self.random = random.Random(seed)
        made: dict[str, None] = {}
        while len(made) < how_many:
            made[self._word()] = None
        self.rare = list(made)

    def _word(self) -> str:
        pick = self.random.choice
        return "".join(pick(ONSETS) + pick(VOWELS) for _ in range(self.random.randint(1, 2))) + pick(CODAS)

    def name(self) -> str:
        return f"{self.random.choice(self.rare).capitalize()} {self.random.choice(self.rare).capitalize()}"

    def sentence(self, length: int) -> str:
        pick, rare = self.random.choice, self.rare
        # The nth rarest word is taken about 1/n as often as the commonest.
        words = [
            pick(PLAIN) if self.random.random() < 0.7 else rare[int(len(rare) ** self.random.random()) - 1]
            for _ in range(length)
        ]
        return " ".join(words).capitalize() + "."

    def title(self) -> str:
        pick = self.random.choice
        return f"{pick(THINGS).capitalize()} {pick(JOINS)} {pick(self.rare).capitalize()} {pick(PLAIN)}"


def fill(things: int, seed: int = 1) -> None:
    """Write the archive's rows into the database at hand, without history, as one transaction; then its index."""
    from django.db import transaction

    words = Words(seed, max(400, things // 5))
    with transaction.atomic():
        people = _people(words, max(things // 10, 20))
        places = _places(words, max(things // 100, 10))
        boxes = _boxes(words, max(things // 20, 20))
        made = _things(words, things, boxes, places)
        _pictures(words, made)
        _links(words, made, people, places)
        _stories(words, max(things * 2 // 5, 20), made, people, places)
    from archive.search.actions import rebuild

    rebuild()


def _write(rows: list[Any]) -> list[Any]:
    model = type(rows[0])
    return list(model._default_manager.bulk_create(rows, batch_size=BATCH))


def _serials(first: int, how_many: int, subject: str) -> list[int]:
    from archive.numbers import is_given_out
    from archive.things.models import IssuedNumber

    found, serial = [], first
    while len(found) < how_many:
        if is_given_out(serial):
            found.append(serial)
        serial += 1
    _write([IssuedNumber(serial=each, subject=subject) for each in found])
    return found


def _years(rng: random.Random, name: str, first: int, last: int) -> dict[str, str]:
    year = rng.randint(first, last)
    return {
        f"{name}_text": str(year), f"{name}_edtf": str(year), f"{name}_earliest": f"{year}-01-01",
        f"{name}_latest": f"{year}-12-31",
    }  # fmt: skip


def _people(words: Words, how_many: int) -> list[Any]:
    from archive.folding import fold
    from archive.people.models import Parentage, Partnership, Person

    rng, rows = words.random, []
    for n in range(how_many):
        name = words.name()
        born = _years(rng, "born", 1820 + n * 170 // how_many, 1840 + n * 170 // how_many)
        died = _years(rng, "died", int(born["born_text"]) + 20, int(born["born_text"]) + 90)
        if int(died["died_text"]) > 2026:
            died = {}
        folded = fold(name)
        rows.append(Person(name=name, name_folded=folded, sort_folded=folded, note=words.sentence(12), **born, **died))
    people = _write(rows)
    parents, pairs = [], []
    for n in range(how_many // 4, how_many):
        older = n - how_many // 6
        mother, father = max(older - 1, 0), max(older - 2, 1)
        if mother != father:
            parents += [
                Parentage(child=people[n], parent=people[mother]),
                Parentage(child=people[n], parent=people[father]),
            ]
    for n in range(0, how_many - 1, 2):
        pairs.append(Partnership(one=people[n], other=people[n + 1]))
    _write(parents)
    _write(pairs)
    return people


def _places(words: Words, how_many: int) -> list[Any]:
    from archive.folding import fold
    from archive.places.models import Place

    names = [words.rare[n].capitalize() + "stead" for n in range(how_many)]
    return _write([Place(name=name, name_folded=fold(name)) for name in names])


def _boxes(words: Words, how_many: int) -> list[Any]:
    from archive.boxes.models import Box
    from archive.folding import fold

    rng, made = words.random, []
    serials = _serials(1, how_many, "boxes")
    levels = ["home"] + ["room"] * 8 + ["furniture"] * max(how_many // 40, 4) + ["shelf"] * (how_many // 8)
    levels += ["box"] * (how_many - len(levels))
    above = {"room": "home", "furniture": "room", "shelf": "furniture", "box": "shelf"}
    by_level: dict[str, list[Any]] = {}
    for level in ("home", "room", "furniture", "shelf", "box"):
        rows = []
        for _ in range(levels.count(level)):
            title = f"{level.capitalize()} of {rng.choice(words.rare)}"
            inside = rng.choice(by_level[above[level]]) if level in above else None
            rows.append(
                Box(
                    serial_id=serials[len(made) + len(rows)],
                    level=level,
                    title=title,
                    title_folded=fold(title),
                    inside=inside,
                )
            )
        by_level[level] = _write(rows)
        made += by_level[level]
    return by_level["box"]


def _things(words: Words, how_many: int, boxes: list[Any], places: list[Any]) -> list[Any]:
    from django.utils import timezone

    from archive.kinds import KIND_CODES
    from archive.things.models import IssuedNumber, Thing

    rng, now = words.random, timezone.now()
    codes = sorted(KIND_CODES)
    first = (IssuedNumber.objects.order_by("-serial").values_list("serial", flat=True).first() or 0) + 1
    rows = []
    for n, serial in enumerate(_serials(first, how_many, "things")):
        rows.append(
            Thing(
                serial_id=serial, title=words.title(), kind_code=rng.choice(codes), note=words.sentence(30),
                box=rng.choice(boxes), count=rng.randint(1, 4), width_mm=100.0, height_mm=140.0, depth_mm=2.0,
                access=rng.choice(["relatives"] * 8 + ["all", "keeper"]),
                standing=rng.choice(["kept"] * 18 + ["undecided", "passed on"]),
                states=rng.choice([[]] * 6 + [["brittle"], ["torn", "stained"]]),
                created_at=now - timedelta(minutes=how_many - n), **_years(rng, "made", 1850, 1999),
            )
        )  # fmt: skip
    return _write(rows)


def _pictures(words: Words, things: list[Any]) -> None:
    from archive.pictures.models import Picture

    rng, rows = words.random, []
    for thing in things:
        for position in range(3):
            rows.append(
                Picture(
                    thing=thing, position=position, sha256=f"{rng.getrandbits(256):064x}", original_name="p.jpg",
                    mime="image/jpeg", width=3000, height=2000, fingerprint=f"{rng.getrandbits(64):016x}",
                )
            )  # fmt: skip
        if len(rows) >= BATCH * 5:
            _write(rows)
            rows = []
    if rows:
        _write(rows)


def _links(words: Words, things: list[Any], people: list[Any], places: list[Any]) -> None:
    from archive.things.models import ThingPerson, ThingPlace

    rng = words.random
    persons = [
        ThingPerson(thing=thing, person=person, role="shown")
        for thing in things
        for person in rng.sample(people, rng.randint(0, 3))
    ]
    _write(persons)
    _write([ThingPlace(thing=thing, place=rng.choice(places), role="made") for thing in things if rng.random() < 0.5])


def _stories(words: Words, how_many: int, things: list[Any], people: list[Any], places: list[Any]) -> None:
    from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing

    rng = words.random
    rows = [
        Story(
            title=words.title(), body="\n\n".join(words.sentence(40) for _ in range(3)), teller=rng.choice(people),
            **_years(rng, "about", 1850, 1999), seen_by_keeper=n > 5,
        )
        for n in range(how_many)
    ]  # fmt: skip
    stories = _write(rows)
    _write([StoryThing(story=each, thing=rng.choice(things)) for each in stories])
    _write([StoryPerson(story=each, person=rng.choice(people)) for each in stories])
    _write([StoryPlace(story=each, place=rng.choice(places)) for each in stories if rng.random() < 0.4])
