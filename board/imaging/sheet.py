"""Homographies: which pixel lies where on the sheet.

A matrix is 3 x 3 and takes (x, y, 1) columns; points are float arrays (n, 2) of x, y.
The centre of the first pixel is (0, 0), as in OpenCV.
"""

import numpy as np
import numpy.typing as npt

from board.errors import NotUnderstood

Matrix = npt.NDArray[np.float64]
Points = npt.NDArray[np.float64]


def apply(matrix: Matrix, points: npt.ArrayLike) -> Points:
    """Take points through the matrix.

    Parameters
    ----------
    matrix : float array of shape (3, 3)
    points : float array of shape (n, 2)

    Returns
    -------
    float64 array of shape (n, 2); a point on the horizon comes out as infinity.
    """
    xy = np.asarray(points, np.float64).reshape(-1, 2)
    moved = xy @ matrix[:, :2].T + matrix[:, 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(moved[:, :2] / moved[:, 2:])


def inverse(matrix: Matrix) -> Matrix:
    """Give the matrix that takes everything back."""
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


def residuals(matrix: Matrix, src: npt.ArrayLike, dst: npt.ArrayLike) -> Points:
    """Give how far each src point lands from its dst, in units of dst, shape (n,)."""
    off = apply(matrix, src) - np.asarray(dst, np.float64).reshape(-1, 2)
    return np.asarray(np.hypot(off[:, 0], off[:, 1]))


def corner_shift(one: Matrix, two: Matrix, size: tuple[int, int]) -> float:
    """Give how far apart two matrices put the corners of a (width, height) picture."""
    wide, high = size
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float64)
    return shift_at(corners, one, two)


def shift_at(places: Points, one: Matrix, two: Matrix) -> float:
    """Give how far apart, at most, two matrices put places, an (n, 2) array."""
    return float(residuals(one, places, apply(two, places)).max())


def from_points(src: npt.ArrayLike, dst: npt.ArrayLike) -> Matrix:
    """Fit the matrix that takes src to dst, as free as the number of pairs allows.

    Parameters
    ----------
    src, dst : float arrays of shape (n, 2); n = 2 similarity, 3 affine, 4 or more
        projective, in the least-squares sense and robust to strays from 6 on

    Returns
    -------
    float64 array of shape (3, 3) with its last element 1.

    Raises
    ------
    NotUnderstood
        Fewer than two pairs, or pairs that lie on one spot or one line.

    References
    ----------
    Normalised direct linear transform: Hartley, IEEE TPAMI 19(6), 1997.
    """
    one = np.asarray(src, np.float64).reshape(-1, 2)
    two = np.asarray(dst, np.float64).reshape(-1, 2)
    if len(one) != len(two) or len(one) < 2:
        raise NotUnderstood(
            "Laying a picture needs two to four pairs of points. Mark another pair."
        )
    if not (_spread_enough(one) and _spread_enough(two)):
        raise NotUnderstood(
            "These points lie too close together or on one line. "
            "Mark points far apart, best near the corners."
        )
    weights = np.ones(len(one))
    matrix = fit(one, two, weights)
    if len(one) >= 6:
        for _ in range(10):
            off = residuals(matrix, one, two)
            scale = max(1.4826 * float(np.median(off)), 1e-9)
            weights = 1 / (1 + (off / (2 * scale)) ** 2)
            matrix = fit(one, two, weights)
    return matrix


def fit(src: Points, dst: Points, weights: Points, freedom: str = "") -> Matrix:
    """Fit one matrix by weighted least squares.

    Parameters
    ----------
    src, dst : float64 arrays of shape (n, 2)
    weights : float64 array of shape (n,), zero and up
    freedom : "similarity", "affine", "projective", or empty for what n allows
    """
    freedom = freedom or {2: "similarity", 3: "affine"}.get(len(src), "projective")
    to_src, to_dst = _normaliser(src, weights), _normaliser(dst, weights)
    s, d = apply(to_src, src), apply(to_dst, dst)
    rows, right = _EQUATIONS[freedom](s, d)
    root = np.sqrt(np.repeat(weights, 2))
    found, *_ = np.linalg.lstsq(rows * root[:, None], right * root, rcond=None)
    inner = _MATRIX[freedom](np.asarray(found, np.float64))
    matrix = np.linalg.inv(to_dst) @ inner @ to_src
    return np.asarray(matrix / matrix[2, 2])


def is_sane(matrix: Matrix, size: tuple[int, int], *, mirrored: bool = False) -> bool:
    """Say whether a picture can lie on a sheet this way at all.

    Parameters
    ----------
    matrix : float array of shape (3, 3)
    size : (width, height) of the picture the matrix takes in, pixels
    mirrored : also let a picture lie face down

    Returns
    -------
    False for a fold-over, a sliver, extreme shear or perspective, not a number, or a
    mirrored picture that nobody asked for.
    """
    if matrix.shape != (3, 3) or not np.isfinite(matrix).all():
        return False
    width, height = size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64)
    depth = corners @ matrix[2, :2] + matrix[2, 2]
    if depth.min() * depth.max() <= 0 or abs(depth).min() < 0.4 * abs(depth).max():
        return False
    stretches = np.array([_stretch(matrix, x, y) for x, y in corners.tolist()])
    turns = stretches[:, 2]
    if mirrored:
        turns = turns * np.sign(turns[0])
    if (turns <= 0).any() or stretches[:, 1].min() <= 1e-9:
        return False
    return bool((stretches[:, 0] / stretches[:, 1]).max() < 2.5)


def _stretch(matrix: Matrix, at_x: float, at_y: float) -> tuple[float, float, float]:
    """Give the longest and shortest stretch and the turning sense at a point."""
    x, y, w = matrix @ np.array([at_x, at_y, 1.0])
    local = (matrix[:2, :2] - np.outer([x / w, y / w], matrix[2, :2])) / w
    long, short = np.linalg.svd(local, compute_uv=False)
    return float(long), float(short), float(np.linalg.det(local))


def _spread_enough(points: Points) -> bool:
    """Two points must differ; three or more must not lie on one line."""
    centred = points - points.mean(axis=0)
    sizes = np.linalg.svd(centred, compute_uv=False)
    if not np.isfinite(sizes).all() or sizes[0] <= 1e-9:
        return False
    return len(points) == 2 or bool(sizes[1] > 1e-3 * sizes[0])


def _normaliser(points: Points, weights: Points) -> Matrix:
    share = weights / max(float(weights.sum()), 1e-12)
    centre = share @ points
    spread = float(np.sqrt(share @ ((points - centre) ** 2).sum(axis=1)))
    k = np.sqrt(2) / max(spread, 1e-12)
    return np.array([[k, 0, -k * centre[0]], [0, k, -k * centre[1]], [0, 0, 1]])


def _similar(s: Points, d: Points) -> tuple[Points, Points]:
    rows = np.zeros((2 * len(s), 4))
    rows[0::2] = np.column_stack([s[:, 0], -s[:, 1], np.ones(len(s)), 0 * s[:, 0]])
    rows[1::2] = np.column_stack([s[:, 1], s[:, 0], 0 * s[:, 0], np.ones(len(s))])
    return rows, d.reshape(-1)


def _affine(s: Points, d: Points) -> tuple[Points, Points]:
    rows = np.zeros((2 * len(s), 6))
    rows[0::2, :3] = rows[1::2, 3:] = np.column_stack([s, np.ones(len(s))])
    return rows, d.reshape(-1)


def _projective(s: Points, d: Points) -> tuple[Points, Points]:
    rows = np.zeros((2 * len(s), 8))
    rows[:, :6] = _affine(s, d)[0]
    rows[0::2, 6:] = -s * d[:, :1]
    rows[1::2, 6:] = -s * d[:, 1:]
    return rows, d.reshape(-1)


def _from_similar(f: Points) -> Matrix:
    return np.array([[f[0], -f[1], f[2]], [f[1], f[0], f[3]], [0, 0, 1]])


def _from_affine(f: Points) -> Matrix:
    return np.array([*f, 0, 0, 1]).reshape(3, 3)


def _from_projective(f: Points) -> Matrix:
    return np.array([*f, 1]).reshape(3, 3)


_EQUATIONS = {"similarity": _similar, "affine": _affine, "projective": _projective}
_MATRIX = {
    "similarity": _from_similar,
    "affine": _from_affine,
    "projective": _from_projective,
}
