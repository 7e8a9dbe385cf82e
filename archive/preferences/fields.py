"""A form's field for a size or weight in the keeper's unit."""

from __future__ import annotations

import math
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator


class MeasureField(forms.Field):
    """A size or weight typed in the keeper's unit and kept in millimetres or grams."""

    def __init__(self, factor: float, largest: float, smallest: float = 0.01, **kwargs: Any) -> None:
        least, most = (f"{limit / factor:.4g}" for limit in (smallest, largest))
        super().__init__(
            required=False,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
            validators=[
                MinValueValidator(smallest, f"It is too small; {least} or more is taken."),
                MaxValueValidator(largest, f"It is too large; {most} or less is taken."),
            ],
            **kwargs,
        )
        self.factor = factor

    def to_python(self, value: Any) -> float | None:
        text = str(value or "").strip().replace(",", ".")
        if not text:
            return None
        try:
            typed = float(text)
        except ValueError:
            raise forms.ValidationError("Type a number, such as 12.5.") from None
        if not math.isfinite(typed):
            raise forms.ValidationError("Type a number, such as 12.5.")
        return typed * self.factor

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, float):
            return f"{value / self.factor:.3f}".rstrip("0").rstrip(".")
        return value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Say whether something else was typed than was shown: rounding for the eye is no change."""
        return str(self.prepare_value(initial) or "") != str(data or "").strip()
