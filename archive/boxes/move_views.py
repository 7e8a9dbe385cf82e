"""Pages of moving: numbers are typed, pasted or photographed; what was moved, and taking it back."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.files.uploadedfile import TemporaryUploadedFile, UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive.access.queries import change_set as find_change_set
from archive.access.views import keeper_of
from archive.boxes import actions, queries
from archive.boxes.codes import Photographed, read_picture, split_numbers
from archive.boxes.forms import NUMBERS_AT_MOST, MoveForm
from archive.boxes.models import Box
from archive.things.models import Thing

PICTURES_AT_MOST = 40


@require_http_methods(["GET", "HEAD", "POST"])
def move(request: HttpRequest) -> HttpResponse:
    """Move things and boxes. What was photographed is listed to be confirmed before anything moves."""
    who = keeper_of(request)
    data = request.POST.copy() if request.method == "POST" else None
    seen: list[Photographed] = []
    if data is not None:
        # Decoding comes first, outside any transaction; what is read joins what was typed.
        seen = [_read(file) for file in request.FILES.getlist("labels")[:PICTURES_AT_MOST]]
        goal_seen = [_read(file) for file in request.FILES.getlist("into_label")[:1]]
        fresh = [number for each in seen for number in each.numbers]
        data["numbers"] = "\n".join([*split_numbers(str(data.get("numbers", ""))), *fresh])
        if goal_seen and goal_seen[0].numbers:
            data["into"] = goal_seen[0].numbers[0]
        seen += goal_seen
    form = MoveForm(data, reader=who, initial=None if data else _beginning(request, who))
    meant, goal, ready = None, None, False
    if data is not None:
        numbers = split_numbers(str(data["numbers"]))
        if len(numbers) > NUMBERS_AT_MOST:
            form.add_error("numbers", f"At most {NUMBERS_AT_MOST:,} at once. Move them in several goes.")
        meant = queries.numbered(numbers[:NUMBERS_AT_MOST], who)
        ready = form.is_valid()
        goal = form.cleaned_data.get("into")
        if ready:
            answer = _carry_out(request, form, meant, goal, photographed=bool(seen))
            if answer is not None:
                return answer
    context = {"form": form, "seen": seen, "meant": meant, "goal": goal, "limit": PICTURES_AT_MOST}
    wrong = bool(form.errors) or bool(meant is not None and meant.bad) or any(each.why for each in seen)
    return render(request, "boxes/move.html", context, status=422 if wrong else 200)


def _carry_out(
    request: HttpRequest, form: MoveForm, meant: queries.Named, goal: Box | None, *, photographed: bool
) -> HttpResponse | None:
    """Move what is meant and lead on, or return None when something is to be settled or confirmed first."""
    if not meant.count and not meant.bad:
        if not photographed:
            form.add_error("numbers", "Type at least one number, or photograph a label.")
        return None
    if photographed or (meant.bad and not request.POST.get("go_on")) or not meant.count:
        return None
    if goal is None and not form.cleaned_data.get("take_out"):
        form.add_error("into", "Say where they go: type a number or name, or pick from the list.")
        return None
    try:
        change = actions.move(keeper_of(request), meant.things, meant.boxes, goal)
    except actions.CannotStand as error:
        form.add_error("into", str(error))
        return None
    except actions.NothingToMove:
        words = f"All of them are in {goal} already." if goal else "None of them is in a box."
        messages.info(request, f"{words} Nothing was moved.")
        return redirect(goal or "boxes:tree")
    return redirect("boxes:moved", change.public_id)


def _beginning(request: HttpRequest, who: Any) -> dict[str, Any]:
    """Return what the form begins with: things and boxes named in the address, and the box they go into."""
    numbers = [
        record.number
        for model, name in ((Thing, "things"), (Box, "boxes"))
        for record in model.objects.visible_to(who).filter(public_id__in=request.GET.getlist(name)[:NUMBERS_AT_MOST])
    ]
    into = Box.objects.visible_to(who).filter(public_id=request.GET.get("into", "")).first()
    return {"numbers": "\n".join(numbers), "into": into}


def _read(file: UploadedFile[Any]) -> Photographed:
    """Read an uploaded picture; it is looked at where it lies and not kept."""
    name = Path(file.name or "picture").name
    if isinstance(file, TemporaryUploadedFile):
        return read_picture(Path(file.temporary_file_path()), name)
    with tempfile.NamedTemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR) as copy:
        for chunk in file.chunks():
            copy.write(chunk)
        copy.flush()
        return read_picture(Path(copy.name), name)


@require_safe
def moved(request: HttpRequest, public_id: str) -> HttpResponse:
    """What one act moved and where it is now, with the button that takes it back."""
    who = keeper_of(request)
    change = find_change_set(public_id)
    things, boxes = queries.places_of_change(change)
    if not things and not boxes:
        raise Http404
    places = {each.box_id for each in things} | {each.inside_id for each in boxes}
    paths = queries.paths_of(places, who)
    now: list[tuple[Thing | Box, list[Box]]] = [(each, paths.get(each.box_id or 0, [])) for each in things]
    now += [(each, paths.get(each.inside_id or 0, [])) for each in boxes]
    goals = [path[-1] for path in paths.values()]
    context = {
        "change": change,
        "rows": now,
        "goal": goals[0] if len(places) == 1 and goals else None,
        "undone": change.undone_by.exists(),
        "back": reverse("boxes:moved", args=[public_id]),
    }
    return render(request, "boxes/moved.html", context)
