"""The forms of first looks, standings and questions."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.kinds import FAMILIES, kinds
from archive.people.fields import PersonField
from archive.pictures.models import View
from archive.sorting import texts
from archive.sorting.models import GONE
from archive.things.models import Standing

# The pictures of a first look, in the order in which a box is opened: view, name of the field, label.
LOOK_PICTURES = (
    (View.AS_FOUND, "as_found", "Where it stood, before you moved it"),
    (View.OUTSIDE, "outside", "Outside, closed: all sides with writing"),
    (View.LID, "lid", "The lid, opened: what is written inside"),
    (View.LAYER, "layer", "Each layer, from the top, before you lift it"),
)
COUNT_ROWS, MORE_ROWS = 5, 2  # empty rows on a new first look, and below those that are filled already
MANY = 100_000


def kind_choices() -> list[tuple[str, Any]]:
    """Return the kinds in their families, with an empty choice before them."""
    groups = [(each.name, [(k.code, k.name) for k in kinds() if k.family == each.code]) for each in FAMILIES]
    return [("", "– kind –"), *groups]


class Choices(forms.RadioSelect):
    """Choices one below the other, each as large as a finger."""

    template_name = "sorting/_choices.html"


class CountForm(forms.Form):
    """One rough count: a kind and about how many."""

    kind_code = forms.ChoiceField(label="Kind", required=False)
    count = forms.IntegerField(
        label="About how many",
        required=False,
        min_value=1,
        max_value=MANY,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind_code"].choices = kind_choices()  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        kind_code, count = cleaned.get("kind_code"), cleaned.get("count")
        if kind_code and count is None and "count" not in self.errors:
            self.add_error("count", "About how many? A guess will do.")
        if count and not kind_code and "kind_code" not in self.errors:
            self.add_error("kind_code", "Of what? “Not sure” is a kind too.")
        return cleaned


class _Counts(forms.BaseFormSet):  # type: ignore[type-arg]
    def counted(self) -> dict[str, int]:
        """Return the counts by kind; rows of one kind are added up."""
        found: dict[str, int] = {}
        for form in self.forms:
            code = form.cleaned_data.get("kind_code")
            if code:
                found[code] = min(found.get(code, 0) + form.cleaned_data["count"], MANY)
        return found


CountFormSet: Any = forms.formset_factory(CountForm, formset=_Counts, extra=COUNT_ROWS, max_num=200, absolute_max=300)
MoreCountsFormSet: Any = forms.formset_factory(CountForm, _Counts, extra=MORE_ROWS, max_num=200, absolute_max=300)


def counts_initial(counts: dict[str, int]) -> list[dict[str, Any]]:
    """Return the rows of a formset that stand for some counts."""
    return [{"kind_code": code, "count": count} for code, count in counts.items()]


class FirstLookForm(forms.Form):
    """A box as found, on one page; only a name for it is asked for, all else may wait."""

    title = forms.CharField(
        label="What you call it",
        max_length=300,
        help_text="So that you know it again: “Shoe carton from the loft, tied with string”.",
    )
    stood_where = forms.CharField(label="Where it stands, or stood", max_length=300, required=False)
    found = forms.MultipleChoiceField(label="What you notice", required=False, widget=forms.CheckboxSelectMultiple)
    packed_by = PersonField(label="Who packed it")
    packed_by_text = forms.CharField(
        label="Or in words, when it was not one person you can name",
        max_length=300,
        required=False,
        help_text="“The neighbours, in a hurry, the week after the flood.”",
    )
    could_tell = forms.CharField(
        label="Who could tell us about it", max_length=300, required=False, help_text="Names, and how to reach them."
    )
    urgency = forms.ChoiceField(label="How pressing is it?", initial=1, required=False, widget=Choices)
    interest = forms.ChoiceField(label="How interesting is it?", initial=3, required=False, widget=Choices)
    stays_whole = forms.BooleanField(
        label="It stays described as a whole",
        required=False,
        help_text="For ever, if you like: no thing in it need be recorded one by one. You can change your mind.",
    )
    things_done = forms.BooleanField(label="Its things are recorded", required=False)
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 4}))
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["packed_by"].reader = reader  # type: ignore[attr-defined]
        self.fields["found"].choices = [(each.code, each.asks) for each in texts.questions().values()]  # type: ignore[attr-defined]
        for name in ("urgency", "interest"):
            self.fields[name].choices = [(n, f"{n}: {words}") for n, words in texts.scale(name)]  # type: ignore[attr-defined]

    def clean_found(self) -> list[str]:
        ticked = set(self.cleaned_data["found"])
        return [code for code in texts.questions() if code in ticked]

    def clean_urgency(self) -> int:
        return int(self.cleaned_data.get("urgency") or 1)

    def clean_interest(self) -> int:
        return int(self.cleaned_data.get("interest") or 3)

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES


class StandingForm(forms.Form):
    """What becomes of one thing or several, and why. Nothing leaves unsaid."""

    standing = forms.ChoiceField(label="It is", choices=Standing.choices, widget=Choices)
    standing_why = forms.CharField(
        label="Why", max_length=300, help_text="In a sentence, for those who ask in ten years."
    )
    standing_on = forms.DateField(label="Since", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    open_question = forms.CharField(
        label="What is still open",
        max_length=300,
        required=False,
        help_text="Asked for when it is undecided: the question that would settle it.",
    )
    gone_how = forms.CharField(label="How it went, and to whom", max_length=300, required=False)
    gone_agreed = forms.CharField(label="Who agreed", max_length=300, required=False)
    copy_kept = forms.NullBooleanField(
        label="Is a copy kept?",
        widget=Choices(choices=[("true", "yes"), ("false", "no")]),
    )
    asked = forms.BooleanField(
        label="I have asked whoever is responsible for this where I live",
        required=False,
    )

    def __init__(self, *args: Any, cautions: bool, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {})
        kwargs["initial"].setdefault("standing_on", timezone.localdate())
        super().__init__(*args, **kwargs)
        self.cautions = cautions
        if not cautions:
            del self.fields["asked"]

    def clean_standing_on(self) -> Any:
        day = self.cleaned_data["standing_on"]
        if day > timezone.localdate():
            raise forms.ValidationError("This day is still to come. Write down what has happened, when it has.")
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        standing = cleaned.get("standing")
        wanted = {}
        if standing in GONE:
            wanted = {
                "gone_how": "How did it go, and to whom?",
                "gone_agreed": "Who agreed? If it was you alone, say so.",
            }
            if cleaned.get("copy_kept") is None:
                self.add_error("copy_kept", "Say whether a picture or another copy is kept.")
            if self.cautions and not cleaned.get("asked"):
                self.add_error("asked", "Read the cautions above and ask first. Then tick this.")
        if standing == Standing.UNDECIDED:
            wanted["open_question"] = "What is the question that would settle it?"
        for name, words in wanted.items():
            if not str(cleaned.get(name) or "").strip() and name not in self.errors:
                self.add_error(name, words)
        return cleaned


class QuestionForm(forms.Form):
    """The open question of a thing on the waiting shelf, and perhaps its answer."""

    question = forms.CharField(label="What is still open", max_length=300, required=False)
    answer = forms.CharField(label="The answer", max_length=2_000, required=False)
    opened_question = forms.CharField(max_length=300, required=False, widget=forms.HiddenInput)
