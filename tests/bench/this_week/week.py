"""This week with many things: milliseconds, queries, and the ratio to rendering the same page from memory.

    python tests/bench/this_week/week.py [THINGS]      (50,000 unless said otherwise; a second archive has 500)

The archive is that of the bench of the catalogue (of its kinds one in 117 is dangerous, one not known, a third of the
things is damaged), and beside it things that matter, housing decided and not done, first looks, loans, people not
known, jobs of the keeper's own, times and jobs put off. Each subject's jobs are timed alone, to see a slow one.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
MS_AIM = 150
PAGES = ("/", "/?minutes=60", "/?minutes=600", "/this_week/all/", "/this_week/month/")


def fill_more(seed: int = 5) -> None:
    """Add what makes jobs; a share of the things, whatever the size."""
    from django.utils import timezone

    from archive.boxes.models import Box
    from archive.people.models import Person
    from archive.sorting.models import FirstLook
    from archive.sorting.texts import questions
    from archive.things.models import Loan, Thing
    from conservation.housing.models import HousingDecision
    from conservation.this_week.models import OwnJob, PutOff, Work
    from tests.bench.catalogue.household import _write

    rng, today = random.Random(seed), timezone.localdate()
    things = list(Thing.objects.order_by("pk"))
    for thing in things:
        thing.significance = rng.choice([None, None, None, 1, 2, 3, 4, 5])
        thing.open_question = "Who is it?" if rng.random() < 0.005 else ""
    Thing.objects.bulk_update(things, ["significance", "open_question"], batch_size=2_000)
    decided = rng.sample(things, len(things) // 4)
    days = {thing.pk: today - timedelta(days=rng.randint(1, 900)) for thing in decided}
    _write(
        [
            HousingDecision(
                thing=thing, form="flat-box", decided_on=days[thing.pk],
                done_on=today if rng.random() < 0.8 else None,
            )
            for thing in decided
        ]
    )  # fmt: skip
    lent = rng.sample(things, max(len(things) // 500, 2))
    since = today - timedelta(days=90)
    due = [today - timedelta(days=n % 60 - 30) for n in range(len(lent))]
    _write([Loan(thing=each, to_text="A cousin", since=since, until=day) for each, day in zip(lent, due, strict=True)])
    codes = sorted(questions())
    boxes = list(Box.objects.filter(level="box"))
    seen = rng.sample(boxes, max(len(boxes) // 5, 1))
    looks = [FirstLook(box=box, could_tell="Ragna" if n % 9 == 0 else "") for n, box in enumerate(seen)]
    for look in looks:
        look.found, look.things_done = rng.sample(codes, rng.randint(0, 2)), rng.random() < 0.5
    _write(looks)
    for person in Person.objects.order_by("?")[: Person.objects.count() // 20]:
        Person.objects.filter(pk=person.pk).update(unidentified=True)
    sorts = ("housing.house", "housing.find-kind", "stories.read")
    for n in range(40):
        OwnJob(
            words=f"Own job {n}", minutes=rng.choice([5, 10, 15, 30, 60]), matters=rng.randint(1, 5),
            due=today + timedelta(days=rng.randint(-20, 60)), repeat=rng.choice(["", "week", "month"]),
        ).save()  # fmt: skip
    for n in range(600):
        taken, day = rng.randint(3, 60), today - timedelta(days=n)
        Work(key=f"x/{n}", sort=sorts[n % 3], words="Done", expected=15, minutes=taken, done_on=day).save()
    for n in range(30):
        PutOff(key=f"y/{n}", words="Off", until=today + timedelta(days=n)).save()


def run_one(things: int) -> None:
    """Build an archive of one size in this process's data folder; print a row of figures for each page and subject."""
    import django

    from tests.bench.catalogue.pages import Watch, measure

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)
    from archive import extend
    from archive.access.actions import make_account
    from archive.access.changes import changing
    from archive.preferences.actions import begin_with
    from tests.bench.catalogue.household import fill

    begin_with({"home_name": "Bench", "zone": "Europe/Berlin"})
    keeper = make_account("keeper", "Keeper", "three words in row", "keeper")
    began = time.perf_counter()
    fill(things)
    with changing(keeper, "bench"):
        fill_more()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    print(f"# built {things:,} things in {time.perf_counter() - began:.0f} s", file=sys.stderr)
    client = Client(REMOTE_ADDR="192.168.7.7")
    client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
    watch = Watch()
    watch.watch_fetches()
    for address in PAGES:
        found = measure(client, address, watch)
        print("\t".join(["page", address, *(f"{found[key]:.2f}" for key in ("queries", "p50", "p95", "sql", "bare"))]))
    for each in extend.extensions():
        if each.jobs:
            list(each.jobs(keeper))
            times = []
            for _ in range(9):
                watch.queries, began = 0, time.perf_counter()
                with connection.execute_wrapper(watch.execute):
                    found_jobs = list(each.jobs(keeper))
                times.append((time.perf_counter() - began) * 1000)
            row = [watch.queries, sorted(times)[4], max(times), len(found_jobs), 0.0]
            print("\t".join(["jobs", each.subject, *(f"{figure:.2f}" for figure in row)]))


def in_child(things: int) -> dict[tuple[str, str], list[float]]:
    """Measure one size in a fresh process with a data folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("media", "derived", "incoming", "snapshots", "exports", "logs"):
            (Path(folder) / name).mkdir()
        run = subprocess.run(
            [sys.executable, __file__, "--one", str(things)], stdout=subprocess.PIPE, text=True, check=True,
            env={**os.environ, "KISTBOOK_HOME": folder, "DJANGO_SETTINGS_MODULE": "archive.settings"},
        )  # fmt: skip
    rows: Any = [line.split("\t") for line in run.stdout.splitlines()]
    return {(what, name): [float(each) for each in figures] for what, name, *figures in rows}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("things", nargs="?", type=int, default=50_000)
    parser.add_argument("--one", type=int)
    chosen = parser.parse_args()
    if chosen.one:
        run_one(chosen.one)
        return
    small, large = in_child(500), in_child(chosen.things)
    print(
        f"{chosen.things:,} things against 500; milliseconds; * is over {MS_AIM} ms, ! asks more queries than with 500"
    )
    print(f"{'page':24}{'queries':>9}{'p50':>8}{'p95':>9}{'SQL':>8}{'bare':>8}{'ratio':>8}{'p50 of 500':>12}")
    for (what, name), (queries, p50, p95, sql, bare) in large.items():
        before = small.get((what, name), [0.0] * 5)
        mark = "!" if queries > before[0] else " "
        if what == "page":
            over = "*" if p95 > MS_AIM else " "
            figures = f"{queries:>8.0f}{mark}{p50:>8.1f}{p95:>8.1f}{over}{sql:>8.1f}{bare:>8.1f}{p50 / bare:>8.2f}"
            print(f"{name:24}{figures}{before[1]:>12.1f}")
        else:
            print(f"  jobs of {name:14}{queries:>8.0f}{mark}{p50:>8.1f}{p95:>8.1f}  {sql:>4.0f} jobs{before[1]:>27.1f}")


if __name__ == "__main__":
    main()
