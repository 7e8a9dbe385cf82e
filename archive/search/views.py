"""Pages of search: the one box, and the time line."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from archive.access.models import Account
from archive.access.permissions import reader
from archive.preferences.queries import preferences
from archive.search import queries, rows
from archive.search import timeline as times
from archive.search.asking import Question, ask
from archive.search.matching import COUNTED
from archive.things.queries import PER_PAGE, rows_of

THINGS_AT_FIRST, OTHERS_AT_FIRST = 12, 6
LONGEST_ADDRESS = 5000


@dataclass
class Section:
    """What was found of one subject, as far as it is shown."""

    subject: str
    how_many: str
    found: int
    things: list[Any] = field(default_factory=list)
    lines: list[rows.Line] = field(default_factory=list)

    @property
    def heading(self) -> str:
        return rows.WORDS[self.subject][1].capitalize()

    @property
    def words(self) -> str:
        return rows.WORDS[self.subject][0 if self.how_many == "1" else 1]

    @property
    def shown(self) -> int:
        return len(self.things) + len(self.lines)


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Find anything by words, a number or a time."""
    who = reader(request.user)
    question = ask(request.GET.get("q", "")[:LONGEST_ADDRESS], preferences())
    found = queries.find(question, who)
    wanted = request.GET.get("in", "")
    wanted = wanted if wanted in found.by_subject else ""
    subjects = found.subjects()
    if len(subjects) == 1:
        wanted = subjects[0]
    sections, number = _sections(found, wanted, request.GET.get("page", "1"), who)
    context = {
        "question": question,
        "found": found,
        "sections": sections,
        "wanted": wanted,
        "tabs": [
            Section(each, _how_many(found.by_subject[each]), len(found.by_subject[each].ids)) for each in subjects
        ],
        "page": number,
        "being_made": queries.is_being_made() if found.is_empty else False,
        **_numbered(question, who),
    }
    return render(request, "search/page.html", context)


def _sections(
    found: queries.Findings, wanted: str, number: str, who: Account | None
) -> tuple[list[Section], Page[Any] | None]:
    """Return the first of each subject, or one page of the subject that is wanted."""
    page = None
    if wanted:
        page = Paginator(found.by_subject[wanted].ids, PER_PAGE).get_page(number)
        ids = {wanted: list(page.object_list)}
    else:
        ids = {
            subject: found.by_subject[subject].ids[: THINGS_AT_FIRST if subject == "things" else OTHERS_AT_FIRST]
            for subject in found.subjects()
        }
    lines = rows.lines(ids, who)
    sections = []
    for subject in ids:
        ranked = found.by_subject[subject]
        section = Section(subject, _how_many(ranked), len(ranked.ids), lines=lines.get(subject, []))
        if subject == "things":
            section.things = rows_of(ids[subject], who)
        sections.append(section)
    return sections, page


def _how_many(ranked: queries.Ranked) -> str:
    return f"more than {COUNTED:,}" if ranked.more else f"{len(ranked.ids):,}"


def _numbered(question: Question, who: Account | None) -> dict[str, Any]:
    """Return what a typed number leads to, or what is near it and open to the reader."""
    number = question.number
    if number is None:
        return {}
    if number.serial is not None:
        return {"number": number.number, "numbered": queries.with_number(number.serial, who)}
    return {"number": question.typed, "near_numbered": queries.near_numbers(number.near, who), "wrong": True}


@require_safe
def timeline(request: HttpRequest) -> HttpResponse:
    """What was going on in a year, or in another time."""
    who, kept = reader(request.user), preferences()
    typed = request.GET.get("year", "").strip()[:200]
    line = times.time_line(typed, who, kept) if typed else None
    context: dict[str, Any] = {"typed": typed, "line": line, "decades": times.strip(who, line.span if line else None)}
    if line is not None:
        context["rows"] = rows_of(line.thing_ids, who)
        context["stories"] = rows.lines({"stories": line.story_ids}, who).get("stories", [])
    return render(request, "search/timeline.html", context)
