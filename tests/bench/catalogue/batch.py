"""Changing 500 things at once, and back again.

python tests/bench/catalogue/batch.py [THINGS]      (things in the archive; 50,000 unless said otherwise)
"""

from __future__ import annotations

import sys

from many import archive_with, heading, timed

BATCH = "/entry/batch/"


def main() -> None:
    _, client = archive_with(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
    from archive.access.models import ChangeSet
    from archive.boxes.models import Box
    from archive.things.models import Thing, ThingPerson

    box = Box.objects.filter(level="box").order_by("pk")[3]
    client.get(BATCH)
    heading()
    for how_many, apply_aim, undo_aim in ((500, 3, 5), (2_000, 12, 20)):
        chosen = " ".join(
            Thing.objects.filter(standing="kept").order_by("pk").values_list("public_id", flat=True)[:how_many]
        )
        body = {
            "chosen": chosen, "kind": "quilt", "made_text": "about 1930", "access": "keeper", "box": box.number,
            "add_person": "Somebody New", "add_person_role": "made", "add_state": "torn", "add_group": "Spring",
        }  # fmt: skip
        timed(f"{how_many} things chosen", 1, lambda c=chosen: client.post(BATCH, {"chosen": c, "do": "choose"}))
        timed(f"{how_many} things looked at", 2, lambda b=body: client.post(BATCH, {**b, "do": "preview"}))
        before = ThingPerson.objects.count()
        answer = timed(f"{how_many} things changed", apply_aim, lambda b=body: client.post(BATCH, {**b, "do": "apply"}))
        assert answer.status_code == 302 and ThingPerson.objects.count() == before + how_many
        change_set = ChangeSet.objects.get(verb="entry.batch", undone_by=None)
        timed(f"{how_many} things changed back", undo_aim, lambda c=change_set: client.post(f"/undo/{c.public_id}/"))
        assert ThingPerson.objects.count() == before


if __name__ == "__main__":
    main()
