"""Pages of first looks, the order of work, and the triage card."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive import extend
from archive.access.merging import row_at
from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.boxes.models import Box
from archive.kinds import kind
from archive.sorting import actions, queries, texts
from archive.sorting.editing import merged, take_pictures
from archive.sorting.forms import LOOK_PICTURES, CountFormSet, FirstLookForm, MoreCountsFormSet, counts_initial
from archive.sorting.models import FirstLook

_VIEWS = [(view, name) for view, name, _ in LOOK_PICTURES]


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The sorting home: what to do next, in order, and what is done."""
    who = reader(request.user)
    needy, done = queries.all_looks(who)
    order = Paginator(needy, queries.PER_PAGE).get_page(request.GET.get("page", "1"))
    shown, settled = list(order.object_list), done[: queries.PER_PAGE]
    queries.with_pictures([*shown, *settled])
    context = {"page": order, "order": shown, "done": settled, "done_count": len(done)}
    return render(request, "sorting/page.html", context)


@require_safe
def triage(request: HttpRequest) -> HttpResponse:
    """The triage card: what significance 1 to 5 means, what may usually go, what never goes without asking."""
    context = {
        "levels": texts.levels(),
        "may_go": texts.triage_lines("may_go"),
        "never": texts.triage_lines("never"),
        "cautions": texts.cautions(),
    }
    return render(request, "sorting/triage.html", context)


@require_safe
def look(request: HttpRequest, look_id: str) -> HttpResponse:
    """One box as found."""
    who = reader(request.user)
    found = queries.find_look(look_id, who)
    context = {
        "look": found,
        "may_write": role_of(request.user) == "keeper",
        "scales": _scales(found.row),
        "panels": extend.box_panels(found.box, who, but="sorting"),
    }
    return render(request, "sorting/look.html", context)


@require_POST
def settle(request: HttpRequest, look_id: str) -> HttpResponse:
    """Say that the things of a box are recorded, or that they are not."""
    who = keeper_of(request)
    found = queries.find_look(look_id, who)
    done = request.POST.get("done") == "yes"
    actions.set_done(who, found.row, done)
    messages.success(request, "Settled: its things are recorded." if done else "Back in the order of work.")
    return redirect(found.url)


def _scales(row: FirstLook) -> dict[str, str]:
    return {name: dict(texts.scale(name)).get(getattr(row, name), "") for name in ("urgency", "interest")}


@require_http_methods(["GET", "HEAD", "POST"])
def first_look(request: HttpRequest) -> HttpResponse:
    """Record a box as found; ``?box=`` takes one that is in the boxes already."""
    who = keeper_of(request)
    asked = request.POST.get("box") or request.GET.get("box") or ""
    box = queries.find_box(asked, who) if asked else None
    before = queries.look_at(box, who) if box is not None else None
    if before is not None:
        return redirect(before.url)
    initial = {"title": box.title, "access": box.access} if box is not None else None
    form = FirstLookForm(request.POST or None, reader=who, initial=initial)
    counts = CountFormSet(request.POST or None, prefix="counts")
    taken: Any = []
    refused: Any = []
    if request.method == "POST":
        taken, refused = take_pictures(request, _VIEWS)
        fine = form.is_valid() & counts.is_valid()
        if fine and not (refused and not request.POST.get("without_refused")):
            row = actions.add_first_look(who, form.cleaned_data, counts.counted(), taken, box)
            messages.success(request, f"Saved as {row.box.number}. Write this number on a slip and tie it to the box.")
            return redirect("sorting:look", row.public_id)
    return _form_page(request, form, counts, taken, refused, box=box)


@require_http_methods(["GET", "HEAD", "POST"])
def edit_look(request: HttpRequest, look_id: str) -> HttpResponse:
    who = keeper_of(request)
    found = queries.find_look(look_id, who)
    row, now = found.row, queries.counts_at(found.row, None)
    names = [name for name in FirstLookForm(reader=who).fields if name not in actions.BOX_FIELDS]
    initial = {name: getattr(row, name) for name in names} | {
        each: getattr(row.box, each) for each in actions.BOX_FIELDS
    }
    form = FirstLookForm(request.POST or None, reader=who, initial=initial)
    # What is sent is read by itself: compared with today's counts, a row that says the same would count as empty.
    start = {} if request.method == "POST" else {"initial": counts_initial(now)}
    counts = MoreCountsFormSet(request.POST or None, prefix="counts", **start)
    taken: Any = []
    refused: Any = []
    conflicts: Any = []
    if request.method == "POST":
        taken, refused = take_pictures(request, _VIEWS)
        fine = form.is_valid() & counts.is_valid()
        if fine and not (refused and not request.POST.get("without_refused")):
            found_merge = _merge_look(request, row, form, names, now, counts.counted())
            conflicts = found_merge.conflicts
            if not conflicts:
                values = dict(found_merge.values)
                kept = {name.partition(":")[2]: values.pop(name) for name in list(values) if name.startswith("count:")}
                actions.edit_first_look(who, row, values, {c: n for c, n in kept.items() if n}, taken)
                if found_merge.theirs_kept:
                    told = ", ".join(found_merge.theirs_kept)
                    messages.info(request, f"Somebody else changed this meanwhile: {told}. Both are kept.")
                messages.success(request, "Saved.")
                return redirect(found.url)
    context = {"look": found, "conflicts": conflicts, "opened": _opened(request, row, bool(conflicts))}
    return _form_page(request, form, counts, taken, refused, **context)


def _opened(request: HttpRequest, row: FirstLook, conflicts: bool) -> dict[str, int | str]:
    """Return the versions that the form starts from: those it was opened at, or today's once conflicts are shown."""
    return {
        "look": (not conflicts and request.POST.get("opened_version")) or row.version,
        "box": (not conflicts and request.POST.get("opened_box")) or row.box.version,
    }


def _merge_look(
    request: HttpRequest,
    row: FirstLook,
    form: FirstLookForm,
    names: list[str],
    now: dict[str, int],
    mine: dict[str, int],
) -> Any:
    """Merge look, box and counts with what somebody else may have saved since the form was opened."""
    opened = request.POST.get("opened_version", "")
    at_look = row_at(row.history, opened)
    base_counts = queries.counts_at(row, at_look.change_set_id) if at_look is not None else now
    codes = [*dict.fromkeys([*mine, *now, *base_counts])]
    box: Box = row.box
    at_box = row_at(box.history, request.POST.get("opened_box", ""))
    base, theirs, wanted = {}, {}, {name: form.cleaned_data[name] for name in names}
    for each in actions.BOX_FIELDS:
        theirs[each] = getattr(box, each)
        base[each] = getattr(at_box, each) if at_box is not None else theirs[each]
        wanted[each] = form.cleaned_data[each]
    for code in codes:
        name = f"count:{code}"
        base[name], theirs[name], wanted[name] = base_counts.get(code, 0), now.get(code, 0), mine.get(code, 0)
    labels = {f"count:{code}": f"{kind(code).name}, about how many" for code in codes}
    return merged(row, names, wanted, opened, form, (base, theirs), labels)


def _form_page(
    request: HttpRequest, form: FirstLookForm, counts: Any, taken: Any, refused: Any, **context: Any
) -> HttpResponse:
    ticked = set(form["found"].value() or ())
    groups = [
        {"code": code, "heading": heading, "questions": rows, "open": any(each.code in ticked for each in rows)}
        for code, heading, rows in texts.question_groups()
    ]
    held = dict(taken)
    pictures = [
        {"name": name, "label": label, "held": held.get(view, []), "many": name in ("outside", "layer")}
        for view, name, label in LOOK_PICTURES
    ]
    context |= {"form": form, "counts": counts, "groups": groups, "ticked": ticked, "pictures": pictures}
    wrong_rows = [row for row in counts if row.errors] if counts.is_bound else []
    context |= {"refused": refused, "wrong_rows": wrong_rows}
    wrong = bool(form.errors or wrong_rows or refused)
    status = 409 if context.get("conflicts") else 422 if wrong else 200
    return render(request, "sorting/first_look.html", context, status=status)
