"""Who in a room is unhappy and what would help, in words, from what is kept of its readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from archive.kinds import KIND_CODES, kind
from archive.preferences.models import Preferences
from archive.preferences.units import fahrenheit
from conservation.rooms.readings.queries import KindAir, RoomAir
from conservation.science.housing.climate import limits, together
from conservation.science.room_air import CHANGES, group_of, mould_class_for
from conservation.science.room_fit import RULE
from conservation.science.sources import cited
from conservation.science.spells import two_digits

# Fewer days than this say nothing of a room's year.
FEW_DAYS = 14.0
WHOLE_YEAR_DAYS = 330.0
_WORTH_SAYING_H = 24.0
LEAST_GAIN = 0.05
_MOST_NAMED = 6
_COOL_ENOUGH_C = 15.0  # nobody cools a room that is cooler than this on average
ORDER = {"unsuitable": 0, "watch": 1, "suits": 2, None: 3}


@dataclass(frozen=True)
class KindLine:
    """One kind of thing in a room, and how its air suits it."""

    name: str
    count: int
    verdict: str | None
    words: str
    best: float  # shares of the time in per cent: at its best, bearable, beyond what it bears
    bearable: float
    beyond: float
    limits: str

    @property
    def within(self) -> float:
        """The share of the time within what it bears, in per cent."""
        return round(self.best + self.bearable, 1)


@dataclass(frozen=True)
class Help:
    """Something that would help, with what it would bring."""

    do: str
    brings: str
    how: str = ""
    url: str = ""


@dataclass(frozen=True)
class RoomVerdict:
    """The head of a room's page."""

    lines: list[KindLine]
    unhappy: int
    things: int
    headline: str
    enough: str  # what is missing, where too little was measured
    helps: list[Help] = field(default_factory=list)
    reasons: list[dict[str, Any]] = field(default_factory=list)


def judged(air: RoomAir, kinds: Mapping[str, int], kept: Preferences) -> RoomVerdict:
    """Say who in a room is unhappy: one line for each kind of thing in it, the unhappiest first."""
    inch = kept.units == Preferences.Units.INCH
    hours = float(air.answer["year"]["hours"])
    lines = kind_lines(air, kinds, hours, inch)
    things = sum(line.count for line in lines)
    unhappy = sum(line.count for line in lines if line.verdict == "unsuitable")
    return RoomVerdict(
        lines=lines,
        unhappy=unhappy,
        things=things,
        headline=headline(lines, things, unhappy),
        enough=what_is_missing(air),
        helps=helps(air, kinds, kept) if lines else [],
        reasons=cited(
            [RULE, *(citation for code in kinds if code in KIND_CODES for citation in limits(code).citations)]
        ),
    )


def headline(lines: list[KindLine], things: int, unhappy: int) -> str:
    if not lines:
        return "Nothing lies in this room yet, so nobody can be unhappy in it."
    watched = sum(line.count for line in lines if line.verdict == "watch")
    if unhappy:
        worst = next(line for line in lines if line.verdict == "unsuitable")
        if things == 1:
            return f"The one thing here is unhappy: {_lower(worst.name)}."
        number = f"All {things} things are" if unhappy == things else f"{unhappy} of {things} things are"
        one = unhappy == 1
        return f"{number.replace('are', 'is') if one else number} unhappy here; the worst off: {_lower(worst.name)}."
    if watched:
        return "Nobody is in danger here, but not everybody is at their best."
    return "Everybody is well here."


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def what_is_missing(air: RoomAir) -> str:
    """Return what is missing for a judgement of a whole year; nothing when it is there."""
    if air.days < FEW_DAYS:
        return (
            f"Too little to judge by: {air.days:.0f} days of readings. Two weeks give a first idea, a whole year with "
            "its summer and winter gives the truth."
        )
    if air.days < WHOLE_YEAR_DAYS:
        return f"These are {air.days:.0f} days, not a year yet; other seasons may be worse."
    if air.days_covered < air.days * 0.8:
        return (
            f"Of {air.days:.0f} days only {air.days_covered:.0f} have readings; what happened in the gaps is unknown."
        )
    return ""


def kind_lines(air: RoomAir, kinds: Mapping[str, int], hours: float, inch: bool) -> list[KindLine]:
    """Return a line for all kinds that want the same air, the unhappiest first."""
    alike: dict[str, Counter[str]] = {}
    for code, count in kinds.items():
        if code in KIND_CODES:
            alike.setdefault(group_of()[code], Counter())[code] += count
    lines = [
        replace(_kind_line(code, air.of_kind(code), hours, inch), name=_names(counts), count=counts.total())
        for code, counts in alike.items()
    ]
    return sorted(lines, key=lambda line: (ORDER[line.verdict], -line.beyond, -line.count))


def _names(counts: Counter[str]) -> str:
    names = [kind(code).name for code, _ in counts.most_common()]
    listed = [names[0], *(name[0].lower() + name[1:] for name in names[1:])]
    if len(listed) > _MOST_NAMED:
        listed = [*listed[: _MOST_NAMED - 1], f"{len(names) - _MOST_NAMED + 1} more kinds"]
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"


def _kind_line(code: str, fit: KindAir, hours: float, inch: bool) -> KindLine:
    name = kind(code).name
    if fit.share_in_best is None or fit.share_in_hard is None:
        return KindLine(name, 0, None, "There are no limits of air for this kind.", 0, 0, 0, "")
    best = 100 * fit.share_in_best
    hard = max(100 * fit.share_in_hard, best)
    return KindLine(
        name=name,
        count=0,
        verdict=fit.verdict,
        words=_words(fit, hours),
        best=round(best, 1),
        bearable=round(hard - best, 1),
        beyond=round(100 - hard, 1),
        limits=limits_in_words(code, inch),
    )


def _words(fit: KindAir, hours: float) -> str:
    ways = {
        "damper than it likes": fit.hours_too_damp,
        "drier than it likes": fit.hours_too_dry,
        "warmer than it likes": fit.hours_too_warm,
        "colder than it likes": fit.hours_too_cold,
    }
    said = [
        f"{way} for {time_words(spent, hours)}"
        for way, spent in sorted(ways.items(), key=lambda pair: -(pair[1] or 0))
        if spent and spent >= min(_WORTH_SAYING_H, hours / 50)
    ]
    if not said:
        return "Well here nearly all the time."
    words = " and ".join(said[:2])
    if fit.verdict == "suits":
        return f"Well here; now and then {words}."
    if fit.home_ok:
        return (
            f"{words[0].upper()}{words[1:]}, but about as cool and dry as a home can be; a cold place would be better."
        )
    return f"{words[0].upper()}{words[1:]}."


def time_words(spent: float, hours: float) -> str:
    """Write a stretch of time as a person would say it, of the time that was measured."""
    share = spent / hours if hours else 0
    if share > 0.95:
        return "nearly all the time"
    if spent < 72:
        return f"{spent:.0f} hours"
    days = spent / 24
    if hours >= 8000 and days >= 45:
        months = round(days / 30.4)
        return f"about {months} {'month' if months == 1 else 'months'} of the year"
    return f"{days:.0f} days"


def limits_in_words(code: str, inch: bool) -> str:
    """Return what a kind likes best and what it still bears."""
    each = limits(code)
    if each.temperature_best_c is None or each.rh_best_pct is None:
        return ""

    def warmth(value: float) -> str:
        return f"{fahrenheit(value):.0f} °F" if inch else f"{value:g} °C".replace("-", "−")

    low, high = each.temperature_best_c
    words = f"Best at {warmth(low)} to {warmth(high)} and {each.rh_best_pct[0]:g} to {each.rh_best_pct[1]:g} %"
    bears = []
    if each.temperature_max_c is not None:
        bears.append(f"up to {warmth(each.temperature_max_c)}")
    if each.rh_max_pct is not None:
        least = f"{each.rh_min_pct:g} to " if each.rh_min_pct is not None else "up to "
        bears.append(f"{least}{each.rh_max_pct:g} %")
    return f"{words}; bears {' and '.join(bears)}." if bears else f"{words}."


# -- what would help -------------------------------------------------------------------------------------------------

_DO = {
    "cooler-2": (
        "2 °C cooler all year",
        "4 °F cooler all year",
        "Turn the heating down. Cooler air is damper: watch the humidity.",
    ),
    "cooler-5": (
        "5 °C cooler all year",
        "9 °F cooler all year",
        "Leave it unheated, shade the windows, shut the door.",
    ),
    "drier-5": ("5 % drier", "5 % drier", "Air on dry, cold days; keep washing and cooking out."),
    "drier-10": (
        "10 % drier",
        "10 % drier",
        "A dehumidifier, emptied or with a drain; look for where the damp comes from.",
    ),
    "drier-20": (
        "20 % drier",
        "20 % drier",
        "First find where the water comes from; then a dehumidifier with a drain.",
    ),
    "cooler-2-drier-5": (
        "2 °C cooler and 5 % drier",
        "4 °F cooler and 5 % drier",
        "Cooler air is damper, so both together need a dehumidifier or dry outside air.",
    ),
    "damper-5": (
        "5 % damper",
        "5 % damper",
        "Heat less in winter: cooler air is less dry. Beware of cold outside walls.",
    ),
    "damper-10": ("10 % damper", "10 % damper", "Heat less in winter; a humidifier only with a dial beside it."),
    "warmer-3": ("3 °C warmer", "5 °F warmer", "A little heating in the cold months; it dries the air as well."),
}


def helps(air: RoomAir, kinds: Mapping[str, int], kept: Preferences) -> list[Help]:
    """Return what would help the things in a room most, computed from its readings of the last year."""
    inch = kept.units == Preferences.Units.INCH
    now = well(air.answer["year"]["fits"], kinds, 1)
    changes = air.answer["year"]["changes"]
    total = sum(count for code, count in kinds.items() if code in KIND_CODES)
    found = []
    scores = {each.code: well(changes[each.code]["fits"], kinds, 1) for each in CHANGES}
    ranked = sorted(scores, key=lambda code: (-round(scores[code], 2), _effort(code)))
    for code in ranked[:2]:
        if total and scores[code] - now >= LEAST_GAIN:
            metric, imperial, how = _DO[code]
            brings = (
                f"What lies here would be within what it bears {100 * scores[code]:.0f} % of the time, "
                f"instead of {100 * now:.0f} %."
            )
            found.append(Help(imperial if inch else metric, brings, how))
    said = {each.do for each in found}
    for code in ("cooler-2", "drier-5", "cooler-2-drier-5"):
        if "cooler" in code and air.temperature.mean < _COOL_ENOUGH_C:
            continue
        metric, imperial, how = _DO[code]
        do = imperial if inch else metric
        life = float(changes[code]["life"])
        if do not in said and life > 1.05:
            found.append(Help(do, f"Paper and film would last about {two_digits(life)} times as long.", how))
    return found


def _effort(code: str) -> float:
    return next(abs(each.cooler_k) + abs(each.drier_pct) for each in CHANGES if each.code == code)


def well(fits: Mapping[str, Any], kinds: Mapping[str, int], place: int) -> float:
    """Return the share of time, over all things here, within what each bears."""
    total = inside = 0.0
    for code, count in kinds.items():
        row = fits.get(group_of().get(code, ""))
        if row and row[place] is not None:
            total += count
            inside += count * row[place]
    return inside / total if total else 1.0


def damp_words(air: RoomAir, kept: Preferences) -> str:
    """Say how long the longest damp spell of the year was, and when it began; nothing where there was none."""
    from conservation.rooms.readings.clock import moment_of, zone_named

    spells = air.answer["year"]["spells"]
    if not spells:
        return ""
    start, end, highest = max(spells, key=lambda spell: spell[1] - spell[0])
    at = moment_of(start, zone_named(kept.zone))
    days = (end - start) / 86400
    length = f"{days:.0f} days" if days >= 2 else f"{days * 24:.0f} hours"
    return f"The longest damp spell, over 75 %, lasted {length} from {at.day} {at:%B %Y}, up to {highest:.0f} %."


def mould_words(air: RoomAir, kinds: Mapping[str, int]) -> tuple[int, str]:
    """Return the one mould class that counts for what lies here, and what the model says of it in words."""
    number = mould_class_for([code for code in kinds if code in KIND_CODES])
    if air.mould_peak is None:
        return number, "Readings are too far apart to say anything about mould; every few hours would do."
    peak = air.mould_peak[number]
    if peak < 0.05:
        return number, "No mould could grow on what lies here."
    if peak < 1:
        return number, "Mould could begin now and then, and dries up again before anything can be seen."
    if peak < 3:
        return number, "Mould could grow here, seen only with a lens. Look closely at what stands low or at a wall."
    return number, "Mould could grow here until it is seen. Look now, with a mask, before anything is moved."


@dataclass(frozen=True)
class Bands:
    """What everything in a room together likes best, for a chart: °C and %; None where nothing agrees or is known."""

    temperature: tuple[float, float] | None
    humidity: tuple[float, float] | None
    humidity_max: float | None
    temperature_max: float | None


def bands(kinds: Mapping[str, int]) -> Bands:
    """Return the ranges that suit everything in a room at once."""
    known = [(code, limits(code)) for code in Counter(kinds) if code in KIND_CODES]
    merged, _ = together(known)
    return Bands(merged.temperature_best_c, merged.rh_best_pct, merged.rh_max_pct, merged.temperature_max_c)
