"""Small spreads drawn here and now: pencil-like marks on paper, and shots of them."""

import io

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from accounts.models import Person
from board.books.models import Item
from board.books.rules import Stage
from board.revisions.actions.uploads import UploadDraft, receive_whole, start_upload
from board.revisions.models import Revision, Upload
from board.revisions.tasks import prepare

Pixels = npt.NDArray[np.uint8]
SIZE = (771, 390)  # the bled sheet of a 10 inch book, 1.5 pixels a millimetre


def spread(seed: int = 1, size: tuple[int, int] = SIZE) -> Pixels:
    """A drawing with marks all over: washes, outlines, hatching and grain."""
    rng = np.random.default_rng(seed)
    wide, high = size
    art = np.full((high, wide, 3), 236, np.uint8)
    for _ in range(60):
        at = (int(rng.integers(0, wide)), int(rng.integers(0, high)))
        axes = (int(rng.integers(12, 90)), int(rng.integers(10, 60)))
        colour = tuple(int(c) for c in rng.integers(90, 230, 3))
        turn = float(rng.uniform(0, 180))
        cv2.ellipse(art, at, axes, turn, 0, 360, colour, -1, cv2.LINE_AA)
        cv2.ellipse(art, at, axes, turn, 0, 360, (60, 56, 58), 2, cv2.LINE_AA)
    for _ in range(160):
        start = rng.integers(0, (wide, high))
        end = start + rng.integers(-40, 40, 2)
        cv2.line(art, start.tolist(), end.tolist(), (70, 66, 70), 1, cv2.LINE_AA)
    grain = rng.integers(-4, 5, (high, wide, 1))
    return np.asarray(np.clip(art.astype(np.int16) + grain, 0, 255), np.uint8)


def shot(art: Pixels, *, degrees: float = 1.2, scale: float = 1.06) -> Pixels:
    """The same paper photographed a little askew, with table round it."""
    high, wide = art.shape[:2]
    size = (round(wide * 1.12), round(high * 1.16))
    turn = cv2.getRotationMatrix2D((wide / 2, high / 2), degrees, scale)
    turn[:, 2] += (size[0] / 2 - wide / 2 + 5, size[1] / 2 - high / 2 - 4)
    table = (138, 138, 134)
    out = cv2.warpAffine(art, turn, size, flags=cv2.INTER_CUBIC, borderValue=table)
    return np.asarray(out, np.uint8)


def changed(art: Pixels, box: tuple[float, float, float, float]) -> Pixels:
    """The art with one place painted over; the box in fractions of the picture."""
    out = art.copy()
    high, wide = art.shape[:2]
    x, y, width, height = box
    middle = (round((x + width / 2) * wide), round((y + height / 2) * high))
    axes = (round(width * wide / 2), round(height * high / 2))
    cv2.ellipse(out, middle, axes, 0, 0, 360, (196, 60, 40), -1, cv2.LINE_AA)
    return out


def png(art: Pixels) -> bytes:
    out = io.BytesIO()
    Image.fromarray(art).save(out, "PNG")
    return out.getvalue()


def jpeg(art: Pixels) -> bytes:
    out = io.BytesIO()
    Image.fromarray(art).save(out, "JPEG", quality=92)
    return out.getvalue()


def sent(
    body: bytes,
    filename: str,
    *,
    by: Person,
    item: Item,
    stage: str = Stage.SKETCH,
    declared: str = "bled",
) -> Upload:
    """Send a file from the item's own page, all the way to its last byte."""
    draft = UploadDraft(filename, len(body), item, stage, declared)
    upload = start_upload(by=by, book=item.book, draft=draft)
    give_bytes(upload, body)
    return upload


def give_bytes(upload: Upload, body: bytes) -> None:
    receive_whole(upload, [body])
    upload.refresh_from_db()


def prepared(
    art: Pixels,
    *,
    by: Person,
    item: Item,
    stage: str = Stage.SKETCH,
    declared: str = "bled",
) -> Revision:
    """Send a picture and prepare it, as the worker would."""
    upload = sent(png(art), "art.png", by=by, item=item, stage=stage, declared=declared)
    assert upload.state == Upload.State.TAKEN_IN, upload.refused
    revision = Revision.objects.get(upload=upload)
    prepare.call(revision.key)
    revision.refresh_from_db()
    return revision
