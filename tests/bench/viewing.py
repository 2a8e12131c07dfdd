"""What the viewers cost a reader: bytes and seconds on a bad line, frames, tiles.

    .venv/bin/python -m tests.bench.viewing [FOLDER]

A real board with the demo book (day 26) and a pair of 87-megapixel pictures, looked at
in headless Chromium; FOLDER keeps that board for the next time. Pages are measured with
an empty cache at 400 kbit/s and 400 ms (Chromium's own throttle), up to the first useful
picture and until nothing more comes. Goals: phone first useful picture <= 150 kB and
<= 5 s; wall <= 500 kB, spread <= 350 kB before zooming; a frame while panning a pair
<= 20 ms (p95); tiles for one screen <= 1.5 times what it needs.
"""

import json
import os
import platform
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, Request, sync_playwright

from board.management.running.browser import find
from tests.browser.conftest import ARGS, environment

ROOT = Path(__file__).parents[2]
LINE = {
    "offline": False,
    "latency": 400,
    "downloadThroughput": 400_000 / 8,
    "uploadThroughput": 400_000 / 8,
}
PHONE = {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2}
DESK = {"viewport": {"width": 1440, "height": 900}}
USEFUL = {
    "desk": ".pile-line",
    "wall": ".hung-laid",
    "item": ".picture-still",
    "light table": ".table-still",
}
SEEN = """(which) => {
  const one = document.querySelector(which);
  if (!one) return 0;
  if (one.localName === "img" && !(one.complete && one.naturalWidth)) return 0;
  return performance.now();
}"""
TILE = re.compile(r"/(\d+)/\d+_\d+\.jpg$")
QUIET_S, MOST_S = 3.0, 60.0
FRAMES = """(ms) => new Promise((then) => {
  const gaps = []; let last = performance.now(); const end = last + ms;
  const next = (now) => {
    gaps.push(now - last); last = now;
    if (now < end) requestAnimationFrame(next); else then(gaps.slice(2));
  };
  requestAnimationFrame(next);
})"""
NEED = """() => {
  const { viewer } = document.querySelector("board-picture").stand;
  const laid = viewer.world.getItemAt(0);
  const { source } = laid;
  const seen = laid.viewportToImageRectangle(viewer.viewport.getBounds(true));
  const level = source.maxLevel;
  const tile = source.getTileWidth(level) / source.getLevelScale(level);
  const span = (from, length, whole) => {
    const first = Math.max(0, Math.floor(from / tile));
    const last = Math.min(Math.ceil(whole / tile), Math.ceil((from + length) / tile));
    return Math.max(0, last - first);
  };
  const { x, y } = source.dimensions;
  return span(seen.x, seen.width, x) * span(seen.y, seen.height, y);
}"""


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def run(words: list[str], env: dict[str, str]) -> str:
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise SystemExit(done.stderr[-2000:])
    return done.stdout


@contextmanager
def board(folder: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """A board with the demo book and the large pair; its address and pages."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        address = f"http://127.0.0.1:{taken.getsockname()[1]}"
        env = environment(folder) | {"BOARD_ADDRESS": address, "BOARD_DEMO": "1"}
        kept = folder / "pages.json"
        (folder / "board").mkdir(exist_ok=True)
        run(["-m", "django", "migrate", "-v0"], env)
        run(["-m", "django", "collectstatic", "--noinput", "-v0"], env)
        if not kept.exists():
            say("Painting and loading the demo book and a pair of 87 megapixels.")
            run(["-m", "django", "load_demo", "--day", "26"], env)
            kept.write_text(run(["-m", "tests.bench.viewing_art"], env), "utf-8")
        server = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "board.management.running.web",
                str(taken.fileno()),
            ],
            cwd=ROOT,
            env=env,
            pass_fds=[taken.fileno()],
        )
        try:
            yield address, json.loads(kept.read_text("utf-8"))
        finally:
            server.terminate()
            server.wait(timeout=20)


class Reader:
    """Somebody signed in, with a browser cache of their own."""

    def __init__(self, browser: Browser, address: str, way: str) -> None:
        self.browser, self.address = browser, address
        context = browser.new_context(service_workers="block")
        page = context.new_page()
        page.goto(address + way)
        page.locator("main form button").first.click()
        page.wait_for_url(lambda url: "/people/" not in url)
        self.signed_in = context.storage_state()
        context.close()

    @contextmanager
    def fresh(self, **look: Any) -> Iterator[tuple[BrowserContext, Page]]:
        """A page with nothing in its cache; the worker keeps out of the figures."""
        context = self.browser.new_context(
            storage_state=self.signed_in, service_workers="block", **look
        )
        yield context, context.new_page()
        context.close()


def weigh(reader: Reader, path: str, which: str, look: dict[str, Any]) -> list[float]:
    """Bytes and seconds to the first useful picture, and bytes in all."""
    with reader.fresh(**look) as (context, page):
        line = context.new_cdp_session(page)
        line.send("Network.enable")
        line.send("Network.emulateNetworkConditions", LINE)
        sizes: dict[str, float] = {}
        began: dict[str, float] = {"last": time.monotonic()}

        def came(told: dict[str, Any]) -> None:
            # Before the end Chromium often tells only the length without compression.
            more = told.get("encodedDataLength") or told.get("dataLength", 0)
            sizes[told["requestId"]] = sizes.get(told["requestId"], 0) + more
            began["last"] = time.monotonic()

        def ended(told: dict[str, Any]) -> None:
            sizes[told["requestId"]] = told["encodedDataLength"]
            began["last"] = time.monotonic()

        line.on("Network.dataReceived", came)
        line.on("Network.loadingFinished", ended)
        page.goto(reader.address + path, wait_until="commit")
        begin = time.monotonic()
        at = useful = 0.0
        while time.monotonic() - begin < MOST_S:
            page.wait_for_timeout(100)
            if not at:
                at = float(page.evaluate(SEEN, which))
                useful = sum(sizes.values()) if at else 0.0
            if at and time.monotonic() - began["last"] > QUIET_S:
                break
        return [useful / 1000, at / 1000, sum(sizes.values()) / 1000]


def pan(page: Page, seconds: float = 3.0) -> list[float]:
    """Milliseconds between frames while the hand drags to and fro."""
    page.evaluate(f"globalThis.gaps = ({FRAMES})({seconds * 1000})")
    end = time.monotonic() + seconds
    page.mouse.move(700, 500)
    page.mouse.down()
    step = 0
    while time.monotonic() < end:
        step += 1
        there = 700 + 260 * (1 - abs(step % 40 - 20) / 10)
        page.mouse.move(there, 480 + (step % 20))
    page.mouse.up()
    gaps: list[float] = page.evaluate("globalThis.gaps")
    return sorted(gaps)


def frames(reader: Reader, path: str) -> None:
    """Pan the large pair in the two views that draw both pictures."""
    for view in ("lay-over", "slide"):
        with reader.fresh(**DESK) as (_context, page):
            page.goto(f"{reader.address}{path}light-table/?view={view}")
            page.wait_for_selector("[data-stand] canvas")
            page.wait_for_timeout(2000)
            page.locator("[data-look=pixels]").click()
            page.wait_for_timeout(4000)
            gaps = pan(page)
            p95 = gaps[int(len(gaps) * 0.95)]
            say(
                f"panning 87 MP, {view:9} {len(gaps):4} frames  median "
                f"{statistics.median(gaps):5.1f} ms  p95 {p95:5.1f} ms  (goal: 20)"
            )


def tiles(reader: Reader, path: str) -> None:
    """Count the tiles that one screen at actual pixels asks for."""
    with reader.fresh(**DESK) as (_context, page):
        asked: list[str] = []

        def ask(one: Request) -> None:
            found = TILE.search(one.url)
            if found:
                asked.append(found[1])

        page.on("request", ask)
        page.goto(reader.address + path)
        page.wait_for_selector("board-picture[data-standing]")
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(3000)
        asked.clear()
        page.locator("[data-look=pixels]").click()
        page.wait_for_timeout(6000)
        need = page.evaluate(NEED)
        levels = ", ".join(f"{n} of level {one}" for one, n in Counter(asked).items())
        say(
            f"tiles for one screen at actual pixels: {len(asked)} asked ({levels}), "
            f"{need} needed, {len(asked) / max(need, 1):.2f} times (goal: 1.5)"
        )


def main(folder: Path) -> None:
    cores, load = os.cpu_count(), os.getloadavg()[0]
    say(f"{platform.machine()}, {cores} cores, load {load:.1f}, no graphics card")
    with board(folder) as (address, told), sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find(), args=ARGS)
        author, head = (
            Reader(browser, address, told["ways"][w]) for w in ("MOF", "HN")
        )
        pages = told["pages"]
        say("400 kbit/s, 400 ms, empty cache        useful kB      s    whole kB")
        for name, which in USEFUL.items():
            for reader, look, words in ((author, PHONE, "phone"), (head, DESK, "desk")):
                kb, at, whole = weigh(reader, pages[name], which, look)
                say(f"{name:12} {words:6} {'':18} {kb:9.0f} {at:7.1f} {whole:9.0f}")
        say("")
        tiles(head, pages["large"])
        frames(head, pages["large"])
        browser.close()


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory(prefix="bench-viewing-") as made:
            main(Path(made))
