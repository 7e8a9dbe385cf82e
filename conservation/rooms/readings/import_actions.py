"""Taking in a file of readings: staged, looked at, imported in one transaction, or let go."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.urls import reverse

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from archive.keeping.actions import send_errand
from archive.keeping.errands.worker import Stopped, Task
from archive.keeping.models import Errand
from conservation.rooms.readings import apart, assess_import
from conservation.rooms.readings.actions import add_sensor, lay_import, sum_up_sensor
from conservation.rooms.readings.models import ReadingImport, Sensor, SensorAir
from conservation.rooms.readings.store import Stored

LOOK, IMPORT, SUM_UP = "readings.look", "readings.import", "readings.sum_up"
# A file up to this size is looked at and imported while the page waits; a larger one is an errand.
AT_ONCE_BYTES = 2_000_000
OUT, NEW = "out", "new:"
_READ_SHARE, _ALL = 600, 1000
Look = Callable[[Path, Mapping[str, Any]], dict[str, Any]]
Read = Callable[[Path, Mapping[str, Any], Callable[[float], None]], tuple[dict[str, Stored], dict[str, Any]]]


def staged_path(record: ReadingImport) -> Path:
    """Return where the file lies while it is needed."""
    path: Path = settings.DATA_FOLDER.incoming / record.staged
    return path


def stage(who: Account, file: UploadedFile[Any], choices: Mapping[str, Any], assigned: str = "") -> ReadingImport:
    """Keep an uploaded file until it is settled how to read it, and look at it."""
    record = ReadingImport(file_name=Path(str(file.name)).name[:255], size_bytes=file.size or 0, created_by=who)
    record.staged, record.choices = f"readings-{record.public_id}", dict(choices)
    record.assigned = {"*": assigned} if assigned else {}
    path = staged_path(record)
    with path.open("wb") as out:
        for chunk in file.chunks():
            out.write(chunk)
    with changing(who, "readings.stage"):
        record.save()
    look_again(who, record, choices)
    return record


def look_again(who: Account, record: ReadingImport, choices: Mapping[str, Any]) -> None:
    """Look at a staged file with what the keeper settled; a large one is looked at by an errand."""
    record.choices, record.state = dict(choices), ReadingImport.State.LOOKING
    with changing(who, "readings.look"):
        record.save()
        if record.size_bytes > AT_ONCE_BYTES:
            _send(who, record, LOOK, f"Looking at {record.file_name}")
    if record.size_bytes <= AT_ONCE_BYTES:
        look_now(record)


def look_now(record: ReadingImport, look: Look = assess_import.look) -> None:
    """Look at a staged file and keep what it was understood to be."""
    try:
        understood = look(staged_path(record), record.choices)
    except FileNotFoundError:
        understood = {"not_readings": "The file is no longer here; it is kept for a day only. Upload it again."}
    record.understood = understood
    refused = "not_readings" in understood
    record.state = ReadingImport.State.REFUSED if refused else ReadingImport.State.ASKED
    if refused:
        _forget_file(record)
    with changing(None, "readings.look"):
        record.save()


def _send(who: Account | None, record: ReadingImport, kind: str, title: str) -> None:
    errand = send_errand(who, kind, title[:200], {"import": record.public_id})
    Errand.objects.filter(pk=errand.pk).update(result_url=reverse("rooms:import_file", args=[record.public_id]))
    record.errand = errand.public_id
    record.save()


def begin_import(who: Account, record: ReadingImport, assigned: Mapping[str, str]) -> None:
    """Import a file whose questions are answered; a large one by an errand.

    Args:
        who: the keeper.
        record: the import.
        assigned: name of a sensor in the file → address of a sensor, ``new:`` and a room's address, or ``out``.
    """
    record.assigned, record.state = dict(assigned), ReadingImport.State.IMPORTING
    with changing(who, "readings.begin"):
        record.save()
        if record.size_bytes > AT_ONCE_BYTES:
            _send(who, record, IMPORT, f"Importing {record.file_name}")
    if record.size_bytes <= AT_ONCE_BYTES:
        import_now(record)


def import_now(
    record: ReadingImport,
    say: Callable[[int, str], None] = lambda done, words: None,
    read: Read = assess_import.read_all,
) -> None:
    """Read a staged file and lay its readings over those there are, in one transaction: all of it or nothing.

    Args:
        record: the import, with its choices and assignments.
        say: called with how far the work is, of 1,000, and in words; may raise to stop it before the transaction.
        read: how the file is read: here, or apart.
    """
    try:
        series, noted = read(
            staged_path(record),
            record.choices,
            lambda share: say(round(share * _READ_SHARE), "Reading the file"),
        )
    except (assess_import.NotReadings, FileNotFoundError) as error:
        gone = isinstance(error, FileNotFoundError)
        why = "The file is no longer here; it is kept for a day only. Upload it again." if gone else str(error)
        record.understood, record.state = {"not_readings": why}, ReadingImport.State.REFUSED
        with changing(None, "readings.refused"):
            record.save()
        _forget_file(record)
        return
    say(_READ_SHARE, "Writing the readings")
    for name, value in noted.items():
        setattr(record, name, value)
    with changing(record.created_by, "readings.import"):
        sensors = _sensors(record, series)
        lay_import(record, _by_sensor(sensors, series))
    _forget_file(record)
    for number, sensor in enumerate({sensor.pk: sensor for sensor in sensors.values()}.values(), 1):
        sum_up_sensor(sensor.pk)
        say(_READ_SHARE + (_ALL - _READ_SHARE) * number // len(sensors), "Working out what they mean")


def _sensors(record: ReadingImport, series: Mapping[str, Stored]) -> dict[str, Sensor]:
    """Return the sensor of each name in the file that is not left out; new ones are recorded now."""
    found: dict[str, Sensor] = {}
    made: dict[tuple[str, str], Sensor] = {}
    for name in series:
        goal = record.assigned.get(name, OUT)
        if goal == OUT:
            continue
        if goal.startswith(NEW):
            room = Box.objects.get(public_id=goal.removeprefix(NEW))
            title = name or Path(record.file_name).stem or "logger"
            sensor = made.get((goal, title)) or add_sensor(record.created_by, room, {"name": title[:120]})
            made[goal, title] = sensor
        else:
            sensor = Sensor.objects.get(public_id=goal)
        if name and name not in sensor.known_as:
            sensor.known_as = [*sensor.known_as, name]
            touch(sensor)
            sensor.save()
        found[name] = sensor
    return found


def _by_sensor(sensors: Mapping[str, Sensor], series: Mapping[str, Stored]) -> dict[int, Stored]:
    from conservation.rooms.readings.store import laid_over

    layers: dict[int, list[Stored]] = {}
    for name, sensor in sensors.items():
        layers.setdefault(sensor.pk, []).append(series[name])
    return {pk: each[0] if len(each) == 1 else laid_over(each) for pk, each in layers.items()}


def _forget_file(record: ReadingImport) -> None:
    if record.staged:
        staged_path(record).unlink(missing_ok=True)


def give_up(who: Account, record: ReadingImport) -> None:
    """Let a file go that was looked at and not imported."""
    with changing(who, "readings.give_up"):
        record.state, record.understood = ReadingImport.State.STOPPED, {}
        record.save()
    _forget_file(record)


def have_summed_up(who: Account | None, sensor_ids: list[int]) -> None:
    """Have an errand work out anew what many readings mean, where that was not done at once."""
    waiting = sorted(SensorAir.objects.filter(sensor__in=sensor_ids, stale=True).values_list("sensor_id", flat=True))
    if waiting:
        send_errand(who, SUM_UP, "Working out what readings mean", {"sensors": waiting})


# -- as errands --------------------------------------------------------------------------------------------------


def look_errand(task: Task) -> None:
    """Look at a large file in the background."""
    record = ReadingImport.objects.get(public_id=task.payload["import"])
    task.progress(0, 1, "Reading the file")

    def stopped() -> bool:
        task.progress(0, 1, "Reading the file")
        return task.should_stop()

    look_now(record, lambda path, choices: apart.look(path, choices, stopped))
    task.end_with("Read. Go on to see what it was understood to be.")


def import_errand(task: Task) -> None:
    """Import a large file in the background. Stopped before the readings are written it leaves nothing."""
    record = ReadingImport.objects.get(public_id=task.payload["import"])
    if record.state != ReadingImport.State.IMPORTING:
        # A kill came after everything was written: the file may lie there still, and what it means be not worked out.
        if record.state == ReadingImport.State.DONE:
            _forget_file(record)
        for pk in record.series.values_list("sensor_id", flat=True):
            sum_up_sensor(pk)
        return

    def say(done: int, words: str) -> None:
        if done > _READ_SHARE:  # it is written: nothing is left to be stopped
            with contextlib.suppress(Stopped):
                task.progress(done, _ALL, words)
            return
        task.progress(done, _ALL, words)
        if done == _READ_SHARE and task.should_stop():
            raise Stopped

    try:
        import_now(record, say, apart.read_all)
    except Stopped:
        asked = Errand.objects.filter(pk=task.errand.pk, stop_asked=True).exists()
        record.refresh_from_db()
        if asked and record.state == ReadingImport.State.IMPORTING:
            with changing(None, "readings.stopped"):
                record.state = ReadingImport.State.ASKED
                record.save()
        raise
    task.end_with("Imported." if record.state == ReadingImport.State.DONE else "Nothing was imported.")


def sum_up_errand(task: Task) -> None:
    """Work out anew what the readings of some sensors mean."""
    pks = list(task.payload["sensors"])
    for number, pk in enumerate(pks, 1):
        sum_up_sensor(pk)
        task.progress(number, len(pks), "Working out what the readings mean")
