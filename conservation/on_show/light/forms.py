"""Forms of light: what the keeper says of a thing, other light, putting up and taking down, bars, the policy."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.fields import BoxField
from archive.preferences.fields import MeasureField
from archive.preferences.models import Preferences
from archive.preferences.units import MM_PER_INCH
from conservation.fields import PastDayField
from conservation.on_show.light.assess import preset_choices, preset_lxh
from conservation.on_show.spots.assess import choices

_NUMBER = {"inputmode": "decimal", "class": "short"}
_WHOLE = {"inputmode": "numeric", "class": "short"}


class WhichForm(forms.Form):
    """Which thing goes up, by its number."""

    number = forms.CharField(
        label="Its number", max_length=20, widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"})
    )


class HangForm(forms.Form):
    """Putting a thing up at a spot."""

    day = PastDayField(
        label="Went up on", required=True, initial=timezone.localdate,
        still_to_come="Record it on the day it goes up; for later, make a plan.",
    )  # fmt: skip
    is_copy = forms.BooleanField(label="It is a copy; the original rests in the dark", required=False)
    anyway = forms.BooleanField(label="Hang it all the same: I know what it costs", required=False)
    note = forms.CharField(label="Note", max_length=300, required=False)


class DownForm(forms.Form):
    """Taking a thing down."""

    day = PastDayField(label="Came down on", required=True, initial=timezone.localdate)
    goes_back_to = BoxField(label="Rests in")
    note = forms.CharField(
        label="How it looks",
        max_length=300,
        required=False,
        help_text="Such as: no change; a little paler on the left.",
    )

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        box = self.fields["goes_back_to"]
        if isinstance(box, BoxField):
            box.see_as(reader)


class BarForm(forms.Form):
    """Saying that a thing is never shown at a spot."""

    spot = forms.ChoiceField(label="Not at")
    why = forms.CharField(label="Why not", max_length=300, required=False)

    def __init__(self, *args: Any, spots: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["spot"].choices = spots  # type: ignore[attr-defined]


class OwnLightForm(forms.Form):
    """Where a thing differs from what its kind says; empty means by its kind."""

    may_be_shown = forms.ChoiceField(
        label="May it be shown", widget=forms.RadioSelect, initial="plan",
        choices=[
            ("plan", "yes, within its light"), ("copy-only", "only a copy"),
            ("unfixed", "only a copy: a photograph that was never fixed, such as an old proof; light darkens it"),
            ("never", "never, nor a copy"),
        ],
    )  # fmt: skip
    blue_wool = forms.TypedChoiceField(
        label="Blue wool", required=False, coerce=int, empty_value=None,
        help_text="1 fades fastest, 8 slowest. Change it only if you know better than the table, and say why.",
        choices=[("", "as its kind"), ("0", "light does it no harm"), *((str(n), str(n)) for n in range(1, 9))],
    )  # fmt: skip
    years_per_fade = forms.IntegerField(
        label="Years to one just noticeable fade", required=False, min_value=1, max_value=10_000,
        widget=forms.TextInput(attrs=_WHOLE), help_text="Empty: as you chose for everything.",
    )  # fmt: skip
    why = forms.CharField(label="Why so", max_length=300, required=False)
    min_weeks = forms.IntegerField(
        label="Shortest showing, weeks", required=False, min_value=1, max_value=520,
        widget=forms.TextInput(attrs=_WHOLE),
    )  # fmt: skip
    max_weeks = forms.IntegerField(
        label="Longest showing, weeks", required=False, min_value=1, max_value=520,
        widget=forms.TextInput(attrs=_WHOLE),
    )  # fmt: skip
    rest_weeks = forms.IntegerField(
        label="Rest between showings, weeks", required=False, min_value=0, max_value=520,
        widget=forms.TextInput(attrs=_WHOLE),
    )  # fmt: skip
    wish = forms.TypedChoiceField(
        label="How gladly would you see it", required=False, coerce=int, empty_value=None,
        choices=[("", "as it matters"), ("1", "1, not much"), ("2", "2"), ("3", "3"), ("4", "4"), ("5", "5, very")],
    )  # fmt: skip

    def __init__(self, *args: Any, kept: Preferences, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit, factor = ("in", MM_PER_INCH) if kept.units == Preferences.Units.INCH else ("mm", 1.0)
        for name in ("width_mm", "height_mm"):
            side = name.split("_")[0].capitalize()
            self.fields[name] = MeasureField(factor, 20_000, 1.0, label=f"{side} as shown, with its frame ({unit})")

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("blue_wool") is not None and not values.get("why"):
            self.add_error("why", "Say why you set the blue wool yourself, so that others can follow you.")
        least, most = values.get("min_weeks"), values.get("max_weeks")
        if least and most and least > most:
            self.add_error("max_weeks", "The longest showing is shorter than the shortest.")
        for name in ("width_mm", "height_mm"):
            if name in values and name not in self.changed_data:
                values[name] = self.get_initial_for_field(self.fields[name], name)
        return values


class UseForm(forms.Form):
    """Light otherwise than on show: by a usual piece of work, or by lux, minutes and how often."""

    what = forms.ChoiceField(label="What for", widget=forms.RadioSelect, initial="digitising")
    preset = forms.ChoiceField(label="How", required=False, help_text="Or fill in lux and minutes below.")
    lux = forms.FloatField(
        label="Lux", required=False, min_value=0, max_value=200_000, widget=forms.TextInput(attrs=_NUMBER)
    )
    minutes = forms.FloatField(
        label="Minutes", required=False, min_value=0, max_value=60_000_000, widget=forms.TextInput(attrs=_NUMBER)
    )
    times = forms.IntegerField(
        label="How often", required=False, initial=1, min_value=1, max_value=10_000,
        widget=forms.TextInput(attrs=_WHOLE),
    )  # fmt: skip
    day = PastDayField(label="Day", required=True, initial=timezone.localdate)
    words = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = choices("light_use_what")  # type: ignore[attr-defined]
        self.fields["preset"].choices = [("", "as below"), *preset_choices()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        times = values.get("times") or 1
        if values.get("preset"):
            values["lxh"] = preset_lxh(values["preset"]) * times
        elif values.get("lux") is None or values.get("minutes") is None:
            if not self.errors:
                self.add_error("preset", "Choose how, or fill in both lux and minutes.")
        else:
            values["lxh"] = values["lux"] * values["minutes"] / 60 * times
        if values.get("lxh", 0) > 10_000_000_000:
            self.add_error("minutes", "That is more light than any thing has had.")
        return values


class PolicyForm(forms.Form):
    """What holds for everything on show."""

    years_per_fade = forms.IntegerField(
        label="Spread one just noticeable fade over how many years", min_value=1, max_value=10_000,
        widget=forms.TextInput(attrs=_WHOLE),
    )  # fmt: skip
    strict_uv = forms.BooleanField(label="Be strict about UV: 10 instead of 75 µW/lm", required=False)
