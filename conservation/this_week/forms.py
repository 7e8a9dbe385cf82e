"""Forms of This week."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from archive.things.fields import DayField
from conservation.fields import PastDayField
from conservation.this_week import assess
from conservation.this_week.models import MOST_MINUTES, OwnJob, WeekCalendar


def _minutes(label: str, **options: Any) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"})
    return forms.IntegerField(label=label, min_value=1, max_value=MOST_MINUTES, widget=widget, **options)


class TimeForm(forms.Form):
    """How many minutes there are."""

    minutes = _minutes("Minutes I have", required=False)


class PutOffForm(forms.Form):
    """Until when a job is put off, and why. ``days`` comes from a button and stands in for the day."""

    until = DayField(label="Show it again on")
    reason = forms.CharField(label="Why it can wait", max_length=300, required=False)
    days = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, tier: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tier = tier
        free = assess.may_wait_days(tier)
        if free is not None:
            self.fields["reason"].help_text = f"Needed when it is put off for more than {free} days."

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        today = timezone.localdate()
        until, days = data.get("until"), data.get("days")
        if days and not until and "until" not in self.errors:
            until = data["until"] = today + timedelta(days=min(max(days, 1), assess.longest_put_off()))
        if "until" in self.errors:
            return data
        if until is None:
            self.add_error("until", "Choose a day, or one of the buttons.")
            return data
        wait, free = (until - today).days, assess.may_wait_days(self.tier)
        if wait < 1:
            self.add_error("until", "Choose a day after today.")
        elif wait > assess.longest_put_off():
            self.add_error("until", "Choose a day within a year.")
        elif free is not None and wait > free and not (data.get("reason") or "").strip():
            self.add_error("reason", f"Say why it can wait for more than {free} days.")
        return data


class DoneForm(forms.Form):
    """A job is done: when, and how long it took."""

    minutes = _minutes("It took me so many minutes", required=False, help_text="It makes our guess better next time.")
    done_on = PastDayField(label="Done on", still_to_come="That day is still to come.")

    def clean_done_on(self) -> Any:
        return self.cleaned_data.get("done_on") or timezone.localdate()


class OwnForm(forms.Form):
    """A job of one's own."""

    words = forms.CharField(label="What is to be done", max_length=300)
    minutes = _minutes("About how many minutes", initial=15)
    due = DayField(label="By when", help_text="Leave it empty for any time.")
    repeat = forms.ChoiceField(label="It comes back every so many", choices=OwnJob.Repeat.choices, required=False)
    every = forms.IntegerField(
        label="How many", min_value=1, max_value=99, initial=1, required=False,
        widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
        help_text="3 with months: every three months. A month that lacks the day takes its last day.",
    )  # fmt: skip
    from_done = forms.BooleanField(label="Counted from the day I did it", required=False)
    until = DayField(label="It comes back no more after")
    tier = forms.TypedChoiceField(
        label="Does it press?", choices=OwnJob.Tier.choices, coerce=int, initial=OwnJob.Tier.REST
    )
    matters = forms.TypedChoiceField(
        label="How much it matters", required=False, coerce=int, empty_value=None,
        choices=[("", "not said"), *((n, f"{n} of 5") for n in range(1, 6))],
    )  # fmt: skip
    first = forms.CharField(
        label="If there is little time: what the first ten minutes are", max_length=300, required=False
    )

    def clean_every(self) -> int:
        return self.cleaned_data.get("every") or 1

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        due, until = data.get("due"), data.get("until")
        if data.get("repeat") and due is None and "due" not in self.errors:
            self.add_error("due", "Say when it is due first.")
        if due and until and until < due:
            self.add_error("until", "That is before it is due first.")
        return data


class CalendarForm(forms.Form):
    """Whether calendars may read what is due, and how much they are told."""

    is_open = forms.BooleanField(label="My calendar may read what is due", required=False)
    says = forms.ChoiceField(label="What it is told", choices=WeekCalendar.Says.choices, widget=forms.RadioSelect)
