"""Whether black type stands clearly on what is painted in the type boxes."""

from collections.abc import Mapping
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

CONTRAST = 4.5
TEXTURE = 15.0
NO_BOX = "No type box is laid on this sheet, so type is not looked at."
OUTSIDE = "The type box lies outside the picture, so type cannot be looked at there."


def contrast(seen: Measures, terms: Terms) -> Finding:
    """Black type against the worst window of each type box."""
    limit = (
        f"{CONTRAST} to 1 for black type, in every window as high as a line of 20 pt"
    )
    measured = [box for box in seen["type"] if box.get("contrast") is not None]
    if not measured:
        return Finding(
            "type contrast", Level.UNKNOWN, _none(seen), "", limit, Source.WCAG
        )
    least = min(measured, key=lambda box: float(box["contrast"]))
    cut = _cut(least["contrast"])
    low = [box for box in measured if box["contrast"] < CONTRAST]
    says = (
        f"{cut} to 1 in the darkest window of {_name(least, terms)}."
        if low
        else f"At least {cut} to 1 everywhere in the type boxes."
    )
    return Finding(
        "type contrast",
        Level.WARN if low else Level.CLEAR,
        says,
        figure=f"{cut} to 1",
        limit=limit,
        source=Source.WCAG,
        estimate=True,
        places=[_window(box) for box in low],
    )


def _none(seen: Measures) -> str:
    return OUTSIDE if seen["type"] else NO_BOX


def _cut(ratio: float) -> str:
    """Contrast with one decimal, cut and never rounded up to the limit."""
    return f"{int(ratio * 10) / 10:.1f}"


def texture(seen: Measures, terms: Terms) -> Finding:
    """How busy the ground is: the spread of L* in the busiest window."""
    limit = f"standard deviation of L* up to {TEXTURE:g}"
    measured = [box for box in seen["type"] if box.get("texture") is not None]
    if not measured:
        return Finding(
            "type ground", Level.UNKNOWN, _none(seen), "", limit, Source.MEMORY
        )
    most = max(measured, key=lambda box: float(box["texture"]))
    busy = most["texture"] > TEXTURE
    says = (
        f"The ground is busy: L* spreads by {most['texture']:.0f} in a window of "
        f"{_name(most, terms)}."
        if busy
        else "The ground is quiet in every type box."
    )
    return Finding(
        "type ground",
        Level.WARN if busy else Level.CLEAR,
        says,
        figure=f"{most['texture']:.1f}",
        limit=limit,
        source=Source.MEMORY,
        estimate=True,
        places=[_box_of(most, terms)] if busy else [],
    )


def text_plate(_seen: Measures, _terms: Terms) -> Finding:
    """Type not on the black plate costs co-editions four plates instead of one."""
    says = (
        "The board does not know in what colour the type is set. White or coloured "
        "type means four plates for each co-edition, not one."
    )
    return Finding("type on black", Level.UNKNOWN, says, source=Source.PRACTICE)


def _window(box: Mapping[str, Any]) -> Place:
    return {side: float(box[side]) for side in PLACE_SIDES}


def _found(box: Mapping[str, Any], terms: Terms) -> Mapping[str, Any]:
    return next((laid for laid in terms.boxes if laid["key"] == box["key"]), box)


def _name(box: Mapping[str, Any], terms: Terms) -> str:
    return str(_found(box, terms).get("label") or "the type box")


def _box_of(box: Mapping[str, Any], terms: Terms) -> Place:
    return _window(_found(box, terms))
