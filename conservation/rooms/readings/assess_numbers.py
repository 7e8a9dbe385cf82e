"""The numbers of the models for one room, each with plain words, where it comes from, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from archive.kinds import KIND_CODES
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.rooms.readings.import_words import interval
from conservation.rooms.readings.queries import RoomAir
from conservation.rooms.readings.store import Day
from conservation.science.ageing import ACETATE_TABLE_CITATION, acetate_years, ageing_citations
from conservation.science.air import WALL_FACTORS, air_citations, surface_rh_pct, wall_surface_c
from conservation.science.figures import figures
from conservation.science.fluctuation import (
    LEAST_DAYS_BAND,
    LEAST_DAYS_CLASSES,
    control_class_citations,
    fluctuation_citations,
)
from conservation.science.moisture import paper_moisture_pct, wood_moisture_pct
from conservation.science.mould import mould_citations, sensitivity_classes
from conservation.science.room_air import mould_class_citation, mould_class_for, season
from conservation.science.sources import Citation, cited
from conservation.science.spells import INSECTS, METALS, two_digits

_OUTSIDE_C = (-5.0, 0.0, 5.0)
_SURFACES = {
    "insulated-outside-wall": "an outside wall with insulation, at its coldest corner",
    "outside-wall": "an old outside wall",
    "behind-picture": "behind a picture on an old outside wall",
}
_METALS = {
    "stable_metal": "stable metals among other things",
    "most_metals": "most metals",
    "iron": "iron",
    "salty_iron": "iron with salts in it, as from the ground or the sea",
    "salty_bronze": "bronze with salts in it",
    "damp": "damp, by the usual word",
}
_CLASSES = {
    "AA": "as a museum would have it",
    "A1": "small swings, seasons allowed",
    "A2": "steady all year, somewhat larger swings",
    "B": "what a good house can reach",
    "C": "always 25 to 75 %",
    "D": "never damp, under 75 %",
}


@dataclass(frozen=True)
class Number:
    """One number, with what it means."""

    label: str
    value: str
    words: str = ""


@dataclass(frozen=True)
class Section:
    """Some numbers that belong together, and their sources."""

    title: str
    say: str
    rows: list[Number]
    sources: list[dict[str, Any]]
    missing: str = ""

    @property
    def from_memory(self) -> bool:
        """Whether any figure behind it was not looked up again."""
        return any(each["status"] == "from memory" for each in self.sources)


def sections(
    air: RoomAir, kinds: Mapping[str, int], days: Sequence[Day], kept: Preferences, outdoors: Sequence[Day] = ()
) -> list[Section]:
    """Return the numbers of a room, one section for each model; ``outdoors`` are the same days of a sensor outside."""
    inch = kept.units == Preferences.Units.INCH

    def warmth(value: float) -> str:
        shown = f"{fahrenheit(value):.1f} °F" if inch else f"{value:.1f} °C"
        return shown.replace("-", "−")

    known = [code for code in kinds if code in KIND_CODES]
    return [
        _air(air, warmth),
        _ageing(air, f"{'68 °F' if inch else '20 °C'} and 50 %"),
        _mould(air, known),
        _walls(days, outdoors, warmth),
        _swings(air),
        _classes(air),
        _moisture(air),
        _acetate(air),
        _insects(days),
        _metals(air),
    ]


def _section(title: str, say: str, rows: list[Number], citations: list[Citation], missing: str = "") -> Section:
    return Section(title, say, rows, cited(citations), missing)


def _air(air: RoomAir, warmth: Any) -> Section:
    t, h = air.temperature, air.humidity
    rows = [
        Number(
            "Temperature",
            warmth(t.mean),
            f"{warmth(t.min)} to {warmth(t.max)}; nine tenths between {warmth(t.p05)} and {warmth(t.p95)}",
        ),
        Number(
            "Relative humidity",
            f"{h.mean:.0f} %",
            f"{h.min:.0f} to {h.max:.0f} %; nine tenths between {h.p05:.0f} and {h.p95:.0f} %",
        ),
    ]
    if air.dew_point_c is not None:
        rows.append(
            Number(
                "Dew point",
                warmth(air.dew_point_c),
                "Anything colder than this gets wet. Over liquid water, also below freezing.",
            )
        )
    every = f", {interval(air.interval_minutes * 60)}" if air.interval_minutes else ""
    say = f"{air.readings:,} readings from {air.first_day:%d %B %Y} to {air.last_day:%d %B %Y}{every}, {air.told}."
    return _section("The air", say, rows, air_citations())


def _ageing(air: RoomAir, usual: str) -> Section:
    def than(life: float) -> str:
        if two_digits(life) == "1":
            return f"Lasts as long as at {usual}."
        return (
            f"Ages {two_digits(1 / life)} times as fast as at {usual}."
            if life < 1
            else f"Lasts {two_digits(life)} times as long as at {usual}."
        )

    paper = float(air.answer["year"]["paper_life"])
    rows = [
        Number("Paper, cotton, film", two_digits(air.life_ea100), than(air.life_ea100)),
        Number("Varnish and slower materials", two_digits(air.life_ea70), than(air.life_ea70)),
        Number(
            "Paper, by the water in it",
            two_digits(paper),
            than(paper) + " Another way of working it out, from tests of old paper.",
        ),
    ]
    say = (
        f"How many times as long things last here as at {usual}: rates are averaged, hour by hour, so a hot week "
        "counts more than a cool one. Good for comparing rooms, not for years."
    )
    return _section(
        "Ageing",
        say,
        rows,
        [*ageing_citations(), *figures("ageing").cite("paper_water_factor", "paper_temperature_factor")],
    )


def _mould(air: RoomAir, known: list[str]) -> Section:
    number = mould_class_for(known)
    mould = air.answer["year"]["mould"]
    citations = [*mould_citations(), mould_class_citation()]
    say = (
        f"By a model of mould on wood, run hour by hour for the most sensitive of what lies here, cardboard boxes "
        f"among it: class {number} "
        f"({sensitivity_classes()[number].examples}). 0 is none, 1 is seen with a "
        f"microscope, 3 is seen by eye, 6 covers everything."
    )
    if mould is None:
        return _section(
            "Mould",
            say,
            [],
            citations,
            "The readings are more than six hours apart throughout; every few hours would do.",
        )
    each = mould[str(number)]
    rows = [
        Number(
            "Highest index in the year", f"{each['peak']:.1f}", "3 or more counts as a failure in building standards."
        ),
        Number("Index at the last reading", f"{each['now']:.1f}"),
    ]
    for level, name in (("days_to_1", "First growth after"), ("days_to_3", "Seen by eye after")):
        if each[level] is not None:
            rows.append(Number(name, f"{each[level]:.0f} days", "from the first reading of the year"))
    return _section("Mould", say, rows, citations, "For the air of the room; at a cold wall it is damper, see below.")


def _outside(coldest: Sequence[Day], outdoors: Sequence[Day], warmth: Any) -> tuple[list[tuple[float, str]], str]:
    """Return the temperatures outside to work with and their words, and how they are known."""
    those = {day.day for day in coldest}
    measured = [day.t_mean for day in outdoors if day.day in those]
    if len(measured) * 2 < len(those) or not measured:
        usual = [(each, f"{warmth(each)} outside") for each in _OUTSIDE_C]
        return usual, "Nobody measured outdoors then, so it is worked out for three temperatures outside."
    mean, least = sum(measured) / len(measured), min(measured)
    rows = [(mean, f"{warmth(mean)} outside, the mean of those days"), (least, f"{warmth(least)} on the coldest day")]
    return rows, f"Outdoors it was measured: {warmth(mean)} on {len(measured)} of those days."


def _walls(days: Sequence[Day], outdoors: Sequence[Day], warmth: Any) -> Section:
    by_month: dict[int, list[Day]] = {}
    for day in days:
        by_month.setdefault(day.day // 30, []).append(day)
    by_month = {key: part for key, part in by_month.items() if len(part) >= 15} or by_month
    citations = [*air_citations(), *(figure.citation for figure in WALL_FACTORS.values())]
    title = "At a cold wall"
    if not by_month:
        return _section(title, "", [], citations, "There are no days to work with.")
    coldest = min(by_month.values(), key=lambda part: sum(day.t_mean for day in part) / len(part))
    t = sum(day.t_mean for day in coldest) / len(coldest)
    h = sum(day.h_mean for day in coldest) / len(coldest)
    outside_then, how = _outside(coldest, outdoors, warmth)
    measured = len(outside_then) != len(_OUTSIDE_C)
    rows = []
    for code, name in _SURFACES.items():
        said = []
        for outside, where in outside_then:
            surface = float(wall_surface_c(t, outside, WALL_FACTORS[code].value))
            at = float(surface_rh_pct(t, h, surface))
            said.append(f"{where}: {warmth(surface)}, {at:.0f} %" + (" – wet" if at >= 100 else ""))
        judged_at = outside_then[0][0] if measured else 0.0
        worst = float(surface_rh_pct(t, h, float(wall_surface_c(t, judged_at, WALL_FACTORS[code].value))))
        when = "in such weather" if measured else "when it freezes outside"
        words = f"Mould can grow there {when}." if worst >= 80 else f"Dry enough {when}."
        rows.append(Number(name.capitalize(), "; ".join(said), words))
    say = (
        f"In the coldest thirty days the room had {warmth(t)} and {h:.0f} %. A wall is "
        f"colder than the air, so the same "
        f"air is damper there. {how}"
    )
    return _section(title, say, rows, citations)


def _swings(air: RoomAir) -> Section:
    band = air.answer["all"]["band"]
    say = (
        "The range in which things that have lived in a room for a year or more have learnt to live (EN "
        "15757): the seasons, and seven in eight of the short swings round them."
    )
    if band is None:
        missing = (
            f"This needs {LEAST_DAYS_BAND:g} days, thirteen months, with a reading an hour; there are "
            f"{air.answer['all']['days']:.0f}."
        )
        return _section("Swings of humidity", say, [], fluctuation_citations(), missing)
    rows = [
        Number(
            "Keep it between",
            f"{band['lower_pct']:.0f} and {band['upper_pct']:.0f} %",
            "swings beyond this are new to what lives here",
        ),
        Number(
            "Short swings",
            f"{band['p07']:.1f} to {band['p93']:+.1f} %".replace("-", "−"),
            "round the mean of thirty days; under ten they are harmless anyway",
        ),
    ]
    return _section("Swings of humidity", say, rows, fluctuation_citations())


def _classes(air: RoomAir) -> Section:
    classes = air.answer["year"]["classes"]
    say = "How much of the time this room keeps within classes that museums use. A house reaches B, C or D."
    if classes is None:
        missing = f"This needs {LEAST_DAYS_CLASSES:g} days; there are {air.days:.0f}."
        return _section("Classes of control", say, [], control_class_citations(), missing)
    rows = [
        Number(name, "open" if share is None else f"{100 * share:.0f} %", _CLASSES.get(name, ""))
        for name, share in classes.items()
    ]
    return _section("Classes of control", say, rows, control_class_citations())


def _moisture(air: RoomAir) -> Section:
    rows = []
    for words, rh in (
        ("on average", air.humidity.mean),
        ("in the driest twentieth", air.humidity.p05),
        ("in the dampest twentieth", air.humidity.p95),
    ):
        t = air.temperature.mean
        wood, paper = float(wood_moisture_pct(t, rh)), float(paper_moisture_pct(t, min(rh, 98.0)))
        rows.append(Number(f"Water {words}", f"wood {wood:.1f} %, paper {paper:.1f} %", f"at {rh:.0f} %"))
    say = (
        "How much water wood and paper hold, by weight, once they have settled. Four per cent more or "
        "less makes wood one per cent wider or narrower across the grain."
    )
    return _section("Wood and paper", say, rows, figures("moisture").cite())


def _acetate(air: RoomAir) -> Section:
    years = acetate_years(air.temperature.mean, air.humidity.mean)
    say = (
        "Years until fresh acetate film begins to smell of vinegar, from the guide’s table at the mean "
        "of the year. Film that smells already is past this: it needs the cold now."
    )
    if years is None:
        return _section(
            "Acetate film",
            say,
            [],
            [ACETATE_TABLE_CITATION],
            "The table runs from 4 to 27 °C (40 to 80 °F) and 20 to 80 %; this room’s mean is outside.",
        )
    return _section(
        "Acetate film", say, [Number("Fresh film", f"about {two_digits(years)} years")], [ACETATE_TABLE_CITATION]
    )


def _insects(days: Sequence[Day]) -> Section:
    import numpy as np

    found = season(
        np.array([day.day for day in days], dtype=np.int64),
        np.array([day.t_mean for day in days]),
        np.array([day.h_mean for day in days]),
    )
    rows = [
        Number(
            "Days warm enough for moths and beetles",
            f"{found['active_days']} of {found['days']}",
            f"{INSECTS.value('active_from'):g} °C and more",
        ),
        Number(
            "Longest damp stretch",
            f"{found['longest_damp_days']:.0f} days",
            "Silverfish and their like can settle." if found["damp_loving"] else "Too short for silverfish to settle.",
        ),
    ]
    return _section(
        "Insects",
        "When insects that eat things can feed and breed, by the air alone.",
        rows,
        INSECTS.cite("active_from", "damp_loving_from", "damp_loving_days"),
    )


def _metals(air: RoomAir) -> Section:
    hours = air.answer["year"]["metals"]
    rows = [
        Number(_METALS[name].capitalize(), f"{spent:,.0f} hours", f"above {METALS.value(name):g} %")
        for name, spent in hours.items()
        if name in _METALS
    ]
    return _section("Metals", "How long the air was damper than each metal can stand.", rows, METALS.cite())
