"""The end that text means: what a spec or the catalogue writes of a thread, a flare, a tube or a cylinder connection."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from gasdoc.engineering.materials.ends import CYLINDERS, THREADS, End, EndError, Gender, Kind

_PIPE_SIZES = ("1/8", "1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "4")
_FLARE_SIZES = ("3/16", "1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "7/8")
_TUBE_SIZES = ("1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "7/8", "1-1/8", "1-3/8", "1-5/8", "2-1/8")
_EXAMPLES = (
    "'3/8 FNPT', '3/8 flare', '1/2 BSPT', 'G 1/4 LH', '8 mm compression', '1/2 in OD tube', 'EHD 18', 'POL', 'G.12'"
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_INCHES = r"(?P<size>\d+(?:[ -]\d+/\d+|/\d+)?)(?: ?(?:in|inch|inches|\"))?"
_MM = r"(?P<mm>\d+(?:\.\d+)?) ?mm"
_THREAD_WORDS: dict[str, tuple[Kind, Gender | None]] = {
    "npt": ("npt", None),
    "nptf": ("npt", None),
    "mnpt": ("npt", "male"),
    "fnpt": ("npt", "female"),
    "mpt": ("npt", "male"),
    "fpt": ("npt", "female"),
    "mip": ("npt", "male"),
    "fip": ("npt", "female"),
    "bspt": ("bspt", None),
    "bspp": ("bspp", None),
    "mbspt": ("bspt", "male"),
    "fbspt": ("bspt", "female"),
    "mbspp": ("bspp", "male"),
    "fbspp": ("bspp", "female"),
}
_FLARE_WORDS: tuple[tuple[str, Kind], ...] = (
    (r"inverted flare", "inverted-flare"),
    (r"(?:37 ?-?(?:degree|deg|°) (?:jic )?flare|jic(?: flare)?|37° flare)", "flare-37"),
    (r"(?:sae )?(?:45 ?-?(?:degree|deg|°) )?(?:sae )?flare", "flare"),
)
_GENDER = re.compile(r"(?:\(?\b(?P<word>male|female|ext|int|external|internal)\b\)?|\((?P<letter>[mf])\))")
_BSP = re.compile(r"\bbsp[ -](?P<word>taper|parallel)(?:ed)?\b")
_LEFT_HAND = re.compile(r"\(?\b(?:lh|l\.h\.|left[- ]hand(?:ed)?|left)(?:\b|(?<=\.))\)?")


@lru_cache(maxsize=1024)
def parse_end(written: str, default_gender: Gender, *, on_container: bool = False) -> End:
    """The end that text in a spec or in the catalogue means.

    `default_gender` counts where the text gives none and the kind leaves it open. A cylinder connection has the gender
    of the container's valve where `on_container`, else that of what is screwed to it; G.13 (M20 x 1.5) is a regulator's
    male inlet; compression ends take a tube.
    Raises EndError: unknown text, a size that the standard does not have, a thread that has several readings.

    >>> parse_end("3/4 MNPT", "female")
    End(kind='npt', size='3/4', gender='male', rating=None, hand='right')
    """
    plain, gender, left = _words(written)
    for kind, cylinder in CYLINDERS.items():
        if re.fullmatch(cylinder.written, plain):
            other: Gender = "female" if cylinder.valve == "male" else "male"
            fixed = cylinder.valve if on_container or kind == "g.13" else other
            return End(kind, "", gender or fixed, None, cylinder.hand)
    if re.fullmatch(r"g(?:1|4|8|12|13)", plain):
        hint = f"write 'G.{plain[1:]}' for the cylinder connection, or a size as in 'G 1/4' for the thread"
        raise EndError(f"'{written}' may be a thread or a cylinder connection", hint)
    end = (
        _pipe_thread(plain, gender, default_gender)
        or _metric_thread(plain, gender, default_gender)
        or _flare(plain, gender, default_gender)
        or _tubing(plain, gender)
    )
    if end is None:
        raise _refusal(written, plain)
    if left:
        if end.kind == "g.13":
            end = End("metric", "20x1.5", end.gender)
        if end.kind not in THREADS:
            raise EndError(f"'{written}' is left-hand, which its standard does not have", "leave LH out")
        return replace(end, hand="left")
    return end


def leaves_gender_open(written: str) -> bool:
    """Whether text names a parallel thread by G alone, which is sold male (with a flat seal) as often as female.

    >>> leaves_gender_open("G 1/2"), leaves_gender_open("G 1/2 A"), leaves_gender_open("Rp 1/2")
    (True, False, False)
    """
    plain, gender, _ = _words(written)
    return gender is None and re.fullmatch(rf"g ?{_INCHES}", plain) is not None


def _words(written: str) -> tuple[str, Gender | None, bool]:
    """The text in lower case without gender and hand, and what those were."""
    plain = written.strip().lower().replace("×", "x").replace("\u201d", '"').replace("″", '"')
    for sign, fraction in _VULGAR.items():
        plain = re.sub(rf"(\d) ?{sign}", rf"\1-{fraction}", plain).replace(sign, fraction)
    left = _LEFT_HAND.search(plain) is not None
    plain = _LEFT_HAND.sub(" ", plain)
    plain = _BSP.sub(lambda match: f"bsp{match['word'][0]}", plain)
    gender: Gender | None = None
    if (match := _GENDER.search(plain)) is not None:
        gender = "male" if (match["word"] or match["letter"])[0] in "me" else "female"
        plain = _GENDER.sub(" ", plain, count=1)
    plain = re.sub(r"\b(?:thread|threads|right[- ]hand(?:ed)?|rh|valve|connection|connector)\b", " ", plain)
    return re.sub(r"\s+", " ", plain).strip(" ,"), gender, left


def _pipe_thread(plain: str, gender: Gender | None, default: Gender) -> End | None:
    words = "|".join(_THREAD_WORDS)
    match = re.fullmatch(rf"{_INCHES}(?:-\d+(?:\.\d+)?)? ?(?P<kind>{words})", plain) or re.fullmatch(
        rf"(?P<kind>{words}) ?{_INCHES}", plain
    )
    if match is not None:
        kind, said = _THREAD_WORDS[match["kind"]]
        return End(kind, _listed(match["size"], _PIPE_SIZES, "pipe thread"), gender or said or default)
    if match := re.fullmatch(rf"g ?{_INCHES} (?:union )?nut", plain):
        return End("bspp-nut", _listed(match["size"], _PIPE_SIZES, "pipe thread"), "female")
    match = re.fullmatch(rf"(?P<mark>g|rc|rp|r) ?{_INCHES}(?P<external> ?[ab])?", plain)
    if match is None:
        return None
    size = _listed(match["size"], _PIPE_SIZES, "pipe thread")
    if match["mark"] == "g":
        return End("bspp", size, "male" if match["external"] else gender or default)
    if match["external"]:
        return None
    if match["mark"] == "rp":  # internal parallel, made to take a taper thread
        return End("bspp", size, "female")
    return End("bspt", size, "female" if match["mark"] == "rc" else "male")


def _metric_thread(plain: str, gender: Gender | None, default: Gender) -> End | None:
    match = re.fullmatch(r"m ?(?P<d>\d+) ?x ?(?P<pitch>\d+(?:\.\d+)?)", plain)
    if match is None:
        return None
    if (match["d"], float(match["pitch"])) == ("20", 1.5):  # the inlet of regulators for leisure vehicles and boats
        return End("g.13", "", gender or "male")
    return End("metric", f"{match['d']}x{float(match['pitch']):g}", gender or default)


def _flare(plain: str, gender: Gender | None, default: Gender) -> End | None:
    if match := re.fullmatch(rf"{_INCHES} flare-nut", plain):
        return End("flare-nut", _listed(match["size"], _FLARE_SIZES, "flare"), "female")
    for pattern, kind in _FLARE_WORDS:
        if match := re.fullmatch(rf"{_INCHES}(?: od)? {pattern}", plain):
            return End(kind, _listed(match["size"], _FLARE_SIZES, "flare"), gender or default)
    return None


def _tubing(plain: str, gender: Gender | None) -> End | None:
    if match := re.fullmatch(r"(?:csst )?ehd ?-?(?P<ehd>\d+)(?: (?:csst|(?P<what>tubing|fitting)))?", plain):
        said: Gender = "male" if match["what"] == "tubing" else "female"
        return End("csst", f"EHD {match['ehd']}", gender or said)
    if match := re.fullmatch(rf"{_INCHES} pe(?: (?P<what>pipe|fitting))?", plain):
        into: Gender = "female" if match["what"] == "fitting" else "male"
        return End("pe", _listed(match["size"], _PIPE_SIZES, "PE pipe"), gender or into)
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES})(?: od)? comp(?:ression)?", plain):
        return End("compression", _across(match), gender or "female")
    if match := re.fullmatch(rf"{_MM} (?:cutting[- ]ring|ring fitting)|rvs ?(?P<rvs>\d+)", plain):
        return End("cutting-ring", f"{float(match['mm'] or match['rvs']):g} mm", gender or "female")
    if match := re.fullmatch(rf"{_MM}(?: od)? steel (?:tube|stub)", plain):
        return End("steel-tube", _across(match), "male")
    if match := re.fullmatch(rf"{_MM} hose(?: (?P<what>nozzle|tail|barb))?", plain):
        return End("hose", _across(match), "male" if match["what"] else "female")
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES})(?: od)? (?:copper )?(?:tube|tubing|stub)", plain):
        return End("tube", _across(match), "male")
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES}) od", plain):
        return End("tube", _across(match), "male")
    return None


def _across(match: re.Match[str]) -> str:
    if match["mm"] is not None:
        return f"{float(match['mm']):g} mm"
    return _listed(match["size"], _TUBE_SIZES, "tube")


def _listed(size: str, known: tuple[str, ...], what: str) -> str:
    plain = size.replace(" ", "-")
    if plain not in known:
        raise EndError(f"there is no {what} of {size} in here", f"the sizes are {', '.join(known)}")
    return plain


def _refusal(written: str, plain: str) -> EndError:
    """Why the text names no end, with what would be right."""
    if match := re.fullmatch(rf"{_INCHES} ?bsp", plain):
        size = match["size"]
        return EndError(
            f"'{written}' may be a taper or a parallel thread",
            f"write '{size} BSPT' (taper, marked R) or '{size} BSPP' (parallel, marked G)",
        )
    if re.fullmatch(r"w ?21[.,]8(?:0)?(?: ?x ?1/14| ?- ?14)?", plain):
        message = f"'{written}' is the thread of several cylinder connections"
        hint = "write KLF (ring in the cylinder, by hand) or GF (seal on the regulator, by spanner). Or write the type on it, as in G.12"
        return EndError(message, hint)
    if re.match(r"kombi|combi", plain):
        hint = "write the connection of your cylinder: KLF (small, ring in it) or GF (large, ring on the regulator)"
        return EndError(f"'{written}' fits two kinds of cylinders", hint)
    if re.search(r"\bght\b|garden|\bwater\b", plain):
        return EndError(f"'{written}' is a water fitting", "gas needs parts listed for LP gas")
    if re.fullmatch(_INCHES, plain) or re.fullmatch(_MM, plain):
        size = re.sub(r' ?(?:inches|inch|in|")$', "", plain)
        what = (
            f"'{size} compression'"
            if plain.endswith("mm")
            else f"'{size} NPT', '{size} flare', 'R {size}' or 'G {size}'"
        )
        return EndError(f"'{written}' has a size but no kind of connection", f"write {what}")
    if plain in _THREAD_WORDS or plain.endswith("flare") or plain.startswith("comp"):
        return EndError(f"'{written}' has no size", f"write it as in {_EXAMPLES}")
    return EndError(f"'{written}' is no connection known here", f"write it as in {_EXAMPLES}")
