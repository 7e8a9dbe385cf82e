"""Looking closely at a picture, and saying who is in it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.pictures import actions, queries
from archive.pictures.forms import SIDES, MarkForm, in_percent
from archive.pictures.models import PersonMark, Picture
from archive.pictures.thumbnails import LARGE, SIZES

# The picture to tap on is this wide on every screen: without JavaScript the server must know its size to read a tap.
TAP_WIDTH = 320
_SMALLEST = 0.5  # percent; two taps nearer than this are one tap twice


@require_safe
def zoom(request: HttpRequest, public_id: str) -> HttpResponse:
    """A picture to look at closely: whole, or large in a pane that scrolls."""
    who = reader(request.user)
    picture = queries.find_picture(public_id, who)
    large = request.GET.get("size") == "large"
    before, after = queries.neighbours(picture)
    width, height = picture.within(LARGE if large else SIZES[-1])
    context = {
        "picture": picture, "large": large, "size": LARGE if large else SIZES[-1], "width": width, "height": height,
        "large_size": LARGE, "before": before, "after": after, "marks": queries.marks_of(picture, who),
        "letters": queries.letters(picture), "may_write": role_of(request.user) == "keeper",
    }  # fmt: skip
    return render(request, "pictures/zoom.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def mark(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say who is in a picture."""
    who = keeper_of(request)
    picture = queries.find_picture(public_id, who)
    form = MarkForm(request.POST or None, reader=who, initial={"sure": True})
    tapped = _tapped(request, picture)
    if request.method == "POST" and tapped is None and form.is_valid():
        made = actions.mark_person(who, picture, form.cleaned_data["person"], form.columns())
        messages.success(request, f"{made.person} is marked. You can mark the next one.")
        return redirect("pictures:mark", picture.public_id)
    return _mark_page(request, picture, form, tapped)


@require_http_methods(["GET", "HEAD", "POST"])
def change_mark(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change who a mark is for, or where it is."""
    who = keeper_of(request)
    marked = queries.find_mark(public_id, who)
    initial = {name: in_percent(getattr(marked, name)) for name in SIDES}
    form = MarkForm(request.POST or None, reader=who, initial={"person": marked.person, "sure": marked.sure, **initial})
    tapped = _tapped(request, marked.picture)
    if request.method == "POST" and tapped is None and form.is_valid():
        actions.change_mark(who, marked, form.cleaned_data["person"], form.columns())
        messages.success(request, "Saved.")
        return redirect("pictures:zoom", marked.picture.public_id)
    return _mark_page(request, marked.picture, form, tapped, marked)


@require_POST
def remove_mark(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take a mark off its picture."""
    who = keeper_of(request)
    marked = queries.find_mark(public_id, who)
    actions.remove_mark(who, marked)
    messages.success(request, f"The mark is off. The history of {marked.person} can put it back.")
    return redirect("pictures:zoom", marked.picture.public_id)


def _tapped(request: HttpRequest, picture: Picture) -> dict[str, str] | None:
    """Return what a tap on the picture changes in the form; None where Save was pressed.

    The first tap is a corner, the second the corner across. A tap at 0, 0 is what a browser sends for the Enter key.
    """
    try:
        x, y = int(request.POST["tap.x"]), int(request.POST["tap.y"])
    except (KeyError, ValueError):
        return None
    if (x, y) == (0, 0):
        return None
    here = (_percent(x, TAP_WIDTH), _percent(y, tap_height(picture)))
    try:
        first_x, first_y = (float(each) for each in request.POST.get("corner", "").split(" "))
        first = (min(max(first_x, 0.0), 100.0), min(max(first_y, 0.0), 100.0))
    except ValueError:
        return {"corner": f"{here[0]:.2f} {here[1]:.2f}"}
    left, right = sorted((first[0], here[0]))
    top, bottom = sorted((first[1], here[1]))
    if right - left < _SMALLEST or bottom - top < _SMALLEST:
        return {"corner": f"{here[0]:.2f} {here[1]:.2f}"}
    found = {"left": left, "top": top, "width": right - left, "height": bottom - top}
    return {"corner": "", **{name: f"{value:.2f}".rstrip("0").rstrip(".") for name, value in found.items()}}


def _percent(at: int, whole: int) -> float:
    return min(max(at / whole * 100, 0.0), 100.0)


def tap_height(picture: Picture) -> int:
    """Return the height of the picture to tap on, in pixels of the page."""
    return max(1, round(TAP_WIDTH * picture.height / max(picture.width, 1)))


def _mark_page(
    request: HttpRequest,
    picture: Picture,
    form: MarkForm,
    tapped: dict[str, str] | None,
    marked: PersonMark | None = None,
) -> HttpResponse:
    who = keeper_of(request)
    corner = ""
    if tapped is not None:
        # What was typed stays; the form is not judged before Save is pressed.
        corner = tapped.get("corner", "")
        typed = {name: form[name].value() for name in form.fields}
        form = MarkForm(reader=who, initial={**typed, **tapped})
    marks = [each for each in queries.marks_of(picture, who) if marked is None or each.mark.pk != marked.pk]
    context: dict[str, Any] = {
        "picture": picture, "form": form, "marks": marks, "letters": queries.letters(picture), "marked": marked,
        "tap_width": TAP_WIDTH, "tap_height": tap_height(picture), "corner": corner, "tapped": tapped,
        "drawn": _drawn(picture, form, corner),
    }  # fmt: skip
    return render(request, "pictures/mark.html", context, status=422 if form.errors else 200)


def _drawn(picture: Picture, form: MarkForm, corner: str) -> dict[str, int]:
    """Return the rectangle that the form's fields describe, or the first corner, in pixels of the picture."""
    sides = [form[name].value() for name in SIDES]
    try:
        if corner:
            x, y = (float(each) for each in corner.split(" "))
            sides = [x - 1, y - 1, 2, 2]
        left, top, width, height = (float(str(each).replace(",", ".")) for each in sides)
    except ValueError:
        return {}
    if not all(-2 <= side <= 102 for side in (left, top, width, height)):
        return {}
    return {
        "x": round(left * picture.width / 100), "y": round(top * picture.height / 100),
        "width": round(width * picture.width / 100), "height": round(height * picture.height / 100),
    }  # fmt: skip
