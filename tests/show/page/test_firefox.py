"""The page in Firefox: opened from the disk, touched, given a picture, reloaded, printed."""

import json
import re
import zlib

import numpy as np
from PIL import Image

import mixlab
from mixlab.files import bundled
from mixlab.mixing.stages import points, stage
from mixlab.mixing.value_chroma import report
from mixlab.show.why import step
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import photo_lab, place

ANSWER = "document.querySelector('[data-role=answer]').dataset"
SPOT = "document.querySelector('[data-role=picture]').getBoundingClientRect()"
DISC = "['left', 'top'].map(side => document.querySelector('[data-role=disc]').style[side])"
LISTED = "document.querySelectorAll('[data-role=passages] .mix b').length"


def pages_of(content):
    """Return how many pages a PDF has: some write them in compressed streams."""
    packed = re.findall(rb"stream\r?\n(.*?)endstream", content, re.DOTALL)
    plain = [zlib.decompressobj().decompress(one) for one in packed if one[:1] == b"x"]
    (count,) = set(re.findall(rb"/Type\s*/Pages[^>]*?/Count (\d+)", b"\n".join([content, *plain])))
    return int(count)


def test_the_page_in_firefox(firefox, written, tmp_path):
    """With the demo's picture, at a phone's size: the same recipe as elsewhere, one sheet."""
    scene, places = bundled("scene.jpg"), bundled("scene.csv")
    path = written("fox.html", scene, "--palette", "mill-pond", "--places", places)
    firefox.size(390, 844)
    firefox.open(path.as_uri())
    firefox.wait("'ready' in document.documentElement.dataset")
    firefox.wait(f"{LISTED} > 8")
    spot = firefox.run(SPOT)
    x, y = 462.5 / 1200 * spot["width"], 357.5 / 800 * spot["height"]
    firefox.touch(spot["x"] + x, spot["y"] + y)
    firefox.wait(f"'recipe' in {ANSWER}")
    told, disc = firefox.run(ANSWER), firefox.run(DISC)
    left, top = (float(share.removesuffix("%")) / 100 for share in disc)
    at = round(left * 1200 - 0.5), round(top * 800 - 0.5)
    assert abs(at[0] - 462) <= 4 and abs(at[1] - 357) <= 4  # a finger is no finer
    lab = np.array([float(number) for number in told["lab"].split(",")])
    wanted = photo_lab(place(read_photo(scene), *at, 6).rgb)
    assert np.abs(lab - wanted).max() < 0.25  # two decoders of JPEG
    assert float(told["miss"]) <= 2 and "yellow-ochre" in told["recipe"]
    assert firefox.run("document.documentElement.scrollWidth <= innerWidth")
    assert pages_of(firefox.print()) == 1


def test_a_picture_outlives_a_reload_in_firefox(firefox, written, tmp_path):
    path = written("fox-box.html", "--palette", "kiln-earths")
    exif = Image.Exif()
    exif[274] = 6  # a quarter turn
    Image.new("RGB", (2600, 1300), (120, 90, 60)).save(tmp_path / "turned.jpg", exif=exif)
    firefox.size(1440, 900)
    firefox.open(path.as_uri())
    firefox.wait("'ready' in document.documentElement.dataset")
    firefox.choose("[data-role=file]", tmp_path / "turned.jpg")
    shown = "!document.querySelector('[data-role=held]').hidden"
    firefox.wait(shown)
    canvas = "document.querySelector('[data-role=picture]')"
    firefox.wait(f"{canvas}.height > 150")
    width, height = firefox.run(f"[{canvas}.width, {canvas}.height]")
    assert 2 * width == height and 1024 <= height <= 2048
    firefox.wait("document.querySelector('[data-role=held]').dataset.kept === 'kept'")
    firefox.open(path.as_uri())
    firefox.wait("'ready' in document.documentElement.dataset")
    assert firefox.run(shown)
    refused = firefox.run("fetch('https://example.org/').then(() => 'sent', () => 'refused')")
    assert json.dumps(refused) == '"refused"'


def test_the_lesson_in_firefox(firefox, written):
    """Guess, slide, read: the same words as the command line's."""
    firefox.size(360, 640)
    firefox.open(written("fox-lesson.html", "--lesson", "white").as_uri())
    firefox.wait("'ready' in document.documentElement.dataset")
    slider = "document.querySelector('[data-role=share]')"
    firefox.run(f"void ({slider}.value = 500, {slider}.dispatchEvent(new Event('input')), "
                "document.querySelector('[data-role=guess]').click())")  # fmt: skip
    words = "document.querySelector('[data-role=words]').textContent"
    firefox.wait(f"{words}.includes('At 50')")
    table = mixlab.read_table()
    own = report(table.mix({"ultramarine-blue": 1}), table.mix({"titanium-white": 1}))
    (point,) = points(own.path, [0.5])
    said = step(own.stages[0], stage(own.path, point), own.added, own.stages[1], "white",
                "ultramarine blue", "titanium white")  # fmt: skip
    assert firefox.run(words).replace("\xa0", " ") == "".join(said)
    assert firefox.run("document.querySelectorAll('.along .curve').length") == 1
    assert firefox.run("document.documentElement.scrollWidth <= innerWidth")
