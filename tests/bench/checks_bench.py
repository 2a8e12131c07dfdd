"""All checks on an 87-megapixel final, beside libvips reading the file once.

    python -m tests.bench.checks_bench

Prints seconds and megabytes; the aim is 4 s and 700 MB. Nothing fails on time.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict
from pathlib import Path

import cv2
import numpy as np
import pyvips

from board.repro.laying import lay
from board.repro.pressing import Order
from board.repro.sheets import SheetSize, bled_matrix
from tests.bench.imaging_art import dice, noise, painted

SIZE = (13_200, 6_600)
SHEET = SheetSize(508.0, 254.0, 3.175)
CHILD = """
import json, re, sys, time
from pathlib import Path
begun, used = time.perf_counter(), time.process_time()
from board.repro.pressing import Order, measure
from board.repro.sheets import SheetSize
order = json.loads(sys.argv[3])
order["sheet"] = SheetSize(**order["sheet"])
out = Path(sys.argv[2]); out.mkdir(exist_ok=True)
seen = measure(Path(sys.argv[1]), Order(**order), folder=out)
took, used = time.perf_counter() - begun, time.process_time() - used
status = Path("/proc/self/status").read_text()
most = int(re.search(r"VmHWM:\\s+(\\d+)", status)[1]) / 1024
print(json.dumps([took, used, most, seen["ppi"], seen["measured_at_ppi"]]))
"""


def paint(path: Path) -> None:
    """A painted spread of that size with grain, as developed pictures are kept."""
    art = cv2.resize(painted(dice(7)), SIZE, interpolation=cv2.INTER_CUBIC)
    grain = noise(dice(8), SIZE, 3.0)[..., None] * 4
    for top in range(0, SIZE[1], 600):
        part = art[top : top + 600] + grain[top : top + 600]
        art[top : top + 600] = np.clip(part, 0, 255)
    image = pyvips.Image.new_from_array(art.astype(np.uint8))
    image.copy(interpretation="srgb").vipssave(str(path), keep="none")


def read_once(path: Path) -> tuple[float, float]:
    """Wall and processor seconds in which libvips decodes the full level."""
    pyvips.cache_set_max(0)
    begun, used = time.perf_counter(), time.process_time()
    pyvips.Image.tiffload(str(path), access="sequential").avg()
    return time.perf_counter() - begun, time.process_time() - used


def main() -> None:
    """Paint, lay, measure three times, print the best and the largest."""
    folder = Path(tempfile.mkdtemp(prefix="bench-checks-"))
    try:
        run(folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(folder: Path) -> None:
    developed, laid = folder / "art.v", folder / "laid"
    laid.mkdir()
    paint(developed)
    matrix = bled_matrix(*SIZE, SHEET)
    lay(developed, matrix, SHEET, laid)
    box = {"key": "type", "x": 0.6, "y": 0.08, "width": 0.34, "height": 0.24}
    order = Order(
        matrix=matrix.tolist(),
        picture=SIZE,
        sheet=SHEET,
        double=True,
        gutter_mm=9.525,
        type_boxes=[box],
        profile=sys.argv[1] if len(sys.argv) > 1 else "",
    )
    words = [sys.executable, "-c", CHILD, str(laid), str(folder / "maps")]
    words.append(json.dumps(asdict(order)))
    found = [
        json.loads(subprocess.run(words, capture_output=True, check=True).stdout)
        for _ in range(3)
    ]
    took = min(run[0] for run in found)
    used = min(run[1] for run in found)
    most = max(run[2] for run in found)
    read = [read_once(laid / "laid.tif") for _ in range(2)]
    load = os.getloadavg()[0]
    sys.stdout.write(
        f"87 MP final, all checks: {took:.2f} s (aim 4), of the processor {used:.2f} s, "
        f"{most:.0f} MB (aim 700), measured at {found[0][4]:.0f} of {found[0][3]:.0f} "
        f"ppi\n"
        f"libvips, the full picture once: {min(read)[0]:.2f} s, of the processor "
        f"{min(one[1] for one in read):.2f} s\n"
        f"load of the machine meanwhile: {load:.1f} on {os.cpu_count()} cores\n"
    )


if __name__ == "__main__":
    main()
