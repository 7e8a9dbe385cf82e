"""Ten years of ten-minute readings through the store: imported, summed up, shown, beside a bare loop of `csv`.

    .venv/bin/python -m tests.bench.climate.bench_store [rounds]

Everything runs on a database of its own in a temporary folder, on disk, with the archive's own settings for SQLite.
Aims: importing, reading and storing included, at most 2.5 times the bare loop; analysis at most 1.5 s; the page of the
room at most 150 ms from what is kept. Also printed: how fast rows go into the table one by one and many at once.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

AIM_IMPORT_RATIO, AIM_ANALYSIS_S, AIM_PAGE_S = 2.5, 1.5, 0.150


def main(rounds: int = 3) -> int:
    """Measure, print, and return 1 when an aim was missed."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["KISTBOOK_HOME"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive.settings")
        import django

        django.setup()
        from django.core.management import call_command

        _folders()
        call_command("migrate", verbosity=0)
        return _measure(rounds)


def _folders() -> None:
    from django.conf import settings

    from archive.keeping.home import SUBFOLDERS

    for name in SUBFOLDERS:
        (Path(settings.DATA_FOLDER.root) / name).mkdir(parents=True, exist_ok=True)


def _measure(rounds: int) -> int:
    from tests.bench.climate.bench_climate import FILES, ROWS, bare, write

    keeper, room = _household()
    missed = False
    with tempfile.TemporaryDirectory() as folder:
        for name, (line, delimiter, moment, number) in FILES.items():
            path = Path(folder) / "readings.csv"
            write(path, line)
            loops, imports, sums, sensor = [], [], [], None
            bare(path, delimiter, moment, number)
            for _ in range(rounds):
                loops.append(bare(path, delimiter, moment, number))
                sensor = _new_sensor(keeper, room, f"{name} {time.perf_counter()}")
                imports.append(_import(path, sensor))
                sums.append(_sum_up(sensor))
            ratio = min(each / loop for each, loop in zip(imports, loops, strict=True))
            print(
                f"{name}: {ROWS:,} rows, bare loop {min(loops):.2f} s, imported and stored {min(imports):.2f} s "
                f"({ratio:.2f} times), summed up for pages {min(sums):.2f} s"
            )
            missed |= ratio > AIM_IMPORT_RATIO or min(sums) > AIM_ANALYSIS_S
    missed |= _pages(keeper, room, rounds)
    _ways_in()
    return int(missed)


def _household() -> tuple[Any, Any]:
    from archive.access.actions import make_account
    from archive.boxes.actions import add_box, move
    from archive.preferences.actions import begin_with
    from archive.preferences.queries import preferences
    from archive.things.actions import add_thing

    begin_with({"home_name": "Bench", "zone": "Europe/Berlin"})
    keeper = make_account("keeper", "Keeper", "three words in row", "keeper")
    room = add_box(keeper, {"title": "Parlour", "level": "room"})
    kinds = ("letter", "silver-gelatin-print", "colour-print", "wool-textile", "silver", "wooden-object")
    things = [add_thing(keeper, {"title": code, "kind_code": code}, [], preferences()) for code in kinds]
    move(keeper, things, [], room)
    return keeper, room


def _new_sensor(keeper: Any, room: Any, name: str) -> Any:
    from conservation.rooms.readings.actions import add_sensor

    return add_sensor(keeper, room, {"name": name[:100]})


def _import(path: Path, sensor: Any) -> float:
    """Return seconds from the file on disk to the committed transaction, as the errand does it."""
    from archive.access.changes import changing
    from conservation.rooms.readings.actions import lay_import
    from conservation.rooms.readings.assess_import import read_all
    from conservation.rooms.readings.models import ReadingImport

    began = time.perf_counter()
    series, _ = read_all(path, {"tz": "Europe/Berlin"})
    with changing(None, "readings.import"):
        record = ReadingImport(file_name=path.name)
        record.save()
        lay_import(record, {sensor.pk: series[""]})
    seconds = time.perf_counter() - began
    if record.added != 525_600:
        raise SystemExit(f"{record.added} readings were added, not 525,600")
    return seconds


def _sum_up(sensor: Any) -> float:
    """Return seconds to read all readings, work out what they mean, and keep it with their days."""
    from conservation.rooms.readings.actions import sum_up_sensor

    began = time.perf_counter()
    sum_up_sensor(sensor.pk)
    return time.perf_counter() - began


def _pages(keeper: Any, room: Any, rounds: int) -> bool:
    from django.test import Client
    from django.urls import reverse

    client = Client(REMOTE_ADDR="127.0.0.1", HTTP_HOST="localhost")
    client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
    missed = False
    for period in ("day", "week", "month", "year", "all"):
        address = reverse("rooms:room", args=[room.public_id]) + f"?period={period}"
        client.get(address)
        times = []
        for _ in range(max(rounds, 5)):
            began = time.perf_counter()
            answer = client.get(address)
            times.append(time.perf_counter() - began)
            if answer.status_code != 200:
                raise SystemExit(f"{address}: {answer.status_code}")
        print(f"page of the room, {period}: {1000 * min(times):.0f} ms, {len(answer.content) / 1000:.0f} kB")
        missed |= min(times) > AIM_PAGE_S
    return missed


def _ways_in() -> None:
    """Print seconds for as many rows into a table like ours: through Django or not, one or many rows a statement."""
    from django.db import connection, transaction

    rows = [(1, 600 * n, 1800 + n % 300, 5000 + n % 900) for n in range(525_600)]
    insert = "INSERT INTO bench VALUES "
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TABLE bench (s integer, a integer, t integer, h integer, PRIMARY KEY (s, a)) WITHOUT ROWID"
        )
        for name, mark, width in (
            ("Django, executemany", "%s", 1),
            ("Django, 200 rows a statement", "%s", 200),
            ("SQLite itself, executemany", "?", 1),
            ("SQLite itself, 10 rows a statement", "?", 10),
            ("SQLite itself, 200 rows a statement", "?", 200),
            ("SQLite itself, 2,000 rows a statement", "?", 2_000),
        ):
            cursor.execute("DELETE FROM bench")
            to = cursor if mark == "%s" else connection.connection
            sql = insert + ", ".join([f"({', '.join([mark] * 4)})"] * width)
            began = time.perf_counter()
            with transaction.atomic():
                if width == 1:
                    to.executemany(sql, rows)
                else:
                    for start in range(0, len(rows), width):
                        part = rows[start : start + width]
                        text = (
                            sql
                            if len(part) == width
                            else insert + ", ".join([f"({', '.join([mark] * 4)})"] * len(part))
                        )
                        to.execute(text, [value for row in part for value in row])
            print(f"{name}: {time.perf_counter() - began:.2f} s for {len(rows):,} rows")


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
