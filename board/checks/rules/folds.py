"""The fold: boxes in the gutter band, lines in it and across it, sections."""

from collections.abc import Mapping

from board.books.rules import natural_spreads
from board.checks.rules import PLACE_SIDES, Finding, Level, Measures, Source, Terms

LEAST_CROSSOVER = 3  # band widths on both sides: then a box is meant to cross


def in_band(box: Mapping[str, float], terms: Terms) -> float:
    """The share of a box that the gutter band hides, 0 when it does not meet it.

    A box that runs far over the fold on both sides, such as a horizon, is meant to
    cross and is not counted.
    """
    half = terms.gutter_mm / terms.sheet_mm[0]
    left, right = box["x"], box["x"] + box["width"]
    hidden = min(right, 0.5 + half) - max(left, 0.5 - half)
    if not terms.double or hidden <= 0 or box["width"] <= 0:
        return 0.0
    reach = LEAST_CROSSOVER * 2 * half
    if 0.5 - left > reach and right - 0.5 > reach:
        return 0.0
    return float(hidden / box["width"])


def gutter(_seen: Measures, terms: Terms) -> Finding:
    """Focal boxes that meet the gutter band."""
    limit = f"{terms.gutter_mm:g} mm each side of the fold"
    focal = [box for box in terms.boxes if box["sort"] == "focal"]
    met = [(box, in_band(box, terms)) for box in focal]
    met = [(box, share) for box, share in met if share > 0]
    if not terms.double:
        return Finding("gutter", Level.CLEAR, "A single page has no fold.")
    if not focal:
        says = "No focal box is laid on this sheet, so faces at the fold go unseen."
        return Finding("gutter", Level.UNKNOWN, says, limit=limit, source=Source.BOOK)
    if not met:
        says = "No focal box meets the gutter band."
        return Finding(
            "gutter", Level.CLEAR, says, _boxes(len(focal)), limit, Source.BOOK
        )
    told = "; ".join(
        f"{box['label'] or 'a focal box'}: {share:.0%} in the gutter band"
        for box, share in met
    )
    places = [{side: box[side] for side in PLACE_SIDES} for box, _ in met]
    return Finding(
        "gutter", Level.WARN, f"{told}.", told, limit, Source.BOOK, places=places
    )


def _boxes(many: int) -> str:
    return "1 box" if many == 1 else f"{many} boxes"


def fold(seen: Measures, terms: Terms) -> Finding:
    """Strong uprights inside the band and thin slanting lines across the fold."""
    limit = "no upright over a fifth of the height in the band, no thin slant across"
    ups, thin = seen["uprights"], seen["crossings"]
    if not ups and not thin:
        return Finding(
            "lines in the fold",
            Level.CLEAR,
            "No strong upright in the band and no thin slanting line across it.",
            limit=limit,
            source=Source.PRACTICE,
            estimate=True,
        )
    told = []
    if ups:
        told.append(f"strong upright in the band, {ups[0]['length_mm']:.0f} mm long")
    if thin:
        told.append(f"thin slanting line across it, {thin[0]['length_mm']:.0f} mm")
    if _section_boundary(terms):
        told.append("and the two pages lie in different sections")
    says = ", ".join(told)
    return Finding(
        "lines in the fold",
        Level.WARN,
        f"{says[0].upper()}{says[1:]}.",
        figure=f"{len(ups)} upright, {len(thin)} slanting",
        limit=limit,
        source=Source.PRACTICE,
        estimate=True,
        places=[{side: spot[side] for side in PLACE_SIDES} for spot in (*ups, *thin)],
    )


def _section_boundary(terms: Terms, *, signature: int = 16) -> bool:
    first, last = terms.pages
    return last > first > 0 and first % signature == 0


def sections(_seen: Measures, terms: Terms) -> Finding:
    """Whether the spread lies over two signatures, or is printed side by side."""
    limit = "1 to 2 mm of drift between sections is within tolerance"
    if not terms.double or terms.pages[0] == 0:
        return Finding("sections", Level.CLEAR, "Not a spread of the block.")
    if _section_boundary(terms):
        says = (
            "The pages lie in different sections of 16: colour and fold may drift. "
            "Ask the printer's imposition first."
        )
        return Finding(
            "sections", Level.WARN, says, "", limit, Source.PRACTICE, estimate=True
        )
    natural = terms.pages in natural_spreads(terms.extent)
    says = (
        "A natural spread: both pages are printed side by side."
        if natural
        else "Both pages lie in one section."
    )
    return Finding("sections", Level.CLEAR, says, "", limit, Source.PRACTICE, True)  # noqa: FBT003
