"""Many things at once from a folder of pictures: send them, put them together, name them, save."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.views import keeper_of
from archive.dates import read_date
from archive.entry import actions, grouping, queries
from archive.entry.fields import near_sentence
from archive.entry.forms import CommonForm
from archive.entry.grouping import Shot
from archive.entry.views import offered
from archive.keeping.media_store import OriginalGone
from archive.kinds.typed import read_kind
from archive.pictures.actions import Refused, TakenIn, held, take_in
from archive.preferences.queries import preferences


@dataclass
class Row:
    """One thing to be: its pictures and what is typed for it."""

    key: str  # of its first picture; the fields of the row are named after it
    pictures: list[PictureRow]
    title: str
    kind: str
    made: str
    day: str  # of the camera, as one would type it
    day_in_words: str
    trouble: str = ""
    wrong: str = ""  # the field that the trouble is in

    @property
    def first(self) -> PictureRow:
        return self.pictures[0]


@dataclass(frozen=True)
class PictureRow:
    """A picture in the grid."""

    key: str
    taken: TakenIn
    ticket: str
    recorded_as: str
    starts: bool
    number: int


@require_safe
def pictures(request: HttpRequest) -> HttpResponse:
    """Choose or drop the pictures."""
    return _choose(request, [])


def _choose(request: HttpRequest, refused: list[Refused], nothing: bool = False) -> HttpResponse:
    wrong = bool(refused) or nothing
    context = {"refused": refused, "nothing": nothing, "gap": grouping.GAP_MINUTES}
    return render(request, "entry/pictures.html", context, status=422 if wrong else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def name_pictures(request: HttpRequest) -> HttpResponse:
    """Put pictures together into things and name them; the page carries signed notes of the files till then."""
    if request.method != "POST":
        return redirect("entry:pictures")
    who = keeper_of(request)
    kept = preferences()
    fresh, refused = take_in([*request.FILES.getlist("pictures"), *request.FILES.getlist("folder")])
    tickets = request.POST.getlist("held")
    before = held(tickets)
    by_key: dict[str, TakenIn] = {}
    for each in [*before, *fresh]:
        by_key.setdefault(_key(each), each)
    if not by_key:
        return _choose(request, refused, nothing=not refused)
    shots = grouping.in_order(Shot(key, each.name, each.taken, each.page) for key, each in by_key.items())
    starts, gap = _starts(request, shots, {_key(each) for each in before})
    do = request.POST.get("do", "")
    form = CommonForm(request.POST, reader=who) if tickets else CommonForm(reader=who)
    rows = _rows(request, grouping.grouped(shots, starts), by_key, who)
    saving = do == "save" and not fresh and not refused
    if saving and form.is_valid() and _settle(rows, form.cleaned_data):
        values = _values(rows, form.cleaned_data)
        try:
            change_set = actions.add_pictured(
                who, [(each, [p.taken for p in row.pictures]) for each, row in zip(values, rows, strict=True)], kept
            )
        except OriginalGone:
            pass  # destroyed for good meanwhile; the page shows what is left
        else:
            return redirect("entry:done", change_set.public_id)
    troubles = [row for row in rows if row.trouble]
    context = {
        "form": form,
        "rows": rows,
        "count": len(shots),
        "untimed": sum(shot.at is None for shot in shots),
        "same_twice": len(before) + len(fresh) - len(by_key),
        "lost": len(tickets) - len(before),
        "gap": gap,
        "refused": refused,
        "troubles": troubles,
        **offered(who),
    }
    wrong = bool(troubles or (saving and form.errors))
    return render(request, "entry/name_pictures.html", context, status=422 if wrong else 200)


def _key(taken: TakenIn) -> str:
    """Return the key of a picture in the page: of a file with several pages each page has its own."""
    return f"{taken.sha256[:16]}-{taken.page}"


def _starts(request: HttpRequest, shots: list[Shot], before: set[str]) -> tuple[set[str], int]:
    """Return which pictures begin a thing, and the gap in minutes: as asked for, else as ticked in the page."""
    typed = request.POST.get("gap", "").strip()
    gap = min(int(typed), grouping.GAP_AT_MOST) if typed.isdecimal() and len(typed) < 9 else grouping.GAP_MINUTES
    do = request.POST.get("do") or request.POST.get("together", "")
    by_gap = grouping.starts_by_gap(shots, gap)
    if do == "each":
        return grouping.starts_each(shots), gap
    if do == "all":
        return grouping.starts_all(shots), gap
    if do == "gap":
        return by_gap, gap
    ticked = set(request.POST.getlist("starts"))
    return {shot.key for shot in shots if shot.key in ticked or shot.key not in before}, gap


def _rows(request: HttpRequest, groups: list[list[Shot]], by_key: dict[str, TakenIn], who: Any) -> list[Row]:
    recorded = queries.already_recorded({each.sha256 for each in by_key.values()}, who)
    rows, number = [], 0
    for group in groups:
        pictures = []
        for shot in group:
            number += 1
            taken = by_key[shot.key]
            thing = recorded.get(taken.sha256)
            pictures.append(
                PictureRow(shot.key, taken, taken.ticket(), str(thing) if thing else "", shot is group[0], number)
            )
        day = next((shot.taken[:10] for shot in group if shot.at is not None), "")

        def typed(name: str, keys: list[str]) -> str:
            return grouping.put_together(request.POST.get(f"{name}-{key}", "") for key in keys)

        keys = [shot.key for shot in group]
        words = read_date(day).words if day else ""
        title = typed("title", keys)
        rows.append(Row(keys[0], pictures, title, typed("kind", keys), typed("made", keys), day, words))
    return rows


def _settle(rows: list[Row], common: dict[str, Any]) -> bool:
    """Check what is typed in the rows; each bad one gets its trouble in words."""
    for row in rows:
        if not row.title and not common["common_title"]:
            row.trouble, row.wrong = "It needs a title; or type one for all that you leave empty.", "title"
        elif len(row.title) > grouping.TITLE_AT_MOST:
            row.trouble, row.wrong = f"A title has at most {grouping.TITLE_AT_MOST} signs.", "title"
        elif len(row.made) > 200:
            row.trouble, row.wrong = "A date has at most 200 signs.", "made"
        elif row.kind and (read := read_kind(row.kind)).code is None:
            row.trouble, row.wrong = near_sentence(read, "kind"), "kind"
    return not any(row.trouble for row in rows)


def _values(rows: list[Row], common: dict[str, Any]) -> list[dict[str, Any]]:
    untitled = [row for row in rows if not row.title]
    numbers = {row.key: n for n, row in enumerate(untitled, 1)}
    found = []
    for row in rows:
        title = row.title or common["common_title"]
        if row.key in numbers and len(untitled) > 1:
            title = f"{title} ({numbers[row.key]})"
        found.append(
            {
                "title": title,
                "kind_code": read_kind(row.kind).code or common["common_kind"] or "unknown",
                "made_text": row.made or (row.day if common["camera_date"] else ""),
                "box": common["box"],
                "lot": common["lot"],
                "access": common["access"] or "relatives",
            }
        )
    return found
