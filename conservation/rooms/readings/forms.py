"""Forms of sensors and readings."""

from __future__ import annotations

from django import forms

from conservation.rooms.readings.models import Placement


class SensorForm(forms.Form):
    """A sensor in a room."""

    name = forms.CharField(
        label="Its name", max_length=120, help_text="What you call it, or what is written on it: “Grey logger”."
    )
    placement = forms.ChoiceField(
        label="Where in the room it is", choices=Placement.choices, initial=Placement.FREE, widget=forms.RadioSelect
    )
    where = forms.CharField(
        label="More exactly", max_length=200, required=False, help_text="Such as: second shelf, beside the boxes."
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))


class ChangeSensorForm(SensorForm):
    """What is recorded of a sensor; a sensor that goes to another room is retired, and a new one recorded there."""

    retired_on = forms.DateField(
        label="Not in use since",
        required=False,
        help_text=(
            "Its readings stay. When it goes to another room, say here since when, and record it anew in that room: "
            "so each room keeps its own readings."
        ),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    field_order = ("name", "placement", "where", "retired_on", "note")
