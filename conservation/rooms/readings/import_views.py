"""Pages of taking in readings: typed by hand, and files from being uploaded to being taken back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.views import keeper_of
from archive.preferences.queries import preferences
from conservation.rooms.readings import actions, import_actions, import_words, queries
from conservation.rooms.readings.clock import moment_of, seconds_of, zone_named
from conservation.rooms.readings.forms import GoalsForm, HowReadForm, TypedForm, UploadForm, how_read
from conservation.rooms.readings.models import ReadingImport


@require_http_methods(["GET", "HEAD", "POST"])
def type_reading(request: HttpRequest) -> HttpResponse:
    """Type a reading read off by hand."""
    who = keeper_of(request)
    kept = preferences()
    rooms = list(queries.rooms_to_choose(who))
    by_id = {room.public_id: room for room in rooms}
    form = TypedForm(
        request.POST or None,
        rooms=rooms,
        kept=kept,
        last=lambda room, at: queries.hours_before(by_id[room], seconds_of(at)),
        initial={"room": request.GET.get("room", "")},
    )
    if request.method == "POST" and form.is_valid():
        values = form.cleaned_data
        room = by_id[values["room"]]
        made = actions.type_reading(who, room, seconds_of(values["at"]), values["temperature"], values["humidity"])
        messages.success(request, f"Saved: {import_words.typed_words(made, room, kept)}")
        return redirect("rooms:room", room.public_id)
    context = {"form": form, "rooms": rooms}
    return render(request, "rooms/type_reading.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def upload(request: HttpRequest) -> HttpResponse:
    """Take in a file of readings; what it was understood to be is shown before anything is imported."""
    who = keeper_of(request)
    form = UploadForm(request.POST or None, request.FILES or None) if request.method == "POST" else UploadForm()
    if request.method == "POST" and form.is_valid():
        kept = preferences()
        choices = {"day_first": kept.day_first(), "tz": kept.zone}
        record = import_actions.stage(who, form.cleaned_data["file"], choices, request.GET.get("for", ""))
        return _to(record)
    context = {"form": form, "imports": list(queries.imports()[:20]), "waiting": ReadingImport.OPEN}
    return render(request, "rooms/import.html", context, status=422 if form.errors else 200)


def _to(record: ReadingImport) -> HttpResponse:
    """Lead to the errand while one is under way, else to the page of the import."""
    if record.errand and record.state in (ReadingImport.State.LOOKING, ReadingImport.State.IMPORTING):
        return redirect("keeping:errand", record.errand)
    return redirect("rooms:import_file", record.public_id)


@require_http_methods(["GET", "HEAD", "POST"])
def import_file(request: HttpRequest, import_id: str) -> HttpResponse:
    """One file: what it was understood to be, the questions, and what came of it."""
    who = keeper_of(request)
    record = queries.find_import(import_id)
    kept = preferences()
    status = 200
    state = queries.state_of(record)
    context: dict[str, Any] = {"record": record, "state": state}
    if state == ReadingImport.State.ASKED:
        sensors = record.understood["sensors"]
        rooms, known = list(queries.rooms_to_choose(who)), list(queries.sensors_of(who))
        how = HowReadForm(
            request.POST if request.POST.get("do") == "look" else None,
            home_zone=kept.zone,
            columns=record.understood["columns"],
            initial=how_read(record.choices, kept.zone),
        )
        goals = GoalsForm(
            request.POST if request.POST.get("do") == "import" else None,
            sensors=sensors,
            goals=import_words.goals(rooms, known),
            first=import_words.first_goals(record, rooms, known),
        )
        if request.method == "POST" and request.POST.get("do") == "look" and how.is_valid():
            import_actions.look_again(who, record, how.choices())
            return _to(record)
        if request.method == "POST" and request.POST.get("do") == "import" and sensors and goals.is_valid():
            import_actions.begin_import(who, record, goals.assigned())
            return _to(record)
        status = 422 if how.errors or goals.errors else 200
        context |= {"how": how, "goals": goals, "seen": import_words.preview(record, kept)}
    context |= {"report": import_words.report(record, kept)}
    return render(request, "rooms/import_file.html", context, status=status)


@require_POST
def give_up(request: HttpRequest, import_id: str) -> HttpResponse:
    """Let a file go that is not imported."""
    who = keeper_of(request)
    record = queries.find_import(import_id)
    if queries.state_of(record) in (ReadingImport.State.ASKED, ReadingImport.State.REFUSED):
        import_actions.give_up(who, record)
        messages.success(request, "Nothing was imported, and the file is gone.")
    return redirect("rooms:import")


@require_POST
def take_back(request: HttpRequest, import_id: str) -> HttpResponse:
    """Take an import back exactly."""
    who = keeper_of(request)
    record = queries.find_import(import_id)
    if record.state == ReadingImport.State.DONE:
        sensors = queries.sensors_in(record)
        actions.take_back(who, record)
        import_actions.have_summed_up(who, [sensor.pk for sensor in sensors])
        messages.success(request, "Taken back. The readings are as if it had never been imported.")
    return redirect("rooms:import_file", record.public_id)


@require_safe
def export(request: HttpRequest, public_id: str) -> FileResponse:
    """All readings of a sensor as a file, in a shape that can be imported again."""
    found = queries.find_sensor(public_id, keeper_of(request))
    kept = preferences()
    zone = zone_named(kept.zone)
    last = moment_of(queries.span_of(found)[2], zone)
    return FileResponse(
        queries.as_csv(found), as_attachment=True, filename=f"readings-{found.public_id}-{last:%Y%m%d}.csv"
    )
