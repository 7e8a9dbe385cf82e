"""What the two benches of many things share: an archive in a data folder of its own, and a keeper’s client."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
RUNS = 3


def archive_with(things: int) -> tuple[Any, Any]:
    """Build an archive and return its keeper and a client that is signed in as the keeper."""
    folder = Path(tempfile.mkdtemp())
    for name in ("media", "derived", "incoming", "snapshots", "exports", "logs"):
        (folder / name).mkdir()
    os.environ.update(KISTBOOK_HOME=str(folder), DJANGO_SETTINGS_MODULE="archive.settings")
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client
    from django.test.utils import setup_test_environment

    setup_test_environment()
    call_command("migrate", verbosity=0)
    from archive.access.actions import make_account
    from archive.preferences.actions import begin_with
    from tests.bench.catalogue.household import fill

    begin_with({"home_name": "Bench", "zone": "Europe/Berlin"})
    keeper = make_account("keeper", "Keeper", "three words in row", "keeper")
    began = time.perf_counter()
    fill(things)
    print(f"{things:,} things built in {time.perf_counter() - began:.0f} s", flush=True)
    client = Client(REMOTE_ADDR="192.168.7.7")
    client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
    return keeper, client


def timed(words: str, aim: float, work: Callable[[], Any], runs: int = 1) -> Any:
    """Do some work, print the best and the worst of its runs in seconds of the clock, and its processor seconds."""
    clocks, processor, answer = [], [], None
    for _ in range(runs):
        began, busy = time.perf_counter(), time.process_time()
        answer = work()
        clocks.append(time.perf_counter() - began)
        processor.append(time.process_time() - busy)
    over = "*" if min(clocks) > aim else " "
    print(f"{words:44}{min(clocks):>8.2f}{over}{max(clocks):>8.2f}{min(processor):>11.2f}{aim:>7g}", flush=True)
    return answer


def heading() -> None:
    """Print the heading of the figures."""
    print(f"{'seconds; * is over its aim':44}{'best':>8} {'worst':>8}{'processor':>11}{'aim':>7}", flush=True)
