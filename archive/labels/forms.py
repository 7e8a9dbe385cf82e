"""The form of a sheet of labels."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.labels.layouts import BadLayout, Layout, checked, layout, layouts

OWN = "own"
_OWN_NEEDS = ("own_columns", "own_rows", "own_width", "own_height")


def _whole(label: str) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, required=False, min_value=1, max_value=40,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )  # fmt: skip


def _millimetres(label: str, help_text: str = "") -> forms.FloatField:
    return forms.FloatField(
        label=label, required=False, min_value=0, max_value=420, help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )  # fmt: skip


class SheetForm(forms.Form):
    """Which layout, where to begin, and how far this printer is off."""

    layout = forms.ChoiceField(
        label="Sheet", help_text="Measure one label and the sheet’s margins if you are not sure."
    )
    own_page = forms.ChoiceField(
        label="Paper", required=False, choices=[("a4", "A4 (210 × 297 mm)"), ("letter", "Letter (215.9 × 279.4 mm)")]
    )
    own_columns = _whole("Labels across")
    own_rows = _whole("Labels down")
    own_width = _millimetres("Width of one label (mm)")
    own_height = _millimetres("Height of one label (mm)")
    own_left = _millimetres("From the page’s left edge to the first label (mm)")
    own_top = _millimetres("From the page’s top edge to the first label (mm)")
    own_step_across = _millimetres(
        "From one label’s left edge to the next one’s (mm)", "Leave empty when the labels touch."
    )
    own_step_down = _millimetres("From one label’s top edge to the next one’s (mm)", "Leave empty when they touch.")
    start = forms.IntegerField(
        label="Begin at label",
        initial=1,
        min_value=1,
        max_value=200,
        required=False,
        help_text="Count from the top left, row by row. So a begun sheet is used up.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    right_mm = forms.FloatField(
        label="Move everything right (mm)",
        initial=0,
        min_value=-15,
        max_value=15,
        required=False,
        help_text="A minus sign moves it left.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    down_mm = forms.FloatField(
        label="Move everything down (mm)",
        initial=0,
        min_value=-15,
        max_value=15,
        required=False,
        help_text="A minus sign moves it up.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    content = forms.ChoiceField(
        label="What the square code holds",
        required=False,
        initial="address",
        choices=[("address", "the address of the thing’s page here"), ("number", "the number only")],
    )
    outline = forms.BooleanField(label="Draw the edges (for a test on plain paper)", required=False)
    ruler = forms.BooleanField(label="Draw a 100 mm line, to see whether the printer shrinks the page", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(each.code, each.name) for each in layouts()]
        self.fields["layout"].choices = [*choices, (OWN, "a sheet of my own, with the measures below")]  # type: ignore[attr-defined]

    def own_fields(self) -> list[forms.BoundField]:
        """Return the fields of a sheet of the keeper's own."""
        return [self[name] for name in self.fields if name.startswith("own_")]

    def sheet_fields(self) -> list[forms.BoundField]:
        """Return the other fields."""
        return [self[name] for name in self.fields if not name.startswith("own_")]

    def own_values(self) -> dict[str, Any]:
        """Return the measures of the keeper's own sheet as typed, to be offered again."""
        return {name: value for name, value in self.cleaned_data.items() if name.startswith("own_") and value}

    def clean(self) -> dict[str, Any]:
        values = super().clean() or self.cleaned_data
        if self.errors or "layout" not in values:
            return values
        lacking = [name for name in _OWN_NEEDS if values["layout"] == OWN and not values.get(name)]
        for name in lacking:
            self.add_error(name, "Needed for a sheet of your own.")
        if lacking:
            return values
        try:
            values["sheet"] = self._own(values) if values["layout"] == OWN else layout(values["layout"])
        except BadLayout as error:
            self.add_error("own_width", str(error))
        else:
            if values["start"] > values["sheet"].per_page:
                self.add_error("start", f"This sheet has {values['sheet'].per_page} labels; begin at one of them.")
        return values

    def _own(self, values: dict[str, Any]) -> Layout:
        width, height = values["own_width"], values["own_height"]
        page = layout("letter-3x10" if values["own_page"] == "letter" else "a4-3x7").page_mm
        return checked(
            Layout(
                code=OWN,
                name="a sheet of my own",
                page_mm=page,
                columns=values["own_columns"],
                rows=values["own_rows"],
                label_mm=(width, height),
                margin_mm=(values["own_left"] or 0.0, values["own_top"] or 0.0),
                step_mm=(values["own_step_across"] or width, values["own_step_down"] or height),
                cut_marks=False,
                source="measured by the keeper",
                status="our default",
            )
        )

    def clean_start(self) -> int:
        return self.cleaned_data.get("start") or 1

    def clean_right_mm(self) -> float:
        return self.cleaned_data.get("right_mm") or 0.0

    def clean_down_mm(self) -> float:
        return self.cleaned_data.get("down_mm") or 0.0
