"""Measure the cutting of storyboard sheets with known frames, a contour search beside.

python -m tests.bench.storyboard_bench [--seeds 101,102] [--kinds clean,phone] [--hand 2]
"""

import argparse
import sys
import time
from collections import Counter, defaultdict

import cv2
import numpy as np

from board.imaging.colour import Bytes
from board.imaging.storyboard.cutting import cut
from tests.imaging.storyboards.marks import Points
from tests.imaging.storyboards.second import second
from tests.imaging.storyboards.sheets import KINDS, OTHERS, Sheet, sheet

NEAR, NEARER, OVER = 0.02, 0.01, 0.9


def contours(picture: Bytes) -> list[Points]:
    """Give what a plain search for outlines finds: Otsu, contours, four-sided ones."""
    scale = min(1.0, 1500 / max(picture.shape[:2]))
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    grey = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    _, dark = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    found, _ = cv2.findContours(dark, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    boxes = []
    for outline in found:
        four = cv2.approxPolyDP(outline, 0.02 * cv2.arcLength(outline, True), True)  # noqa: FBT003
        if len(four) == 4 and cv2.contourArea(four) > 0.003 * grey.size:
            x, y, w, h = cv2.boundingRect(four)
            boxes.append(np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]]))
    boxes.sort(key=lambda box: (round(box[0][1] / 40), box[0][0]))
    return [box / scale for box in boxes]


def weigh(found: list[Points], truth: Sheet, *, sure: bool) -> Counter[str]:
    """Count what was found, how near, what was invented, and the doubt."""
    diagonal = float(np.hypot(*truth.picture.shape[:2]))
    row: Counter[str] = Counter(sheets=1, frames=len(truth.frames))
    used: list[int] = []
    for frame in truth.frames:
        off = [float(np.hypot(*(one - frame).T).max()) / diagonal for one in found]
        if not off:
            continue
        best = int(np.argmin(off))
        row["near"] += off[best] <= NEAR
        row["nearer"] += off[best] <= NEARER
        row["over"] += _shared(found[best], frame) >= OVER
        if off[best] <= NEAR:
            used.append(best)
    row["invented"] = len(found) - len(set(used))
    row["order"] = used == sorted(used)
    right = len(set(used)) == len(truth.frames) and not row["invented"] and row["order"]
    row["right"] = right
    row["sure wrong"] = sure and not right
    row["needless"] = right and not sure and truth.kind != "frameless"
    return row


def _shared(one: Points, two: Points) -> float:
    a, b = one.astype(np.float32), two.astype(np.float32)
    both = cv2.intersectConvexConvex(a, b)[0]
    return float(both / max(1.0, cv2.contourArea(a) + cv2.contourArea(b) - both))


def run(kinds: list[str], seeds: list[int], hand: int, most: int) -> None:
    """Measure and print, on sheets of one of the two hands that draw them."""
    draw = second if hand == 2 else sheet
    rows: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    seconds: dict[tuple[str, str], list[float]] = defaultdict(list)
    for kind in kinds:
        for seed in seeds:
            made = draw(kind, seed, most)
            for name in ("ours", "contours"):
                begun = time.process_time()
                if name == "ours":
                    told = cut(made.picture)
                    found, sure = [one.corners for one in told.frames], told.sure
                else:
                    found, sure = contours(made.picture), True
                seconds[name, kind].append(time.process_time() - begun)
                rows[name, kind] += weigh(found, made, sure=sure)
    for key in sorted(rows, key=lambda key: (key[0] != "ours", kinds.index(key[1]))):
        say(_line(key, rows[key], seconds[key]))


def _line(key: tuple[str, str], row: Counter[str], seconds: list[float]) -> str:
    many = max(1, row["frames"])
    return (
        f"{key[0]:9} {key[1]:10} sheets {row['sheets']:3}  "
        f"within 2 % {row['near'] / many:5.3f}  1 % {row['nearer'] / many:5.3f}  "
        f"overlap {row['over'] / many:5.3f}  invented {row['invented']:3}  "
        f"order {row['order']:3}  whole {row['right']:3}  "
        f"sure and wrong {row['sure wrong']:2}  needless {row['needless']:2}  "
        f"{np.median(seconds):5.2f} s of processor"
    )


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main(words: list[str] | None = None) -> None:
    """Read the options and run."""
    parser = argparse.ArgumentParser(description="Measure the cutting of sheets.")
    parser.add_argument("--seeds", default="201,202")
    parser.add_argument("--kinds", default="")
    parser.add_argument("--hand", type=int, choices=(1, 2), default=1)
    parser.add_argument("--most", type=int, default=2400, help="pixels a side")
    options = parser.parse_args(words)
    seeds = [int(seed) for seed in options.seeds.split(",")]
    kinds = options.kinds or ",".join(KINDS if options.hand == 2 else KINDS + OTHERS)
    run(kinds.split(","), seeds, options.hand, options.most)


if __name__ == "__main__":
    main()
