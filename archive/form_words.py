"""What forms say about bad input, in plain words, in place of the framework's."""

from __future__ import annotations

from django import forms
from django.core import validators

_SAID: tuple[tuple[type[forms.Field], dict[str, str]], ...] = (
    (forms.Field, {"required": "Please fill this in."}),
    (forms.IntegerField, {"invalid": "Type a whole number, such as 12."}),
    (forms.FloatField, {"invalid": "Type a number, such as 12.5."}),
    (forms.DecimalField, {"invalid": "Type a number, such as 12.5."}),
    (forms.DateField, {"invalid": "This is no day of the calendar."}),
    (forms.DateTimeField, {"invalid": "This is no day and hour."}),
    (forms.TimeField, {"invalid": "This is no hour of the day."}),
    (forms.ChoiceField, {"invalid_choice": "Choose one from the list."}),
    (forms.MultipleChoiceField, {"invalid_choice": "Choose from the list.", "invalid_list": "Choose from the list."}),
    (forms.FileField, {"empty": "This file is empty.", "missing": "No file came.", "invalid": "No file came."}),
)


def speak_plainly() -> None:
    """Put our sentences into the framework's fields and validators; call it before any form is defined."""
    for field, said in _SAID:
        field.default_error_messages = {**getattr(field, "default_error_messages", {}), **said}
    validators.MinValueValidator.message = "The least is %(limit_value)s."
    validators.MaxValueValidator.message = "The most is %(limit_value)s."
    validators.MaxLengthValidator.message = "At most %(limit_value)d signs fit here; this has %(show_value)d."
