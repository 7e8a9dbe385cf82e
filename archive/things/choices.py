"""What can be chosen in the fields of a thing."""

from __future__ import annotations

from django.db import models


class Use(models.TextChoices):
    """How often a thing is taken in the hand."""

    RARE = "rare", "rarely"
    MONTHLY = "monthly", "about once a month"
    WEEKLY = "weekly", "about once a week"


class FilmBase(models.TextChoices):
    """What a film is made of, where somebody has found out."""

    NITRATE = "nitrate", "nitrate"
    ACETATE = "acetate", "acetate (safety film)"
    POLYESTER = "polyester", "polyester"


class StripLevel(models.TextChoices):
    """Reading of an acid-detection strip."""

    LEVEL_0 = "0", "0 (no change)"
    LEVEL_1 = "1", "1"
    LEVEL_15 = "1.5", "1.5"
    LEVEL_2 = "2", "2"
    LEVEL_3 = "3", "3 (critical)"


class Standing(models.TextChoices):
    """Where a thing stands with the family: nothing leaves without a standing and a reason."""

    KEPT = "kept", "kept"
    UNDECIDED = "undecided", "undecided"
    PASSED_ON = "passed on", "passed on"
    LET_GO = "let go", "let go"
    RETURNED = "returned", "returned"
    LOST = "lost", "lost"


class Coming(models.TextChoices):
    """How a thing came to the household."""

    INHERITED = "inherited", "inherited"
    GIFT = "gift", "a gift"
    BOUGHT = "bought", "bought"
    FOUND = "found", "found"
    MADE_HERE = "made-here", "made in the family"
    BORROWED = "borrowed", "on loan to us"
