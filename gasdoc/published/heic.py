"""HEIC photos, as many phones write them. No browser shows them, so they leave only in copies; a decoder that the user installs
(`pip install gasdoc[heic]`) reads them."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from gasdoc.published.unfit import PictureSize, Unfit

if TYPE_CHECKING:
    from PIL.Image import Image

BRANDS = frozenset(("heic", "heix", "hevc", "hevx", "heim", "heis"))
"""What a HEIC file calls itself (ISO/IEC 23008-12, annex B)."""
_PLAIN = frozenset(("mif1", "msf1"))


def is_one(raw: bytes) -> bool:
    """Whether a file is a HEIC picture, by the brands it begins with."""
    if raw[4:8] != b"ftyp":
        return False
    brand, others = raw[8:12].decode("latin-1"), raw[16:64].decode("latin-1")
    return brand in BRANDS or (brand in _PLAIN and "avif" not in others)


@cache
def can_read() -> bool:
    """Whether the decoder is installed."""
    return find_spec("pi_heif") is not None


def size(raw: bytes) -> PictureSize:
    """How large the picture is, upright. Raises Unfit where it is not whole."""
    width, height = _found(raw).size
    return PictureSize(width, height)


def picture(raw: bytes) -> Image:
    """The picture, decoded and upright. Raises Unfit where it is not whole."""
    try:
        image: Image = _found(raw).to_pillow()
    except (OSError, ValueError, RuntimeError, EOFError) as error:
        raise _damaged() from error
    return image


def _found(raw: bytes) -> Any:
    import pi_heif  # noqa: PLC0415  # only where a HEIC picture is

    try:
        return pi_heif.open_heif(raw)
    except (OSError, ValueError, RuntimeError, EOFError) as error:
        raise _damaged() from error


def _damaged() -> Unfit:
    return Unfit("is damaged or not whole", "copy it again from where it was taken, or save it as JPEG")
