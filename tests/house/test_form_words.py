"""The framework's own sentences about bad input never reach a page."""

from __future__ import annotations

from django import forms

from archive.sorting.forms import CountForm


def test_fields_speak_plainly() -> None:
    class Sheet(forms.Form):
        name = forms.CharField(max_length=3)
        many = forms.IntegerField(min_value=1, max_value=9)
        when = forms.DateField()
        one = forms.ChoiceField(choices=[("a", "A")])

    said = Sheet({"name": "four", "many": "lots", "when": "31 February", "one": "b"}).errors
    words = {name: list(each) for name, each in said.items()}
    assert words == {
        "name": ["At most 3 signs fit here; this has 4."],
        "many": ["Type a whole number, such as 12."],
        "when": ["This is no day of the calendar."],
        "one": ["Choose one from the list."],
    }
    assert [list(each) for each in Sheet({"many": "10"}).errors.values()] == [
        ["Please fill this in."], ["The most is 9."], ["Please fill this in."], ["Please fill this in."],
    ]  # fmt: skip
    assert Sheet({"many": "0"}).errors["many"] == ["The least is 1."]


def test_forms_of_the_house_were_defined_after_it() -> None:
    assert CountForm({"count": "lots"}).errors["count"] == ["Type a whole number, such as 12."]
