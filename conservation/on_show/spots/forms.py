"""Forms of spots: the place with its short questionnaire, and readings."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.boxes.fields import BoxField
from archive.preferences.fields import MeasureField
from archive.preferences.models import Preferences
from archive.preferences.units import MM_PER_INCH
from conservation.fields import PastMomentField
from conservation.on_show.spots.assess import choices

SIDES = ("width_mm", "height_mm", "depth_mm")
# Model field → the list of words it is chosen from, and the question.
QUESTIONS = {
    "window_direction": ("spot_direction", "Which way does the nearest window look?"),
    "window_distance": ("spot_distance", "How far is it from that window?"),
    "curtain": ("spot_curtain", "What is before the window by day?"),
    "sun_reaches": ("spot_sun", "Does the sun itself fall on it?"),
    "lamp": ("spot_lamp", "What lamp shines on it?"),
    "glazing": ("spot_glazing", "What will be in front of what you show?"),
}
_HOURS = {"inputmode": "decimal", "class": "short"}


class HoursField(forms.FloatField):
    """Hours of a day, 0 to 24; a comma is taken for a point."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=0, max_value=24, required=False, widget=forms.TextInput(attrs=_HOURS), **kwargs)

    def to_python(self, value: Any) -> Any:
        return super().to_python(str(value or "").replace(",", ".") or None)


class SpotForm(forms.Form):
    """A place where things are shown; only its name is asked for, all else may wait."""

    title = forms.CharField(
        label="Name", max_length=300, help_text="Such as “Wall above the piano”, “Glass cabinet, second shelf”."
    )
    form = forms.ChoiceField(label="What it is")
    room = BoxField(label="In which room")
    capacity = forms.IntegerField(
        label="How many things at once", initial=1, min_value=1, max_value=50,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )  # fmt: skip
    lamp_hours = HoursField(label="Hours a day the lamp is on, as a rule")
    hours_per_day = HoursField(
        label="Hours of light a day in all, if you know",
        help_text="Empty: twelve hours of daylight and the lamp’s. A cupboard that is opened for an hour: 1.",
    )
    near = forms.MultipleChoiceField(label="What is near it", required=False, widget=forms.CheckboxSelectMultiple)
    materials = forms.MultipleChoiceField(
        label="What it is made of or lined with", required=False, widget=forms.CheckboxSelectMultiple,
        help_text="What things touch, and what is closed in with them.",
    )  # fmt: skip
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )
    in_use = forms.BooleanField(label="Things are shown here", required=False, initial=True)
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, kept: Preferences, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit, factor = ("in", MM_PER_INCH) if kept.units == Preferences.Units.INCH else ("mm", 1.0)
        for name in SIDES:
            self.fields[name] = MeasureField(factor, 20_000, 1.0, label=f"{name.split('_')[0].capitalize()} ({unit})")
        for name, (words, question) in QUESTIONS.items():
            self.fields[name] = forms.ChoiceField(
                label=question, required=False, choices=[("", "I cannot say"), *choices(words)],
                widget=forms.RadioSelect,
            )  # fmt: skip
        self.fields["form"].choices = choices("spot_form")  # type: ignore[attr-defined]
        self.fields["near"].choices = choices("spot_near")  # type: ignore[attr-defined]
        self.fields["materials"].choices = choices("materials")  # type: ignore[attr-defined]
        room = self.fields["room"]
        if isinstance(room, BoxField):
            room.see_as(reader)

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for name in SIDES:
            # A size shown rounded and sent back as shown stays what it was.
            if name in values and name not in self.changed_data:
                values[name] = self.get_initial_for_field(self.fields[name], name)
        return values


class ReadingForm(forms.Form):
    """How bright it is at a spot now, or was."""

    lux = forms.FloatField(
        label="Lux", min_value=0, max_value=200_000, widget=forms.TextInput(attrs=_HOURS),
        help_text="Hold the meter or phone where the thing will hang, its face to the room, and do not shade it.",
    )  # fmt: skip
    sky = forms.ChoiceField(label="When", widget=forms.RadioSelect)
    by_what = forms.ChoiceField(label="Read with", widget=forms.RadioSelect, initial="phone")
    taken_at = PastMomentField(label="Taken", initial=timezone.localtime)
    uv_uw_lm = forms.FloatField(
        label="UV, µW/lm", required=False, min_value=0, max_value=100_000, widget=forms.TextInput(attrs=_HOURS),
        help_text="Only if you have a UV meter; before the glass, not behind it.",
    )  # fmt: skip
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sky"].choices = choices("spot_sky")  # type: ignore[attr-defined]
        self.fields["by_what"].choices = choices("spot_device")  # type: ignore[attr-defined]
