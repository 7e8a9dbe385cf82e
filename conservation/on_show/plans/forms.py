"""Forms of plans: what is asked, wishes, one showing changed by hand, a changeover sheet, captions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.stories.fields import ThingField
from archive.things.fields import DayField
from conservation.fields import PastDayField
from conservation.on_show.models import DisplayPlan, PlannedShowing, Spot

WISHES = (
    ("", "as it matters"), ("5", "5, most of all"), ("4", "4, very much"), ("3", "3, gladly"), ("2", "2, perhaps"),
    ("1", "1, hardly"), ("out", "leave it out of this plan"),
)  # fmt: skip


def _short(**options: Any) -> forms.IntegerField:
    return forms.IntegerField(widget=forms.NumberInput(attrs={"class": "short"}), **options)


class PlanForm(forms.Form):
    """What is asked of a plan."""

    title = forms.CharField(label="Name", max_length=300)
    starts_on = DayField(
        label="First day", required=True,
        help_text="Weeks begin on Monday; another day is taken to the Monday before it.",
    )  # fmt: skip
    weeks = _short(label="Weeks", min_value=4, max_value=52, initial=52)
    changeovers = _short(
        label="Days of change in it", min_value=1, max_value=52, initial=6,
        help_text="Things go up and come down only then. About six a year keeps you off the ladder.",
    )  # fmt: skip
    seconds = _short(
        label="Seconds for working it out", min_value=2, max_value=600, initial=20,
        help_text="The first plan is there after one; more time may find a better one.",
    )  # fmt: skip
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))

    def clean_starts_on(self) -> Any:
        day = self.cleaned_data["starts_on"]
        return day - timedelta(days=day.weekday())


class SettingsForm(PlanForm):
    """What is asked of a plan that is there, with the days of change one by one."""

    def __init__(self, *args: Any, plan: DisplayPlan, fixed_start: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if fixed_start:
            del self.fields["starts_on"], self.fields["weeks"]
        days = [(week, plan.starts_on + timedelta(weeks=week)) for week in range(1, plan.weeks)]
        self.fields["propose"] = forms.BooleanField(label="Propose the days of change anew", required=False)
        self.fields["change_weeks"] = forms.TypedMultipleChoiceField(
            label="Or choose them yourself", required=False, coerce=int, widget=forms.CheckboxSelectMultiple(),
            choices=[(week, f"{day.day} {day:%B %Y}") for week, day in days],
            help_text="The first day always is one.",
        )  # fmt: skip
        self.order_fields(["title", "starts_on", "weeks", "changeovers", "propose", "change_weeks", "seconds", "note"])


class WishForm(forms.Form):
    """How gladly each thing would be seen, and which are left out."""

    def __init__(self, *args: Any, rows: Sequence[Any], left_out: Iterable[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        out = set(left_out)
        for thing, wish in rows:
            self.fields[f"wish_{thing.public_id}"] = forms.ChoiceField(
                label=f"{thing.number} {thing.title}", choices=WISHES, required=False,
                initial="out" if thing.public_id in out else str(wish or ""),
            )  # fmt: skip

    def chosen(self) -> dict[str, str]:
        """Return what was chosen by the addresses of things."""
        return {
            name.removeprefix("wish_"): value for name, value in self.cleaned_data.items() if name.startswith("wish_")
        }


class AddThingForm(forms.Form):
    """A thing that is to be thought of for the wall."""

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = ThingField(label="Another thing that you would gladly see", required=True)
        field.reader = reader
        self.fields["thing"] = field


class ShowingForm(forms.Form):
    """Where and from when to when a thing is up."""

    spot = forms.ChoiceField(label="Spot")
    from_week = forms.TypedChoiceField(label="Goes up on", coerce=int)
    end_week = forms.TypedChoiceField(label="Comes down on", coerce=int)
    pinned = forms.BooleanField(
        label="Pin it: it stays when the plan is worked out again", required=False, initial=True
    )

    def __init__(
        self,
        *args: Any,
        spots: Iterable[Spot],
        starts: list[tuple[int, str]],
        ends: list[tuple[int, str]],
        reader: Account | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["spot"].choices = [(each.public_id, each.title) for each in spots]  # type: ignore[attr-defined]
        self.fields["from_week"].choices = starts  # type: ignore[attr-defined]
        self.fields["end_week"].choices = ends  # type: ignore[attr-defined]
        if reader is not None:
            field = ThingField(label="Thing", required=True)
            field.reader = reader
            self.fields["thing"] = field
            self.fields["is_copy"] = forms.BooleanField(
                label="A copy hangs, the original rests in the dark", required=False
            )
            self.order_fields(["thing", "is_copy", "spot", "from_week", "end_week", "pinned"])

    def clean(self) -> Any:
        values = super().clean() or self.cleaned_data
        if "from_week" in values and "end_week" in values and values["end_week"] <= values["from_week"]:
            self.add_error("end_week", "It comes down on a day after it went up.")
        return values


class TickForm(forms.Form):
    """What was done on a day of change."""

    day = PastDayField(
        label="Done on", required=True, initial=timezone.localdate,
        still_to_come="That day is still to come. Tick it when it is done.",
    )  # fmt: skip

    def __init__(self, *args: Any, down: Sequence[PlannedShowing], up: Sequence[PlannedShowing], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.down, self.up = list(down), list(up)
        self.fields["done"] = forms.MultipleChoiceField(
            required=False, choices=[(each.public_id, str(each)) for each in [*self.down, *self.up]]
        )

    def ticked(self) -> tuple[list[PlannedShowing], list[PlannedShowing]]:
        """Return what came down and what went up."""
        done = set(self.cleaned_data["done"])
        return [each for each in self.down if f"{each.public_id}" in done], [
            each for each in self.up if each.public_id in done
        ]
