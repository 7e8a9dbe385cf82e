"""Who may open which page of This week. The calendar's address opens by the secret in it alone."""

from __future__ import annotations

ROUTES = {
    "this_week:page": "keeper",
    "this_week:everything": "keeper",
    "this_week:times": "keeper",
    "this_week:job": "keeper",
    "this_week:start": "keeper",
    "this_week:put_off": "keeper",
    "this_week:done": "keeper",
    "this_week:finish": "keeper",
    "this_week:bring_back": "keeper",
    "this_week:add": "keeper",
    "this_week:own": "keeper",
    "this_week:month": "keeper",
    "this_week:calendar": "keeper",
    "this_week:file": "keeper",
    "this_week:feed": "anyone",
}
