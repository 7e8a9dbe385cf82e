"""Forms of a thing's own fields, one for each section of its page, and the form of a loan."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.sorting.texts import levels
from archive.things.fields import DayField, KeptPersonField, TextField
from archive.things.models import Coming, Loan, Thing


class SectionForm(forms.Form):
    """Some of a thing's own fields, filled with what stands there."""

    verb: ClassVar[str]
    heading: ClassVar[str]
    anchor: ClassVar[str]

    def __init__(self, *args: Any, thing: Thing, who: Account, **kwargs: Any) -> None:
        self.thing = thing
        kwargs["initial"] = {name: getattr(thing, name) for name in self.base_fields}
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, KeptPersonField):
                field.reader = who
                field.kept = getattr(thing, name)


class ComingForm(SectionForm):
    """How a thing came to the household."""

    verb, heading, anchor = "things.coming", "How it came to us", "coming"
    came_how = forms.ChoiceField(label="How it came", choices=[("", "not known"), *Coming.choices], required=False)
    came_from = KeptPersonField(label="From whom")
    came_text = forms.CharField(
        label="When it came",
        max_length=200,
        required=False,
        help_text="As you would say it: about 1985, Christmas 1972, before the move.",
    )
    came_note = TextField(
        label="What is told of how it came", max_length=1000, help_text="Relatives who are signed in can read this."
    )


class BorrowedForm(SectionForm):
    """On loan to the household."""

    verb, heading, anchor = "things.owners", "Whose it is", "owners"
    borrowed_from = KeptPersonField(
        label="On loan to us from", help_text="Only when it is not the household’s own and goes back one day."
    )
    borrowed_until = DayField(label="To be given back by")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("borrowed_until") and not data.get("borrowed_from") and "borrowed_from" not in self.errors:
            self.add_error("borrowed_from", "Say from whom it is on loan, or empty the day.")
        return data


class RightsForm(SectionForm):
    """Who made it, who may say what is shown, and until when it stays closed."""

    verb, heading, anchor = "things.rights", "Rights, and keeping it closed", "rights"
    rights_maker = forms.CharField(
        label="Who made what is to be seen or read on it",
        max_length=300,
        required=False,
        help_text="The writer of the letter, the photographer, the painter.",
    )
    rights_holder = forms.CharField(
        label="Who holds the rights now",
        max_length=300,
        required=False,
        help_text="Often the maker’s heirs, or a studio. “Not known” is an answer too.",
    )
    rights_note = TextField(label="What was agreed", max_length=1000, help_text="Only the keeper sees this.")
    show_home = forms.BooleanField(label="May be shown at home", required=False)
    show_link = forms.BooleanField(label="May be shown by a link", required=False)
    show_print = forms.BooleanField(label="May be printed in a booklet", required=False)
    closed_until = DayField(
        label="Closed until", help_text="Until that day only the keeper sees it, its pictures and its number."
    )
    closed_why = forms.CharField(label="Why it is closed", max_length=300, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        day = data.get("closed_until")
        if day and not data.get("closed_why"):
            self.add_error("closed_why", "Say in a few words why it is closed, for whoever keeps it after you.")
        if day and day <= timezone.localdate() and day != self.thing.closed_until:
            self.add_error("closed_until", "This day is past, so nothing would be closed. Choose a later one.")
        if data.get("closed_why") and not day and "closed_until" not in self.errors:
            self.add_error("closed_until", "Say until which day it is closed, or empty the reason.")
        return data


class SignificanceForm(SectionForm):
    """How much a thing matters, and why."""

    verb, heading, anchor = "things.significance", "How much it matters", "significance"
    significance = forms.TypedChoiceField(
        label="How much it matters",
        coerce=int,
        empty_value=None,
        required=False,
        choices=[("", "not decided yet"), *((step.value, f"{step.value}: {step.name}") for step in levels())],
        widget=forms.RadioSelect,
    )
    significance_why = TextField(
        label="Why", max_length=1000, help_text="Whom it tells of, what it tells, what would be lost without it."
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("significance") and not data.get("significance_why"):
            self.add_error("significance_why", "Give your reason in a sentence. A number alone says little later.")
        return data


class LoanForm(forms.Form):
    """A thing goes out."""

    person = KeptPersonField(label="Lent to somebody")
    to_text = forms.CharField(label="or to a museum, a school, a club", max_length=300, required=False)
    since = DayField(label="Since", required=True)
    until = DayField(label="To be back by")
    note = TextField(label="What was agreed", max_length=1000)

    def __init__(self, *args: Any, who: Account, loan: Loan | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, KeptPersonField):
                field.reader, field.kept = who, loan.person if loan else None
        if loan is not None:
            self.fields["returned_on"] = DayField(label="Came back on")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not data.get("person") and not data.get("to_text") and "person" not in self.errors:
            self.add_error("person", "Say to whom it is lent.")
        if data.get("person") and data.get("to_text"):
            self.add_error("to_text", "Say one or the other: somebody, or a museum, school or club.")
        since = data.get("since")
        for name, words in (("until", "It cannot be due back before it goes out."), ("returned_on", _BACK_TOO_SOON)):
            if since and data.get(name) and data[name] < since:
                self.add_error(name, words)
        return data


_BACK_TOO_SOON = "It cannot come back before it goes out."


class MakePiecesForm(forms.Form):
    """Pieces 1 to N at once."""

    last = forms.IntegerField(
        label="Make the pieces 1 to",
        min_value=1,
        max_value=2000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
