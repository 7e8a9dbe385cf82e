"""Forms of sensors and readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone

from archive.boxes.models import Box
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from archive.things.fields import DayField
from conservation.fields import PastMomentField, typed_celsius
from conservation.rooms.readings.assess_import import MOST_MEGABYTES, ROLES
from conservation.rooms.readings.assess_typed import doubts, winter_zone
from conservation.rooms.readings.models import Placement


class SensorForm(forms.Form):
    """A sensor in a room."""

    name = forms.CharField(
        label="Its name", max_length=120, help_text="What you call it, or what is written on it: “Grey logger”."
    )
    stands_in = forms.ChoiceField(
        label="In a cupboard, shelf or box of its own air",
        required=False,
        help_text="If so, its readings are of that alone, and of what lies in it; otherwise they are of the room.",
    )
    placement = forms.ChoiceField(
        label="Where in the room it is", choices=Placement.choices, initial=Placement.FREE, widget=forms.RadioSelect
    )
    where = forms.CharField(
        label="More exactly", max_length=200, required=False, help_text="Such as: second shelf, beside the boxes."
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, places: Sequence[Box], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = {place.public_id: place for place in places}
        named = [(place.public_id, f"{place.number} {place.title}") for place in places]
        self.fields["stands_in"].choices = [("", "no, it is in the room"), *named]  # type: ignore[attr-defined]
        if not places:
            del self.fields["stands_in"]

    def clean_stands_in(self) -> Box | None:
        return self.places.get(self.cleaned_data["stands_in"])

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("stands_in") and values.get("placement") == Placement.OUTDOORS:
            self.add_error("placement", "It cannot be outdoors and in a piece of furniture. Say one of the two.")
        return values


class ChangeSensorForm(SensorForm):
    """What is recorded of a sensor; a sensor that goes to another room is retired, and a new one recorded there."""

    retired_on = DayField(
        label="Not in use since",
        help_text=(
            "Its readings stay. When it goes to another room, say here since when, and record it anew in that room: "
            "so each room keeps its own readings."
        ),
    )
    field_order = ("name", "stands_in", "placement", "where", "retired_on", "note")


class TypedForm(forms.Form):
    """One reading read off by hand. What can hardly be is asked once more, never refused without a reason."""

    room = forms.ChoiceField(label="Room")
    temperature = forms.CharField(
        label="Temperature", max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"})
    )
    humidity = forms.CharField(
        label="Relative humidity (%)",
        max_length=20,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    at = PastMomentField(
        label="When",
        required=False,
        help_text="Leave it empty if it is right now.",
        still_to_come="This is still to come. When was it read off?",
    )
    sure = forms.BooleanField(label="Yes, it is right as typed", required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, rooms: list[Any], kept: Preferences, last: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kept, self.last, self.asked = kept, last, list[str]()
        self.inch = kept.units == Preferences.Units.INCH
        self.fields["room"].choices = [(room.public_id, room.title) for room in rooms]  # type: ignore[attr-defined]
        self.fields["temperature"].label = f"Temperature ({'°F' if self.inch else '°C'})"

    def clean_temperature(self) -> float:
        try:
            value = typed_celsius(self.cleaned_data["temperature"], inch=self.inch)
        except ValueError:
            raise forms.ValidationError("Type a number, such as 18.5.") from None
        if not -40 <= value <= 85:
            low, high = (fahrenheit(-40), fahrenheit(85)) if self.inch else (-40, 85)
            raise forms.ValidationError(f"No room is like that: {low:g} to {high:g} are taken.")
        return value

    def clean_humidity(self) -> float:
        try:
            value = float(self.cleaned_data["humidity"].strip().rstrip("% ").replace(",", "."))
        except ValueError:
            raise forms.ValidationError("Type a number, such as 52.") from None
        if not 0 <= value <= 100:
            raise forms.ValidationError("Relative humidity lies between 0 and 100 %.")
        return value

    def clean_at(self) -> Any:
        at = self.cleaned_data.get("at") or timezone.now()
        if at.year < 1900:
            raise forms.ValidationError("That is too long ago for a reading.")
        return at

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if not self.errors and not values.get("sure"):
            before = self.last(values["room"], values["at"])
            self.asked = doubts(values["temperature"], values["humidity"], before, inch=self.inch)
            if self.asked:
                self.fields["sure"].widget = forms.CheckboxInput()
                self.add_error("sure", " ".join(self.asked))
        elif values.get("sure"):
            self.fields["sure"].widget = forms.CheckboxInput()
        return values


class UploadForm(forms.Form):
    """A file of a logger."""

    file = forms.FileField(
        label="The file",
        help_text=f"As the logger or its program wrote it; up to {MOST_MEGABYTES} MB.",
        error_messages={"empty": "This file is empty. Copy it from the logger again, or choose another one."},
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MOST_MEGABYTES * 1_000_000:
            raise forms.ValidationError(
                f"{file.name} has {file.size / 1e6:.0f} MB; up to {MOST_MEGABYTES} MB are taken. Ten years of readings "
                "every ten minutes are about 30 MB. Export a shorter stretch of time, or look whether it is the "
                "right file. Nothing of it was kept."
            )
        return file


_ORDERS = (("", "as the file tells"), ("day", "day before month"), ("month", "month before day"))
_UNITS = (("", "as the file tells"), ("C", "°C"), ("F", "°F"))


class HowReadForm(forms.Form):
    """How a file is to be read, where it has two readings or was misunderstood."""

    day_first = forms.ChoiceField(
        label="Order of day and month", choices=_ORDERS, required=False, widget=forms.RadioSelect
    )
    unit = forms.ChoiceField(label="Temperatures are in", choices=_UNITS, required=False, widget=forms.RadioSelect)
    clock = forms.ChoiceField(label="The logger’s clock", required=False, widget=forms.RadioSelect)
    zone = forms.CharField(
        label="Another time zone",
        required=False,
        max_length=60,
        help_text="Such as Europe/Oslo or America/Chicago. Only if it is none of those above.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, home_zone: str, columns: list[list[str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.home_zone = home_zone
        winter = winter_zone(home_zone)
        clocks = [(home_zone, f"went as the clocks here ({home_zone})")]
        if winter != home_zone:
            clocks.append((winter, "stayed on winter time all year"))
        if "UTC" not in (home_zone, winter):
            clocks.append(("UTC", "showed world time (UTC)"))
        self.fields["clock"].choices = clocks  # type: ignore[attr-defined]
        self.heads = columns[:40]
        for place, (head, role, *_) in enumerate(self.heads):
            self.fields[f"column_{place}"] = forms.ChoiceField(
                label=f"Column {place + 1}" + (f": {head[:60]}" if head else ""),
                choices=ROLES,
                required=False,
                initial=role,
            )

    def clean_zone(self) -> str:
        typed = str(self.cleaned_data.get("zone") or "").strip()
        if typed:
            try:
                ZoneInfo(typed)
            except (KeyError, ValueError, OSError):
                raise forms.ValidationError("There is no time zone of this name.") from None
        return typed

    def choices(self) -> dict[str, Any]:
        """Return what was settled, as it is kept."""
        values = self.cleaned_data
        columns = {
            str(place): values[f"column_{place}"]
            for place, (_, role, *_rest) in enumerate(self.heads)
            if values.get(f"column_{place}") and values[f"column_{place}"] != role
        }
        return {
            "day_first": {"day": True, "month": False}.get(values.get("day_first", "")),
            "unit": values.get("unit") or None,
            "tz": values.get("zone") or values.get("clock") or self.home_zone,
            "columns": columns,
        }


def how_read(kept: Mapping[str, Any], home_zone: str) -> dict[str, Any]:
    """Return what `HowReadForm` shows first for choices that are kept."""
    tz = kept.get("tz") or home_zone
    offered = {home_zone, winter_zone(home_zone), "UTC"}
    day_first = kept.get("day_first")
    return {
        "day_first": "" if day_first is None else "day" if day_first else "month",
        "unit": kept.get("unit") or "",
        "clock": tz if tz in offered else "",
        "zone": "" if tz in offered else tz,
    }


class GoalsForm(forms.Form):
    """Which sensor each sensor of a file is."""

    def __init__(self, *args: Any, sensors: list[Any], goals: list[Any], first: Mapping[str, str], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.names = [each["name"] for each in sensors]
        for place, each in enumerate(sensors):
            label = f"“{each['name']}” in the file is" if each["name"] else "These readings are of"
            self.fields[f"goal_{place}"] = forms.ChoiceField(
                label=label, choices=[("", "choose …"), *goals], initial=first.get(each["name"], "")
            )

    def assigned(self) -> dict[str, str]:
        """Return the choice for each sensor of the file."""
        return {name: self.cleaned_data[f"goal_{place}"] for place, name in enumerate(self.names)}
