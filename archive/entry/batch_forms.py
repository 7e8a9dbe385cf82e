"""The form that says what becomes of many things at once; what is left empty stays as it is."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.entry.batch import AddLink, AddState, RemoveLink, RemoveState, SetFields, SetStanding, Wish
from archive.entry.fields import KindField, StateField, TypedBoxField, TypedGroupField, TypedLotField, see_as
from archive.kinds import kind, state
from archive.people.fields import PersonField
from archive.places.fields import PlaceField
from archive.sorting.models import GONE
from archive.things.models import Standing, ThingPerson, ThingPlace

_STAYS = ("", "stays as it is")


def _line(label: str, length: int, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=length, required=False, widget=forms.TextInput({"autocomplete": "off"}), **kwargs
    )


def _choice(label: str, choices: Any, first: tuple[str, str] = _STAYS) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[first, *choices], required=False)


def _tick(label: str) -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False)


class BatchForm(forms.Form):
    """Which fields are set, added to and taken from."""

    kind = KindField(label="Kind")
    made_text = _line("When it was made", 200)
    made_clear = _tick("Empty it")
    box = TypedBoxField(label="Box")
    box_clear = _tick("Take it out of its box")
    lot = TypedLotField(label="Lot it arrived with")
    lot_clear = _tick("Take it out of its lot")
    access = _choice("Who may see it", ReadAccess.choices)
    standing = _choice("Standing", Standing.choices)
    standing_why = _line("Reason for the standing", 300)
    gone_how = _line("How it went, and to whom", 300)
    gone_agreed = _line("Who agreed", 300)
    copy_kept = _choice("Is a copy kept?", [("yes", "yes"), ("no", "no")], ("", "not said"))
    open_question = _line("The question that is open", 300)
    significance = _choice("How much it matters", [(str(n), str(n)) for n in range(1, 6)])
    significance_why = _line("Why it matters", 1000)
    significance_clear = _tick("Empty it")
    closed_until = forms.DateField(
        label="Closed until", required=False, widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )
    closed_why = _line("Why it is closed", 300)
    closed_clear = _tick("Open it again")
    add_state = StateField(label="Condition to add")
    remove_state = StateField(label="Condition to take away")
    add_person = PersonField(label="Somebody to add")
    add_person_role = forms.ChoiceField(label="In what way", choices=ThingPerson.Role.choices, required=False)
    remove_person = PersonField(label="Somebody to take away", may_be_new=False)
    remove_person_role = _choice("In what way", ThingPerson.Role.choices, ("", "in any way"))
    add_place = PlaceField(label="Place to add")
    add_place_role = forms.ChoiceField(label="In what way", choices=ThingPlace.Role.choices, required=False)
    remove_place = PlaceField(label="Place to take away", may_be_new=False)
    remove_place_role = _choice("In what way", ThingPlace.Role.choices, ("", "in any way"))
    add_group = TypedGroupField(label="Group to put it in", help_text="A new name makes a new group.")
    remove_group = TypedGroupField(label="Group to take it out of", may_be_new=False)

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        see_as(self, reader)

    def clean(self) -> dict[str, Any]:
        got: dict[str, Any] = super().clean() or {}
        for name, clear in (
            ("made_text", "made_clear"),
            ("box", "box_clear"),
            ("lot", "lot_clear"),
            ("significance", "significance_clear"),
            ("closed_until", "closed_clear"),
        ):
            if got.get(name) and got.get(clear):
                self.add_error(name, "Either a new value, or the tick that takes it away; not both.")
        self._check_standing(got)
        if got.get("closed_until") and got["closed_until"] <= timezone.localdate():
            self.add_error("closed_until", "This day is past, so nothing would be closed. Choose a later one.")
        if got.get("closed_until") and not got.get("closed_why"):
            self.add_error("closed_why", "A reason is asked, so that it can be opened again in good time.")
        if not self.errors and not self.wishes():
            self.add_error(None, "Nothing is chosen yet: fill in at least one field.")
        return got

    def _check_standing(self, got: dict[str, Any]) -> None:
        standing = got.get("standing")
        if not standing:
            return
        asked = {"standing_why": "A reason is asked for every standing."}
        if standing == Standing.UNDECIDED:
            asked["open_question"] = "What has to be found out before it can be decided?"
        if standing in GONE:
            asked |= dict.fromkeys(("gone_how", "gone_agreed", "copy_kept"), "This is asked of everything that leaves.")
            if got.get("box"):
                self.add_error("box", "What leaves is taken out of its box; leave this empty.")
        for name, words in asked.items():
            if not got.get(name):
                self.add_error(name, words)

    def wishes(self) -> list[Wish]:
        """Return what is wanted, one wish for each field or link."""
        got = self.cleaned_data
        found: list[Wish] = []
        if got.get("kind"):
            found.append(SetFields("Kind", {"kind_code": got["kind"]}, kind(got["kind"]).name))
        if got.get("made_text") or got.get("made_clear"):
            found.append(SetFields("When it was made", {"made_text": got["made_text"]}, got["made_text"] or "nothing"))
        for name, label in (("box", "Box"), ("lot", "Lot")):
            if got.get(name) or got.get(f"{name}_clear"):
                found.append(SetFields(label, {name: got[name]}, str(got[name] or "none")))
        if got.get("access"):
            found.append(SetFields("Who may see it", {"access": got["access"]}, str(ReadAccess(got["access"]).label)))
        if got.get("standing"):
            found.append(self._standing(got))
        if got.get("significance") or got.get("significance_clear"):
            value = int(got["significance"]) if got["significance"] else None
            values = {"significance": value, "significance_why": got["significance_why"] if value else ""}
            found.append(SetFields("How much it matters", values, str(value or "nothing")))
        if got.get("closed_until") or got.get("closed_clear"):
            day = got["closed_until"]
            values = {"closed_until": day, "closed_why": got["closed_why"] if day else ""}
            found.append(SetFields("Closed until", values, f"{day.day} {day:%B %Y}" if day else "open"))
        return found + self._links(got)

    def _standing(self, got: dict[str, Any]) -> Wish:
        gone = got["standing"] in GONE
        values: dict[str, Any] = {
            "standing": got["standing"],
            "standing_why": got["standing_why"],
            "standing_on": timezone.localdate(),
            "gone_how": got["gone_how"] if gone else "",
            "gone_agreed": got["gone_agreed"] if gone else "",
            "copy_kept": got["copy_kept"] == "yes" if gone else None,
        }
        if got["standing"] == Standing.UNDECIDED:
            values["open_question"] = got["open_question"]
        return SetStanding(values, str(Standing(got["standing"]).label))

    def _links(self, got: dict[str, Any]) -> list[Wish]:
        found: list[Wish] = []
        if got.get("remove_state"):
            found.append(RemoveState(got["remove_state"], state(got["remove_state"]).name))
        if got.get("add_state"):
            found.append(AddState(got["add_state"], state(got["add_state"]).name))
        for what in ("person", "place", "group"):
            if got.get(f"remove_{what}"):
                found.append(RemoveLink(what, got[f"remove_{what}"], got.get(f"remove_{what}_role", "")))
            if got.get(f"add_{what}"):
                first = {"person": ThingPerson.Role.SHOWN, "place": ThingPlace.Role.MADE}.get(what, "")
                found.append(AddLink(what, got[f"add_{what}"], str(got.get(f"add_{what}_role") or first)))
        return found
