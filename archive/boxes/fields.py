"""A form's field for a box: its number or name is typed, or it is picked from a list of the tree."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.boxes.models import Box
from archive.boxes.queries import named, paths_of
from archive.boxes.tree import choices
from archive.numbers import read_typed


class BoxInput(forms.TextInput):
    """A text field for the number or name, and beside it a list of the tree; what is typed counts first."""

    template_name = "boxes/_input.html"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off", **(attrs or {})})
        self.reader: Account | None = None

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        typed = str(data.get(name) or "").strip()
        return typed or data.get(f"{name}_list") or ""

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        rows = choices(self.reader)
        picked = context["widget"]["value"]
        in_list = any(number == picked for number, _ in rows)
        # A box of the list shows in the list, so that picking another there is enough.
        context["widget"] |= {"choices": rows, "picked": picked if in_list else "", "typed": "" if in_list else picked}
        return context

    def id_for_label(self, id_: str | None) -> str:
        return id_ or ""


class BoxField(forms.CharField):
    """Cleans to a `Box` or to None.

    ``reader`` is the account whose view of boxes counts; set it in the form's ``__init__`` through `see_as`.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", 400)
        super().__init__(widget=kwargs.pop("widget", BoxInput()), **kwargs)
        self.reader: Account | None = None

    def see_as(self, reader: Account | None) -> None:
        """Offer and find the boxes that this account may see."""
        self.reader = reader
        if isinstance(self.widget, BoxInput):
            self.widget.reader = reader

    def prepare_value(self, value: Any) -> Any:
        return value.number if isinstance(value, Box) else value

    def clean(self, value: Any) -> Box | None:
        typed = " ".join(str(super().clean(value) or "").split())
        if not typed:
            return None
        found = named(typed, self.reader)
        if len(found) == 1:
            return found[0]
        if found:
            paths = paths_of([box.pk for box in found], self.reader)
            where = "; ".join(
                f"{box.number} in {' › '.join(each.title for each in paths[box.pk][:-1]) or 'no room'}" for box in found
            )
            raise forms.ValidationError(f"More than one has this name: {where}. Type the number of the one you mean.")
        near = read_typed(typed).near
        if near:
            raise forms.ValidationError(
                f"{typed} is not one of our numbers: its last sign does not fit. Near it are: {', '.join(near)}."
            )
        raise forms.ValidationError("No box, shelf or room has this number or name. Pick it from the list, or add it.")
