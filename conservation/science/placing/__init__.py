"""Where things should live: places ranked by air, light, water and pests against what is in a box."""

from __future__ import annotations
