"""Forms of rounds and findings."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.fields import BoxField
from archive.boxes.models import Box
from archive.boxes.queries import numbered
from archive.things.models import Thing
from conservation.fields import PastDayField
from conservation.rooms.rounds import assess, queries
from conservation.rooms.rounds.models import Answer, Gravity


class BeginForm(forms.Form):
    """Which rooms a round goes through, and whether it looks at what is due, at all, or after a storm."""

    rooms = forms.MultipleChoiceField(
        label="Which rooms", widget=forms.CheckboxSelectMultiple, error_messages={"required": "Tick at least one room."}
    )
    which = forms.ChoiceField(
        label="Look at",
        choices=[
            ("due", "what is due"),
            ("storm", "what a storm, a flood or a burst pipe does: leaks, roof, walls, windows, floor"),
            ("everything", "everything on the list"),
        ],
        widget=forms.RadioSelect,
        initial="due",
        required=False,
    )

    def __init__(self, *args: Any, rooms: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rooms"].choices = rooms  # type: ignore[attr-defined]


class RoomAnswers(forms.Form):
    """What is said of each check of a room; the rest may be called fine at once."""

    def __init__(self, *args: Any, codes: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for code in codes:
            self.fields[f"answer_{code}"] = forms.ChoiceField(
                label=assess.check_name(code), choices=Answer.choices, required=False
            )

    def answers(self, rest: str = "") -> dict[str, str]:
        """Return what was said by check; ``rest`` stands for those of which nothing was said."""
        said = {name.removeprefix("answer_"): value or rest for name, value in self.cleaned_data.items()}
        return {code: value for code, value in said.items() if value}


class FindingForm(forms.Form):
    """What was found, where, and on which things."""

    check_code = forms.ChoiceField(label="What it is about")
    box = BoxField(label="In or on which box, shelf or furniture", help_text="Leave it empty for the room itself.")
    gravity = forms.ChoiceField(label="How bad", choices=Gravity.choices, initial=Gravity.CLEAR)
    words = forms.CharField(
        label="What you saw", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Where exactly, how much, fresh or old.",
    )  # fmt: skip
    things = forms.CharField(
        label="Seen on these things", required=False, max_length=4000, help_text="Their numbers, such as 0214-6 0300-3."
    )
    found_on = PastDayField(label="Found on", required=True)

    def __init__(self, *args: Any, room: Box, reader: Account, **kwargs: Any) -> None:
        kwargs["initial"] = {"found_on": timezone.localdate(), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        self.room, self.reader = room, reader
        self.fields["check_code"].choices = assess.check_choices()  # type: ignore[attr-defined]
        box: Any = self.fields["box"]
        box.see_as(reader)

    def clean_box(self) -> Box | None:
        box: Box | None = self.cleaned_data["box"]
        if box is None or box.pk == self.room.pk:
            return None
        if not queries.is_below(box, self.room):
            raise forms.ValidationError(f"{box} does not stand in {self.room.title}. Choose one that does, or none.")
        return box

    def clean_things(self) -> list[Thing]:
        typed = [each for each in re.split(r"[\s,;]+", self.cleaned_data["things"]) if each]
        found = numbered(typed, self.reader)
        if found.bad or found.boxes:
            wrong = [f"{each.typed}: {each.why}" for each in found.bad]
            wrong += [f"{box.number} is a box; name it above" for box in found.boxes]
            raise forms.ValidationError("; ".join(wrong) + ".")
        return found.things

    def values(self) -> dict[str, Any]:
        """Return the finding's own columns."""
        return {name: self.cleaned_data[name] for name in ("check_code", "box", "gravity", "words", "found_on")}


class CloseForm(forms.Form):
    """What was done about a finding."""

    closed_how = forms.CharField(label="What was done", max_length=1000, widget=forms.Textarea(attrs={"rows": 3}))
    closed_on = PastDayField(
        label="Done on", required=True, initial=timezone.localdate,
        still_to_come="This day is still to come. Close it when it is done.",
    )  # fmt: skip
