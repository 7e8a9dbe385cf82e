"""What the `housing` sum is asked."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, field_validator, model_validator

from conservation.science.problem import Kind, Problem, State
from conservation.science.words import codes


def _code(which: str) -> Any:
    """Return the type of a code from one of the closed lists of words."""
    known = codes(which)

    def check(value: str) -> str:
        if value not in known:
            raise ValueError(f"one of {', '.join(known)} is accepted")
        return value

    return Annotated[str, AfterValidator(check), Field(json_schema_extra={"enum": list(known)})]


def _iso_day(value: str) -> str:
    if value.startswith("-"):
        day = value.removeprefix("-")
        if len(day) == 10 and day[4] == day[7] == "-" and day.replace("-", "").isdigit():
            return value
        raise ValueError("an ISO day such as 1931-12-31 is accepted")
    try:
        date.fromisoformat(value if not value.startswith("0000") else "0004" + value[4:])
    except ValueError:
        raise ValueError("an ISO day such as 1931-12-31 is accepted") from None
    if len(value) != 10:
        raise ValueError("an ISO day such as 1931-12-31 is accepted")
    return value


Day = Annotated[str, AfterValidator(_iso_day)]
Size = Annotated[float, Field(gt=0, le=100_000)]
Temperature = Annotated[float, Field(ge=-60, le=85)]
Humidity = Annotated[float, Field(ge=0, le=100)]


def _strip_level(value: object) -> object:
    if isinstance(value, bool) or value not in STRIP_LEVELS:
        raise ValueError("one of 0, 1, 1.5, 2, 3 is accepted")
    return value


STRIP_LEVELS = (0, 1, 1.5, 2, 3)
StripLevel = Annotated[float, BeforeValidator(_strip_level), Field(json_schema_extra={"enum": list(STRIP_LEVELS)})]


class Made(Problem):
    """The day bounds of the made date; null where open or unknown."""

    earliest: Day | None = None
    latest: Day | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Made:
        ends = [day for day in (self.earliest, self.latest) if day and not day.startswith("-")]
        if ends != sorted(ends):
            raise ValueError("an earliest day that is not after the latest is accepted")
        return self


def _rising(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] > value[1]:
        raise ValueError("a range runs from the lower to the higher figure")
    return value


class Room(Problem):
    """The air of the room: one reading, or the range over time."""

    temperature_c: Temperature | Annotated[tuple[Temperature, Temperature], AfterValidator(_rising)] | None = None
    relative_humidity_pct: Humidity | Annotated[tuple[Humidity, Humidity], AfterValidator(_rising)] | None = None


class Proposed(Problem):
    """What the keeper has in mind, to be checked."""

    furniture: _code("furniture") | None = None  # type: ignore[valid-type]
    enclosure: _code("enclosure") | None = None  # type: ignore[valid-type]
    location: _code("location") | None = None  # type: ignore[valid-type]
    ph: Annotated[float, Field(ge=0, le=14)] | None = None
    tube_diameter_mm: Size | None = None
    gloves: _code("gloves") | None = None  # type: ignore[valid-type]
    stack: Annotated[int, Field(ge=1, le=100_000)] | None = None


class Input(Problem):
    """One thing to be housed. Sizes are of one piece in mm, the weight is of all pieces together in g."""

    kind: Kind
    states: list[State] | None = None
    parts: list[Kind] | None = None
    made: Made | None = None
    base: Literal["nitrate", "acetate", "polyester"] | None = None
    width_mm: Size | None = None
    height_mm: Size | None = None
    depth_mm: Size | None = None
    weight_g: Annotated[float, Field(gt=0, le=10_000_000)] | None = None
    count: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    use: Literal["rare", "monthly", "weekly"] | None = None
    room: Room | None = None
    strip_level: StripLevel | None = None
    proposed: Proposed | None = None

    @field_validator("states")
    @classmethod
    def _sound_stands_alone(cls, states: list[str] | None) -> list[str] | None:
        if states and "sound" in states and len(set(states)) > 1:
            raise ValueError("sound is accepted only alone")
        return states
