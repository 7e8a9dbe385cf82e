"""Look-alikes in the demo: its drawings repeat themselves, so that all but the one that means something are settled."""

from __future__ import annotations

from typing import Any

# The story shows the very photograph that the thing is; this question stays open for whoever looks at the demo.
_LEFT_OPEN = {"The family before the ferry house", "The boy on the right may be a Haken"}


def settle_likenesses(keeper: Any) -> None:
    """Keep both of every pair that looks alike only because one hand drew them."""
    from archive.access.changes import changing
    from archive.pictures.actions import keep_both
    from archive.pictures.models import Likeness

    with changing(keeper, "pictures.keep_both"):
        for pair in Likeness.objects.filter(settled_at__isnull=True):
            if {pair.picture.owner.title, pair.other.owner.title} != _LEFT_OPEN:
                keep_both(keeper, pair)
