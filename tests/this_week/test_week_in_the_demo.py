"""The demo household has a week: all four tiers, a job put off, own jobs that come back, and own times."""

from __future__ import annotations

from typing import Any

import pytest

from conservation.this_week.models import OwnJob, PutOff, Work
from tests.this_week.cast import lines, own_job, this_week

pytestmark = pytest.mark.django_db


def test_the_demo_has_a_week_once(keeper: Any, make_thing: Any) -> None:
    from archive import extend
    from archive.demo import read_household

    household = read_household()
    for row in household["thing"]:
        make_thing(row["title"], kind_code=row["kind"], states=row.get("states", []))
    own_job(keeper, "Dry the carton", tier=2)
    extension = next(each for each in extend.extensions() if each.subject == "this_week")
    assert extension.demo is not None
    for _ in range(2):
        extension.demo(household, keeper, lambda name, seed, title: None)
    week = this_week(keeper)
    assert {line.job.tier for line in lines(keeper)} == {1, 2, 3, 4} and len(week.pressing) >= 2
    assert [line.job.tier for line in week.later] == [4]
    assert OwnJob.objects.filter(repeat="month").count() == OwnJob.objects.filter(from_done=True).count() == 1
    assert OwnJob.objects.count() == len(household["own_job"]) + 1
    assert PutOff.objects.filter(reason__contains="away").count() == 1
    assert Work.objects.count() == len(household["took"])
    learnt = [line for line in lines(keeper) if line.job.sort == "housing.find-kind"]
    assert learnt and all(line.learnt.times == 2 and line.minutes > line.expected for line in learnt)
