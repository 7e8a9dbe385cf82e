"""Advice for one thing and flags for a whole archive, against a bare loop over the same rows, in the same run.

python tests/bench/advice/advice.py [THINGS]      (50,000 unless said otherwise)
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
COUNT = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
AT_ONCE = 5_000  # SQLite binds at most so many values as a list of ids


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name in ("media", "derived", "incoming", "snapshots", "exports", "logs"):
            (Path(folder) / name).mkdir()
        os.environ.update(KISTBOOK_HOME=folder, DJANGO_SETTINGS_MODULE="archive.settings")
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        from archive.things.models import Thing
        from conservation.housing.assess import advise
        from conservation.housing.extension import flags
        from tests.bench.catalogue.household import fill

        fill(COUNT)
        ids = list(Thing.objects.values_list("pk", flat=True))
        began = time.perf_counter()
        marked = 0
        for start in range(0, len(ids), AT_ONCE):  # reading the things included
            marked += len(flags(list(Thing.objects.filter(pk__in=ids[start : start + AT_ONCE])), None))
        whole = time.perf_counter() - began
        began = time.perf_counter()
        for start in range(0, len(ids), AT_ONCE):
            list(Thing.objects.filter(pk__in=ids[start : start + AT_ONCE]).values_list("pk", "kind_code", "states"))
        bare = time.perf_counter() - began
        print(
            f"flags of {COUNT:,} things: {whole:.2f} s (aim 10 for 50,000), {marked:,} marked; "
            f"reading the rows bare {bare:.2f} s, ratio {whole / bare:.1f}"
        )
        things = list(Thing.objects.order_by("pk")[:: max(1, COUNT // 500)][:500])
        for thing in things[:20]:
            advise(thing, "metric")
        times = []
        for thing in things:
            began = time.perf_counter()
            advise(thing, "metric")
            times.append((time.perf_counter() - began) * 1000)
        times.sort()
        middle, late = times[len(times) // 2], times[int(len(times) * 0.95)]
        print(f"advice for one thing: {middle:.2f} ms, 95th {late:.2f} ms (aim 5)")


if __name__ == "__main__":
    main()
