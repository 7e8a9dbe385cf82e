"""The common rules of every sum's input: closed fields, strict types, errors by path.

Used by `manage.py work_out` and by the pages alike, so that both refuse the same things.
"""

from __future__ import annotations

import json
import math
from typing import Annotated, Any, NoReturn, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from archive.kinds import KIND_CODES, STATE_CODES


class InputError(ValueError):
    """Input that cannot be used; the sentence names the field by its path, the value, and what is accepted."""

    def __init__(self, path: str, value: object, accepted: str) -> None:
        self.path, self.value, self.accepted = path, value, accepted
        shown = value if isinstance(value, str) else json.dumps(value, default=str, ensure_ascii=False)
        shown = " ".join(str(shown).split())  # one line on stderr, whatever was typed
        if len(shown) > 120:
            shown = shown[:117] + "..."
        super().__init__(f"{path or 'input'}: {shown!r} is not usable; {accepted}")


class Problem(BaseModel):
    """Base of every input object: unknown fields, wrong types, NaN and Infinity are refused."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def _known(codes: frozenset[str], what: str) -> Any:
    def check(value: str) -> str:
        if value not in codes:
            raise ValueError(f"a code from the list of {what} is accepted")
        return value

    return check


Kind = Annotated[
    str, AfterValidator(_known(KIND_CODES, "kinds")), Field(json_schema_extra={"enum": sorted(KIND_CODES)})
]
State = Annotated[
    str, AfterValidator(_known(STATE_CODES, "states")), Field(json_schema_extra={"enum": sorted(STATE_CODES)})
]

ProblemT = TypeVar("ProblemT", bound=Problem)


def path_of(location: tuple[int | str, ...]) -> str:
    """Write a location as ``things[3].width_mm``."""
    path = ""
    for part in location:
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            path += f".{part}" if path else part
    return path


def _refuse_constant(name: str) -> NoReturn:
    raise InputError("", name, "only finite numbers are accepted")


def _refuse_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for key, value in pairs:
        if key in seen:
            raise InputError(key, value, "each field once is accepted")
        seen[key] = value
    return seen


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise InputError("", text, "only finite numbers are accepted")
    return value


def parse_json(text: str) -> dict[str, Any]:
    """Parse one JSON object; NaN, Infinity, overflowing numbers and doubled fields are refused.

    Raises:
        InputError: the text is not one JSON object.
    """
    try:
        raw = json.loads(text, parse_constant=_refuse_constant, parse_float=_finite, object_pairs_hook=_refuse_doubles)
    except InputError:
        raise
    except (ValueError, RecursionError) as error:
        raise InputError("", text[:60], f"one JSON object is accepted ({error})") from None
    if not isinstance(raw, dict):
        raise InputError("", raw, "one JSON object is accepted")
    return raw


def read_problem(model: type[ProblemT], raw: dict[str, Any]) -> ProblemT:
    """Check a parsed JSON object against a problem's model.

    Raises:
        InputError: the first field that cannot be used, by its path.
    """
    try:
        return model.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        raise _first(error, raw) from None


# Labels that pydantic puts into the location of a union member; they are no fields of ours.
_UNION_LABELS = ("float", "int", "str", "bool", "none", "tuple", "list", "function", "constrained", "literal", "model")


def _first(error: ValidationError, raw: dict[str, Any]) -> InputError:
    details = error.errors(include_url=False)
    # A typo is more telling than the field it leaves missing.
    detail = next((d for d in details if d["type"] == "extra_forbidden"), details[0])
    location, value = _locate(detail["loc"], raw)
    if isinstance(value, list):
        # Of a number or a pair the pair was meant; its faulty member says more than the whole.
        for other in details:
            where, found = _locate(other["loc"], raw)
            if where[: len(location)] == location and len(where) > len(location):
                detail, location, value = other, where, found
                break
        else:  # or the rule that the pair as a whole breaks
            detail = next(
                (d for d in details if d["type"] == "value_error" and _locate(d["loc"], raw)[0] == location), detail
            )
    accepted = detail["msg"].removeprefix("Value error, ").replace("Input should be", "it must be")
    if detail["type"] == "extra_forbidden":
        accepted = "no such field is accepted here"
    elif detail["type"] == "missing":
        accepted = "this field is required"
        value = None
    return InputError(path_of(tuple(location)), value, accepted)


def _locate(loc: tuple[int | str, ...], raw: dict[str, Any]) -> tuple[list[int | str], Any]:
    """Return a fault's path without the labels of union members, and the value found there."""
    location: list[int | str] = []
    value: Any = raw
    for part in loc:
        if isinstance(part, int) and isinstance(value, list):
            location.append(part)
            value = value[part] if part < len(value) else None
        elif isinstance(part, str) and isinstance(value, dict) and (part in value or not _is_union_label(part)):
            location.append(part)
            value = value.get(part)
    return location, value


def _is_union_label(part: str) -> bool:
    return part.startswith(_UNION_LABELS) and ("[" in part or part in _UNION_LABELS)
