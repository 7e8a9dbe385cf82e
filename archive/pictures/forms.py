"""The forms of a picture and of a mark on it."""

from __future__ import annotations

import math
from typing import Any

from django import forms

from archive.access.models import Account
from archive.people.fields import PersonField
from archive.pictures.models import Picture, View

SIDES = ("left", "top", "width", "height")
_WHOLE = 10_000  # marks are kept in ten-thousandths of the picture


class PictureForm(forms.Form):
    """What is said of a picture: what it shows, a caption, and of which piece it is."""

    view = forms.ChoiceField(label="What it shows", choices=View.choices)
    caption = forms.CharField(label="Caption", max_length=300, required=False)
    piece = forms.TypedChoiceField(label="Which piece it shows", required=False, coerce=int, empty_value=None)

    def __init__(self, *args: Any, picture: Picture, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pieces = list(picture.thing.pieces.select_related("thing")) if picture.thing else []
        if pieces:
            choices = [("", "the whole thing"), *((each.pk, f"{each} {each.title}".strip()) for each in pieces)]
            self.fields["piece"].choices = choices  # type: ignore[attr-defined]
        else:
            del self.fields["piece"]

    def columns(self) -> dict[str, Any]:
        """Return the cleaned values by the picture's columns."""
        values = dict(self.cleaned_data)
        if "piece" in values:
            values["piece_id"] = values.pop("piece")
        return values


class PercentField(forms.Field):
    """A share of the picture's width or height, typed in percent; a comma or a point, as one likes."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "short", "autocomplete": "off"})
        super().__init__(required=False, initial="", widget=widget, **kwargs)

    def to_python(self, value: Any) -> float | None:
        text = str("" if value is None else value).strip().removesuffix("%").strip().replace(",", ".")
        if not text:
            return None
        try:
            typed = float(text)
        except ValueError:
            raise forms.ValidationError("Type a number from 0 to 100, such as 12.5.") from None
        if not math.isfinite(typed) or not 0 <= typed <= 100:
            raise forms.ValidationError("Type a number from 0 to 100, such as 12.5.")
        return typed


class MarkForm(forms.Form):
    """Who is in a picture and, where it is known, in which rectangle of it."""

    person = PersonField(
        label="Who is it?",
        required=True,
        help_text="Type a name. For a face without a name yet, type what you would call it: “girl with the hoop”.",
    )
    left = PercentField(label="From the left (%)")
    top = PercentField(label="From the top (%)")
    width = PercentField(label="Width (%)")
    height = PercentField(label="Height (%)")
    sure = forms.BooleanField(label="I am sure who it is", required=False)

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person = self.fields["person"]
        if isinstance(person, PersonField):
            person.reader = reader

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        sides = [values.get(name) for name in SIDES]
        given = [side is not None for side in sides]
        if any(name in self.errors for name in SIDES) or not any(given):
            return values
        if not all(given):
            missing = SIDES[given.index(False)]
            self.add_error(missing, "Give all four numbers, or none where you only know that they are in the picture.")
            return values
        left, top, width, height = (float(side) for side in sides if side is not None)
        for name, size, start in (("width", width, left), ("height", height, top)):
            if size <= 0:
                self.add_error(name, "The rectangle needs a width and a height.")
            elif start + size > 100.05:  # rounding may bring it a little over
                self.add_error(name, "The rectangle reaches beyond the edge of the picture.")
        return values

    def columns(self) -> dict[str, Any]:
        """Return the rectangle in ten-thousandths, or nothing for all four, and whether it is sure."""
        values: dict[str, Any] = dict.fromkeys(SIDES) | {"sure": self.cleaned_data["sure"]}
        if self.cleaned_data.get("left") is not None:
            for name in SIDES:
                values[name] = round(self.cleaned_data[name] * _WHOLE / 100)
            values["width"] = max(1, min(values["width"], _WHOLE - values["left"]))
            values["height"] = max(1, min(values["height"], _WHOLE - values["top"]))
        return values


def in_percent(part: int | None) -> str:
    """Return ten-thousandths as percent, such as ``12.5``; nothing for None."""
    return "" if part is None else f"{part * 100 / _WHOLE:.2f}".rstrip("0").rstrip(".")
