"""The demo household's week: own jobs, own times, what is put off."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from conservation.this_week import actions, assess, queries
from conservation.this_week.models import OwnJob, PutOff, Work


def add_week(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record the week; what is there already stays as it is."""
    today = timezone.localdate()
    for row in household.get("own_job", ()):
        if not OwnJob.objects.filter(words=row["words"]).exists():
            values = {name: row[name] for name in ("words", "minutes", "matters", "first", "tier") if name in row}
            values |= {"repeat": row.get("repeat", ""), "every": row.get("every", 1), "from_done": "from_done" in row}
            due = today + timedelta(days=row["due_in"]) if "due_in" in row else None
            actions.save_own(keeper, None, {**values, "due": due})
    for row in household.get("took", ()):
        day = today - timedelta(days=row["days_ago"])
        if not Work.objects.filter(sort=row["sort"], done_on=day).exists():
            expected = assess.minutes_of(row["sort"]) or row["minutes"]
            actions.note_time(keeper, row["sort"], row["words"], expected, day, row["minutes"])
    found = queries.jobs(keeper)
    lines = assess.lines_of(found, queries.kept(found), today)
    for row in household.get("put_off", ()):
        until = today + timedelta(days=row["days"])
        line = next((each for each in lines if _is_meant(each, row)), None)
        if line is not None and not PutOff.objects.filter(key=line.key).exists():
            actions.put_off(keeper, line, until, row["reason"])


def _is_meant(line: assess.Line, row: Mapping[str, Any]) -> bool:
    return bool(line.job.words == row["own"] if "own" in row else line.job.sort == row["sort"])
