"""The forms of a person, and of the rows beside one: names, parents, children, partners."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.people.fields import PersonField
from archive.people.models import Parentage, Partnership, PersonName
from archive.places.fields import PlaceField

DATE_HELP = "As you would say it: 1902, about 1870, spring 1931, before 1914, 12 May 1910."


class PersonForm(forms.Form):
    """What is recorded of somebody; only a name is asked for, all else may wait."""

    name = forms.CharField(
        max_length=300, help_text="If nobody knows it: what you would call them, such as “the boy on the right”."
    )
    unidentified = forms.BooleanField(label="We do not know yet who this is", required=False)
    born_text = forms.CharField(label="Born", max_length=200, required=False, help_text=DATE_HELP)
    born_where = PlaceField(label="Born at")
    died_text = forms.CharField(label="Died", max_length=200, required=False)
    died_where = PlaceField(label="Died at")
    known_dead = forms.BooleanField(label="Has died, though the date is not known", required=False)
    note = forms.CharField(
        label="What you know", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 5})
    )
    sort_name = forms.CharField(
        label="Sorted under", max_length=300, required=False, help_text="Such as “Aldermoor, Anna”. Empty: the name."
    )
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )
    open_though_living = forms.BooleanField(
        label="Visitors may see this person though perhaps living",
        required=False,
        help_text="Counts only where everybody on the home network may see the page.",
    )

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, PlaceField):
                field.reader, field.current = reader, self.get_initial_for_field(field, name)

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES


class NameForm(forms.Form):
    """Another form of a name."""

    name = forms.CharField(label="Name", max_length=300)
    sort = forms.ChoiceField(label="What sort of name", choices=PersonName.Sort.choices, initial=PersonName.Sort.CALLED)
    when = forms.CharField(
        label="When it was used", max_length=200, required=False, help_text="Such as “as a child” or “from 1924 on”."
    )


class ParentForm(forms.Form):
    """Somebody's parent, or child."""

    person = PersonField(label="Who", required=True, help_text="Type the name. A new name is recorded with it.")
    sort = forms.ChoiceField(label="How", choices=Parentage.Sort.choices, initial=Parentage.Sort.BIRTH)


class PartnerForm(forms.Form):
    """Somebody's partner."""

    person = PersonField(label="Who", required=True, help_text="Type the name. A new name is recorded with it.")
    sort = forms.ChoiceField(label="How", choices=Partnership.Sort.choices, initial=Partnership.Sort.MARRIED)
    since_text = forms.CharField(label="Since", max_length=200, required=False, help_text=DATE_HELP)
    until_text = forms.CharField(
        label="Until", max_length=200, required=False, help_text="Empty: for life, or you do not know."
    )


ROW_FORMS: dict[str, type[forms.Form]] = {
    "name": NameForm,
    "parent": ParentForm,
    "child": ParentForm,
    "partner": PartnerForm,
}


def row_form(what: str, *args: Any, reader: Account | None, fixed: bool = False, **kwargs: Any) -> forms.Form:
    """Return the form of a row beside a person; ``fixed`` leaves out whom it is about, which a change keeps."""
    form = ROW_FORMS[what](*args, **kwargs)
    if "person" in form.fields:
        if fixed:
            del form.fields["person"]
        else:
            form.fields["person"].reader = reader  # type: ignore[attr-defined]
    return form
