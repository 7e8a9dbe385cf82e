"""The catalogue's pages at two sizes: queries, server and database milliseconds, and the ratio to rendering alone.

    python tests/bench/catalogue/pages.py [THINGS]      (50,000 unless said otherwise; a second archive has 500)

Each page is asked for by the keeper through Django's own client, so that everything between the door and the bytes
counts. Database time is measured round every execute and fetch. The baseline of the ratio is the same template
rendered once more from the objects that the request has loaded, in the same run; that it asks the database nothing is
checked.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
RUNS, CHANGED_RUNS = 25, 5
MS_AIM, SQL_AIM, QUERIES_AIM, RATIO_AIM, GROWTH_AIM = 60, 10, 15, 3, 1.5


class Watch:
    """Counts queries and adds up the time spent in the database, fetching included."""

    def __init__(self) -> None:
        self.queries, self.seconds = 0, 0.0

    def execute(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        began = time.perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            self.seconds += time.perf_counter() - began
            self.queries += not sql.startswith(("BEGIN", "SAVEPOINT", "RELEASE", "COMMIT"))

    def watch_fetches(self) -> None:
        """SQLite does most of its work while rows are fetched, which no execute wrapper sees."""
        from django.db.backends.utils import CursorWrapper

        plain = CursorWrapper.__getattr__
        watch = self

        def timed_attribute(cursor: Any, name: str) -> Any:
            found = plain(cursor, name)
            if name not in ("fetchone", "fetchmany", "fetchall"):
                return found

            def timed(*args: Any) -> Any:
                began = time.perf_counter()
                try:
                    return found(*args)
                finally:
                    watch.seconds += time.perf_counter() - began

            return timed

        CursorWrapper.__getattr__ = timed_attribute  # type: ignore[method-assign]


def addresses() -> dict[str, str]:
    """The pages measured: the middle of the archive, so that neither the first nor the last row is special."""
    from archive.boxes.models import Box
    from archive.people.models import Person
    from archive.things.models import Thing

    middle = Thing.objects.count() // 2
    thing = Thing.objects.order_by("pk")[middle]
    person = Person.objects.order_by("pk")[Person.objects.count() // 2]
    boxes = Box.objects.filter(level="box").order_by("pk")
    box, house = boxes[boxes.count() // 2], Box.objects.get(level="home")
    story = thing.title.split()[-2].lower()
    typo = story[:2] + story[3:] if len(story) > 4 else story + "x"
    searches = [
        thing.title, story, typo, "letter", "the", thing.number, "1930s", "summer 1931 wedding", "quilt harv", '" OR *',
    ]  # fmt: skip
    from urllib.parse import urlencode

    return {
        "thing list": "/things/",
        "thing list, page 40": "/things/?" + urlencode({"page": min(40, middle // 48 or 1)}),
        "thing page": thing.get_absolute_url(),
        "person page": person.get_absolute_url(),
        "box page": box.get_absolute_url(),
        "box page, the house": house.get_absolute_url(),
        "storage tree": "/boxes/",
        "time line": "/search/timeline/?year=1944",
        **{f"search: {each}": "/search/?" + urlencode({"q": each}) for each in searches},
    }


def measure(client: Any, address: str, watch: Watch) -> dict[str, float]:
    """Ask for a page many times; return its figures."""
    from django.db import connection
    from django.test.signals import template_rendered

    from archive.search import vocabulary

    times, cpu, sql, queries, changed = [], [], [], 0, []
    rendered: list[Any] = []

    def note(sender: Any, template: Any, context: Any, **kwargs: Any) -> None:
        if not rendered:
            rendered.append((template, context))

    def ask() -> None:
        answer = client.get(address)
        if answer.status_code in (301, 302):
            return
        assert answer.status_code == 200, (address, answer.status_code)

    began = time.perf_counter()
    ask()
    first = (time.perf_counter() - began) * 1000
    for _ in range(CHANGED_RUNS):
        vocabulary.note_change()  # what is kept until something changes is read anew
        began = time.perf_counter()
        ask()
        changed.append((time.perf_counter() - began) * 1000)
    for _ in range(RUNS):
        watch.queries, watch.seconds = 0, 0.0
        began, worked = time.perf_counter(), time.process_time()
        with connection.execute_wrapper(watch.execute):
            ask()
        times.append((time.perf_counter() - began) * 1000)
        cpu.append((time.process_time() - worked) * 1000)
        sql.append(watch.seconds * 1000)
        queries = max(queries, watch.queries)
    template_rendered.connect(note)
    ask()
    template_rendered.disconnect(note)
    bare = _bare(rendered, watch) if rendered else float("nan")
    for each in (times, cpu, sql):
        each.sort()
    last = int(RUNS * 0.95)
    return {
        "queries": queries, "p50": times[RUNS // 2], "p95": times[last], "sql": sql[RUNS // 2], "sql95": sql[last],
        "bare": bare, "cpu95": cpu[last], "changed": max(changed), "first": first,
    }  # fmt: skip


def _bare(rendered: list[Any], watch: Watch) -> float:
    """Render the page's template again from what is in memory; the milliseconds of the middle run."""
    from django.db import connection

    from archive.once import one_page
    from archive.preferences.queries import read_once

    with one_page(), read_once():  # as within a request
        return _bare_milliseconds(*rendered[0], watch, connection)


def _bare_milliseconds(template: Any, context: Any, watch: Watch, connection: Any) -> float:
    template.render(context)  # what the first rendering left lazy is loaded now
    times = []
    for _ in range(RUNS):
        watch.queries = 0
        began = time.perf_counter()
        with connection.execute_wrapper(watch.execute):
            template.render(context)
        times.append((time.perf_counter() - began) * 1000)
        assert watch.queries == 0, f"rendering from memory asked the database {watch.queries} times"
    return sorted(times)[RUNS // 2]


def run_one(things: int) -> None:
    """Build an archive of one size in this process's data folder and print a row of figures for each page."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)
    from archive.access.actions import make_account
    from archive.keeping.serving import spare_the_collector
    from archive.preferences.actions import begin_with
    from tests.bench.catalogue.household import fill

    begin_with({"home_name": "Bench", "zone": "Europe/Berlin"})
    keeper = make_account("keeper", "Keeper", "three words in row", "keeper")
    began = time.perf_counter()
    fill(things)
    print(f"# built {things:,} things in {time.perf_counter() - began:.0f} s", file=sys.stderr)
    client = Client(REMOTE_ADDR="192.168.7.7")
    client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
    watch = Watch()
    watch.watch_fetches()
    spare_the_collector()  # as when it is served
    figures = ("queries", "p50", "p95", "sql", "sql95", "bare", "cpu95", "changed", "first")
    for name, address in addresses().items():
        found = measure(client, address, watch)
        print("\t".join([name, *(f"{found[key]:.2f}" for key in figures)]))


def in_child(things: int) -> dict[str, list[float]]:
    """Measure one size in a fresh process with a data folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("media", "derived", "incoming", "snapshots", "exports", "logs"):
            (Path(folder) / name).mkdir()
        run = subprocess.run(
            [sys.executable, __file__, "--one", str(things)], stdout=subprocess.PIPE, text=True, check=True,
            env={**os.environ, "KISTBOOK_HOME": folder, "DJANGO_SETTINGS_MODULE": "archive.settings"},
        )  # fmt: skip
    rows = [line.split("\t") for line in run.stdout.splitlines()]
    return {name: [float(each) for each in figures] for name, *figures in rows}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("things", nargs="?", type=int, default=50_000)
    parser.add_argument("--one", type=int)
    chosen = parser.parse_args()
    if chosen.one:
        run_one(chosen.one)
        return
    small, large = in_child(500), in_child(chosen.things)
    print(f"{chosen.things:,} things against 500; milliseconds; * is over its aim")
    print(
        f"{'page':34}{'queries':>8}{'p50':>8}{'p95':>8}{'SQL p50':>9}{'SQL p95':>9}{'ratio':>7}{'growth':>8}"
        f"{'CPU p95':>9}{'changed':>9}{'first':>7}"
    )

    def mark(value: float, aim: float, digits: int = 1) -> str:
        return f"{value:.{digits}f}{'*' if value > aim else ' '}"

    # A search page differs by what it is searched for, so its row in the small archive is the one in the same place.
    for (name, row), before in zip(large.items(), small.values(), strict=True):
        queries, p50, p95, sql, sql95, bare, cpu95, changed, first = row
        growth, ratio = mark(p95 / before[2], GROWTH_AIM, 2), mark(p50 / bare if bare == bare else 0, RATIO_AIM)
        print(
            f"{name[:33]:34}{mark(queries, QUERIES_AIM, 0):>8}{p50:>8.1f}{mark(p95, MS_AIM):>8}{mark(sql, SQL_AIM):>9}"
            f"{sql95:>9.1f}{ratio:>7}{growth:>8}{cpu95:>9.1f}{changed:>9.1f}{first:>7.0f}"
        )


if __name__ == "__main__":
    main()
