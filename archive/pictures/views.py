"""Showing picture files, and adding, changing and taking off pictures."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.history_words import shown
from archive.access.merging import merge, state_at
from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.keeping import media_store
from archive.keeping.ranges import serve_file
from archive.pictures import actions, queries
from archive.pictures.decoding import PictureRefused
from archive.pictures.derived import ALL_SIZES, size_file
from archive.pictures.forms import PictureForm
from archive.pictures.models import Picture, View
from archive.pictures.thumbnails import RECIPE
from archive.preferences.queries import preferences
from archive.things.actions import edit_thing

# Of an animation the file itself is shown; all else is shown in sizes made from it.
_FIRST_VIEWS = {"boxes": View.OUTSIDE, "lots": View.AS_FOUND}


@require_safe
def file(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """The original, byte for byte; a PDF is saved, not opened, since it may hold more than pictures."""
    picture = queries.find_picture(public_id, reader(request.user))
    path = media_store.original_path(picture.sha256)
    if not path.is_file():
        raise Http404
    name = picture.original_name
    return serve_file(request, path, picture.sha256, picture.mime, download_name=name, as_attachment=picture.is_pdf)


@require_safe
def size(request: HttpRequest, public_id: str, size: int) -> HttpResponseBase:
    """One of the sizes; made anew where the folder of derived files was emptied."""
    if size not in ALL_SIZES:
        raise Http404
    picture = queries.find_picture(public_id, reader(request.user))
    return _serve_size(request, picture, size)


def _serve_size(request: HttpRequest, picture: Picture | actions.TakenIn, size: int) -> HttpResponseBase:
    try:
        path = size_file(picture.sha256, picture.page, size, max(picture.width, picture.height))
    except (FileNotFoundError, PictureRefused):
        raise Http404 from None
    return serve_file(request, path, f"{picture.sha256[:32]}-{RECIPE}-{picture.page}-{size}", "image/jpeg")


@require_safe
def held_size(request: HttpRequest, size: str, ticket: str) -> HttpResponseBase:
    """A picture that waits for its form to be mended; only whoever holds its signed note can see it."""
    found = actions.held([ticket])
    if not found or not size.isdecimal() or int(size) not in ALL_SIZES:
        raise Http404
    return _serve_size(request, found[0], int(size))


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest, thing_id: str = "", code: str = "things", public_id: str = "") -> HttpResponse:
    """Add pictures to a thing, a box, a story or a lot."""
    who = keeper_of(request)
    kind, owner = queries.find_owner(code, thing_id or public_id, who)
    refused: list[actions.Refused] = []
    view = request.POST.get("view", "") or _FIRST_VIEWS.get(code, View.FRONT)
    if request.method == "POST":
        view = view if view in View.values else View.FRONT
        taken, refused = actions.take_in(request.FILES.getlist("pictures"))
        rows: list[Picture] = []
        if taken:
            rows = actions.attach(who, owner, taken, view=view)
            messages.success(request, f"{len(taken)} {'picture' if len(taken) == 1 else 'pictures'} added.")
            for words in actions.in_words(taken):
                messages.info(request, words)
        elif not refused:
            messages.warning(request, "No file was chosen.")
        if not refused:
            alike = next((row for row in rows if queries.likenesses_of(row)), None)
            if alike is not None:
                return redirect("pictures:alike", alike.public_id)
            return redirect(kind.url(owner))
    context = {
        "owner": owner, "owner_url": kind.url(owner), "word": kind.word, "refused": refused, "views": View.choices,
        "view": view,
    }  # fmt: skip
    return render(request, "pictures/add.html", context, status=422 if refused else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """What a picture shows, its caption, its piece and its place in the order."""
    who = keeper_of(request)
    picture = queries.find_picture(public_id, who)
    steps = {"forward": -1, "back": 1, "first": None}
    if (move := request.POST.get("move", "")) in steps:
        actions.move_picture(who, picture, steps[move])
        messages.success(request, "Moved.")
        return redirect("pictures:edit", picture.public_id)
    stands = {"view": picture.view, "caption": picture.caption, "piece": picture.piece_id}
    form = PictureForm(request.POST or None, picture=picture, initial=stands)
    if request.method == "POST" and form.is_valid():
        return _save(request, picture, form)
    before, after = queries.neighbours(picture)
    context = {
        "picture": picture, "form": form, "before": before, "after": after,
        "marks": queries.marks_of(picture, who), "letters": queries.letters(picture),
        "alike": queries.likenesses_of(picture),
        "opened": request.POST.get("opened_version") or picture.version,
    }  # fmt: skip
    return render(request, "pictures/edit.html", context, status=422 if form.errors else 200)


def _save(request: HttpRequest, picture: Picture, form: PictureForm) -> HttpResponse:
    """Save a picture's form, unless somebody else set one of its fields otherwise meanwhile."""
    wanted = form.columns()
    theirs = {name: getattr(picture, name) for name in wanted}
    base = state_at(picture, request.POST.get("opened_version", ""), wanted)
    labels = {name: str(form.fields[name.removesuffix("_id")].label) for name in wanted}
    merged = merge(base if base is not None else theirs, theirs, wanted, labels)
    if merged.conflicts:
        context = {
            "picture": picture,
            "form": form,
            "conflicts": shown(merged.conflicts, form),
            "opened": picture.version,
        }
        return render(request, "pictures/merge.html", context, status=409)
    actions.edit_picture(keeper_of(request), picture, merged.values)
    messages.success(request, "Saved.")
    return redirect(picture.owner)


@require_POST
def remove(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take a picture off its record."""
    who = keeper_of(request)
    picture = queries.find_picture(public_id, who)
    owner = picture.owner
    actions.remove_picture(who, picture)
    messages.success(request, "Taken off. The file is kept; the history can put it back.")
    return redirect(_next(request) or owner)


@require_POST
def use_date(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take the day of the camera's note as the thing's made date, because the keeper says so."""
    who = keeper_of(request)
    picture = queries.find_picture(public_id, who)
    thing, day = picture.thing, picture.day_taken
    if thing is None or day is None:
        raise Http404
    if thing.made_text:
        messages.warning(
            request, f"It has a date already, “{thing.made_text}”, which stays. Change it here if you like."
        )
        return redirect("things:edit", thing.public_id)
    words = f"{day.day} {day:%B} {day.year}"
    edit_thing(who, thing, {"made_text": words}, preferences())
    messages.success(request, f"The date is now {words}. The history can take it back.")
    return redirect(thing)


@require_http_methods(["GET", "HEAD", "POST"])
def alike(request: HttpRequest, public_id: str) -> HttpResponse:
    """A picture beside those that look like it, and the ways on."""
    who = keeper_of(request)
    picture = queries.find_picture(public_id, who)
    if request.method == "POST":
        actions.keep_both(who, queries.find_likeness(picture, request.POST.get("other", "")))
        messages.success(request, "Both stay. You will not be asked about these two again.")
        return redirect(_next(request) or _where_now(picture))
    pairs: list[dict[str, Any]] = []
    for each in queries.likenesses_of(picture):
        other = each.other if each.picture_id == picture.pk else each.picture
        pairs.append({"other": other, "bits": each.bits, "unite_url": queries.unite_url(picture, other)})
    return render(request, "pictures/alike.html", {"picture": picture, "pairs": pairs})


def _where_now(picture: Picture) -> str:
    """Return the address of the next question about the pictures of the same record, or of the record itself."""
    for each in picture.owner.pictures.all():
        if queries.likenesses_of(each):
            return reverse("pictures:alike", args=[each.public_id])
    return str(picture.owner.get_absolute_url())


@require_safe
def twins(request: HttpRequest) -> HttpResponse:
    """All pairs of pictures that look alike and wait for the keeper's word."""
    page, pairs = queries.twins_page(request.GET.get("page", "1"))
    return render(request, "pictures/twins.html", {"page": page, "pairs": pairs})


def _next(request: HttpRequest) -> str:
    goal = request.POST.get("next", "")
    return goal if url_has_allowed_host_and_scheme(goal, allowed_hosts={request.get_host()}) else ""
