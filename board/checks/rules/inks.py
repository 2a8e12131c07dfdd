"""Colours: what the press cannot reach, too much ink, the file's own mode."""

from typing import Any

from board.checks.rules import (
    PLACE_SIDES,
    Finding,
    Level,
    Measures,
    Place,
    Source,
    Terms,
)

GAMUT_MM2 = 10.0
INK_MM2 = 10.0
ESTIMATE = "an estimate; the printer's proof decides"
MODES = {"cmyk": "CMYK", "srgb": "RGB", "rgb16": "RGB", "rgb": "RGB", "b-w": "grey",
         "grey16": "grey", "lab": "Lab"}  # fmt: skip


def gamut(seen: Measures, terms: Terms) -> Finding:
    """Colours that the press cannot reach, by the profile's own alarm."""
    found = seen["gamut"]
    large = _large(found["places"], terms, GAMUT_MM2)
    limit = f"no place over {GAMUT_MM2:g} mm2 out of reach of {_press(seen, terms)}"
    share = f"{found['share']:.1%} of the bled sheet"
    says = f"Nothing to speak of is out of the press's reach; {ESTIMATE}."
    if large:
        off = max(float(place["worst"]) for place in large)
        says = (
            f"{_many(large)} out of the press's reach, up to {off:.0f} dE00 off in "
            f"print; {ESTIMATE}."
        )
    return Finding(
        "press gamut",
        Level.WARN if large else Level.CLEAR,
        says,
        figure=share,
        limit=limit,
        source=Source.OURS,
        estimate=True,
        places=_places(large),
    )


def ink(seen: Measures, terms: Terms) -> Finding:
    """Total ink after separation against the condition's limit."""
    found = seen["ink"]
    large = _large(found["places"], terms, INK_MM2)
    limit = f"{terms.ink_limit:g} % after separation for {_press(seen, terms)}"
    says = f"At most {found['most']:.0f} % after separation; {ESTIMATE}."
    if large:
        says = (
            f"{_many(large)} over the limit, up to {found['most']:.0f} %; {ESTIMATE}."
        )
    return Finding(
        "total ink",
        Level.WARN if large else Level.CLEAR,
        says,
        figure=f"{found['most']:.0f} %",
        limit=limit,
        source=terms.ink_source,
        estimate=True,
        places=_places(large),
    )


def _press(seen: Measures, terms: Terms) -> str:
    return terms.press or f"{seen['profile']} (no press profile was given)"


def _many(places: list[dict[str, Any]]) -> str:
    return "One place is" if len(places) == 1 else f"{len(places)} places are"


def _large(
    places: list[dict[str, Any]], terms: Terms, least_mm2: float
) -> list[dict[str, Any]]:
    sides = [side + 2 * terms.bleed_mm for side in terms.sheet_mm]
    whole_mm2 = sides[0] * sides[1]
    return [place for place in places if place["share"] * whole_mm2 >= least_mm2]


def _places(found: list[dict[str, Any]]) -> list[Place]:
    return [{side: float(place[side]) for side in PLACE_SIDES} for place in found]


def mode(seen: Measures, terms: Terms) -> Finding:
    """The original's colour mode, and whether it says what its numbers mean."""
    told = seen.get("file", {})
    kind = str(told.get("mode") or terms.mode)
    name = MODES.get(kind, kind or "unknown")
    limit = "RGB or CMYK with its profile inside"
    if not told:
        says = "The original is not at hand, so its profile is not known."
        return Finding("mode", Level.UNKNOWN, says, name, limit, Source.PRACTICE)
    if not told["has_profile"]:
        says = (
            "The CMYK file has no profile, so its colours here are a guess."
            if name == "CMYK"
            else f"The {name} file has no profile and is taken as plain sRGB."
        )
        return Finding("mode", Level.WARN, says, name, limit, Source.PRACTICE)
    if name not in {"RGB", "CMYK"}:
        says = f"The file is {name}; four-colour art is expected in RGB or CMYK."
        return Finding("mode", Level.WARN, says, name, limit, Source.PRACTICE)
    says = f"{name} with its profile inside."
    if name == "CMYK":
        says += " Ink is measured after a new separation, not on the file's own inks."
    return Finding("mode", Level.CLEAR, says, name, limit, Source.PRACTICE)
