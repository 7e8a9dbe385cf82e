"""The search index: one entry for every record that can be found, beside a full-text table of the same row ids.

The full-text table is ``archive_searchtext`` (FTS5), made in a migration. What stands in it is folded text, in five
columns: ``title``, ``names`` and ``body`` may be found by whoever may see the record; ``relatives`` and ``keeper`` hold
what only these may find it by, such as the name of a private person on a thing that is open to all.

An entry's id carries its subject and its level above the record's own id, so that one subject, as far as one reader may
see it, is one range of ids (`first_id`). Both tables can be emptied and built anew from the records at any time.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

# The recipe by which entries are made. A change of it has every archive's index made anew.
RECIPE = 2

# Order of the subjects in ids; never reorder without a new recipe.
SUBJECTS = ("things", "people", "places", "stories", "boxes", "lots", "groups")
KEEPER, RELATIVES, ALL = 0, 1, 2
_BITS = 40
RECORD_MASK = (1 << _BITS) - 1


def first_id(subject: str, level: int) -> int:
    """Return the id below all entries of a subject at a level (0 keeper, 1 relatives, 2 all) and above those before."""
    return ((SUBJECTS.index(subject) + 1) * 4 + level) << _BITS


def entry_id(subject: str, level: int, record_id: int) -> int:
    """Return the id of a record's entry."""
    return first_id(subject, level) + record_id


def subject_of(entry: int) -> tuple[str, int]:
    """Return the subject and the record's id of an entry's id."""
    return SUBJECTS[(entry >> _BITS) // 4 - 1], entry & RECORD_MASK


class SearchEntry(models.Model):
    """A record in the index. It has no history: it is made from records that have one."""

    id = models.BigIntegerField(primary_key=True)
    subject = models.CharField(max_length=12)
    record_id = models.BigIntegerField()
    title = models.CharField(max_length=600, db_index=True)  # folded, for exact and first-letters hits
    # Who may find other records by this one's name: 0 the keeper alone, 1 relatives, 2 all.
    name_level = models.PositiveSmallIntegerField(default=KEEPER)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["subject", "record_id"], name="a_record_once_in_the_index")
        ]


class SearchIndex(models.Model):
    """The state of the index: by which recipe it was made, and whether every record is in it. One row, with id 1."""

    recipe = models.PositiveIntegerField()
    complete = models.BooleanField(default=False)
