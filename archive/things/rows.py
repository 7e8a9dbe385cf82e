"""One changed row of those that hang on a thing: what forms hand to actions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class RowChange:
    """What becomes of one row: changed, removed, or new where there is no ``row`` yet."""

    row: Any
    values: Mapping[str, Any]
    remove: bool = False
