"""Who may open which page of what is on show."""

from __future__ import annotations

ROUTES = {
    # Spots, and what hangs there.
    "on_show:page": "visitor",
    "on_show:spot": "visitor",
    "on_show:add_spot": "keeper",
    "on_show:edit_spot": "keeper",
    "on_show:read_spot": "keeper",
    "on_show:unread_spot": "keeper",
    # Light of things, putting up and taking down.
    "on_show:thing_light": "visitor",
    "on_show:say_light": "keeper",
    "on_show:use_light": "keeper",
    "on_show:unuse_light": "keeper",
    "on_show:bar": "keeper",
    "on_show:unbar": "keeper",
    "on_show:hang": "keeper",
    "on_show:take_down": "keeper",
    "on_show:policy": "keeper",
    "on_show:how": "visitor",
    # Days that matter.
    "on_show:occasions": "relative",
    "on_show:add_occasion": "keeper",
    "on_show:occasion": "keeper",
    "on_show:choose_occasion": "keeper",
    # Plans, days of change, captions.
    "on_show:plans": "keeper",
    "on_show:add_plan": "keeper",
    "on_show:plan": "keeper",
    "on_show:plan_settings": "keeper",
    "on_show:plan_wishes": "keeper",
    "on_show:plan_add_wish": "keeper",
    "on_show:plan_work": "keeper",
    "on_show:plan_stop": "keeper",
    "on_show:plan_accept": "keeper",
    "on_show:plan_put_up": "keeper",
    "on_show:plan_showing": "keeper",
    "on_show:changeover": "keeper",
    "on_show:captions": "keeper",
}
