"""A photograph of 24 megapixels: time and memory for recipes of all its colours, and its preview.

Run by hand: python tests/benchmarks/bench_photo.py [PALETTE]

The picture is real: two photographs that scikit-learn carries, enlarged side by side, with the
noise of a camera's sensor on every pixel (shot and read noise in linear light), so that it holds
as many distinct colours as a camera's does; a smooth enlargement would hold few.

The general-purpose way is a tree of all whole-part mixes in CIELAB (scipy's cKDTree) that is asked
for every pixel, without counting colours: by straight distance, which is not CIEDE2000. It is timed
on a few rows and scaled, and its mean miss stands beside ours.
"""

import multiprocessing
import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import sklearn.datasets
from PIL import Image
from scipy.spatial import cKDTree

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import decode_srgb, encode_srgb, rgb_to_lab, viewing
from mixlab.nearest.medium import Medium
from mixlab.nearest.whole import Lattice
from mixlab.picture.main_colours import main_colours
from mixlab.picture.rendering import render
from mixlab.targets.counting import count_colours
from mixlab.targets.photo_files import read_photo, write_picture

WIDTH, HEIGHT = 6000, 4000
SHOT, READ = 6e-4, 1e-6  # variance per unit of light, and without any


class Clock:
    """Prints what each part took: wall, processor and peak memory."""

    def __init__(self) -> None:
        self.begun = self.now()

    @staticmethod
    def now() -> tuple[float, float]:
        return time.perf_counter(), time.process_time()

    def lap(self, what: str) -> float:
        wall, cpu = (b - a for a, b in zip(self.begun, self.now(), strict=True))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"  {what:<46} {wall:6.2f} s  (processor {cpu:6.2f} s)  peak {peak:5.0f} MB")
        self.begun = self.now()
        return wall


def enlarged(file: Path) -> None:
    images = Path(sklearn.datasets.__file__).parent / "images"
    rng = np.random.default_rng(0)
    levels = np.empty((HEIGHT, WIDTH, 3), dtype=np.uint8)
    half = WIDTH // 2
    for i, name in enumerate(("china.jpg", "flower.jpg")):
        with Image.open(images / name) as image:
            levels[:, i * half : (i + 1) * half] = image.resize((half, HEIGHT), Image.LANCZOS)
    for top in range(0, HEIGHT, 100):
        light = decode_srgb(levels[top : top + 100] / 255)
        light += np.sqrt(SHOT * light + READ) * rng.standard_normal(light.shape)
        levels[top : top + 100] = np.rint(255 * encode_srgb(light))
    Image.fromarray(levels).save(file, compress_level=1)


def main() -> None:
    palette = mixlab.read_palette(sys.argv[1] if len(sys.argv) > 1 else "studio")
    with tempfile.TemporaryDirectory() as folder:
        file, out = Path(folder) / "large.png", Path(folder) / "out.png"
        # in a process of its own, so that its memory does not count
        child = multiprocessing.get_context("spawn").Process(target=enlarged, args=(file,))
        child.start()
        child.join()
        megapixels = WIDTH * HEIGHT / 1e6
        print(f"{megapixels:g} megapixels, {palette.name}, {len(palette)} tubes")
        clock = Clock()
        whole = time.perf_counter()
        photo = read_photo(file)
        clock.lap("reading")
        made = render(photo, palette)
        clock.lap(f"rendering {len(made.lab):,} distinct colours")
        main_colours(made)
        clock.lap("main colours")
        write_picture(out, made.pixels())
        clock.lap("writing the preview")
        print(f"  the command in all {time.perf_counter() - whole:.1f} s; "
              f"mean miss {made.mean_miss:.3f}, {len(made.means):,} boxes")
        clock = Clock()
        colours = count_colours(photo)
        labs = rgb_to_lab(colours.rgb, viewing())
        clock.lap("counting the colours")
        mixlab.find_recipes(made.means, palette)
        clock.lap("find_recipes for all, by boxes")
        mixlab.find_recipes(labs, palette)
        clock.lap("find_recipes for all, one by one")

        medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
        lattice = Lattice(medium)
        every = np.vstack([lattice.lab(n) for n in range(1, lattice.tubes + 1)])
        rows = photo.pixels[:: HEIGHT // 10].reshape(-1, 3)
        start = time.perf_counter()
        some = rgb_to_lab(decode_srgb(rows / 255), viewing())
        _, found = cKDTree(every).query(some, workers=-1)
        plain = (time.perf_counter() - start) * photo.pixels.size / rows.size
        start = time.perf_counter()
        render(photo, palette)
        ours = time.perf_counter() - start
        print(f"a tree in CIELAB asked for every pixel: {plain:.0f} s (scaled), "
              f"mean miss {ciede2000(some, every[found]).mean():.3f}; ours {ours:.1f} s, "
              f"ratio {plain / ours:.1f}")


if __name__ == "__main__":
    main()
