"""Pasting rows: to preview, to confirm, and back again.

python tests/bench/catalogue/paste.py [THINGS]      (things in the archive before; 50,000 unless said otherwise)
"""

from __future__ import annotations

import sys

from many import RUNS, archive_with, heading, timed


def main() -> None:
    _, client = archive_with(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
    from archive.access.models import ChangeSet
    from archive.things.models import Thing
    from tests.moving.rows import as_text, rows

    columns = ("title", "kind", "made", "people", "width", "weight", "box", "note")
    chosen = {f"col-{n}": code for n, code in enumerate(columns)}
    client.get("/moving/paste/")
    heading()
    for how_many, look_aim, save_aim in ((1_000, 2, 15), (3_000, 6, 15)):
        text = as_text(rows(how_many))

        def look(text: str = text, how_many: int = how_many) -> None:
            answer = client.post("/moving/paste/", {"text": text, "do": "read"})
            assert f"Record {how_many} things" in answer.content.decode()

        timed(f"{how_many:,} rows to preview", look_aim, look, RUNS)
        before = Thing.objects.count()
        body = {"text": text, "mapped": "1", "headed": "1", "do": "save", **chosen}
        answer = timed(f"{how_many:,} rows confirmed", save_aim, lambda body=body: client.post("/moving/paste/", body))
        assert answer.status_code == 302 and Thing.objects.count() == before + how_many
        change_set = ChangeSet.objects.get(verb="moving.paste", undone_by=None)
        timed(f"{how_many:,} rows taken back", 15, lambda c=change_set: client.post(f"/undo/{c.public_id}/"))
        assert Thing.objects.count() == before


if __name__ == "__main__":
    main()
