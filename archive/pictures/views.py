"""Showing picture files, and adding, changing and taking off pictures."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.models import Account
from archive.access.permissions import reader
from archive.access.views import keeper_of
from archive.keeping import media_store
from archive.keeping.ranges import serve_file
from archive.pictures import actions
from archive.pictures.models import OWNERS, Picture, View
from archive.pictures.thumbnails import RECIPE, SIZES, size_path
from archive.things.queries import find_thing


class PictureForm(forms.Form):
    view = forms.ChoiceField(label="What it shows", choices=View.choices)
    caption = forms.CharField(label="Caption", max_length=300, required=False)


def _find(public_id: str, who: Account | None) -> Picture:
    picture = Picture.objects.visible_to(who).select_related(*OWNERS).filter(public_id=public_id).first()
    if picture is None:
        raise Http404
    return picture


@require_safe
def file(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """The original, byte for byte."""
    picture = _find(public_id, reader(request.user))
    path = media_store.original_path(picture.sha256)
    if not path.is_file():
        raise Http404
    return serve_file(request, path, picture.sha256, picture.mime, download_name=picture.original_name)


@require_safe
def size(request: HttpRequest, public_id: str, size: int) -> HttpResponseBase:
    """One of the three sizes; made anew where the folder of derived files was emptied."""
    if size not in SIZES:
        raise Http404
    picture = _find(public_id, reader(request.user))
    return _serve_size(request, picture.sha256, size)


def _serve_size(request: HttpRequest, sha256: str, size: int) -> HttpResponseBase:
    folder = media_store.derived_folder(sha256)
    path = size_path(folder, size)
    # A power cut may leave an empty file, since sizes are not flushed one by one.
    if not path.is_file() or path.stat().st_size == 0:
        original = media_store.original_path(sha256)
        if not original.is_file():
            raise Http404
        actions.make_derived(original, sha256)
    return serve_file(request, path, f"{sha256[:32]}-{RECIPE}-{size}", "image/jpeg")


@require_safe
def held_size(request: HttpRequest, size: str, ticket: str) -> HttpResponseBase:
    """A picture that waits for its form to be mended; only whoever holds its signed note can see it."""
    found = actions.held([ticket])
    if not found or not size.isdecimal() or int(size) not in SIZES:
        raise Http404
    return _serve_size(request, found[0].sha256, int(size))


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest, thing_id: str) -> HttpResponse:
    who = keeper_of(request)
    thing = find_thing(thing_id, who)
    refused: list[actions.Refused] = []
    if request.method == "POST":
        taken, refused = actions.take_in(request.FILES.getlist("pictures"))
        if taken:
            actions.attach(who, thing, taken)
            messages.success(request, f"{len(taken)} {'picture' if len(taken) == 1 else 'pictures'} added.")
        elif not refused:
            messages.warning(request, "No file was chosen.")
        if not refused:
            return redirect(thing)
    return render(request, "pictures/add.html", {"thing": thing, "refused": refused}, status=422 if refused else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    picture = _find(public_id, who)
    if step := {"forward": -1, "back": 1}.get(request.POST.get("move", "")):
        actions.move_picture(who, picture, step)
        return redirect(picture.owner)
    form = PictureForm(request.POST or None, initial={"view": picture.view, "caption": picture.caption})
    if request.method == "POST" and form.is_valid():
        actions.edit_picture(who, picture, form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect(picture.owner)
    return render(request, "pictures/edit.html", {"picture": picture, "form": form}, status=422 if form.errors else 200)


@require_POST
def remove(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    picture = _find(public_id, who)
    owner = picture.owner
    actions.remove_picture(who, picture)
    messages.success(request, "Taken off. The file is kept; the history can put it back.")
    return redirect(owner)
