"""The page on which two records become one: choose the other, compare, confirm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access import uniting
from archive.access.queries import find_record
from archive.access.records import ReadAccess
from archive.access.subjects import Subject, subject
from archive.access.views import keeper_of

_APART = {
    "id",
    "public_id",
    "version",
    "created_at",
    "changed_at",
    "withdrawn_at",
    "withdrawn_why",
    "united_with",
    "note",
}
_MADE_FROM = ("_folded", "_edtf", "_earliest", "_latest")


@dataclass(frozen=True)
class Compared:
    """One field of two records: what each says, and what will stand."""

    label: str
    kept: str
    lost: str
    stands: str


@require_http_methods(["GET", "HEAD", "POST"])
def unite(request: HttpRequest, code: str, public_id: str) -> HttpResponse:
    kind, who = subject(code), keeper_of(request)
    rules = uniting.rules_of(code)
    if rules is None:
        raise Http404
    record = find_record(kind, public_id, who)
    context: dict[str, Any] = {"record": record, "subject": kind, "url": kind.url(record), "asks": rules.asks}
    other_id = request.POST.get("other") or request.GET.get("other", "")
    if not other_id:
        return _choose(request, kind, record, rules, context)
    other = find_record(kind, other_id, who)
    swapped = (request.POST.get("keep") or request.GET.get("keep")) == "other"
    keep, lose = (other, record) if swapped else (record, other)
    trouble = uniting.why_not(keep, lose)
    if request.method == "POST" and trouble is None:
        access = request.POST.get("access", "")
        access = access if access in ReadAccess.values else uniting.stricter(keep, lose)
        try:
            uniting.unite(who, keep, lose, access=access, join_notes=request.POST.get("join_notes") == "1")
        except uniting.CannotUnite as error:
            trouble = str(error)
        else:
            messages.success(request, f"The two are one now. “What happened to it” can undo it. {lose} leads here.")
            return redirect(kind.url(keep))
    context |= {
        "keep": keep,
        "lose": lose,
        "other": other,
        "swapped": swapped,
        "trouble": trouble,
        "rows": _compare(keep, lose, rules),
        "moves": uniting.what_moves(lose),
        "access_choices": ReadAccess.choices,
        "stricter": uniting.stricter(keep, lose),
        "other_name": rules.other_name(keep, lose),
    }
    return render(request, "access/unite.html", context, status=422 if trouble else 200)


def _choose(
    request: HttpRequest, kind: Subject, record: Any, rules: uniting.Rules, context: dict[str, Any]
) -> HttpResponse:
    """Ask which record is the same one; near names are offered."""
    who = keeper_of(request)
    typed = (request.POST.get("typed") or request.GET.get("typed", "")).strip()[:300]
    found = [each for each in rules.find(typed, who) if each.pk != record.pk] if typed else []
    if len(found) == 1:
        return redirect(f"{request.path}?other={found[0].public_id}")
    near = found or rules.near(record, who)
    trouble = ""
    if typed and not found:
        trouble = f"No other {kind.word} is recorded as “{typed}”."
    elif typed:
        trouble = f"More than one {kind.word} is recorded as “{typed}”. Choose below."
    context |= {
        "typed": typed,
        "near": [(each, getattr(each, "label", str(each))) for each in near],
        "trouble": trouble,
    }
    return render(request, "access/unite_choose.html", context, status=422 if trouble else 200)


def _compare(keep: Any, lose: Any, rules: uniting.Rules) -> list[Compared]:
    """Return the fields in which either record says something."""
    filled = uniting.filled(keep, lose, rules.together, rules.never, rules.empty)
    rows = []
    for column in keep._meta.concrete_fields:
        if column.name in _APART or column.name.endswith(_MADE_FROM) or column.name == "access":
            continue
        kept, lost = _in_words(keep, column), _in_words(lose, column)
        if kept or lost:
            rows.append(Compared(str(column.verbose_name), kept, lost, lost if column.attname in filled else kept))
    return [row for row in rows if row.kept != row.lost or row.label in ("name", "title", "number")]


def _in_words(record: Any, column: Any) -> str:
    value = getattr(record, column.name)
    if value is None or value == "" or value == [] or value is False:
        return ""
    if value is True:
        return "yes"
    if column.choices:
        return str(dict(column.flatchoices).get(value, value))
    if isinstance(value, list):
        return ", ".join(str(each) for each in value)
    if column.name == "serial":
        return str(record.number)
    return str(value)
