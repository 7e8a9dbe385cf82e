"""The demo household could have been: nobody tells, gives or is asked before being born or after death; boxes hold."""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import Any

import pytest
from django.utils import timezone

from archive.dates import read_date
from archive.demo import read_household

_TABLES = ("place", "person", "thing", "box", "story", "spot")
_NAMING = (
    "story", "lot", "group", "waiting", "detail", "tie", "finding", "freezing", "own_day", "wished", "hung", "barred",
    "light_had", "said_of_light", "cold_trip", "housed",
)  # fmt: skip


@pytest.fixture(scope="module")
def household() -> dict[str, Any]:
    return read_household()


def _days(text: str) -> tuple[str, str]:
    read = read_date(text, day_first=True)
    return read.earliest or "0000", read.latest or "9999"


def _lives(household: dict[str, Any]) -> dict[str, tuple[str, str]]:
    """Return the first and last day each person can have lived, by all their names."""
    lives = {}
    for row in household["person"]:
        born = _days(row["born"])[0] if "born" in row else "0000"
        died = _days(row["died"])[1] if "died" in row else ("2000" if row.get("dead") else "9999")
        for name in (row["name"], *(each[0] for each in row.get("names", []))):
            lives[name] = (born, died)
    return lives


def _listed(value: str | list[str]) -> list[str]:
    return [value] if isinstance(value, str) else value


def test_what_a_row_names_is_there_once(household: dict[str, Any]) -> None:
    for table in _TABLES:
        names = Counter(row.get("title") or row["name"] for row in household[table])
        assert [name for name, times in names.items() if times > 1] == [], table
    things = {row["title"] for row in household["thing"]}
    named = [
        (table, title)
        for table in _NAMING
        for row in household[table]
        for title in (*row.get("things", []), *_listed(row.get("thing", [])))
    ]
    held = [("box", title) for row in household["box"] for title in row.get("holds", [])]
    assert len(named) > 100 and [each for each in (*named, *held) if each[1] not in things] == []
    assert [title for title, times in Counter(title for _, title in held).items() if times > 1] == []


def test_nobody_acts_before_birth_or_after_death(household: dict[str, Any]) -> None:
    lives, today, wrong = _lives(household), timezone.localdate().isoformat(), list[str]()

    def alive(name: str, first: str, last: str, doing: str) -> None:
        born, died = lives.get(name, ("0000", "9999"))
        if last < born or first > died:
            wrong.append(f"{name} ({born} to {died}) {doing}, {first} to {last}")

    for row in household["story"]:
        alive(row.get("told_by", ""), *_days(row.get("told", "")), f"tells “{row['title']}”")
        for name in row.get("person", []):
            alive(name, "0000", _days(row.get("about", ""))[1], f"is told of in “{row['title']}”")
    for row in household["lot"]:
        alive(row.get("from_whom", ""), _days(row["arrived"])[0], "9999", f"gives “{row['title']}”")
    for row in household["detail"]:
        came = row["came"]
        alive(came.get("from", ""), *_days(came.get("when", "")), f"gives “{row['thing']}”")
        for name, _ in row.get("owners", []):
            alive(name, today, today, f"owns “{row['thing']}”")
        for loan in row.get("loans", []):
            alive(loan.get("person", ""), today, today, f"borrows “{row['thing']}”")
    for row in household["first_look"]:
        alive(row.get("could_tell", "").split()[0] if row.get("could_tell") else "", today, today, "could tell")
    assert len(household["story"]) > 25 and wrong == []


def test_who_is_to_be_asked_now_is_alive(household: dict[str, Any]) -> None:
    """Texts about today name nobody who is dead: jobs, questions, what could be told, notes on what hung lately."""
    lives, today = _lives(household), timezone.localdate().isoformat()
    dead = {
        word
        for name, (_, died) in lives.items()
        if died < today
        for word in (name, name.removeprefix("Great-").split()[-1] if name.startswith(("Aunt", "Great")) else name)
    }
    dead -= {name for name, (_, died) in lives.items() if died >= today}
    told = (("own_job", "words"), ("first_look", "could_tell"), ("hung", "note"), ("cold_trip", "why"))
    told += (("thing", "note"), ("group", "note"))
    spoken = {each.get(name, "") for table, name in told for each in household[table]}
    about_now = re.compile(r"\b(ring|ask|may|visit|tells|knows|agrees)\b", re.I)
    found = [text for text in spoken if about_now.search(text) for name in dead if re.search(rf"\b{name}\b", text)]
    assert dead and found == []


def test_children_are_younger_than_their_parents_and_couples_are_grown(household: dict[str, Any]) -> None:
    lives = _lives(household)
    for row in household["person"]:
        for parent in row.get("parents", []):
            assert int(lives[row["name"]][0][:4]) - int(lives[parent][0][:4]) >= 16, (row["name"], parent)
            assert lives[row["name"]][0][:4] <= lives[parent][1][:4], (row["name"], parent)
        for partner, _, since, _ in row.get("partners", []):
            for name in (row["name"], partner):
                assert int(_days(since)[0][:4]) - int(lives[name][0][:4]) >= 16, (name, since)


def test_a_box_is_as_large_as_what_lies_flat_in_it_and_fits_its_place(household: dict[str, Any]) -> None:
    """By volume for soft and rolled things, by all three sides for a box in a shelf or drawer, turned as it likes."""
    boxes, things = {row["title"]: row for row in household["box"]}, {row["title"]: row for row in household["thing"]}
    for row in household["box"]:
        inner = row.get("inner")
        outer = boxes.get(re.sub(r" \d$", "", row.get("inside", "")), {}).get("inner")
        if inner and outer:
            assert all(small <= large for small, large in zip(sorted(inner), sorted(outer), strict=True)), row["title"]
        sizes = [math.prod(things[each]["size"]) for each in row.get("holds", []) if "size" in things[each]]
        assert not inner or sum(sizes) <= math.prod(inner), row["title"]
