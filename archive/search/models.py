"""The search index: one entry for every record that can be found, beside a full-text table of the same row ids.

The full-text table is ``archive_searchtext`` (FTS5; columns title, names, body), made in a migration. What stands in
it is folded text. Both can be emptied and built anew from the records at any time.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class SearchEntry(models.Model):
    """A record in the index. It has no history: it is made from records that have one."""

    subject = models.CharField(max_length=12)  # things, people, places, stories, boxes, lots, groups
    record_id = models.BigIntegerField()
    title = models.CharField(max_length=600)  # folded, for exact and first-letters hits

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["subject", "record_id"], name="a_record_once_in_the_index")
        ]
