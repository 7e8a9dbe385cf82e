"""Reading dates as people say them into EDTF (pure): the word table and what it means."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from archive.dates.edtf import SUB_YEAR, month_length

# Years 0-3, 4-6 and 7-9 of a decade; thirds of a century, a year (as months) and a month (as days): our default.
_DECADE = ((0, 3), (4, 6), (7, 9))
_CENTURY = ((0, 33), (34, 66), (67, 99))
_YEAR = ((1, 4), (5, 8), (9, 12))
_MONTH = ((1, 10), (11, 20), (21, 31))


@dataclass(frozen=True)
class Atom:
    """A date without about or maybe: the first and last EDTF date of it, equal for most."""

    low: str
    high: str

    def edtf(self, mark: str) -> str:
        return f"{self.low}{mark}" if self.low == self.high else f"{self.low}{mark}/{self.high}{mark}"


@dataclass(frozen=True)
class Side:
    """One side of a phrase: its date and its mark (empty, ``~``, ``?`` or ``%``)."""

    atom: Atom
    mark: str


@cache
def vocabulary() -> dict[str, Any]:
    """Return the words, and the patterns made of them."""
    with (Path(__file__).parent / "en.toml").open("rb") as file:
        words = tomllib.load(file)
    months = {name: i for i, name in enumerate(words["months"], 1)} | words["month_short"]

    def either(names: Any) -> str:
        return "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))

    words["month_number"] = months
    words["month_re"] = rf"(?:{either(months)})\.?"
    for name in (
        "about",
        "maybe",
        "before",
        "after",
        "by",
        "since",
        "to",
        "seasons",
        "feasts",
        "position",
        "ordinals",
    ):
        words[f"{name}_re"] = either(words[name])
    words["leading_re"] = either(words["leading"])
    return words


def to_edtf(text: str, *, day_first: bool, southern: bool) -> str | None:
    """Return the EDTF of a phrase, reading 3/4/1951 in the order given; None when it means nothing."""
    return _Reader(day_first, southern).phrase(_tidy(text))


def _tidy(text: str) -> str:
    text = text.strip().lower().replace("’", "'").replace("—", "–").replace("−", "-").replace("‒", "–")
    text = re.sub(r"\s+", " ", text)
    return re.sub(r"(?<=\d)\s*\.$|[,;]$", "", text).strip()


class _Reader:
    def __init__(self, day_first: bool, southern: bool) -> None:
        self.day_first, self.southern, self.v = day_first, southern, vocabulary()

    def phrase(self, text: str) -> str | None:
        text = self._unled(text)
        text = re.sub(r"^(.+?) (?:or|and) (?:earlier|before)$", r"by \1", text)
        text = re.sub(r"^(.+?) (?:or|and) (?:later|after)$", r"since \1", text)
        for rule in (self._between, self._choice, self._range, self._open):
            found = rule(text)
            if found is not None:
                return found or None
        side = self._side(text)
        return side.atom.edtf(side.mark) if side else None

    def _unled(self, text: str) -> str:
        while match := re.match(rf"(?:{self.v['leading_re']}) (.+)", text):
            text = match[1]
        return text

    # -- two sides ---------------------------------------------------------------------------------------------

    def _between(self, text: str) -> str | None:
        match = re.fullmatch(r"between (.+?) (?:and|&) (.+)", text)
        return self._interval(match[1], match[2]) if match else None

    def _choice(self, text: str) -> str | None:
        if " or " not in text or text.endswith(" or so"):
            return None
        said = [part.strip() for part in re.split(r",? or |(?<=\d{4}), (?=[^,]* or )", text)]
        sides = self._sides(said)
        if sides is None:
            return ""
        members = []
        for side in sides:
            whole = side.atom.edtf(side.mark)
            members.append(whole.replace("/", ".."))
        members = list(dict.fromkeys(members))
        return f"[{','.join(members)}]" if len(members) > 1 else members[0].replace("..", "/")

    def _range(self, text: str) -> str | None:
        plain, mark = self._mark(text.removeprefix("between "))
        years = re.fullmatch(r"(\d{4}) ?([-–/]) ?(\d{2}|\d{4})", plain)
        if years:
            last = years[3] if len(years[3]) == 4 else years[1][:2] + years[3]
            if years[2] == "/" or (len(years[3]) == 2 and int(last) <= int(years[1])):
                return ""
            return f"{years[1]}{mark}/{last}{mark}"
        winter = re.fullmatch(rf"(?:({self.v['seasons_re']})) (?:of )?(\d{{4}}) ?[-–/] ?(\d{{2}}|\d{{4}})", text)
        if winter and int(winter[3][-2:]) == (int(winter[2]) + 1) % 100:
            return self._season(winter[1], winter[2])
        match = re.fullmatch(r"(?:from )?(.+?) (?:to|until|till|through) (.+)", text)
        if match and self._bare_open(match[1]):
            match = None
        if match is None:
            match = re.fullmatch(r"(.+?) ?– ?(.+)", text) or re.fullmatch(r"(.+?) - (.+)", text)
        if match is None:
            match = re.fullmatch(r"(\d{4}|\d{3}0s) ?- ?(\d{4}|\d{2,3}0s|\d0s)", text)
        if match is None:
            match = re.fullmatch(r"(\d{1,2}(?:st|nd|rd|th)?)-(\d{1,2}(?:st|nd|rd|th)?[ .].+)", text)
        if match is None:
            name = rf"(?:{self.v['month_re']}|{self.v['seasons_re']})"
            match = re.fullmatch(rf"({name}(?: \d{{1,2}})?) ?[-/] ?({name} .+|\d{{1,2}},? \d{{4}})", text)
        return self._interval(match[1], match[2]) if match else None

    def _bare_open(self, text: str) -> bool:
        """``up to 1930`` has no first side; ``not`` and ``up`` are no dates."""
        return text in ("up", "not", "no", "down")

    def _interval(self, first: str, last: str) -> str:
        sides = self._sides([first, last])
        if sides is None:
            return ""
        return f"{sides[0].atom.low}{sides[0].mark}/{sides[1].atom.high}{sides[1].mark}"

    def _sides(self, said: list[str]) -> list[Side] | None:
        """Read sides that may each lack what another one says."""
        marked = [self._mark(self._unled(each)) for each in said]
        whole = [self._atom(each) for each, _ in marked]
        if all(whole):
            return [Side(atom, mark) for atom, (_, mark) in zip(whole, marked, strict=True) if atom]
        sides = []
        for here, (words, mark) in enumerate(marked):
            atom = whole[here]
            others = sorted(range(len(marked)), key=lambda i: (abs(i - here), -i))
            for other in others:
                if atom is None and other != here:
                    atom = self._completed(words, marked[other][0])
            if atom is None:
                return None
            sides.append(Side(atom, mark))
        return sides

    def _completed(self, words: str, other: str) -> Atom | None:
        """Read words that lack a year, a month, a decade or a century with the help of another side."""
        v = self.v
        month = re.search(rf"\b({v['month_re']})(?![a-z])", other)
        if year := re.search(r"\b(\d{4})\b(?!s)", other):
            if re.fullmatch(r"\d{2}", words) and re.fullmatch(r"\d{4}", other):
                return self._atom(other[:2] + words) if int(words) > int(other[2:]) else None
            for tail in (f"{month[1]} {year[1]}" if month else "", year[1]):
                if tail and (atom := self._atom(f"{words} {tail}")):
                    return atom
        if month and (match := re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?,? (\d{4})", words)):
            return self._atom(f"{match[1]} {month[1]} {match[2]}")
        decade = re.search(r"\b(\d{2})\d0s\b", other)
        if decade and (match := re.fullmatch(rf"(?:({v['position_re']})[ -])?'?(\d0)s", words)):
            return self._atom(f"{match[1] + ' ' if match[1] else ''}{decade[1]}{match[2]}s")
        if decade := re.search(r"\b\d{4}'?s\b", other):
            return self._atom(f"{words} {decade[0]}")
        if century := re.search(r"\b(\S+) (?:century|c\.?)$", other):
            return self._atom(f"{words} century") or self._atom(f"{words} {century[0]}")
        return None

    # -- one side, open to before or after ---------------------------------------------------------------------

    def _open(self, text: str) -> str | None:
        if match := re.fullmatch(r"(?:from |since )?(.+?) on(?:wards?)?", text):
            text = f"since {match[1]}"
        for name in ("before", "after", "by", "since"):
            match = re.fullmatch(rf"(?:{self.v[f'{name}_re']}) (.+)", text)
            if match is None:
                continue
            side = self._side(self._unled(match[1]))
            if side is None:
                return ""
            if name == "before":
                return f"../{_neighbour(side.atom.low, -1)}{side.mark}"
            if name == "after":
                return f"{_neighbour(side.atom.high, 1)}{side.mark}/.."
            return f"../{side.atom.high}{side.mark}" if name == "by" else f"{side.atom.low}{side.mark}/.."
        return None

    # -- one date ----------------------------------------------------------------------------------------------

    def _side(self, text: str) -> Side | None:
        words, mark = self._mark(text)
        atom = self._atom(words)
        return Side(atom, mark) if atom else None

    def _mark(self, text: str) -> tuple[str, str]:
        """Take about and maybe off a side and return what is left with its mark."""
        about = maybe = False
        while True:
            if match := re.match(rf"(?:{self.v['about_re']})(?:\. ?| )(.+)|c(?=\d)(.+)", text):
                about, text = True, self._unled(match[1] or match[2])
            elif match := re.match(rf"(?:{self.v['maybe_re']}),? (.+)", text):
                maybe, text = True, self._unled(match[1])
            elif match := re.fullmatch(r"(.+?) ?(?:\(\?\)|\?)", text):
                maybe, text = True, match[1]
            elif match := re.fullmatch(r"(.+?),? or so", text):
                about, text = True, match[1]
            else:
                return text, {(False, False): "", (True, False): "~", (False, True): "?"}.get((about, maybe), "%")

    def _atom(self, text: str) -> Atom | None:
        for rule in (
            self._year,
            self._decade,
            self._century,
            self._seasonal,
            self._named_day,
            self._numeric,
            self._feast,
        ):
            if atom := rule(text):
                return atom
        return self._third(text)

    def _year(self, text: str) -> Atom | None:
        return _one(text) if re.fullmatch(r"\d{4}", text) else None

    def _decade(self, text: str) -> Atom | None:
        match = re.fullmatch(rf"(?:({self.v['position_re']})[ -](?:the )?)?(\d{{3}})0'?s", text)
        if match is None:
            return None
        if match[1] is None:
            return _one(f"{match[2]}X")
        low, high = _DECADE[self.v["position"][match[1]]]
        return Atom(f"{match[2]}{low}", f"{match[2]}{high}")

    def _century(self, text: str) -> Atom | None:
        match = re.fullmatch(
            rf"(?:(?P<position>{self.v['position_re']})[ -](?:the )?|(?P<half>first|second) half of (?:the )?)?"
            rf"(?:(?P<figure>\d{{1,2}})(?:st|nd|rd|th)|(?P<word>{self.v['ordinals_re']}))[ -](?:century|c\.?)",
            text,
        )
        if match is None:
            return None
        number = int(match["figure"]) if match["figure"] else int(self.v["ordinals"][match["word"]])
        if not 1 <= number <= 99:
            return None
        stem = f"{number - 1:02d}"
        if match["position"]:
            low, high = _CENTURY[self.v["position"][match["position"]]]
        elif match["half"]:
            low, high = (0, 49) if match["half"] == "first" else (50, 99)
        else:
            return _one(f"{stem}XX")
        return Atom(f"{stem}{low:02d}", f"{stem}{high:02d}")

    def _seasonal(self, text: str) -> Atom | None:
        match = re.fullmatch(rf"({self.v['seasons_re']}),? (?:of )?(\d{{4}})", text)
        return _one(self._season(match[1], match[2])) if match else None

    def _season(self, name: str, year: str) -> str:
        code = int(self.v["seasons"][name]) + (8 if self.southern else 0)
        return f"{year}-{code}"

    def _named_day(self, text: str) -> Atom | None:
        month, ordinal = self.v["month_re"], r"(?:st|nd|rd|th)?"
        text = re.sub(r"^(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\.?,? (?:the )?", "", text)
        for pattern in (
            rf"(?P<d>\d{{1,2}}){ordinal}\.? ?(?:of )?(?P<m>{month}),? ?(?:of )?(?P<y>\d{{4}})",
            rf"(?P<m>{month}) (?:the )?(?P<d>\d{{1,2}}){ordinal}(?:,| ) ?(?P<y>\d{{4}})",
            rf"(?P<y>\d{{4}}),? (?P<m>{month}) (?P<d>\d{{1,2}}){ordinal}",
            rf"(?P<d>\d{{1,2}}){ordinal}[-/ ](?P<m>{month})[-/ ](?P<y>\d{{4}})",
            rf"(?P<m>{month})(?:,? (?:of )?|[-/])(?P<y>\d{{4}})",
            rf"(?P<y>\d{{4}}),? (?P<m>{month})",
        ):
            if match := re.fullmatch(pattern, text):
                groups = match.groupdict()
                number = int(self.v["month_number"][groups["m"].rstrip(".")])
                if groups.get("d") is None:
                    return _one(f"{groups['y']}-{number:02d}")
                return _day(int(groups["y"]), number, int(groups["d"]))
        return None

    def _numeric(self, text: str) -> Atom | None:
        if match := re.fullmatch(r"(\d{1,2}) ?([./-]) ?(\d{1,2}) ?\2 ?(\d{4})", text):
            first, second, year = int(match[1]), int(match[3]), int(match[4])
            day, month = (first, second) if self.day_first else (second, first)
            return _day(year, month, day)
        if match := re.fullmatch(r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})", text):
            return _day(int(match[1]), int(match[3]), int(match[4]))
        if (match := re.fullmatch(r"(\d{1,2})[./-](\d{4})", text)) and 1 <= int(match[1]) <= 12:
            return _one(f"{match[2]}-{int(match[1]):02d}")
        return None

    def _feast(self, text: str) -> Atom | None:
        match = re.fullmatch(rf"(?:at )?({self.v['feasts_re']}),? (?:of )?(\d{{4}})", text)
        if match is None:
            return None
        month, day = self.v["feasts"][match[1]]
        return _day(int(match[2]), month, day)

    def _third(self, text: str) -> Atom | None:
        """Early, mid and late of a year, a month or a season: thirds of it."""
        match = re.fullmatch(rf"({self.v['position_re']})(?: in)?[ -](?:the )?(.+)", text)
        if match is None:
            return None
        third, inner = int(self.v["position"][match[1]]), match[2]
        if re.fullmatch(r"\d{4}", inner):
            low, high = _YEAR[third]
            return Atom(f"{inner}-{low:02d}", f"{inner}-{high:02d}")
        if season := self._seasonal(inner):
            year, code = season.low.split("-")
            month = SUB_YEAR[int(code)][0] + third
            return _one(f"{int(year) + (month > 12):04d}-{(month - 1) % 12 + 1:02d}")
        named = self._named_day(inner)
        if named and re.fullmatch(r"\d{4}-\d{2}", named.low):
            low, high = _MONTH[third]
            year_number, month = (int(part) for part in named.low.split("-"))
            high = min(high, month_length(year_number, month))
            return Atom(f"{named.low}-{low:02d}", f"{named.low}-{high:02d}")
        return None


def _one(edtf: str) -> Atom:
    return Atom(edtf, edtf)


def _day(year: int, month: int, day: int) -> Atom | None:
    if not 1 <= month <= 12 or not 1 <= day <= month_length(year, month):
        return None
    return _one(f"{year:04d}-{month:02d}-{day:02d}")


def _neighbour(edtf: str, step: int) -> str:
    """Return the unit (day, month or year) just before or after an EDTF date of ours."""
    parts = edtf.split("-")
    year = int(parts[0].replace("X", "0" if step < 0 else "9"))
    if len(parts) == 1:
        return f"{year + step:04d}"
    month = int(parts[1])
    if month in SUB_YEAR:
        low, high = SUB_YEAR[month]
        month = low if step < 0 else high
        year, month = year + (month - 1) // 12, (month - 1) % 12 + 1
        parts = [parts[0], ""]
    if len(parts) == 2:
        month += step
        return f"{year + (month - 1) // 12:04d}-{(month - 1) % 12 + 1:02d}"
    day = int(parts[2]) + step
    if day < 1:
        year, month = (year, month - 1) if month > 1 else (year - 1, 12)
        day = month_length(year, month)
    elif day > month_length(year, month):
        year, month, day = (year, month + 1, 1) if month < 12 else (year + 1, 1, 1)
    return f"{year:04d}-{month:02d}-{day:02d}"
