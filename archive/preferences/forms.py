"""The form of the archive's settings."""

from __future__ import annotations

import zoneinfo
from typing import TYPE_CHECKING, Any

from django import forms

from archive.preferences.models import Preferences

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Preferences]
else:
    ModelForm = forms.ModelForm


class PreferencesForm(ModelForm):
    """Settings, the most wanted first."""

    class Meta:
        model = Preferences
        fields = (
            "starts_at_login",
            "home_name",
            "zone",
            "units",
            "paper",
            "day_order",
            "southern",
            "language",
            "theme",
            "visitors_allowed",
            "privacy_years",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = sorted(name for name in zoneinfo.available_timezones() if "/" in name or name == "UTC")
        self.fields["zone"] = forms.ChoiceField(
            label="Time zone of the home",
            choices=[(name, name.replace("_", " ")) for name in zones],
            help_text="Times on pages are shown by this clock.",
        )
        self.fields["visitors_allowed"].help_text = "Off means that everybody has to sign in."
