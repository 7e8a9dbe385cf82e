"""Pictures that look alike, found among all fingerprints of the archive.

The fingerprints stand in memory: 150,000 of them are two small arrays, and one look through them takes about a
millisecond (numpy, loaded on first use). What came since the last look is read from the history of pictures, where
every new or revived picture has a row.
"""

from __future__ import annotations

import threading
from array import array
from typing import TYPE_CHECKING, Any

from archive.pictures.limits import limit
from archive.pictures.models import Picture

if TYPE_CHECKING:
    import numpy as np

_lock = threading.Lock()


class _Prints:
    """Primary keys and fingerprints of pictures, in the order they came; those taken off stay until read anew."""

    def __init__(self) -> None:
        self.keys, self.prints = array("Q"), array("Q")
        self.newest: tuple[int, Any] | None = None  # the last history row that was read: its key and time

    def bring_up_to_date(self) -> None:
        """Read what is new, or everything where the archive is another one (put back, rolled back)."""
        rows: Any = Picture.history
        known = self.newest is not None and rows.filter(history_id=self.newest[0], history_date=self.newest[1]).exists()
        last = rows.order_by("-history_id").values_list("history_id", "history_date").first()
        if known and self.newest is not None:
            new = rows.filter(history_id__gt=self.newest[0]).exclude(history_type="-")
            self._take(new.order_by("history_id").values_list("id", "fingerprint"))
        else:
            self.keys, self.prints = array("Q"), array("Q")
            self._take(Picture.objects.order_by().values_list("pk", "fingerprint"))
        self.newest = last

    def _take(self, rows: Any) -> None:
        for key, print_of_it in rows.iterator(chunk_size=10_000):
            if print_of_it:
                self.keys.append(key)
                self.prints.append(int(print_of_it, 16))

    def within(self, wanted: int, bits: int) -> list[tuple[int, int]]:
        """Return primary keys and differing places of all pictures at most `bits` places away."""
        import numpy as np

        prints: np.ndarray[Any, Any] = np.frombuffer(self.prints, dtype=np.uint64)
        away = np.bitwise_count(prints ^ np.uint64(wanted))
        return [(self.keys[i], int(away[i])) for i in np.flatnonzero(away <= bits).tolist()]


_prints = _Prints()


def tells_something(print_of_it: str) -> bool:
    """Say whether a fingerprint has enough marks to know a picture by; a blank leaf has none."""
    marks = int(print_of_it or "0", 16).bit_count()
    return limit("alike_least_marks") <= marks <= 64 - limit("alike_least_marks")


def look_alikes(picture: Picture) -> list[tuple[Picture, int]]:
    """Return the pictures of the archive that look like one, the nearest first, each with the places that differ.

    Of the same record only the very same file (and page) counts, since a thing is often photographed twice; withdrawn
    records are left out.
    """
    same_file = Picture.objects.filter(sha256=picture.sha256, page=picture.page).exclude(pk=picture.pk)
    away = dict.fromkeys(same_file.values_list("pk", flat=True)[:50], 0)
    same = set(away)
    if tells_something(picture.fingerprint):
        with _lock:
            _prints.bring_up_to_date()
            for key, bits in _prints.within(int(picture.fingerprint, 16), limit("alike_bits")):
                away.setdefault(key, bits)
    away.pop(picture.pk, None)
    # The nearest, with some to spare for those that were taken off or do not count.
    nearest = sorted(away, key=lambda key: (away[key], key not in same, -key))[:200]
    found = []
    for each in Picture.objects.filter(pk__in=nearest).select_related("thing", "box", "story", "lot"):
        if each.owner.withdrawn_at is None and (each.pk in same or each.owner != picture.owner):
            found.append((each, away[each.pk]))
    return sorted(found, key=lambda pair: (pair[1], pair[0].pk not in same, -pair[0].pk))[: limit("alike_shown")]
