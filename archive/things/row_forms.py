"""Forms for the rows that hang on a thing. Two people may edit them at once; nothing is silently overwritten."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ObjectDoesNotExist
from django.forms.formsets import BaseFormSet, formset_factory

from archive.access.merging import merge, row_at
from archive.access.models import Account
from archive.folding import fold
from archive.people.queries import NewName
from archive.places.queries import NewPlace
from archive.things.fields import KeptPersonField, KeptPlaceField, PeopleField, TextField
from archive.things.models import Inscription, Piece, Share, ThingPerson, ThingPlace
from archive.things.rows import RowChange

EMPTY_ROWS = 3
ROWS_ON_A_PAGE = 48
_UNKNOWN = object()  # a value that no longer can be told


class RowForm(forms.Form):
    """One row. ``row`` and ``opened`` say which it is and how it stood when the page was opened."""

    model: ClassVar[Any]
    wanted: ClassVar[str]  # the field without which there is no row
    wanted_words: ClassVar[str]
    may_lack: ClassVar[bool] = False  # a new row may do without it
    prefilled: ClassVar[tuple[str, ...]] = ()  # fields that hold something in an empty row already

    row = forms.CharField(required=False, widget=forms.HiddenInput)
    opened = forms.CharField(required=False, widget=forms.HiddenInput)
    remove = forms.BooleanField(required=False, label="Remove this row")

    def __init__(self, *args: Any, rows: Mapping[str, Any], who: Account, **kwargs: Any) -> None:
        kwargs["empty_permitted"] = False
        super().__init__(*args, **kwargs)
        self.row_id = str(self._given("row") or "")
        self.opened_version = str(self._given("opened") or "")
        self.record: Any = rows.get(self.row_id)
        self.change: RowChange | None = None
        self.names = [name for name in self.fields if name not in ("row", "opened", "remove")]
        current = self.current(self.record) if self.record is not None else {}
        for name in self.names:
            field = self.fields[name]
            if hasattr(field, "reader"):
                field.reader = who
            if hasattr(field, "kept") and current.get(name):
                field.kept = current[name]

    def _given(self, name: str) -> Any:
        return self.data.get(self.add_prefix(name)) if self.is_bound else self.initial.get(name)

    @classmethod
    def current(cls, record: Any) -> dict[str, Any]:
        """Return a row's values as they stand."""
        return {name: getattr(record, name) for name in cls.base_fields if name not in ("row", "opened", "remove")}

    @classmethod
    def initial_of(cls, record: Any) -> dict[str, Any]:
        """Return what the form of a row shows at first."""
        return {"row": record.public_id, "opened": record.version, **cls.current(record)}

    @property
    def shown(self) -> list[Any]:
        """Return the fields a person fills in."""
        return [self[name] for name in self.names]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("remove"):
            self.errors.clear()
            if self.record is not None and self.opened_version != str(self.record.version):
                self.opened_version = str(self.record.version)
                self.add_error(
                    None, f"Somebody else changed this meanwhile; it is now “{self.record}”. Save again to remove it."
                )
            elif self.record is not None:
                self.change = RowChange(self.record, {}, remove=True)
            return data
        if self.errors:
            return data
        mine = {name: data[name] for name in self.names}
        if not self.row_id and not any(value for name, value in mine.items() if name not in self.prefilled):
            return data
        if not mine[self.wanted] and self.row_id:
            self.add_error(self.wanted, f"{self.wanted_words} Or tick “Remove this row”.")
        elif not mine[self.wanted] and not self.may_lack:
            self.add_error(self.wanted, self.wanted_words)
        elif not self.row_id:
            self.change = RowChange(None, mine)
        elif self.record is None:
            self._settle_gone(mine)
        else:
            self._settle(mine, self.current(self.record))
        return data

    def _base(self) -> dict[str, Any] | None:
        """Return the row as it stood when the page was opened, or None when its history does not say."""
        then = row_at(self.model.history.filter(public_id=self.row_id), self.opened_version)
        return {name: self._then(then, name) for name in self.names} if then is not None else None

    @staticmethod
    def _then(then: Any, name: str) -> Any:
        try:
            return getattr(then, name)
        except ObjectDoesNotExist:
            return _UNKNOWN

    def _settle(self, mine: dict[str, Any], theirs: dict[str, Any]) -> None:
        base: dict[str, Any] | None = theirs
        if self.opened_version != str(self.record.version):
            base = self._base()
        labels = {name: str(self.fields[name].label) for name in self.names}
        merged = merge(base if base is not None else dict.fromkeys(self.names, _UNKNOWN), theirs, mine, labels)
        for each in merged.conflicts:
            now = self[each.name].field.prepare_value(each.theirs) or "nothing"
            self.add_error(
                each.name, f"Somebody else changed this meanwhile; it is now “{now}”. Save again to let yours stand."
            )
        if merged.conflicts:
            self.opened_version = str(self.record.version)
        elif merged.values != theirs:
            self.change = RowChange(self.record, merged.values)

    def _settle_gone(self, mine: dict[str, Any]) -> None:
        """Somebody took the row off meanwhile: it stays off unless something was changed in it here."""
        if mine != self._base():
            self.row_id = self.opened_version = ""
            self.add_error(
                self.wanted, "Somebody else took this row off meanwhile. Save again to put it back, or tick “Remove”."
            )


def _same(value: Any) -> Any:
    """Return what two equal values share: a new name counts whatever its accents and capitals."""
    return fold(value.name) if isinstance(value, NewName | NewPlace) else value


class RowSet(BaseFormSet):  # type: ignore[type-arg]
    """The rows of one sort on a thing, or one page of them, with empty ones below."""

    unique: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, rows: Sequence[Any], who: Account, **kwargs: Any) -> None:
        kwargs |= {"form_kwargs": {"rows": {row.public_id: row for row in rows}, "who": who}, "prefix": "rows"}
        if not args or args[0] is None:
            kwargs["initial"] = [self.form.initial_of(row) for row in rows]
        super().__init__(*args, **kwargs)

    def clean(self) -> None:
        seen = set()
        for form in self.forms:
            values = form.cleaned_data if form.is_valid() else {}
            if not self.unique or not values or values.get("remove") or not values.get(form.wanted):
                continue
            key = tuple(_same(values[name]) for name in self.unique)
            if key in seen:
                form.add_error(form.wanted, "This stands here twice. Remove one of the two, or change it.")
            seen.add(key)

    def changes(self) -> list[RowChange]:
        """Return what is to be done, once the forms are valid."""
        return [form.change for form in self.forms if form.change is not None]


class PersonRow(RowForm):
    """Somebody who has to do with a thing."""

    model, wanted, wanted_words, prefilled = ThingPerson, "person", "Say who it is.", ("role", "sure")
    person = KeptPersonField(label="Who")
    role = forms.ChoiceField(
        label="What they have to do with it", choices=ThingPerson.Role.choices, initial="shown", required=False
    )
    sure = forms.BooleanField(label="This is certain", required=False, initial=True)

    def clean_role(self) -> str:
        return self.cleaned_data.get("role") or str(ThingPerson.Role.SHOWN)


class PlaceRow(RowForm):
    """A place that has to do with a thing."""

    model, wanted, wanted_words, prefilled = ThingPlace, "place", "Say which place.", ("role",)
    place = KeptPlaceField(label="Place")
    role = forms.ChoiceField(
        label="What it has to do with it", choices=ThingPlace.Role.choices, initial="made", required=False
    )

    def clean_role(self) -> str:
        return self.cleaned_data.get("role") or str(ThingPlace.Role.MADE)


class InscriptionRow(RowForm):
    """Something written, stamped or engraved on a thing."""

    model, wanted, wanted_words = Inscription, "text", "Copy what stands there."
    where = forms.CharField(label="Where on it", max_length=200, required=False)
    text = TextField(label="What it says, as it stands there", max_length=20_000)
    reading = TextField(label="What it means, in today’s words", max_length=20_000, rows=2)


class PieceRow(RowForm):
    """A leaf, sheet or frame. A piece that gets no number takes the next one."""

    model, wanted, wanted_words, may_lack = Piece, "order", "Give the piece its number.", True
    order = forms.IntegerField(
        label="Number",
        required=False,
        min_value=1,
        max_value=100_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    side = forms.ChoiceField(label="Side", choices=Piece.Side.choices, required=False)
    title = forms.CharField(label="What it is or says", max_length=300, required=False)
    made_text = forms.CharField(label="Date", max_length=200, required=False)
    people = PeopleField(label="People on it", help_text="Several names: put a semicolon between them.")

    @classmethod
    def current(cls, record: Any) -> dict[str, Any]:
        values = {name: getattr(record, name) for name in ("order", "side", "title", "made_text")}
        return values | {"people": frozenset(row.person for row in record.person_rows.all())}

    @staticmethod
    def _then(then: Any, name: str) -> Any:
        return _UNKNOWN if name == "people" else getattr(then, name)


class ShareRow(RowForm):
    """An owner and their part."""

    model, wanted, wanted_words = Share, "person", "Say whose it is."
    person = KeptPersonField(label="Whose it is")
    part = forms.CharField(
        label="Their part", max_length=60, required=False, help_text="Such as 1/2, one third, 25 %. Empty: all of it."
    )


def _set(row: type[RowForm], unique: tuple[str, ...]) -> type[RowSet]:
    base = type(f"{row.__name__}Set", (RowSet,), {"unique": unique})
    return formset_factory(row, formset=base, extra=EMPTY_ROWS, max_num=500, absolute_max=500)  # type: ignore[return-value]


PersonRows = _set(PersonRow, ("person", "role"))
PlaceRows = _set(PlaceRow, ("place", "role"))
InscriptionRows = _set(InscriptionRow, ())
PieceRows = _set(PieceRow, ("order", "side"))
ShareRows = _set(ShareRow, ("person",))
