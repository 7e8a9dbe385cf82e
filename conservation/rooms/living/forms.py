"""The form of the keeper's answer to a proposed move."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.fields import BoxField
from archive.things.fields import DayField
from conservation.rooms.living.models import MoveDecision

_ANSWERS = [
    (MoveDecision.Answer.ACCEPTED, "I will move it: make it a job"),
    (MoveDecision.Answer.LATER, "Not now: ask me again later"),
    (MoveDecision.Answer.REFUSED, "No: do not propose it again"),
]
_LATER_DAYS = 90


def _later() -> Any:
    return timezone.localdate() + timedelta(days=_LATER_DAYS)


class AnswerForm(forms.Form):
    """Accept a move as a job, put it off, or refuse it."""

    answer = forms.ChoiceField(label="Your answer", choices=_ANSWERS, widget=forms.RadioSelect)
    goal = BoxField(label="Into which room, shelf or box", help_text="Its number, its name, or one of the list.")
    minutes = forms.IntegerField(
        label="Minutes it will take",
        initial=15,
        min_value=1,
        max_value=600,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    until = DayField(label="If later: ask again on", initial=_later)
    reason = forms.CharField(
        label="Why so", max_length=300, required=False, help_text="Such as: the shelf is too high for me."
    )

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        goal = self.fields["goal"]
        if isinstance(goal, BoxField):
            goal.see_as(reader)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        answer = values.get("answer")
        if answer == MoveDecision.Answer.ACCEPTED and not values.get("goal") and "goal" not in self.errors:
            self.add_error("goal", "Say where it will live.")
        if answer == MoveDecision.Answer.LATER:
            if not values.get("until"):
                self.add_error("until", "Say when you want to be asked again.")
            elif values["until"] <= timezone.localdate():
                self.add_error("until", "That day is over, or it is today. Take a later one.")
        else:
            values["until"] = None
        values["minutes"] = values.get("minutes") or 15
        return values
