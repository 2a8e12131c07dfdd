"""Measure laying and change maps on pairs with known truth, peers beside.

python -m tests.bench.imaging_bench [--seeds 1,2,3] [--kinds rescan,phone]
"""

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from board.imaging.change import change_map
from board.imaging.difference import delta_e_2000
from board.imaging.registration import register
from board.imaging.working import seen_from
from tests.bench import imaging_peers as peers
from tests.bench.imaging_art import SIZE
from tests.bench.imaging_clippings import clippings
from tests.bench.imaging_pairs import KINDS, Box, Pair, furthest_off, make

SAME = ("rescan", "phone", "edit", "turned", "detail")
WRONG = 0.02  # of the diagonal: laid, but nowhere near
GOOD = {"across hard": 0.006, "across": 0.0025, "cockled": 0.005}


@dataclass
class Laying:
    """What one method did on one kind."""

    asked: int = 0
    good: int = 0
    wrong: int = 0
    refused: int = 0
    errors: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


@dataclass
class Mapping:
    """What one change map found."""

    strong: list[bool] = field(default_factory=list)
    faint: list[bool] = field(default_factory=list)
    true: int = 0
    false: int = 0
    quiet: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


def pairs(kinds: list[str], seeds: list[int]) -> Iterator[Pair]:
    for kind in kinds:
        for seed in seeds:
            yield make(kind, seed)


def weigh(pair: Pair, matrix: np.ndarray | None, seconds: float, row: Laying) -> None:
    """Enter one outcome: good, wrong or refused."""
    row.asked += 1
    row.seconds.append(seconds)
    if matrix is None:
        row.refused += 1
        return
    if pair.truth is None:
        row.wrong += 1
        return
    off = furthest_off(pair, matrix)
    row.errors.append(off)
    row.good += off <= GOOD.get(pair.kind, 0.003)
    row.wrong += off > WRONG


def meets(one: Box, two: Box) -> float:
    """Give the area two boxes share."""
    wide = min(one[0] + one[2], two[0] + two[2]) - max(one[0], two[0])
    high = min(one[1] + one[3], two[1] + two[3]) - max(one[1], two[1])
    return max(0.0, wide) * max(0.0, high)


def compare(pair: Pair, boxes: list[Box], share: float, row: Mapping) -> None:
    """Hold found boxes against planted edits."""
    if not pair.edits:
        row.quiet.append(share)
        return
    for box, how in pair.edits:
        size = box[2] * box[3]
        hit = any(
            meets(box, b) > 0.3 * size and b[2] * b[3] < 5 * size + 0.001 for b in boxes
        )
        (row.faint if how == "faint" else row.strong).append(hit)
    for b in boxes:
        real = any(
            meets(b, box) > 0.3 * min(b[2] * b[3], box[2] * box[3])
            for box, _ in pair.edits
        )
        row.true += real
        row.false += not real


def run(kinds: list[str], seeds: list[int], *, with_peers: bool) -> None:
    """Measure and print."""
    laying: dict[tuple[str, str], Laying] = defaultdict(Laying)
    mapping: dict[str, Mapping] = defaultdict(Mapping)
    for pair in pairs(kinds, seeds):
        begun = time.perf_counter()
        found = register(pair.newer, pair.older, across_manners=pair.across)
        took = time.perf_counter() - begun
        weigh(pair, found.matrix, took, laying["ours", pair.kind])
        if found.matrix is not None and not pair.across and pair.truth is not None:
            _map_ours(pair, found.matrix, took, mapping["ours"])
        if with_peers:
            _peers(pair, laying, mapping)
    _print_laying(laying)
    _print_mapping(mapping)


def _map_ours(pair: Pair, matrix: np.ndarray, took: float, row: Mapping) -> None:
    begun = time.perf_counter()
    laid, mask = seen_from(pair.newer, matrix, SIZE)
    found = change_map(pair.older, laid, mask=mask)
    row.seconds.append(took + time.perf_counter() - begun)
    boxes = [(r.x, r.y, r.w, r.h) for r in found.regions]
    compare(pair, boxes, sum(r.area for r in found.regions), row)


def _peers(
    pair: Pair,
    laying: dict[tuple[str, str], Laying],
    mapping: dict[str, Mapping],
) -> None:
    for name, method in peers.LAYERS.items():
        begun = time.perf_counter()
        matrix = method(pair.newer, pair.older)
        took = time.perf_counter() - begun
        weigh(pair, matrix, took, laying[name, pair.kind])
        if matrix is None or pair.truth is None or pair.across:
            continue
        if name.startswith("SIFT") and furthest_off(pair, matrix) < WRONG:
            laid, mask = seen_from(pair.newer, matrix, SIZE)
            for called, mapper in peers.MAPPERS.items():
                flags = mapper(pair.older, laid, mask)
                boxes = peers.boxes_of(flags)
                compare(pair, boxes, float(flags.mean()), mapping[called])


def _print_laying(laying: dict[tuple[str, str], Laying]) -> None:
    say(f"{'method':18} {'kind':16} good/asked refused wrong  median %   worst %   s")
    for (name, kind), row in sorted(laying.items()):
        middle = 100 * float(np.median(row.errors)) if row.errors else float("nan")
        worst = 100 * max(row.errors) if row.errors else float("nan")
        say(
            f"{name:18} {kind:16} {row.good:4}/{row.asked:<5} {row.refused:7} "
            f"{row.wrong:5} {middle:9.4f} {worst:9.4f} {np.median(row.seconds):5.2f}"
        )


def _print_mapping(mapping: dict[str, Mapping]) -> None:
    say(f"\n{'change map':20} strong   dE 3   precision  unchanged mean/worst %   s")
    for name, row in mapping.items():
        right = row.true / max(1, row.true + row.false)
        quiet = np.array(row.quiet or [float("nan")]) * 100
        took = f"{np.median(row.seconds):.2f}" if row.seconds else ""
        say(
            f"{name:20} {sum(row.strong):3}/{len(row.strong):<3} "
            f"{sum(row.faint):2}/{len(row.faint):<2} {right:9.2f}   "
            f"{quiet.mean():9.3f} / {quiet.max():<8.3f} {took:>8}"
        )


def colour_speed() -> None:
    """Time CIEDE2000 on four million pixels."""
    dice = np.random.default_rng(1)
    one = dice.uniform([0, -60, -60], [100, 60, 60], (4_000_000, 3)).astype(np.float32)
    two = one + dice.normal(0, 3, one.shape).astype(np.float32)
    best = min(_timed(one, two) for _ in range(3))
    say(f"\nCIEDE2000: {best / len(one) * 1e9:.1f} ns a pixel")


def _timed(one: np.ndarray, two: np.ndarray) -> float:
    begun = time.perf_counter()
    delta_e_2000(one, two)
    return time.perf_counter() - begun


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main(words: list[str] | None = None) -> None:
    """Read the options and run."""
    parser = argparse.ArgumentParser(description="Measure laying and change maps.")
    parser.add_argument("--seeds", default="101,102,103")
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--without-peers", action="store_true")
    parser.add_argument("--without-clippings", action="store_true")
    options = parser.parse_args(words)
    seeds = [int(seed) for seed in options.seeds.split(",")]
    kinds = [kind for kind in options.kinds.split(",") if kind]
    run(kinds, seeds, with_peers=not options.without_peers)
    if not options.without_clippings:
        say("\n" + clippings(seeds))
    colour_speed()


if __name__ == "__main__":
    main()
