"""The page in Chromium: ready, 50 touches, the longest stretch of the main thread, memory, sizes.

Then the lesson page: ready, and the script of a step while the slider goes from end to end.

Run by hand: python tests/benchmarks/bench_page.py

The general-purpose ways are run on the same 50 colours: brute force over every whole-part mix in
numpy, and scipy's least squares on the shares of all tubes, rounded to twelve parts. Time on the
main thread is counted by its own clock, so that a busy machine does not lengthen it.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import sync_playwright
from scipy.optimize import least_squares

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.nearest.medium import Medium
from mixlab.nearest.whole import Lattice

TOUCHES, SCENE = 50, (1200, 800)
ARGS = ["--no-sandbox"]


def memory() -> tuple[float, float]:
    """Return the resident and the proportional memory [MB] of the largest renderer."""
    most = (0.0, 0.0)
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if b"--type=renderer" not in (process / "cmdline").read_bytes():
                continue
            lines = (process / "smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        figures = {line.split(":")[0]: line.split()[1] for line in lines[1:]}
        most = max(most, (int(figures["Rss"]) / 1024, int(figures["Pss"]) / 1024))
    return most


class Peak:
    """The most memory [MB] while it runs."""

    def __enter__(self):
        self.most, self._over = (0.0, 0.0), threading.Event()
        self._thread = threading.Thread(target=self._look)
        self._thread.start()
        return self

    def _look(self):
        while not self._over.wait(0.03):
            self.most = max(self.most, memory())

    def __exit__(self, *_):
        self._over.set()
        self._thread.join()


def longest_tasks(trace: Path) -> list[tuple[float, float]]:
    """Return the longest tasks of the page's main thread: its own time and the wall's [ms]."""
    events = json.loads(trace.read_text())["traceEvents"]
    mains = {
        (e["pid"], e["tid"])
        for e in events
        if e.get("name") == "thread_name" and e["args"]["name"] == "CrRendererMain"
    }
    tasks = [
        (e.get("tdur", 0) / 1000, e.get("dur", 0) / 1000)
        for e in events
        if e.get("ph") == "X" and "RunTask" in e["name"] and (e["pid"], e["tid"]) in mains
    ]
    return sorted(tasks, reverse=True)[:5]


def written(folder: Path, name: str, *words: str) -> Path:
    subprocess.run([sys.executable, "-m", "mixlab", "page", *words, "--out", str(folder / name)],
                   check=True, stdout=subprocess.DEVNULL)  # fmt: skip
    return folder / name


def touched(page) -> list[dict]:
    """Touch places all over the picture and return what the answers hold."""
    spot = page.locator("[data-role=picture]").bounding_box()
    answer, told = page.locator("[data-role=answer]"), []
    for x, y in np.random.default_rng(3).uniform(0.01, 0.99, (TOUCHES, 2)):
        before = answer.get_attribute("data-count")
        page.mouse.click(spot["x"] + x * spot["width"], spot["y"] + y * spot["height"])
        while answer.get_attribute("data-count") == before:
            page.wait_for_timeout(10)
        told.append(answer.evaluate("e => ({...e.dataset})"))
        page.wait_for_timeout(150)
    return told


def in_the_browser(path: Path, large: Path) -> list[dict]:
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGS)
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        trace = Path(folder) / "trace.json"
        with Peak() as peak:
            browser.start_tracing(page=page, path=trace, categories=["toplevel", "__metadata"])
            page.goto(path.as_uri())
            page.wait_for_selector("html[data-ready]")
            ready = page.evaluate("performance.now()") / 1000
            page.locator("[data-role=file]").set_input_files(str(bundled("scene.jpg")))
            page.wait_for_selector("[data-role=held][data-kept]")
            page.wait_for_timeout(2000)  # what is laid out while nobody asks
            told = touched(page)
            page.click("#tab-value")
            for value in ("0", "5", ""):
                page.select_option("[data-role=values]", value)
                page.wait_for_timeout(600)
            page.fill("[data-role=squint]", "6")
            page.wait_for_timeout(600)
            browser.stop_tracing()
        resident, proportional = peak.most
        times = [float(one["time"]) for one in told]
        print(
            f"ready after {ready:.2f} s; {TOUCHES} touches, 12 tubes: answer in "
            f"{statistics.median(times):.0f} ms at the median, {max(times):.0f} ms at most"
        )
        tasks = ", ".join(f"{own:.0f} ({wall:.0f})" for own, wall in longest_tasks(trace))
        print(f"longest stretches of the main thread, its own time (the wall's): {tasks} ms")
        print(f"memory of the renderer, at most: {resident:.0f} MB resident, "
              f"{proportional:.0f} MB proportional")  # fmt: skip
        page.context.close()
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready]")
        with Peak() as peak:
            page.locator("[data-role=file]").set_input_files(str(large))
            page.wait_for_function(
                "() => document.querySelector('[data-role=picture]').height > 1200", timeout=60_000
            )
            page.wait_for_timeout(3000)
        print(f"with a picture of 48 megapixels: {peak.most[0]:.0f} MB resident, "
              f"{peak.most[1]:.0f} MB proportional")  # fmt: skip
        browser.close()
    return told


SLID = """() => new Promise(done => {
  const slider = document.querySelector('[data-role=share]'), times = [];
  let at = 0;
  const next = () => {
    if (at) times.push(Number(slider.dataset.time));
    if (at > 1000) return done(times);
    slider.value = at;
    slider.dispatchEvent(new Event('input'));
    at += 5;
    requestAnimationFrame(() => setTimeout(next));
  };
  next(); })"""


def lesson(path: Path) -> None:
    """Slide from end to end of each lesson, one paint and two, and tell what a step takes."""
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGS)
        page = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready]")
        print(f"lesson page, {path.stat().st_size / 1000:.0f} kB: ready after "
              f"{page.evaluate('performance.now()') / 1000:.2f} s")  # fmt: skip
        for paints in (1, 2):
            if paints == 2:
                page.click("[data-role=two]")
            for kind in ("white", "black", "grey", "complement"):
                page.click(f"label:has([value={kind}])")
                page.wait_for_timeout(500)
                for guess in page.locator("[data-role=guess]:visible").all():
                    guess.click()
                trace = Path(folder) / f"{kind}{paints}.json"
                browser.start_tracing(page=page, path=trace, categories=["toplevel", "__metadata"])
                times = page.evaluate(SLID)
                browser.stop_tracing()
                own, _ = zip(*longest_tasks(trace), strict=True)
                print(f"  {kind}, {paints} paint{'s' * (paints > 1)}: a step's script "
                      f"{statistics.median(times):.1f} ms at the median, {max(times):.1f} at most; "
                      f"longest tasks of the main thread {', '.join(f'{t:.0f}' for t in own)} "
                      "ms")  # fmt: skip
        browser.close()


def rivals(told: list[dict]) -> None:
    palette = mixlab.read_palette("studio")
    medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
    labs = np.array([[float(n) for n in one["lab"].split(",")] for one in told])
    own, taken = (np.array([float(one[name]) for one in told]) for name in ("miss", "time"))

    lattice = Lattice(medium)
    every = np.vstack([lattice.lab(n) for n in range(1, lattice.tubes + 1)])
    start = time.process_time()
    least = np.array([ciede2000(lab, every).min() for lab in labs])
    brute = 1000 * (time.process_time() - start) / len(labs)
    print(f"brute force over {len(every)} mixes: {brute:.0f} ms each, "
          f"{brute / np.median(taken):.0f} times the page's median; it says only how near the "
          f"nearest comes ({least.mean():.2f} in the mean), the page the fewest tubes within 2 "
          f"({own.mean():.2f})")  # fmt: skip

    def off(logs, lab):
        shares = np.exp(logs - logs.max())
        return medium.lab(shares / shares.sum()) - lab

    start, missed, tubes = time.process_time(), [], []
    for lab in labs:
        shares = np.exp(least_squares(off, np.zeros(len(palette)), args=(lab,)).x)
        parts = np.rint(12 * shares / shares.sum())
        missed.append(ciede2000(lab, medium.lab(parts / parts.sum())))
        tubes.append(np.count_nonzero(parts))
    solved = 1000 * (time.process_time() - start) / len(labs)
    used = [len(one["recipe"].split(" + ")) for one in told]
    print(
        f"least squares on the shares, rounded: {solved:.0f} ms each, "
        f"{solved / np.median(taken):.0f} times the page's median; misses by {np.mean(missed):.2f} "
        f"with {np.mean(tubes):.1f} tubes, the page by {own.mean():.2f} with {np.mean(used):.1f}"
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        box = written(folder, "box.html", "--palette", "studio")
        scene, places = (str(bundled(f"scene.{kind}")) for kind in ("jpg", "csv"))
        pond = written(folder, "pond.html", scene, "--palette", "mill-pond", "--places", places)
        print(f"sizes: {box.stat().st_size / 1000:.0f} kB without a picture, "
              f"{pond.stat().st_size / 1000:.0f} kB with the demo's")  # fmt: skip
        large = folder / "large.jpg"
        exif = Image.Exif()
        exif[274] = 6
        Image.open(scene).resize((8000, 6000)).save(large, quality=88, exif=exif)
        rivals(in_the_browser(box, large))
        lesson(written(folder, "white.html", "--lesson", "white"))


if __name__ == "__main__":
    main()
