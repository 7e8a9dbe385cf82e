"""Who may open what: the one place. A route that is not in the table cannot be opened by anybody."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from archive import extend

if TYPE_CHECKING:
    from archive.access.models import Account

# From the least to the most; whoever may do more may do all that stands before it.
ROLES = ("anyone", "visitor", "relative", "keeper")

ROUTES: dict[str, str] = {
    "home": "visitor",
    "favicon": "anyone",
    "access:first_keeper": "anyone",
    "access:sign_in": "anyone",
    "access:sign_out": "relative",
    "access:accept_invitation": "anyone",
    "access:password": "relative",
    "access:people": "keeper",
    "access:invite": "keeper",
    "access:withdraw_invitation": "keeper",
    "access:account": "keeper",
    "access:history": "relative",
    "access:undo": "keeper",
    "access:withdraw": "keeper",
    "access:bring_back": "keeper",
    "access:destroy": "keeper",
    "access:withdrawn": "keeper",
    "access:unite": "keeper",
    "keeping:health": "keeper",
    "keeping:snapshot": "keeper",
    "keeping:check": "keeper",
    "keeping:restore": "keeper",
    "keeping:errands": "keeper",
    "keeping:errand": "keeper",
    "keeping:stop": "keeper",
    "keeping:report": "keeper",
    "preferences:edit": "keeper",
    "preferences:sample": "keeper",
    "things:list": "visitor",
    "things:page": "visitor",
    "tag": "relative",
    "things:add": "keeper",
    "things:edit": "keeper",
    "things:date_echo": "keeper",
    "tag_piece": "relative",
    "things:people": "keeper",
    "things:places": "keeper",
    "things:pieces": "keeper",
    "things:inscriptions": "keeper",
    "things:coming": "keeper",
    "things:owners": "keeper",
    "things:rights": "keeper",
    "things:significance": "keeper",
    "things:loans": "keeper",
    "things:loan": "keeper",
    "things:slip": "keeper",
    "pictures:file": "visitor",
    "pictures:size": "visitor",
    "pictures:held": "relative",
    "pictures:add": "keeper",
    "pictures:edit": "keeper",
    "pictures:remove": "keeper",
    "pictures:zoom": "visitor",
    "pictures:mark": "keeper",
    "pictures:change_mark": "keeper",
    "pictures:remove_mark": "keeper",
    "pictures:use_date": "keeper",
    "pictures:alike": "keeper",
    "pictures:twins": "keeper",
    "labels:make": "keeper",
    "labels:printed": "keeper",
    "labels:marking": "keeper",
    # people
    "people:list": "visitor",
    "people:page": "visitor",
    "people:family": "visitor",
    "people:linked": "visitor",
    "people:add": "keeper",
    "people:edit": "keeper",
    "people:add_row": "keeper",
    "people:row": "keeper",
    "people:date_echo": "keeper",
    "people:suggest": "relative",
    # places
    "places:list": "visitor",
    "places:page": "visitor",
    "places:linked": "visitor",
    "places:add": "keeper",
    "places:edit": "keeper",
    "places:add_name": "keeper",
    "places:name": "keeper",
    "places:suggest": "relative",
    # stories
    "stories:list": "visitor",
    "stories:page": "visitor",
    "stories:tell": "relative",
    "stories:date_echo": "relative",
    "stories:edit": "relative",  # a relative those they wrote themselves; `find_own` says which
    "stories:pictures": "relative",
    "stories:picture": "relative",
    "stories:add": "keeper",
    "stories:suggest_things": "keeper",
    "stories:unread": "keeper",
    "stories:read": "keeper",
    # boxes
    "boxes:tree": "visitor",
    "boxes:page": "visitor",
    "boxes:contents": "visitor",
    "boxes:add": "keeper",
    "boxes:add_many": "keeper",
    "boxes:edit": "keeper",
    "boxes:pictures": "keeper",
    "boxes:move": "keeper",
    "boxes:moved": "keeper",
    "boxes:empty": "keeper",
    "boxes:suggest": "keeper",
    # sorting
    "sorting:page": "relative",
    "sorting:triage": "relative",
    "sorting:look": "visitor",
    "sorting:first_look": "keeper",
    "sorting:edit_look": "keeper",
    "sorting:settle": "keeper",
    "sorting:lots": "visitor",
    "sorting:lot": "visitor",
    "sorting:as_it_came": "visitor",
    "sorting:add_lot": "keeper",
    "sorting:edit_lot": "keeper",
    "sorting:lot_pictures": "keeper",
    "sorting:lot_members": "keeper",
    "sorting:accept": "keeper",
    "sorting:quarantine": "keeper",
    "sorting:groups": "visitor",
    "sorting:group": "visitor",
    "sorting:add_group": "keeper",
    "sorting:edit_group": "keeper",
    "sorting:group_things": "keeper",
    "sorting:proposals": "keeper",
    "sorting:proposal": "keeper",
    "sorting:waiting": "relative",
    "sorting:question": "keeper",
    "sorting:standing": "keeper",
    # search
    "search:page": "visitor",
    "search:timeline": "visitor",
    # entry
    "entry:quick": "keeper",
    "entry:word": "keeper",
    "entry:pictures": "keeper",
    "entry:name_pictures": "keeper",
    "entry:batch": "keeper",
    "entry:done": "keeper",
    # moving
    "moving:paste": "keeper",
}


def role_of(user: Any) -> str:
    """Return the role of a signed-in account, ``visitor`` or, where the keeper allows none, ``anyone``."""
    if getattr(user, "is_authenticated", False):
        return str(user.role)
    from archive.preferences.queries import preferences

    return "visitor" if preferences().visitors_allowed else "anyone"


def route_role(route: str) -> str | None:
    """Return the role that a route asks for; None means that the table does not know it."""
    return ROUTES.get(route) or extend.routes().get(route)


def may_open(user: Any, route: str) -> bool:
    """Say whether this reader may open a route at all; which records they see is `visible_to`'s affair."""
    needed = route_role(route)
    return needed is not None and ROLES.index(role_of(user)) >= ROLES.index(needed)


def reader(user: Any) -> Account | None:
    """Return the account behind a request's user, or None for a visitor, as `visible_to` wants it."""
    return user if getattr(user, "is_authenticated", False) else None
