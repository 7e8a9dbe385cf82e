"""Pages of groups and of proposed groups."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.sorting import group_actions, group_queries, proposals
from archive.sorting.editing import merged
from archive.sorting.group_forms import AddThingsForm, GroupForm
from archive.sorting.lot_queries import read_numbers


def _read_into(form: AddThingsForm, who: Any) -> list[Any] | None:
    """Return the things of the typed numbers, or None with the troubles written beside the field."""
    read = read_numbers(form.cleaned_data["numbers"], who, boxes=False)
    for trouble in read.troubles:
        form.add_error("numbers", trouble)
    return None if read.troubles else read.found


@require_safe
def groups(request: HttpRequest) -> HttpResponse:
    page, rows = group_queries.list_page(reader(request.user), request.GET.get("page", "1"))
    return render(request, "sorting/groups.html", {"page": page, "rows": rows})


@require_safe
def group(request: HttpRequest, group_id: str) -> HttpResponse:
    who = reader(request.user)
    found = group_queries.find_group(group_id, who)
    page, members = group_queries.group_page(found, who, request.GET.get("page", "1"))
    context = {
        "group": found,
        "page": page,
        "members": members,
        "form": AddThingsForm(needed=True),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "sorting/group.html", context)


@require_POST
def group_things(request: HttpRequest, group_id: str) -> HttpResponse:
    """Add things by number, take one out, or move one in the order."""
    who = keeper_of(request)
    found = group_queries.find_group(group_id, who)
    for act, step in (("forward", -1), ("back", 1), ("remove", 0)):
        if act in request.POST:
            row = group_queries.member_row(found, request.POST[act])
            if step:
                group_actions.move_in_group(who, row, step)
            else:
                group_actions.remove_from_group(who, row)
                messages.success(request, f"{row.thing.number} is out of the group. The thing itself stays.")
            return redirect(found)
    form = AddThingsForm(request.POST, needed=True)
    things = _read_into(form, who) if form.is_valid() else None
    if things is not None:
        new = group_actions.add_things(who, found, things)
        messages.success(request, f"{new} added." if new else "All of these are in the group already.")
        return redirect(found)
    page, members = group_queries.group_page(found, who, "1")
    context = {"group": found, "page": page, "members": members, "form": form, "may_write": True}
    return render(request, "sorting/group.html", context, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
def add_group(request: HttpRequest) -> HttpResponse:
    who = keeper_of(request)
    form = GroupForm(request.POST or None)
    adding = AddThingsForm(request.POST or None)
    if request.method == "POST" and form.is_valid() & adding.is_valid():
        things = _read_into(adding, who)
        if things is not None:
            made = group_actions.add_group(who, form.cleaned_data, things)
            messages.success(request, "Saved.")
            return redirect(made)
    wrong = bool(form.errors or adding.errors)
    return render(request, "sorting/group_form.html", {"form": form, "adding": adding}, status=422 if wrong else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit_group(request: HttpRequest, group_id: str) -> HttpResponse:
    who = keeper_of(request)
    found = group_queries.find_group(group_id, who)
    names = list(GroupForm().fields)
    form = GroupForm(request.POST or None, initial={name: getattr(found, name) for name in names})
    conflicts: Any = []
    if request.method == "POST" and form.is_valid():
        merge = merged(found, names, form.cleaned_data, request.POST.get("opened_version", ""), form)
        conflicts = merge.conflicts
        if not conflicts:
            group_actions.edit_group(who, found, merge.values)
            if merge.theirs_kept:
                told = ", ".join(merge.theirs_kept)
                messages.info(request, f"Somebody else changed this meanwhile: {told}. Both are kept.")
            messages.success(request, "Saved.")
            return redirect(found)
    opened = (not conflicts and request.POST.get("opened_version")) or found.version
    context = {"group": found, "form": form, "conflicts": conflicts, "opened": opened}
    status = 409 if conflicts else 422 if form.errors else 200
    return render(request, "sorting/group_form.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def proposed(request: HttpRequest) -> HttpResponse:
    """Groups that could be made, each with its reason; and what is not proposed any more."""
    who = keeper_of(request)
    if request.method == "POST":
        group_actions.propose_again(who, request.POST.get("key", ""))
        messages.success(request, "It may be proposed again.")
        return redirect("sorting:proposals")
    page = Paginator(proposals.proposals(who), group_queries.PROPOSALS_PER_PAGE).get_page(request.GET.get("page", "1"))
    rows = group_queries.in_words(list(page.object_list), who, group_queries.SHOWN_OF_A_PROPOSAL)
    refused = proposals.refused_keys()
    words = proposals.told([each.key for each in refused], who)
    context = {
        "page": page,
        "rows": rows,
        "refused": [{"key": each.key, "at": each.at, "told": words[each.key]} for each in refused if each.key in words],
    }
    return render(request, "sorting/proposals.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def proposal(request: HttpRequest) -> HttpResponse:
    """One proposed group: choose its name, leave things out, add others, accept or refuse it."""
    who = keeper_of(request)
    key = request.POST.get("key") or request.GET.get("key", "")
    if not key:
        return redirect("sorting:proposals")
    found = proposals.find_proposal(key, who)
    if found is None:
        messages.info(
            request, "This group is not proposed any more: it was made or refused, or its things have changed."
        )
        return redirect("sorting:proposals")
    if request.POST.get("act") == "refuse":
        group_actions.refuse_proposal(who, found.keys)
        messages.success(request, "Refused. It is not proposed again, unless you ask for it at the foot of this page.")
        return redirect("sorting:proposals")
    (row,) = group_queries.in_words([found], who, None)
    form = GroupForm(request.POST or None, initial={"title": row.title, "sort": row.sort})
    adding = AddThingsForm(request.POST or None)
    ticked = (
        set(request.POST.getlist("thing")) if request.method == "POST" else {m.thing.public_id for m in row.members}
    )
    if request.method == "POST" and form.is_valid() & adding.is_valid():
        more = _read_into(adding, who)
        chosen = [member.thing for member in row.members if member.thing.public_id in ticked]
        if more is not None and not chosen and not more:
            form.add_error(None, "Leave at least one thing in the group, or refuse it.")
        elif more is not None:
            whole = len(chosen) == len(row.members)
            made = group_actions.accept_proposal(who, found.keys, form.cleaned_data, [*chosen, *more], whole=whole)
            messages.success(request, "The group is made.")
            return redirect(made)
    wrong = bool(form.errors or adding.errors)
    context = {"row": row, "form": form, "adding": adding, "ticked": ticked}
    return render(request, "sorting/proposal.html", context, status=422 if wrong else 200)
