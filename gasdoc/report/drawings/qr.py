"""QR codes (ISO/IEC 18004) of a site's addresses, as drawings."""

from __future__ import annotations

import io

import segno
from markupsafe import Markup, escape


def drawn(address: str, title: str) -> Markup:
    """The code of an address: dark on white in every scheme, with the quiet zone of four modules that readers need.

    Error correction is at least level M, so that 15 % of it may be dirty or scratched.
    """
    made = io.BytesIO()
    segno.make_qr(address, error="m").save(
        made,
        kind="svg",
        xmldecl=False,
        svgns=False,
        nl=False,
        dark="#000",
        light="#fff",
        omitsize=True,
        border=4,
        svgclass="qr",
        lineclass=None,
    )
    svg = made.getvalue().decode("utf-8")
    head = Markup('<svg role="img" aria-label="{}" ').format(escape(title))
    return Markup(svg.replace("<svg ", head, 1))  # noqa: S704  # the library's own drawing, of an address that it encodes
