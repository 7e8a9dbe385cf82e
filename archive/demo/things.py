"""What is recorded of the demo's things beyond their main facts: inscriptions, pieces, owners, loans, rights."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.people.models import Person
from archive.things.actions import set_fields
from archive.things.link_actions import set_inscriptions, set_owners, set_pieces
from archive.things.loan_actions import come_back, lend
from archive.things.models import Thing
from archive.things.rows import RowChange


def add_details(rows: list[dict[str, Any]], keeper: Any) -> None:
    """Record what is told of things by their titles, each thing as one act; one that has it already stays as it is."""
    people = {person.name: person for person in Person.objects.order_by("-pk")}
    for row in rows:
        thing = Thing.objects.filter(title=row["thing"]).order_by("pk").first()
        # Every row tells how its thing came, so that this says whether an earlier build got as far.
        if thing is None or thing.came_how:
            continue
        with changing(keeper, "things.edit"):
            set_fields(keeper, thing, _fields(row, people), "things.edit")
            _add_rows(thing, row, people, keeper)


def _fields(row: dict[str, Any], people: dict[str, Person]) -> dict[str, Any]:
    came, rights, borrowed = row["came"], row.get("rights", {}), row.get("borrowed", {})
    today = timezone.localdate()
    significance, why = row.get("significance", (None, ""))
    years, days = rights.get("closed_years"), borrowed.get("in_days")
    return {
        "came_how": came["how"],
        "came_from": people.get(came.get("from", "")),
        "came_text": came.get("when", ""),
        "came_note": came.get("note", ""),
        "significance": significance,
        "significance_why": why,
        "rights_maker": rights.get("maker", ""),
        "rights_holder": rights.get("holder", ""),
        "rights_note": rights.get("note", ""),
        "show_print": rights.get("print", False),
        "closed_until": today.replace(year=today.year + years, month=1, day=1) if years else None,
        "closed_why": rights.get("closed_why", ""),
        "borrowed_from": people.get(borrowed.get("from", "")),
        "borrowed_until": today + timedelta(days=days) if days else None,
    }


def _add_rows(thing: Thing, row: dict[str, Any], people: dict[str, Person], keeper: Any) -> None:
    texts = [{"where": where, "text": text, "reading": reading} for where, text, reading in row.get("inscriptions", [])]
    set_inscriptions(keeper, thing, [RowChange(None, values) for values in texts])
    pieces = [
        {"title": title, "made_text": made, "people": frozenset(people[name] for name in names if name in people)}
        for title, made, names in row.get("pieces", [])
    ]
    set_pieces(keeper, thing, [RowChange(None, values) for values in pieces])
    owners = [{"person": people[name], "part": part} for name, part in row.get("owners", []) if name in people]
    set_owners(keeper, thing, [RowChange(None, values) for values in owners], {})
    today = timezone.localdate()
    for each in row.get("loans", []):
        since = today - timedelta(days=each["days_ago"])
        until = since + timedelta(days=each["for_days"])
        values = {"person": people.get(each.get("person", "")), "to_text": each.get("to", "")}
        loan = lend(keeper, thing, {**values, "since": since, "until": until, "note": each["note"]})
        if each.get("back"):
            come_back(keeper, loan, until)
