"""The forms of quick entry and of naming pictures."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.entry.fields import KindField, TypedBoxField, TypedLotField, see_as
from archive.people.fields import PersonField
from archive.things.models import ThingPerson

PEOPLE_ROWS = (1, 2)

# Fields that the next thing may begin with, and their words beside the tick.
KEEPABLE: tuple[tuple[str, str], ...] = (
    ("title", "title"),
    ("kind", "kind"),
    ("made_text", "when it was made"),
    ("people", "people"),
    ("box", "box"),
    ("lot", "lot"),
    ("note", "note"),
    ("access", "who may see it"),
)


class QuickForm(forms.Form):
    """One thing on one screen; only the title is asked for."""

    title = forms.CharField(
        max_length=300, widget=forms.TextInput({"autocomplete": "off", "dir": "auto"}), help_text="Enter saves."
    )
    kind = KindField(label="Kind", help_text="Type the beginning, such as “let”, and pick.")
    made_text = forms.CharField(
        label="When it was made",
        max_length=200,
        required=False,
        widget=forms.TextInput({"autocomplete": "off"}),
        help_text="As you would say it: about 1930.",
    )
    person1 = PersonField(label="Somebody who has to do with it")
    role1 = forms.ChoiceField(label="In what way", choices=ThingPerson.Role.choices, required=False)
    person2 = PersonField(label="Somebody else")
    role2 = forms.ChoiceField(label="In what way", choices=ThingPerson.Role.choices, required=False)
    box = TypedBoxField(label="Box", help_text="Its number or name.")
    lot = TypedLotField(label="Arrived with (lot)", help_text="Its number or name.")
    note = forms.CharField(
        label="What you know about it", required=False, max_length=20_000, widget=forms.Textarea({"rows": 3})
    )
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )
    keep = forms.MultipleChoiceField(
        label="Keep for the next one", choices=KEEPABLE, required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        see_as(self, reader)
        self.fields["title"].widget.attrs["autofocus"] = True

    def values(self) -> dict[str, Any]:
        """Return the thing's own values."""
        got = self.cleaned_data
        return {
            "title": got["title"],
            "kind_code": got["kind"] or "unknown",
            "made_text": got["made_text"],
            "box": got["box"],
            "lot": got["lot"],
            "note": got["note"],
            "access": got["access"] or ReadAccess.RELATIVES,
        }

    def people(self) -> list[tuple[Any, str]]:
        """Return the people (or new names) with their roles, each once in a role."""
        found: dict[Any, None] = {}
        for n in PEOPLE_ROWS:
            who, role = self.cleaned_data[f"person{n}"], self.cleaned_data[f"role{n}"] or ThingPerson.Role.SHOWN
            if who is not None:
                found[who, str(role)] = None
        return list(found)


class CommonForm(forms.Form):
    """What all the things of a set of pictures share."""

    common_title = forms.CharField(
        label="Title for those you leave empty",
        max_length=280,
        required=False,
        widget=forms.TextInput({"autocomplete": "off", "dir": "auto"}),
        help_text="Such as “Photograph from the tin”. They are numbered: (1), (2) …",
    )
    common_kind = KindField(label="Kind of all, where none is typed")
    box = TypedBoxField(label="Box of all")
    lot = TypedLotField(label="Lot of all")
    access = forms.ChoiceField(
        label="Who may see them", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )
    camera_date = forms.BooleanField(
        label="Take the camera’s date as the made date where that is left empty",
        required=False,
        help_text="Only for photographs taken with a camera that notes the day. "
        "For a picture of an old thing it would be wrong.",
    )

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        see_as(self, reader)
