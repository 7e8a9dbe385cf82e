"""The demo household is sorted once, however often its building was begun."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.conftest import jpeg

pytestmark = pytest.mark.django_db


def test_the_demo_is_sorted_once_and_shows_each_part(keeper: Any, make_thing: Any) -> None:
    from archive import extend
    from archive.demo import read_household
    from archive.demo.sorting import add_sorting
    from archive.pictures.actions import take_in
    from archive.sorting.models import FirstLook, Group, GroupThing, Lot
    from archive.sorting.shelf_queries import waiting
    from archive.things.models import Thing

    household = read_household()
    for row in household["thing"]:
        make_thing(row["title"], kind_code=row["kind"])

    def draw(name: str, seed: int, title: str) -> Any:
        taken, _ = take_in([SimpleUploadedFile(f"{name}.jpg", jpeg((64, 48), seed=seed))])
        return taken[0]

    for _ in range(2):
        add_sorting(household, keeper, draw)
    noticed = [set(row.found) for row in FirstLook.objects.order_by("pk")]
    assert len(noticed) == 3 and {"vinegar"} in noticed and any("damp" in each for each in noticed)
    accepted, apart = Lot.objects.order_by("pk")
    assert accepted.accepted_at is not None and apart.quarantine_until is not None and Lot.objects.count() == 2
    titles = [title for row in household["lot"] for title in row["things"]]
    assert Thing.objects.exclude(lot=None).count() == len(titles)
    assert (
        list(accepted.things.order_by("lot_position").values_list("title", flat=True)) == household["lot"][0]["things"]
    )
    assert Group.objects.count() == 2
    assert GroupThing.objects.count() == sum(len(row["things"]) for row in household["group"])
    asked = set(Thing.objects.exclude(open_question="").values_list("title", flat=True))
    assert asked == {row["thing"] for row in household["waiting"]} and len(asked) == 4
    assert set(waiting(keeper).values_list("title", flat=True)) >= asked
    assert any("smells of vinegar" in job.words for job in extend.jobs(keeper))
