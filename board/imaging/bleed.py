"""White strips along the edges of a bled picture: paper where paint should be."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Doubles
from board.imaging.rim import fit_rims

WHITE = 238  # darkest channel that may still be bare paper
FALL = 4.0  # how much darker than its begin a strip may get
SEGMENT_MM = 2.0
LEAST_MM, LEAST_PX = 0.3, 1.2
RINGING_PX = 1.9  # how far a shot's own edge may ring
STRAIGHT_MM = 0.2  # a skip up to this: the picture ends with the sheet, nothing rings
BEYOND_MM = 4.0  # how far past the bleed a strip may still end
LEAST_SHARE = 0.25
LEAST_RIM = 0.4  # a rim is fainter, so more of the edge must show it
STEP = 5.0
AGREE_MM = 0.5
LEAST_AGREED = 0.6  # of the short places that lie on one line
TABLE_REACH = 8.0


@dataclass(frozen=True)
class Strip:
    """A bare strip along one edge: its depth, and the part of the edge it takes.

    `depth_mm` counts inwards from the bleed edge; `start` and `end` are shares of the
    edge; `white` tells paper from an even strip of what lies outside.
    """

    depth_mm: float
    start: float
    end: float
    white: bool


def bare_strip(
    edge: Bytes,
    *,
    px_per_mm: float,
    bleed_mm: float,
    skip_mm: float = 0.4,
    outside: Bytes | None = None,
) -> Strip | None:
    """Look for a strip of bare paper along an edge.

    Parameters
    ----------
    edge : uint8 array of shape (deep, along, 3), sRGB; its first row lies on the bleed
        edge, the rows go inwards for the bleed and `BEYOND_MM`.
    px_per_mm : pixels a millimetre, along and inwards.
    skip_mm : how far from the edge the strip may begin (a laid picture may be off).
    outside : uint8 array (rows, along, 3) of what the shot shows beyond the bleed edge,
        if anything; when that is even, a strip of the same is bare too.

    Returns
    -------
    The strip, or None. White that runs on past `BEYOND_MM` is a picture on white paper
    and not a strip; so is a ragged border, whose depth differs from place to place.
    """
    segments = _segments(edge, px_per_mm)
    limit = bleed_mm + BEYOND_MM - 0.5
    low = segments.min(axis=2)
    ahead = int(np.ceil(skip_mm * px_per_mm)) + 1
    # Sharpening rings for a pixel or two at the art's own edge, so begin behind it.
    for begin in (low[ahead], low[:ahead].max(axis=0)):
        paper = low >= np.maximum(begin - FALL, WHITE)
        found = _strip(paper, segments, px_per_mm, (skip_mm, limit))
        if found is not None:
            return Strip(*found, white=True)
    table = _even(outside) if outside is not None else None
    if table is None:
        return None
    alike = np.abs(segments - table).max(axis=2) <= TABLE_REACH
    found = _strip(alike, segments, px_per_mm, (0.0, limit))
    return Strip(*found, white=False) if found is not None else None


def _segments(edge: Bytes, px_per_mm: float) -> Doubles:
    """Mean colours of pieces of the edge, each 2 mm long: (deep, pieces, 3)."""
    along = edge.shape[1]
    many = max(1, round(along / (SEGMENT_MM * px_per_mm)))
    starts = np.linspace(0, along, many + 1).astype(int)[:-1]
    sums = np.add.reduceat(edge, starts, axis=1, dtype=np.float64)
    lengths = np.diff(np.append(starts, along))
    return np.asarray(sums / lengths[None, :, None])


def _even(outside: Bytes) -> Doubles | None:
    """The one colour of what lies outside, if it is one and not paper."""
    if outside.size == 0:
        return None
    flat = outside.reshape(-1, 3)
    if float(flat.std(axis=0).max()) > 3:
        return None
    colour = flat.mean(axis=0)
    return None if colour.min() >= WHITE else np.asarray(colour, np.float64)


def _strip(
    bare: npt.NDArray[np.bool_],
    segments: Doubles,
    px_per_mm: float,
    bounds: tuple[float, float],
) -> tuple[float, float, float] | None:
    skip, limit = bounds
    depths = np.array(
        [
            _depth(bare[:, at], segments[:, at].min(axis=1), px_per_mm, skip)
            for at in range(bare.shape[1])
        ]
    )
    least_px = LEAST_PX if skip <= STRAIGHT_MM else RINGING_PX
    short = (depths >= max(LEAST_MM, least_px / px_per_mm)) & (depths <= limit)
    if short.mean() < LEAST_SHARE:
        return None
    where = np.flatnonzero(short)
    line, near = _line(where, depths[where])
    if len(near) < max(LEAST_SHARE * len(depths), LEAST_AGREED * len(where)):
        return None
    pieces = len(depths)
    depth = float(np.quantile(line, 0.95))
    return depth, float(near.min() / pieces), float((near.max() + 1) / pieces)


def _line(
    where: npt.NDArray[np.intp], depths: Doubles
) -> tuple[Doubles, npt.NDArray[np.intp]]:
    """Fit the strip's inner edge as a straight line; gives it and who agrees."""
    keep = np.abs(depths - np.median(depths)) <= max(
        AGREE_MM, float(np.ptp(np.quantile(depths, (0.1, 0.9)))) / 2
    )
    for _ in range(3):
        if keep.sum() < 3:
            break
        fit = np.polyfit(where[keep], depths[keep], 1)
        keep = np.abs(np.polyval(fit, where) - depths) <= AGREE_MM
    if keep.sum() < 3:
        return depths[keep], where[keep]
    return np.asarray(np.polyval(fit, where[keep])), where[keep]


def _depth(
    bare: npt.NDArray[np.bool_], darkest: Doubles, px_per_mm: float, skip: float
) -> float:
    """How deep one piece is bare, in mm; 0 when it is filled or ends without a step."""
    ahead = int(np.ceil(skip * px_per_mm))
    begun = np.flatnonzero(bare[: ahead + 1])
    if not len(begun):
        return 0.0
    first = int(begun[0])
    ended = np.flatnonzero(~bare[first:])
    if not len(ended):
        return len(bare) / px_per_mm + BEYOND_MM
    end = first + int(ended[0])
    ahead = min(end + max(3, round(0.8 * px_per_mm)), len(darkest) - 1)
    inner = darkest[ahead]
    outer = float(np.median(darkest[first:end]))
    if abs(outer - inner) < STEP:
        return 0.0
    return _crossing(darkest, (end, ahead), (outer + inner) / 2) / px_per_mm


def _crossing(darkest: Doubles, within: tuple[int, int], half: float) -> float:
    """Where the values pass halfway between paper and paint, in rows from the edge."""
    end, ahead = within
    for row in range(max(1, end - 2), ahead + 1):
        one, two = darkest[row - 1], darkest[row]
        if one != two and (one - half) * (two - half) <= 0:
            return float(row - 0.5 + (one - half) / (one - two))
    return float(end)


def thin_rim(
    edge: Bytes, *, edge_row: float, px_per_mm: float, skip_mm: float
) -> Strip | None:
    """Look for a rim of bare paper too thin and soft to be seen as white.

    Parameters
    ----------
    edge : uint8 array of shape (rows, along, 3), sRGB, over `rim.window_mm`: the table
        outside of the art comes first.
    edge_row : where the bleed edge lies, in rows.
    skip_mm : how far the laying may be off.

    Returns
    -------
    The strip, its depth counted from the art's own edge, or None. Where the table is
    as white as paper no rim can be told from it.
    """
    lowest = _segments(edge, px_per_mm).min(axis=2)
    table = float(np.median(lowest[: max(1, round(0.4 * px_per_mm))]))
    if table >= WHITE:
        return None
    rims = fit_rims(lowest, edge_row=edge_row, px_per_mm=px_per_mm)
    near = np.abs(rims.begins) <= (skip_mm + 0.25) * px_per_mm
    depths = rims.width / px_per_mm
    there = near & (depths >= LEAST_MM)
    if there.mean() < LEAST_RIM:
        return None
    where = np.flatnonzero(there)
    line, agreed = _line(where, depths[where])
    if len(agreed) < max(LEAST_RIM * len(depths), LEAST_AGREED * len(where)):
        return None
    pieces = len(depths)
    depth = float(np.quantile(line, 0.5))
    return Strip(
        depth,
        float(agreed.min() / pieces),
        float((agreed.max() + 1) / pieces),
        white=True,
    )
