"""People: names in all their forms, uncertain life dates, parents, partners, and where they appear."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, Self

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.folding import fold

if TYPE_CHECKING:
    from archive.access.models import Account


def presumed_living(today: date, years: int) -> Q:
    """Return the condition under which somebody is taken to be living: no death known, and not born too long ago."""
    day = f"{today.year - years:04d}-{today:%m-%d}"
    return Q(known_dead=False, died_text="") & (Q(born_latest="") | Q(born_latest__gt=day))


class PersonQuerySet(RecordQuerySet):
    """Reads of people: those taken to be living are for signed-in relatives, unless the keeper opens them."""

    def visible_to(self, user: Account | None) -> Self:
        from archive.preferences.queries import preferences

        found = super().visible_to(user)
        if user is None:
            living = presumed_living(timezone.localdate(), preferences().privacy_years)
            found = found.exclude(living & Q(open_though_living=False))
        return found


class Person(Record):
    """Somebody, known or not yet known by name."""

    name = models.CharField("name", max_length=300)
    name_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    sort_name = models.CharField("sorted under", max_length=300, blank=True)
    sort_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    unidentified = models.BooleanField("we do not know who this is yet", default=False)
    born_text = models.CharField("born", max_length=200, blank=True)
    born_edtf = models.CharField("born (as read)", max_length=200, blank=True, editable=False)
    born_earliest = models.CharField("born, earliest", max_length=12, blank=True, editable=False, db_index=True)
    born_latest = models.CharField("born, latest", max_length=12, blank=True, editable=False, db_index=True)
    born_where = models.ForeignKey(
        "archive.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="births", verbose_name="born at"
    )
    died_text = models.CharField("died", max_length=200, blank=True)
    died_edtf = models.CharField("died (as read)", max_length=200, blank=True, editable=False)
    died_earliest = models.CharField("died, earliest", max_length=12, blank=True, editable=False)
    died_latest = models.CharField("died, latest", max_length=12, blank=True, editable=False)
    died_where = models.ForeignKey(
        "archive.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="deaths", verbose_name="died at"
    )
    known_dead = models.BooleanField("has died, though the date is not known", default=False)
    open_though_living = models.BooleanField("may be seen by visitors though perhaps living", default=False)
    note = models.TextField("what you know", blank=True, max_length=20_000)

    history = history()
    objects = PersonQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "people"
        ordering = ("sort_folded", "pk")

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.name_folded = fold(self.name)
        self.sort_folded = fold(self.sort_name or self.name)
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("people:page", args=[self.public_id])

    @property
    def years(self) -> str:
        """Return the life years as one says them, such as ``1902–1971``, ``born 1950`` or nothing."""
        born, died = self.born_text.strip(), self.died_text.strip()
        if born and died:
            return f"{born}–{died}" if len(born) <= 6 and len(died) <= 6 else f"{born} – {died}"
        if born:
            return f"born {born}"
        return f"died {died}" if died else ""

    @property
    def label(self) -> str:
        """Return the name with life years, to tell people of one name apart."""
        return f"{self.name} ({self.years})" if self.years else self.name

    def is_presumed_living(self, today: date, privacy_years: int) -> bool:
        """Say whether this person is taken to be living on a day (same rule as `presumed_living`)."""
        if self.known_dead or self.died_text:
            return False
        return not self.born_latest or self.born_latest > f"{today.year - privacy_years:04d}-{today:%m-%d}"


class PersonName(Attached):
    """Another form of somebody's name: at birth, in marriage, as the children said, as a clerk wrote it."""

    class Sort(models.TextChoices):
        BIRTH = "birth", "name at birth"
        MARRIED = "married", "name in marriage"
        CALLED = "called", "what the family said"
        CHANGED = "changed", "changed or taken name"
        SPELT = "spelt", "another spelling"

    BELONGS_TO: ClassVar[str] = "person"

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="names")
    name = models.CharField("name", max_length=300)
    name_folded = models.CharField(max_length=600, blank=True, editable=False, db_index=True)
    sort = models.CharField("what sort of name", max_length=10, choices=Sort.choices, default=Sort.CALLED)
    when = models.CharField("when it was used", max_length=200, blank=True)

    history = history()

    class Meta:
        verbose_name = "name"
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name

    def said_already(self, others: models.QuerySet[Any]) -> Any:
        """Return a name of the same person that is spelt the same."""
        return others.filter(person=self.person_id, name=self.name).first()

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.name_folded = fold(self.name)
        super().save(*args, **kwargs)


class Parentage(Attached):
    """One person is a parent of another."""

    class Sort(models.TextChoices):
        BIRTH = "birth", "by birth"
        ADOPTION = "adoption", "by adoption"
        FOSTER = "foster", "foster parent"
        STEP = "step", "step-parent"

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("child", "parent")

    child = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="parent_rows")
    parent = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="child_rows")
    sort = models.CharField("how", max_length=10, choices=Sort.choices, default=Sort.BIRTH)

    history = history()

    class Meta:
        verbose_name = "parent"
        constraints = [
            models.UniqueConstraint(fields=["child", "parent"], name="a_parent_once"),
            models.CheckConstraint(condition=~Q(child=models.F("parent")), name="nobody_is_their_own_parent"),
        ]

    def __str__(self) -> str:
        return f"{self.parent} is a parent of {self.child}"


class Partnership(Attached):
    """Two people were partners, for a time or for life."""

    class Sort(models.TextChoices):
        MARRIED = "married", "married"
        PARTNERS = "partners", "lived together"

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("one", "other")

    one = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="partner_rows_one")
    other = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="partner_rows_other")
    sort = models.CharField("how", max_length=10, choices=Sort.choices, default=Sort.MARRIED)
    since_text = models.CharField("since", max_length=200, blank=True)
    since_edtf = models.CharField("since (as read)", max_length=200, blank=True, editable=False)
    since_earliest = models.CharField(max_length=12, blank=True, editable=False)
    since_latest = models.CharField(max_length=12, blank=True, editable=False)
    until_text = models.CharField("until", max_length=200, blank=True)

    history = history()

    class Meta:
        verbose_name = "partner"
        constraints = [
            models.CheckConstraint(condition=~Q(one=models.F("other")), name="nobody_is_their_own_partner"),
        ]

    def __str__(self) -> str:
        return f"{self.one} and {self.other}"

    def said_already(self, others: models.QuerySet[Any]) -> Any:
        """Return the row that ties the same two, either way round, unless each names another beginning."""
        pair = Q(one=self.one_id, other=self.other_id) | Q(one=self.other_id, other=self.one_id)
        since = Q() if not self.since_text else Q(since_text__in=["", self.since_text])
        return others.filter(pair & since).first()


register_subject(Subject("people", Person, "person", "people:page"))
