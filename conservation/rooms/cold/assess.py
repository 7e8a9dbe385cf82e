"""Cold places in words: what may go in, whether a place is ready, how long a package warms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from archive.kinds import KIND_CODES, kind
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.housing.assess import problem_of
from conservation.reasons import Reason, reason
from conservation.rooms.cold.models import ColdPlace, ColdTrip
from conservation.science import cold
from conservation.science.housing import Input
from conservation.science.words import codes, word

Choices = list[tuple[str, str]]
CHECK_DAYS = int(cold.table()["check"]["days"])


def choices(which: str) -> Choices:
    """Return the codes and words of ``appliance`` or ``package``."""
    return [(code, word(f"cold_{which}", code)) for code in codes(f"cold_{which}")]


def _reason(each: cold.Reason) -> Reason:
    return reason(each.say, each.citation)


@dataclass(frozen=True)
class MayIt:
    """Whether something may live in the cold, in words."""

    verdict: str
    words: str
    may: bool
    stop: bool
    frozen: bool  # it may go into a freezer
    chilled: bool  # it may go into a refrigerator
    reasons: tuple[Reason, ...]
    instead: str


def _in_words(answer: cold.Answer) -> MayIt:
    return MayIt(
        verdict=answer.verdict,
        words=word("cold_verdict", answer.verdict),
        may=answer.may,
        stop=answer.verdict in ("never", "ask-first"),
        frozen=answer.fits("freezer"),
        chilled=answer.fits("refrigerator"),
        reasons=tuple(_reason(each) for each in answer.reasons),
        instead=answer.instead,
    )


def may_live_cold(thing: Any) -> MayIt:
    """Return whether a thing may live in the cold."""
    return _in_words(cold.may_live_cold(problem_of(thing)))


@lru_cache(maxsize=200)
def of_kind(code: str) -> MayIt:
    """Return whether sound things of a kind may live in the cold, as far as the kind tells."""
    return _in_words(cold.may_live_cold(Input.model_validate({"kind": code})))


@dataclass(frozen=True)
class Group:
    """Kinds that are treated alike, with the reason."""

    words: str
    names: tuple[str, ...]
    reasons: tuple[Reason, ...]
    instead: str


def groups() -> dict[str, list[Group]]:
    """Return all kinds by what holds for them: ``may``, ``ask`` and ``never``; what has no need of it is left out."""
    found: dict[str, dict[tuple[Any, ...], list[str]]] = {"may": {}, "ask": {}, "never": {}}
    for code in sorted(KIND_CODES):
        answer = of_kind(code)
        which = "may" if answer.may else {"ask-first": "ask", "never": "never"}.get(answer.verdict)
        if which is not None and code not in ("ammunition", "fire-grenade"):
            key = (answer.words, answer.reasons, answer.instead)
            found[which].setdefault(key, []).append(kind(code).name)
    return {
        which: [Group(key[0], tuple(names), key[1], key[2]) for key, names in rows.items()]
        for which, rows in found.items()
    }


def waits() -> list[Reason]:
    """Return the states that come before the cold, each with its reason."""
    return [_reason(cold.reason_of(row)) for row in cold.table()["not_yet"].values()]


@dataclass(frozen=True)
class PlaceWords:
    """What is to be said of one cold place."""

    sort: str
    ready: bool
    against: tuple[Reason, ...]
    notes: tuple[Reason, ...]
    temperature: str
    check_due: date | None
    card_wet: bool


def degrees(celsius: float, kept: Preferences) -> str:
    """Return a temperature in the keeper's unit, with a real minus sign."""
    inch = kept.units == Preferences.Units.INCH
    shown = f"{fahrenheit(celsius):.0f} °F" if inch else f"{celsius:.3g} °C"
    return shown.replace("-", "−")


def judge(place: ColdPlace, kept: Preferences) -> PlaceWords:
    """Return whether a cold place is ready, and what is to be seen to."""
    appliance: Any = place.appliance
    judged = cold.judge_place(appliance, place.frost_free, place.no_food, place.temperature_c)
    limit = float(cold.table()["pack"]["card_repack_pct"])
    return PlaceWords(
        sort=word("cold_appliance", place.appliance),
        ready=judged.ready,
        against=tuple(_reason(each) for each in judged.against),
        notes=tuple(_reason(each) for each in judged.notes),
        temperature=degrees(place.temperature_c, kept) if place.temperature_c is not None else "",
        check_due=place.measured_on + timedelta(days=CHECK_DAYS) if place.measured_on else None,
        card_wet=place.card_pct is not None and place.card_pct > limit,
    )


@dataclass(frozen=True)
class WarmUpWords:
    """How long one size of package warms, by both sources, and what is used."""

    package: str
    first: str
    second: str
    used: str
    used_h: float


def _hours(low: float, high: float) -> str:
    def one(value: float) -> str:
        return "half an hour" if value == 0.5 else f"{value:g} hours"

    return one(low) if low == high else f"{'½' if low == 0.5 else f'{low:g}'} to {one(high)}"


def warm_ups() -> list[WarmUpWords]:
    """Return the table of warming up, the smallest package first."""
    rows = []
    for package in cold.PACKAGES:
        each = cold.warm_up(package)
        used = _hours(each.used_h, each.used_h)
        rows.append(
            WarmUpWords(word("cold_package", package), _hours(*each.first_h), _hours(*each.second_h), used, each.used_h)
        )
    return rows


def warm_up_reasons() -> tuple[Reason, Reason]:
    """Return the two sources of how long a package warms."""
    row = cold.warm_up("box")
    return _reason(row.first), _reason(row.second)


def package_words(package: str) -> str:
    """Return a size of package in words."""
    return word("cold_package", package)


def package_of(pieces: int, in_box: bool) -> str:
    """Return the code of the size of package that so many pieces make."""
    return cold.package_of(pieces, in_box)


def opens_at(out_at: datetime, package: Any) -> datetime:
    """Return the earliest time at which a package may be opened."""
    return cold.opens_at(out_at, package)


def power() -> list[tuple[str, Reason]]:
    """Return what holds when the power fails, for each appliance."""
    return [(word("cold_appliance", code), _reason(cold.reason_of(row))) for code, row in cold.table()["power"].items()]


def packing_reason() -> Reason:
    """Return the rule of the air in which things are packed."""
    return _reason(cold.reason_of(cold.table()["pack"]))


@dataclass(frozen=True)
class TripWords:
    """One time out of the cold, with its times on the home's clock."""

    trip: ColdTrip
    package: str
    out: str
    opens: str
    opens_day: str
    opens_clock: str
    may_open: bool
    left: str
    early: bool
    opens_date: date
    opens_stamp: str  # for machines


def trip_in_words(trip: ColdTrip, now: datetime, kept: Preferences) -> TripWords:
    """Return a time out of the cold in words."""
    zone = ZoneInfo(kept.zone)
    out, opens = trip.out_at.astimezone(zone), trip.opens_at.astimezone(zone)
    minutes = max(0, round((trip.opens_at - now).total_seconds() / 60))
    left = f"{minutes // 60} h {minutes % 60:02d} min" if minutes else ""
    return TripWords(
        trip=trip,
        package=word("cold_package", trip.package),
        out=f"{out:%A} {out.day} {out:%B}, {out:%H:%M}",
        opens=f"{opens:%A} {opens.day} {opens:%B}, {opens:%H:%M}",
        opens_day=f"{opens:%A} {opens.day} {opens:%B}",
        opens_clock=f"{opens:%H:%M}",
        may_open=now >= trip.opens_at,
        left=left,
        early=trip.opened_at is not None and trip.opened_at < trip.opens_at,
        opens_date=opens.date(),
        opens_stamp=opens.isoformat(timespec="minutes"),
    )
