"""What a builder can state about photos: the file, what it shows, when and where it was taken."""

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from gasdoc.build.model.values import NO_CODE, Block, no_items
from gasdoc.scalars import Day, Text, YesNo, problem

ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".svg", ".heic", ".heif")
"""Endings of the names of pictures."""


_WHOLE_PATH = re.compile(r"[/\\~]|[A-Za-z]:")
"""How a path begins that is one of a whole computer."""


def _picture(value: Any) -> Any:
    """The path of a picture. Raises the problem with one that is no picture or lies elsewhere."""
    if isinstance(value, str) and value.strip():
        if "://" in value:
            raise problem(
                "photo-elsewhere",
                "a photo lies beside the spec, not on another site",
                "copy it into the build's folder, as in my-hut/tee.jpg",
            )
        if _WHOLE_PATH.match(value.strip()):
            raise problem(
                "photo-elsewhere",
                "the path of a photo begins in the folder of the specs",
                "copy the photo into the build's folder, and write as in my-hut/tee.jpg",
            )
        if not value.strip().lower().endswith(ENDINGS):
            raise problem(
                "photo-kind",
                f"'{value.strip()[:60]}' is no picture by its name",
                "name a file that ends in .jpg, .png, .webp, .heic or .svg, as in my-hut/tee.jpg",
            )
    return value


class Photo(Block, about="A photo or drawing of the project. The name of its file alone does as well."):
    file: Annotated[Text, BeforeValidator(_picture)] = Field(
        json_schema_extra=NO_CODE, description="The picture, from the folder of the specs on, as in my-hut/tee.jpg."
    )
    alt: Text | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="What it shows, for those who cannot see it. It is its caption, too.",
    )
    date: Day | None = Field(None, json_schema_extra=NO_CODE, description="When it was taken.")
    place: Text | None = Field(
        None, json_schema_extra=NO_CODE, description="Where it was taken. If left out, the place of what it shows."
    )
    plate: YesNo = Field(
        False,
        json_schema_extra=NO_CODE,
        description="Whether it shows a plate with its serial number: published only with 'show_numbers: yes'.",
    )


def _photo(value: Any) -> Any:
    """A photo that is named by its file alone."""
    return {"file": value} if isinstance(value, str) else value


def _photos(value: Any) -> Any:
    """One photo as a list of it."""
    return [_photo(one) for one in (value if isinstance(value, list) else [value])] if value is not None else value


Cover = Annotated[Photo, BeforeValidator(_photo)]
Photos = Annotated[list[Photo], BeforeValidator(_photos), Field(max_length=40)]


def photos(of: str) -> Any:
    """The key for the photos of something."""
    return Field(default_factory=no_items, json_schema_extra=NO_CODE, description=f"Photos of {of}: one, or a list.")
