"""What a room of a spec is called, for outlets that stand in it and for people."""

from __future__ import annotations

from gasdoc.build.model import Space
from gasdoc.build.supply import slug

OUTDOORS = "outdoors"
"""The `space:` of an outlet whose appliance stands in no room."""


def room_id(space: Space, position: int) -> str:
    """The id of the room at `position` of the list (counted from 0): its own, or one of its name or its number."""
    return space.id or (slug(space.name) if space.name is not None else f"room-{position + 1}")


def room_name(space: Space, position: int) -> str:
    """Words for the room: its name, or its id, or its number."""
    return space.name or space.id or f"room {position + 1}"
