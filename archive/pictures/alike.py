"""Pictures that look alike, found among all fingerprints of the archive.

The fingerprints stand in memory: 150,000 of them are two small arrays, and one look through them takes about a
millisecond (numpy, loaded on first use). What came since the last look is read from the history of pictures, where
every new or revived picture has a row.
"""

from __future__ import annotations

import threading
from array import array
from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from archive.pictures.limits import limit
from archive.pictures.models import OWNERS, Picture

if TYPE_CHECKING:
    import numpy as np

_lock = threading.Lock()
_AT_HAND = 60  # looked at for the few that are shown: some were taken off, some do not count


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


def look_alikes(pictures: Sequence[Picture]) -> list[tuple[Picture, Picture, int]]:
    """Return which pictures of the archive some look like: one of them, the other, and the places that differ.

    For each the nearest come first, a few at most. Of the same record only the very same file (and page) counts, since
    a thing is often photographed twice; withdrawn records are left out. However many are asked about, the database is
    asked a constant number of times.
    """
    files: dict[tuple[str, int], list[int]] = defaultdict(list)
    digests = {each.sha256 for each in pictures}
    for key, sha256, page in Picture.objects.filter(sha256__in=digests).values_list("pk", "sha256", "page"):
        files[sha256, page].append(key)
    wanted = {each.pk: int(each.fingerprint, 16) for each in pictures if tells_something(each.fingerprint)}
    near: dict[int, list[tuple[int, int]]] = {}
    with _lock:
        if wanted:
            _prints.bring_up_to_date()
        for own, print_of_it in wanted.items():
            near[own] = _prints.within(print_of_it, limit("alike_bits"))
    away: dict[int, dict[int, int]] = {}
    for each in pictures:
        same = dict.fromkeys(files[each.sha256, each.page][-_AT_HAND:], 0)
        nearest = sorted(near.get(each.pk, ()), key=lambda pair: (pair[1], -pair[0]))[:_AT_HAND]
        away[each.pk] = {**dict(nearest), **same}
        away[each.pk].pop(each.pk, None)
    keys = {key for found in away.values() for key in found}
    others = Picture.objects.filter(pk__in=keys).select_related(*OWNERS).in_bulk() if keys else {}
    found = []
    for each in pictures:
        mine = []
        for key, bits in away[each.pk].items():
            other = others.get(key)  # one that was taken off is no longer there
            if other is None or other.owner.withdrawn_at is not None:
                continue
            same_file = (other.sha256, other.page) == (each.sha256, each.page)
            if same_file or other.owner != each.owner:
                mine.append((each, other, bits, not same_file))
        mine.sort(key=lambda row: (row[2], row[3], -row[1].pk))
        found += [(one, other, bits) for one, other, bits, _ in mine[: limit("alike_shown")]]
    return found
