"""Whether the picture fills its sheet: resolution, bleed and size."""

from board.checks.rules import (
    Finding,
    Level,
    Measures,
    Place,
    Source,
    Terms,
    stops_at,
    whole,
)

BLEED_SLACK_MM = 0.3
SIZE_SLACK_MM = 1.0


def resolution(seen: Measures, terms: Terms) -> Finding:
    """The least effective resolution on the bled sheet against the book's two limits."""
    ppi = whole(seen["ppi"])
    level, says = Level.CLEAR, f"At least {ppi} ppi everywhere on the bled sheet."
    if ppi < terms.ppi_warn:
        level, says = Level.WARN, f"Only {ppi} ppi at the coarsest place."
    if ppi < terms.ppi_stop:
        level = stops_at(terms.stage)
    return Finding(
        "resolution",
        level,
        says,
        figure=f"{ppi} ppi",
        limit=f"warn below {terms.ppi_warn}, stop below {terms.ppi_stop} at final",
        source=Source.BOOK,
        places=[_spot(*seen["ppi_at"])] if level is not Level.CLEAR else [],
    )


def _spot(x: float, y: float) -> Place:
    return {"x": x - 0.02, "y": y - 0.04, "width": 0.04, "height": 0.08}


def bleed(seen: Measures, terms: Terms) -> Finding:
    """Whether the picture reaches the bleed edge all round, and is painted there."""
    lacking = {
        edge: max(seen["uncovered"][edge], _strip(seen, edge))
        for edge in ("left", "right", "top", "bottom")
    }
    short = {edge: mm for edge, mm in lacking.items() if mm >= BLEED_SLACK_MM}
    limit, source = f"{terms.bleed_mm:g} mm on every edge", terms.bleed_source
    if not short:
        says = "Picture reaches the bleed edge all round."
        return Finding("bleed", Level.CLEAR, says, "0 mm short", limit, source)
    level = stops_at(terms.stage)
    if max(short.values()) <= terms.error_bar_mm:
        level = Level.WARN  # the laying itself is no surer than that
    told = ", ".join(f"{edge} edge, {mm:.1f} mm short" for edge, mm in short.items())
    why = "white or bare strip" if any(seen["strips"]) else "the picture ends there"
    return Finding(
        "bleed",
        level,
        f"{told[0].upper()}{told[1:]}: {why}.",
        figure=told,
        limit=limit,
        source=source,
        estimate=terms.error_bar_mm >= BLEED_SLACK_MM,
        places=[_edge(edge, mm, terms) for edge, mm in short.items()],
    )


def _strip(seen: Measures, edge: str) -> float:
    return float(seen["strips"].get(edge, {}).get("depth_mm", 0.0))


def _edge(edge: str, mm: float, terms: Terms) -> Place:
    """The strip of that depth along an edge of the bled sheet."""
    over = [terms.bleed_mm / side for side in terms.sheet_mm]
    deep = [mm / side for side in terms.sheet_mm]
    whole_sheet = {
        "x": -over[0],
        "y": -over[1],
        "width": 1 + 2 * over[0],
        "height": 1 + 2 * over[1],
    }
    if edge in {"left", "right"}:
        x = -over[0] if edge == "left" else 1 + over[0] - deep[0]
        return whole_sheet | {"x": x, "width": deep[0]}
    y = -over[1] if edge == "top" else 1 + over[1] - deep[1]
    return whole_sheet | {"y": y, "height": deep[1]}


def size(seen: Measures, terms: Terms) -> Finding:
    """The picture's shape and pixels against trim and bleed."""
    wide, high = (side + 2 * terms.bleed_mm for side in terms.sheet_mm)
    need = [round(mm / 25.4 * terms.ppi_warn) for mm in (wide, high)]
    figure = f"{terms.picture[0]} x {terms.picture[1]} px"
    limit = f"{need[0]} x {need[1]} px for the bled sheet at {terms.ppi_warn} ppi"
    if terms.bleed_asked_mm > terms.bleed_mm + 1e-6:
        says = (
            f"The printer asks for {terms.bleed_asked_mm:g} mm of bleed; the book's "
            f"sheet carries {terms.bleed_mm:g} mm."
        )
        return Finding("size", Level.WARN, says, figure, limit, terms.bleed_source)
    if terms.declared not in {"bled", "trimmed"}:
        says = "It was laid by marks or registration, so its edges are judged as bleed."
        return Finding("size", Level.CLEAR, says, figure, limit, Source.BOOK)
    around = 0.0 if terms.declared == "bled" else 2 * terms.bleed_mm
    shape = terms.picture[0] / max(1, terms.picture[1])
    off = abs(shape / ((wide - around) / (high - around)) - 1) * min(wide, high)
    level = Level.WARN if off > SIZE_SLACK_MM else Level.CLEAR
    says = (
        f"Its shape differs from trim and bleed by {off:.1f} mm and is stretched to fit."
        if level is Level.WARN
        else "Its shape is that of trim and bleed."
    )
    if terms.declared == "trimmed":
        says += " It is cut to the trim and carries no bleed."
    return Finding("size", level, says, figure, limit, Source.BOOK)
