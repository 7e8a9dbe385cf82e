"""Things, and the one series of numbers for things, boxes and lots."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from archive.access.records import Attached, Record, RecordQuerySet, history
from archive.access.subjects import Subject, register_subject
from archive.kinds import Kind, State, kind, state
from archive.numbers import number_of
from archive.things.choices import Coming, FilmBase, Standing, StripLevel, Use

if TYPE_CHECKING:
    from archive.access.models import Account

# The choices are part of the tables, though they stand in a file of their own.
__all__ = [
    "Coming", "FilmBase", "Inscription", "IssuedNumber", "Loan", "Piece", "PiecePerson", "Share", "Standing",
    "StripLevel", "Thing", "ThingPerson", "ThingPlace", "ThingQuerySet", "Use",
]  # fmt: skip


class IssuedNumber(models.Model):
    """A serial that was given out. Rows stay for good, so that a number never means two things."""

    serial = models.PositiveIntegerField(primary_key=True)
    subject = models.CharField(max_length=20)


_SIZE = [MinValueValidator(0.1), MaxValueValidator(20_000)]


class ThingQuerySet(RecordQuerySet):
    """Reads of things: what is closed until a day is the keeper's alone until then."""

    def visible_to(self, user: Account | None) -> Self:
        found = super().visible_to(user)
        if getattr(user, "role", None) != "keeper":
            found = found.filter(Q(closed_until__isnull=True) | Q(closed_until__lte=timezone.localdate()))
        return found


class Thing(Record):
    """One catalogued object, or a group kept together."""

    # What is written down for the keeper's use; relatives see neither its value nor that it changed.
    KEEPERS_COLUMNS: ClassVar[tuple[str, ...]] = (
        "standing_why", "gone_how", "gone_agreed", "copy_kept", "significance", "significance_why",
        "rights_maker", "rights_holder", "rights_note", "show_home", "show_link", "show_print",
        "closed_until", "closed_why", "found_where",
    )  # fmt: skip

    serial = models.OneToOneField(
        IssuedNumber, on_delete=models.PROTECT, related_name="thing", editable=False, verbose_name="number"
    )
    title = models.CharField(max_length=300)
    kind_code = models.CharField("kind", max_length=50, default="unknown", db_index=True)
    states = models.JSONField("condition", default=list, blank=True)
    parts = models.JSONField("parts of another material", default=list, blank=True)
    made_text = models.CharField("made", max_length=200, blank=True)
    made_edtf = models.CharField("made (as read)", max_length=200, blank=True, editable=False)
    # ISO days as text: years before 1 and open ends have no date type; text sorts the same way.
    made_earliest = models.CharField("made, earliest", max_length=12, blank=True, editable=False)
    made_latest = models.CharField("made, latest", max_length=12, blank=True, editable=False)
    width_mm = models.FloatField("width (mm)", null=True, blank=True, validators=_SIZE)
    height_mm = models.FloatField("height (mm)", null=True, blank=True, validators=_SIZE)
    depth_mm = models.FloatField("depth (mm)", null=True, blank=True, validators=_SIZE)
    weight_g = models.FloatField(
        "weight (g)", null=True, blank=True, validators=[MinValueValidator(0.01), MaxValueValidator(2_000_000)]
    )
    count = models.PositiveIntegerField(
        "how many pieces", default=1, validators=[MinValueValidator(1), MaxValueValidator(100_000)]
    )
    use = models.CharField("how often it is taken out", max_length=10, choices=Use.choices, default=Use.RARE)
    film_base = models.CharField("film base", max_length=10, choices=FilmBase.choices, blank=True)
    strip_level = models.CharField("strip level", max_length=4, choices=StripLevel.choices, blank=True)
    note = models.TextField("what you know about it", blank=True, max_length=20_000)

    # -- where it is and with what it came
    box = models.ForeignKey(
        "archive.Box",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="things",
        verbose_name="where it is",
    )
    lot = models.ForeignKey(
        "archive.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="things",
        verbose_name="arrived with",
    )  # fmt: skip
    lot_position = models.PositiveIntegerField("place in the first order", null=True, blank=True)
    found_where = models.CharField("where in the lot it lay", max_length=300, blank=True)

    # -- standing and the open question
    standing = models.CharField(max_length=10, choices=Standing.choices, default=Standing.KEPT, db_index=True)
    standing_why = models.CharField("reason for the standing", max_length=300, blank=True)
    standing_on = models.DateField("standing since", null=True, blank=True)
    gone_how = models.CharField("how it went, and to whom", max_length=300, blank=True)
    gone_agreed = models.CharField("who agreed", max_length=300, blank=True)
    copy_kept = models.BooleanField("a copy is kept", null=True, blank=True)
    open_question = models.CharField("what is still open", max_length=300, blank=True)
    significance = models.PositiveSmallIntegerField(
        "how much it matters (1 to 5)",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(5)],
        db_index=True,
    )
    significance_why = models.CharField("why it matters", max_length=1000, blank=True)

    # -- how it came to us, and whose it is
    came_how = models.CharField("how it came to us", max_length=12, choices=Coming.choices, blank=True)
    came_from = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="things_given",
        verbose_name="from whom it came",
    )  # fmt: skip
    came_text = models.CharField("when it came", max_length=200, blank=True)
    came_edtf = models.CharField("when it came (as read)", max_length=200, blank=True, editable=False)
    came_earliest = models.CharField(max_length=12, blank=True, editable=False)
    came_latest = models.CharField(max_length=12, blank=True, editable=False)
    came_note = models.CharField("what is told of how it came", max_length=1000, blank=True)
    borrowed_from = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="things_lent_to_us",
        verbose_name="on loan to us from",
    )  # fmt: skip
    borrowed_until = models.DateField("to be given back by", null=True, blank=True)

    # -- rights. Owning a letter is not owning its copyright.
    rights_maker = models.CharField("who made what is to be seen or read on it", max_length=300, blank=True)
    rights_holder = models.CharField("who holds the rights", max_length=300, blank=True)
    rights_note = models.CharField("what was agreed", max_length=1000, blank=True)
    show_home = models.BooleanField("may be shown at home", default=True)
    show_link = models.BooleanField("may be shown by a link", default=False)
    show_print = models.BooleanField("may be printed in a booklet", default=False)
    closed_until = models.DateField("closed until", null=True, blank=True)
    closed_why = models.CharField("why it is closed", max_length=300, blank=True)

    history = history()
    objects = ThingQuerySet.as_manager()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            # In the order of lists, with all that decides who may see a thing.
            models.Index(
                fields=["-created_at", "-id", "access", "withdrawn_at", "closed_until"], name="things_in_order"
            ),
            models.Index(fields=["kind_code", "-created_at", "-id"], name="things_of_a_kind"),
            models.Index(fields=["standing", "-created_at", "-id"], name="things_of_a_standing"),
            models.Index(
                fields=["made_earliest", "made_latest", "access", "withdrawn_at", "closed_until"], name="things_by_time"
            ),
            # What kinds lie where, counted without opening a thing.
            models.Index(fields=["box", "kind_code", "standing", "withdrawn_at"], name="things_by_place"),
            models.Index(fields=["states"], name="things_by_states"),
            models.Index(fields=["open_question"], name="things_with_a_question", condition=~Q(open_question="")),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("things:page", args=[self.public_id])

    @property
    def number(self) -> str:
        return number_of(self.serial_id)

    @property
    def kind(self) -> Kind:
        return kind(self.kind_code)

    @property
    def state_rows(self) -> list[State]:
        return [state(code) for code in self.states]

    @property
    def part_rows(self) -> list[Kind]:
        return [kind(code) for code in self.parts]


class Piece(Attached):
    """A leaf, sheet or frame of a thing, written ``0214-6/12``."""

    class Side(models.TextChoices):
        WHOLE = "", "both sides, or it has none"
        FRONT = "front", "front"
        BACK = "back", "back"

    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="pieces")
    order = models.PositiveIntegerField("number of the piece", validators=[MinValueValidator(1)])
    side = models.CharField(max_length=6, choices=Side.choices, blank=True)
    title = models.CharField("what it is or says", max_length=300, blank=True)
    made_text = models.CharField("date", max_length=200, blank=True)
    made_edtf = models.CharField("date (as read)", max_length=200, blank=True, editable=False)
    made_earliest = models.CharField(max_length=12, blank=True, editable=False)
    made_latest = models.CharField(max_length=12, blank=True, editable=False)
    people = models.ManyToManyField("archive.Person", through="PiecePerson", related_name="pieces")

    history = history()

    class Meta:
        verbose_name = "piece"
        ordering = ("order", "side", "pk")
        constraints = [models.UniqueConstraint(fields=["thing", "order", "side"], name="a_piece_once")]

    def __str__(self) -> str:
        return self.number

    @property
    def number(self) -> str:
        return f"{number_of(self.thing.serial_id)}/{self.order}"


class PiecePerson(Attached):
    """Somebody is on a piece."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("piece", "person")

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="person_rows")
    person = models.ForeignKey("archive.Person", on_delete=models.PROTECT, related_name="piece_rows")

    history = history()

    class Meta:
        verbose_name = "person on a piece"
        constraints = [models.UniqueConstraint(fields=["piece", "person"], name="a_person_once_on_a_piece")]

    def __str__(self) -> str:
        return str(self.person)


class Inscription(Attached):
    """What is written, stamped or engraved on a thing, letter by letter."""

    BELONGS_TO: ClassVar[str] = "thing"

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="inscriptions")
    where = models.CharField("where on it", max_length=200, blank=True)
    text = models.TextField("what it says, as it stands there", max_length=20_000)
    reading = models.TextField("what it means, in today’s words", max_length=20_000, blank=True)

    history = history()

    class Meta:
        verbose_name = "inscription"
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.text[:80]


class ThingPerson(Attached):
    """Somebody has to do with a thing."""

    class Role(models.TextChoices):
        SHOWN = "shown", "is in it"
        MADE = "made", "made it"
        WROTE = "wrote", "wrote or signed it"
        RECEIVED = "received", "received it"
        OWNED = "owned", "had it before"
        NAMED = "named", "is named in it"

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("thing", "person")

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="person_rows")
    person = models.ForeignKey("archive.Person", on_delete=models.PROTECT, related_name="thing_rows")
    role = models.CharField("what they have to do with it", max_length=10, choices=Role.choices, default=Role.SHOWN)
    sure = models.BooleanField("certain", default=True)

    history = history()

    class Meta:
        verbose_name = "person"
        ordering = ("role", "pk")
        constraints = [models.UniqueConstraint(fields=["thing", "person", "role"], name="a_person_once_in_a_role")]

    def __str__(self) -> str:
        return f"{self.person} {self.get_role_display()}"


class ThingPlace(Attached):
    """A place has to do with a thing."""

    class Role(models.TextChoices):
        MADE = "made", "made there"
        SHOWN = "shown", "shows it"
        USED = "used", "used or worn there"
        SENT_FROM = "sent-from", "sent from there"
        SENT_TO = "sent-to", "sent there"
        FOUND = "found", "found there"

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("thing", "place")

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="place_rows")
    place = models.ForeignKey("archive.Place", on_delete=models.PROTECT, related_name="thing_rows")
    role = models.CharField("what it has to do with it", max_length=10, choices=Role.choices, default=Role.MADE)

    history = history()

    class Meta:
        verbose_name = "place"
        ordering = ("role", "pk")
        constraints = [models.UniqueConstraint(fields=["thing", "place", "role"], name="a_place_once_in_a_role")]

    def __str__(self) -> str:
        return f"{self.place} {self.get_role_display()}"


class Share(Attached):
    """Whose a thing is: a person and their part of it."""

    BELONGS_TO: ClassVar[tuple[str, ...]] = ("thing", "person")

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="shares")
    person = models.ForeignKey("archive.Person", on_delete=models.PROTECT, related_name="shares")
    part = models.CharField("their part, such as one half", max_length=60, blank=True)

    history = history()

    class Meta:
        verbose_name = "owner"
        ordering = ("pk",)
        constraints = [models.UniqueConstraint(fields=["thing", "person"], name="an_owner_once")]

    def __str__(self) -> str:
        return f"{self.person} {self.part}".strip()


class Loan(Attached):
    """A thing is lent to somebody, since a day and until a day."""

    KEEPERS_ROWS: ClassVar[bool] = True
    BELONGS_TO: ClassVar[tuple[str, ...]] = ("thing", "person")

    thing = models.ForeignKey(Thing, on_delete=models.PROTECT, related_name="loans")
    person = models.ForeignKey(
        "archive.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="loans", verbose_name="lent to"
    )
    to_text = models.CharField("lent to", max_length=300, blank=True)
    since = models.DateField("since")
    until = models.DateField("to be back by", null=True, blank=True)
    returned_on = models.DateField("came back on", null=True, blank=True, db_index=True)
    note = models.CharField("what was agreed", max_length=1000, blank=True)

    history = history()

    class Meta:
        verbose_name = "loan"
        ordering = ("-since", "-pk")

    def __str__(self) -> str:
        return f"lent to {self.person or self.to_text}"


def _files(thing: Any) -> list[str]:
    return list(thing.pictures.values_list("sha256", flat=True))


register_subject(Subject("things", Thing, "thing", "things:page", files=_files))
