"""The page in a real browser: touched, by keyboard, kept, printed, guarded, at every size."""

import csv
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import (
    decode_srgb,
    hex_to_lab,
    lab_to_hex,
    lab_to_value,
    rgb_to_lab,
    viewing,
)
from mixlab.files import bundled
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import photo_lab, place
from tests.targets.test_photos import P3

SCENE, PLACES = str(bundled("scene.jpg")), str(bundled("scene.csv"))
NAMES = [row["name"] for row in csv.DictReader(Path(PLACES).read_text().splitlines())]
TABS = ("mix", "tubes", "value", "pile", "list", "help")
HOSTILE = "<img src=x onerror=\"document.title='caught'\"></script><b>"
MIXED = "() => document.querySelectorAll('[data-role=passages] .mix b').length > 8"
PDF_PAGE = re.compile(rb"/Type\s*/Page\b")
ALL_SEEN = "button, select, input:not(.unseen), label.button, summary, [role=tab]"


@pytest.fixture(scope="session")
def pond(written):
    return written("pond.html", SCENE, "--palette", "mill-pond", "--places", PLACES)


@pytest.fixture(scope="session")
def box(written):
    return written("box.html", "--palette", "studio")


@pytest.fixture(scope="session")
def blank(written):
    """The scene without passages."""
    return written("blank.html", SCENE, "--palette", "mill-pond")


def by_role(page, name):
    return page.locator(f"[data-role={name}]")


def asked(page, act):
    """Do something and return what the answer then holds, once it has come."""
    before = by_role(page, "answer").get_attribute("data-count")
    act()
    page.wait_for_function(
        "before => { const e = document.querySelector('[data-role=answer]');"
        " return e.dataset.count && e.dataset.count !== before; }", arg=before)  # fmt: skip
    page.wait_for_timeout(50)
    return told(page)


def told(page):
    data = by_role(page, "answer").evaluate("e => ({...e.dataset})")
    return {
        "lab": np.array([float(v) for v in data["lab"].split(",")]),
        "mixed": np.array([float(v) for v in data["mixed"].split(",")]),
        "recipe": data["recipe"], "miss": float(data["miss"]),
    }  # fmt: skip


def touch(page, x, y, size=(1200, 800), tap=False):
    """Touch a pixel of the picture's file."""
    spot = by_role(page, "picture").bounding_box()
    at = (spot["x"] + (x + 0.5) * spot["width"] / size[0],
          spot["y"] + (y + 0.5) * spot["height"] / size[1])  # fmt: skip
    (page.touchscreen.tap if tap else page.mouse.click)(*at)


def as_it_is(page):
    page.click("#tab-value")
    by_role(page, "key").select_option("none")


# --- touching -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "tap"), [("desk", False), ("phone", True)])
def test_a_touch_gives_the_colour_of_the_disc_and_its_recipe(opened, blank, size, tap):
    page = opened(blank, size)
    as_it_is(page)
    page.click("#tab-mix")
    for x, y in ((369, 417), (462, 357), (542, 519)):
        made = asked(page, lambda x=x, y=y: touch(page, x, y, tap=tap))
        spot = page.evaluate("document.querySelector('[data-role=disc]').style.cssText")
        left, top = (float(v) / 100 for v in re.findall(r"(?:left|top): ([\d.]+)%", spot))
        at = round(left * 1200 - 0.5), round(top * 800 - 0.5)
        assert abs(at[0] - x) <= 2 and abs(at[1] - y) <= 2  # a finger is no finer
        wanted = photo_lab(place(read_photo(SCENE), *at, 6).rgb)
        assert np.abs(made["lab"] - wanted).max() < 0.25  # two decoders of JPEG
        mix = viewed(made["recipe"])
        assert np.abs(made["mixed"] - mix).max() < 1e-6
        assert by_role(page, "recipe").text_content()
    page.wait_for_selector("[data-role=glass]", state="hidden")


def test_the_scene_s_places_are_mixed_as_the_demo_mixes_them(opened, pond, run):
    demo = json.loads(run("demo", "--json").out)["places"]
    page = opened(pond)
    page.wait_for_function(MIXED)
    page.click("#tab-list")
    made = {}
    for i, name in enumerate(NAMES):
        row = by_role(page, "passages").locator("li").nth(i)
        asked(page, lambda row=row: row.get_by_role("button", name="show").click())
        made[name] = told(page)
    for one in demo:
        here = made[one["name"]]
        assert np.abs(here["lab"] - one["target"]["lab"]).max() < 0.3
        assert here["recipe"] == one["recipe"]["mix"], one["name"]


def viewed(recipe):
    return mixlab.read_table().mix(recipe).lab


def test_dragging_shows_what_is_under_the_finger(opened, blank):
    page = opened(blank)
    spot = by_role(page, "picture").bounding_box()
    x, y = spot["x"] + 200, spot["y"] + 300
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y - 30, steps=4)
    assert by_role(page, "glass").is_visible()
    glass = by_role(page, "glass").bounding_box()
    assert glass["y"] + glass["height"] < y - 30  # above the finger, which would hide it
    page.mouse.up()
    assert not by_role(page, "glass").is_visible()


def test_everything_by_keyboard(opened, blank):
    """A place is found, kept and named, a tube left out, values and pile set: no mouse."""
    page = opened(blank)
    reached = []
    while len(reached) < 40 and "tab-mix" not in reached:
        page.keyboard.press("Tab")
        reached.append(page.evaluate("(e => e.id || e.dataset.role || '')(document.activeElement)"))
    assert {"file", "picture", "radius", "squint-key", "keep", "tab-mix"} <= set(reached)
    by_role(page, "picture").focus()
    first = asked(page, lambda: page.keyboard.press("ArrowRight"))
    second = asked(page, lambda: page.keyboard.press("Shift+ArrowDown"))
    assert np.abs(first["lab"] - second["lab"]).max() > 0
    disc = by_role(page, "radius").input_value()
    page.keyboard.press("+")
    assert int(by_role(page, "radius").input_value()) == int(disc) + 1
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-role=passages] li", state="attached")

    page.locator("#tab-mix").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#panel-tubes").is_visible() and page.locator("#tab-tubes:focus").count()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.role") == "tube"
    page.keyboard.press("Space")
    assert page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "false"
    page.locator("#tab-tubes").focus()
    page.keyboard.press("End")
    assert page.locator("#panel-help").is_visible()


# --- tubes --------------------------------------------------------------------------------------


def test_a_tube_left_out_or_called_for_is_heeded_at_once(opened, blank):
    page = opened(blank)
    before = asked(page, lambda: touch(page, 462, 357))
    used = [term.split(" ")[1] for term in before["recipe"].split(" + ")]
    page.click("#tab-tubes")
    tube = page.locator(f"[data-role=tube][data-id={used[0]}]")
    tube.click()
    page.wait_for_function("id => !document.querySelector('[data-role=answer]').dataset.recipe"
                           ".includes(id)", arg=used[0])  # fmt: skip
    assert tube.get_attribute("aria-pressed") == "false"
    left = (set(page.locator("[data-role=tube]").evaluate_all(
        "all => all.map(e => e.dataset.id)")) - set(used)).pop()  # fmt: skip
    page.locator(f"li:has([data-id={left}]) .must").click()
    page.wait_for_function("id => document.querySelector('[data-role=answer]').dataset.recipe"
                           ".includes(id)", arg=left)  # fmt: skip
    by_role(page, "most").select_option("2")
    page.wait_for_function("() => document.querySelector('[data-role=answer]').dataset.recipe"
                           ".split('+').length <= 2")  # fmt: skip
    page.reload()
    page.wait_for_selector("html[data-ready]")
    assert tube.get_attribute("aria-pressed") == "false"
    assert by_role(page, "most").input_value() == "2"


def test_the_last_tube_stays(opened, blank):
    page = opened(blank)
    page.click("#tab-tubes")
    tubes = page.locator("[data-role=tube]")
    for i in range(tubes.count()):
        tubes.nth(i).click()
    assert page.locator("[data-role=tube][aria-pressed=true]").count() == 1
    assert "at least" in by_role(page, "tubes-text").text_content()


# --- passages -----------------------------------------------------------------------------------


def test_passages_outlive_a_reload(opened, blank):
    page = opened(blank)
    for x, y in ((120, 330), (542, 519)):
        asked(page, lambda x=x, y=y: touch(page, x, y))
        by_role(page, "keep").click()
    page.click("#tab-list")
    rows = by_role(page, "passages").locator("li")
    assert rows.count() == 2
    rows.nth(0).locator("input").fill("bark")
    rows.nth(0).locator("input").press("Tab")
    by_role(page, "order").click()
    names = "all => all.map(e => e.value)"
    assert rows.locator("input").evaluate_all(names) == ["place 2", "bark"]  # the dark one first
    page.reload()
    page.wait_for_selector("html[data-ready]")
    assert rows.locator("input").evaluate_all(names) == ["place 2", "bark"]
    page.wait_for_function("() => document.querySelectorAll('.over .number').length === 2")
    page.click("#tab-list")
    rows.nth(0).get_by_role("button", name="delete").click()
    assert rows.locator("input").evaluate_all(names) == ["bark"]


def test_a_file_of_passages_comes_back_and_the_command_line_takes_it(opened, pond, run, tmp_path):
    page = opened(pond, accept_downloads=True)
    page.click("#tab-list")
    rows = by_role(page, "passages").locator("li")
    page.wait_for_function(MIXED)
    assert rows.count() == len(NAMES)
    with page.expect_download() as download:
        by_role(page, "save").click()
    file = tmp_path / "passages.json"
    download.value.save_as(file)
    saved = json.loads(file.read_text())
    assert [one["name"] for one in saved["places"]] == NAMES
    while rows.count():
        rows.nth(0).get_by_role("button", name="delete").click()
    by_role(page, "load").set_input_files(file)
    page.wait_for_function("n => document.querySelectorAll('[data-role=passages] li').length === n",
                           arg=len(NAMES))  # fmt: skip
    assert rows.locator("input").evaluate_all("all => all.map(e => e.value)") == NAMES

    words = ("recipe", "--photo", SCENE, "--palette", "kiln-earths", "--tubes", "2", "--json")
    from_page, from_csv = (json.loads(run(*words, "--places", f).out) for f in (file, PLACES))
    assert from_page["places"] == from_csv["places"]
    alone = run("recipe", "--places", file, "--palette", "kiln-earths", "--tubes", "2", "--json")
    assert len(json.loads(alone.out)["places"]) == len(NAMES)


def test_a_picture_taken_here_leaves_passages_and_picture_of_the_page_alone(opened, pond, tmp_path):
    """Passages of the page's picture stay in their colours, and it comes back with their places."""
    page = opened(pond)
    page.wait_for_function(MIXED)
    page.click("#tab-list")
    rows = by_role(page, "passages").locator("li .mix")
    before = rows.evaluate_all("all => all.map(e => e.textContent)")
    numbers = "n => document.querySelectorAll('.over .number').length === n"
    Image.new("RGB", (90, 60), (90, 120, 60)).save(tmp_path / "other.png")
    by_role(page, "file").set_input_files(tmp_path / "other.png")
    page.wait_for_function(numbers, arg=0)
    page.wait_for_selector("[data-role=held][data-kept=kept]")
    page.reload()
    page.wait_for_selector("html[data-ready]")
    assert by_role(page, "picture").evaluate("c => c.width") == 90
    page.click("#tab-list")
    by_role(page, "carried").click()
    page.wait_for_function(numbers, arg=len(NAMES))
    page.wait_for_function(
        "now => [...document.querySelectorAll('[data-role=passages] .mix')]"
        ".map(e => e.textContent).join() === now", arg=",".join(before))  # fmt: skip


SAVED = '{"mixlab": "passages", "light": "D65", "observer": "2", "places": '
BAD = {
    "text": "not JSON",
    "[1, 2]": "no passages",
    '{"mixlab": "passages", "places": 5}': "no passages",
    '{"mixlab": "passages", "places": [{"lab": [50, 0, 0]}]}': "light and observer",
    SAVED + '[{"name": "a"}]}': "passage 1",
    SAVED + '[{"lab": [1e9, 0, 0]}]}': "passage 1: lab",
    SAVED + '[{"x": "<b>", "y": 3}]}': "passage 1: x and y",
    SAVED + "[null]}": "passage 1",
    SAVED + "[" + ",".join(["{}"] * 65) + "]}": "at most 64",
    " " * 300_000: "too large",
}


def test_a_hostile_file_gives_one_clear_line(opened, box):
    page = opened(box)
    page.click("#tab-list")
    for text, words in BAD.items():
        file = {"name": "bad.json", "mimeType": "application/json", "buffer": text.encode()}
        by_role(page, "load").set_input_files(file)
        page.wait_for_function("w => document.querySelector('[data-role=notice]').textContent"
                               ".includes(w)", arg=words)  # fmt: skip
        said = by_role(page, "notice").text_content()
        assert said.startswith("bad.json: ") and "\n" not in said
    assert by_role(page, "passages").locator("li").count() == 0
    by_role(page, "save").click()  # a list of nothing would be no file of passages
    assert "no passages yet" in by_role(page, "notice").text_content()


# --- a plan -------------------------------------------------------------------------------------


def test_a_plan_travels_in_the_page(opened, written):
    """Masses as passages with their piles, order and values; nothing is planned anew there."""
    words = ("--palette", "mill-pond", "--plan", "--masses", "4", "--values", "3")
    path = written("planned.html", SCENE, *words)
    held = re.search('<script type="application/json" id="data">(.*?)</script>', path.read_text())
    plan = json.loads(held[1])["plan"]
    masses = plan["masses"]
    palette = mixlab.read_palette("mill-pond")
    mixes = [palette.mix(mass["notation"]) for mass in masses]
    for mass, mix in zip(masses, mixes, strict=True):
        assert ciede2000(mix.lab, mass["mixed"]["lab"]) < 0.01
        parts = dict(mass["add"])
        if mass["from"] is not None:
            parent = mixes[mass["from"] - 1].parts
            for id, n in parent.items():
                more = mass["from_parts"] * n / sum(parent.values())
                parts[id] = parts.get(id, 0) + more
        assert ciede2000(palette.mix(parts).lab, mix.lab) < 0.01
    assert sorted(plan["order"]) == sorted(plan["mixing"]) == [m["number"] for m in masses]

    page = opened(path)
    names = [mass["name"] for mass in masses]
    page.click("#tab-list")
    rows = by_role(page, "passages").locator("li")
    piles = "all => all.map(e => e.textContent)"

    def check():
        assert rows.locator("input").evaluate_all("all => all.map(e => e.value)") == names
        for mass, words in zip(masses, rows.locator(".mix").evaluate_all(piles), strict=True):
            grows = mass["from"] is not None
            assert (f"of pile {mass['from']}" in words) == grows
            assert all(palette.table[id].name in words for id in mass["add"])

    page.wait_for_function(MIXED.replace("> 8", "> 4"))
    check()
    assert f"paint in this: {', '.join(map(str, plan['order']))}." in by_role(
        page, "plan-text").text_content()  # fmt: skip
    for mass in masses:
        asked(page, lambda mass=mass: touch(page, mass["x"], mass["y"]))
        line = by_role(page, "mass")
        assert line.get_attribute("data-mass") == str(mass["number"])
        assert mass["name"] in line.text_content()
    page.click("#tab-value")
    by_role(page, "values").select_option("plan")
    page.wait_for_function("() => document.querySelectorAll('[data-role=scale] li').length === 3")
    assert -1 not in page.evaluate(GREYS)
    page.click("#tab-tubes")
    page.locator(f"[data-role=tube][data-id={next(iter(masses[-1]['add']))}]").click()
    page.reload()
    page.wait_for_selector("html[data-ready]")
    page.wait_for_function(MIXED.replace("> 8", "> 4"))
    check()


# --- values -------------------------------------------------------------------------------------

GREYS = """() => { const c = document.querySelector('[data-role=picture]');
  const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; const seen = {};
  for (let i = 0; i < d.length; i += 4) {
    if (Math.abs(d[i] - d[i + 1]) > 1 || Math.abs(d[i] - d[i + 2]) > 1) return [-1];
    seen[d[i]] = (seen[d[i]] || 0) + 1; }
  return Object.entries(seen).filter(([, n]) => n > d.length / 4000).map(([v]) => +v); }"""


def test_few_values_are_even_steps_of_munsell_value(opened, blank):
    page = opened(blank)
    as_it_is(page)
    for n in (2, 5, 9):
        by_role(page, "values").select_option(str(n))
        page.wait_for_function("n => document.querySelectorAll('[data-role=scale] li').length"
                               " === n", arg=n)  # fmt: skip
        shown = by_role(page, "scale").locator("li span:nth-child(2)").all_text_contents()
        values = np.array([float(text.removeprefix("N ")) for text in shown])
        assert np.ptp(np.diff(values)) <= 0.2 + 1e-9  # each is rounded to a tenth
        greys = page.evaluate(GREYS)
        assert -1 not in greys
        grey = np.array([[g / 255] * 3 for g in sorted(greys)])
        assert len(grey) >= n
        there = lab_to_value(rgb_to_lab(decode_srgb(grey), viewing()), viewing())
        for value in values:  # each value is on the picture
            assert np.abs(there - value).min() < 0.1
    by_role(page, "squint").fill("6")
    page.wait_for_timeout(300)
    assert -1 not in page.evaluate(GREYS)
    by_role(page, "squint").fill("0")
    by_role(page, "values").select_option("")
    page.wait_for_function(f"() => ({GREYS})()[0] === -1")


def test_a_touched_grey_takes_the_cast_out(opened, blank):
    page = opened(blank)
    as_it_is(page)
    before = asked(page, lambda: touch(page, 285, 204))
    assert np.hypot(*before["lab"][1:]) > 3
    page.click("#tab-value")
    by_role(page, "grey").click()
    touch(page, 285, 204)
    page.wait_for_function("() => document.querySelector('[data-role=grey-off]').hidden === false")
    touch(page, 285, 204)
    page.wait_for_function(  # an answer for the place before may still be on its way
        "() => Math.hypot(...document.querySelector('[data-role=answer]')"
        ".dataset.lab.split(',').slice(1)) < 0.01")  # fmt: skip
    after = told(page)
    assert abs(after["lab"][0] - before["lab"][0]) < 0.01


# --- pictures and typed colours -----------------------------------------------------------------


def test_a_picture_from_the_device_is_turned_as_its_file_says(opened, box, tmp_path):
    page = opened(box)
    assert not by_role(page, "held").is_visible()
    picture = Image.new("RGB", (60, 40), (180, 40, 40))
    exif = Image.Exif()
    exif[274] = 6  # a quarter turn
    picture.save(tmp_path / "turned.png", exif=exif)
    by_role(page, "file").set_input_files(tmp_path / "turned.png")
    page.wait_for_selector("[data-role=held]:visible")
    size = by_role(page, "picture").evaluate("c => [c.width, c.height]")
    assert size == [40, 60]
    made = asked(page, lambda: touch(page, 20, 30, (40, 60)))
    assert made["lab"][1] > 40
    file = {"name": "a.heic", "mimeType": "image/heic", "buffer": b"ftypheic"}
    by_role(page, "file").set_input_files(file)
    page.wait_for_function("() => document.querySelector('[data-role=notice]').textContent"
                           ".includes('HEIC')")  # fmt: skip


def test_a_picture_in_a_wide_gamut_keeps_its_colours(opened, box, tmp_path):
    """Of Display P3, as phones write it: beyond sRGB, and the same as the command line reads."""
    Image.new("RGB", (40, 30), (250, 40, 20)).save(tmp_path / "p3.png", icc_profile=P3)
    wanted = photo_lab(place(read_photo(tmp_path / "p3.png"), 20, 15, 3).rgb)
    assert hex_to_lab(lab_to_hex(wanted, viewing()), viewing())[1] < wanted[1] - 3  # beyond sRGB
    page = opened(box)
    by_role(page, "file").set_input_files(tmp_path / "p3.png")
    page.wait_for_selector("[data-role=held]:visible")
    as_it_is(page)
    made = asked(page, lambda: touch(page, 20, 15, (40, 30)))
    assert np.abs(made["lab"] - wanted).max() < 0.5  # a level of 8 bits


def test_a_picture_of_48_megapixels_turned_as_a_phone_does(opened, box, tmp_path):
    """It lies down in the file, stands on the page, and is never held at its full size."""
    exif = Image.Exif()
    exif[274] = 6
    scene = Image.open(SCENE).resize((8000, 6000), Image.Resampling.NEAREST)
    scene.save(tmp_path / "large.jpg", quality=85, exif=exif)
    page = opened(box)
    by_role(page, "file").set_input_files(tmp_path / "large.jpg")
    page.wait_for_selector("[data-role=held]:visible")
    width, height = by_role(page, "picture").evaluate("c => [c.width, c.height]")
    assert abs(width / height - 6000 / 8000) < 0.001 and 1400 <= height <= 2048
    as_it_is(page)
    for x, y in ((3000, 4000), (1500, 7000)):  # of the file as it stands: turned back below
        made = asked(page, lambda x=x, y=y: touch(page, x, y, (6000, 8000)))
        lying = scene.crop((y - 20, 5999 - x - 20, y + 21, 5999 - x + 21))
        mean = decode_srgb(np.asarray(lying) / 255).mean(axis=(0, 1))
        assert np.abs(made["lab"] - rgb_to_lab(mean, viewing())).max() < 3  # a disc, not a square


def test_a_large_picture_is_held_small_and_named_in_its_own_pixels(opened, box, tmp_path):
    page = opened(box, accept_downloads=True)
    Image.new("RGB", (6000, 3000), (90, 120, 60)).save(tmp_path / "large.jpg")
    by_role(page, "file").set_input_files(tmp_path / "large.jpg")
    page.wait_for_selector("[data-role=held]:visible")
    assert by_role(page, "picture").evaluate("c => c.width") == 2048
    asked(page, lambda: touch(page, 5000, 2000, (6000, 3000)))
    by_role(page, "keep").click()
    page.click("#tab-list")
    with page.expect_download() as download:
        by_role(page, "save").click()
    (one,) = json.loads(Path(download.value.path()).read_text())["places"]
    assert abs(one["x"] - 5000) <= 8 and abs(one["y"] - 2000) <= 8


@pytest.mark.parametrize(
    ("text", "lab"), [("45,15,20", [45, 15, 20]), ("#777777", [50.03, 0, 0]), ("N 5", [51.0, 0, 0])]
)
def test_a_typed_colour(opened, box, text, lab):
    page = opened(box, "phone")
    by_role(page, "typed").fill(text)
    made = asked(page, lambda: page.keyboard.press("Enter"))
    assert np.abs(made["lab"] - lab).max() < 0.1


def test_what_is_no_colour_gives_one_line(opened, box):
    page = opened(box)
    for text in ("no such", "#12", "120,0,0", "3 burnt", "<b>"):
        by_role(page, "typed").fill(text)
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.querySelector('[data-role=notice]').textContent")
        assert "\n" not in by_role(page, "notice").text_content()
        by_role(page, "typed").fill("#123456")
        asked(page, lambda: page.keyboard.press("Enter"))


# --- print --------------------------------------------------------------------------------------


def test_the_sheet_is_one_page_of_a4(opened, pond, tmp_path):
    page = opened(pond, scheme="dark")  # printed on white all the same
    page.wait_for_function(MIXED)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    content = page.pdf(prefer_css_page_size=True)
    assert len(PDF_PAGE.findall(content)) == 1
    box = re.search(rb"/MediaBox\s*\[([\d. ]+)\]", content).group(1).split()
    assert [round(float(v) / 72 * 25.4) for v in box[2:]] == [210, 297]
    page.emulate_media(media="print")
    sheet = by_role(page, "sheet")
    words = sheet.inner_text()
    for name in NAMES:
        assert name in words
    assert "printers lie" in words and "safety data sheet" in words
    assert sheet.locator(".row-pair .patch").count() == 2 * len(NAMES)
    assert not page.locator("main").is_visible()


def test_a_sheet_of_many_passages_goes_on_over_the_page(opened, blank, tmp_path):
    page = opened(blank)
    places = [{"name": f"place {i}", "x": 40 * i + 20, "y": 25 * i + 300} for i in range(18)]
    file = {"name": "a.json", "mimeType": "application/json",
            "buffer": f"{SAVED}{json.dumps(places)}}}".encode()}  # fmt: skip
    page.click("#tab-list")
    by_role(page, "load").set_input_files(file)
    page.wait_for_function(MIXED.replace("> 8", "> 35"))
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert by_role(page, "sheet").locator("li").count() == 18
    small = "all => Math.min(...all.map(e => parseFloat(getComputedStyle(e).fontSize)))"
    assert by_role(page, "sheet").locator("p").evaluate_all(small) >= 8 * 96 / 72 - 0.01  # 8 pt
    assert len(PDF_PAGE.findall(page.pdf(prefer_css_page_size=True))) == 2


# --- guarded ------------------------------------------------------------------------------------


def test_names_from_files_stay_text(opened, written, tmp_path):
    own = bundled("paints.csv").read_text().splitlines()
    row = next(line for line in own if line.startswith("burnt-sienna,"))
    cells = next(csv.reader([row]))
    cells[1] = HOSTILE
    table = io.StringIO()
    csv.writer(table).writerows([own[0].split(","), cells])
    (tmp_path / "own.csv").write_text(table.getvalue())
    palette = json.dumps(HOSTILE)
    (tmp_path / "own.toml").write_text(
        f'name = {palette}\nabout = ""\npaints = ["burnt-sienna", "titanium-white"]\n'
    )
    with open(tmp_path / "places.csv", "w", newline="") as stream:
        csv.writer(stream).writerows([["name", "colour"], [HOSTILE, "#8a5a3c"]])
    path = written("hostile.html", "--table", tmp_path / "own.csv", "--palette",
                   tmp_path / "own.toml", "--places", tmp_path / "places.csv")  # fmt: skip
    page = opened(path)
    by_role(page, "typed").fill("#8a5a3c")
    asked(page, lambda: page.keyboard.press("Enter"))
    for tab in TABS:
        page.click(f"#tab-{tab}")
    assert HOSTILE in by_role(page, "recipe").text_content()
    assert page.locator("#panel-list input").first.input_value() == HOSTILE
    assert page.title() != "caught" and page.locator("img, b b").count() == 0
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("img").count() == 0
    policy = page.locator("meta[http-equiv]").get_attribute("content")
    assert "default-src 'none'" in policy and "unsafe" not in policy


def test_the_policy_lets_nothing_else_run(chromium, box):
    context = chromium.new_context()
    page = context.new_page()
    page.goto(box.as_uri())
    refused = page.evaluate("""async () => {
        const script = document.createElement('script'); script.textContent = 'window.ran = 1';
        document.body.append(script);
        const sent = await fetch('https://example.org/').then(() => 'sent', () => 'refused');
        return [window.ran ?? 0, sent]; }""")
    context.close()
    assert refused == [0, "refused"]


# --- every size ---------------------------------------------------------------------------------


SMALL_TARGETS = """names => [...document.querySelectorAll(names)].filter(e => e.checkVisibility())
  .map(e => [e.innerText || e.ariaLabel || e.dataset.role, e.getBoundingClientRect()])
  .filter(([, spot]) => spot.width > 0 && Math.min(spot.width, spot.height) < 44)
  .map(([name]) => name)"""


@pytest.mark.parametrize(
    ("size", "scheme"), [("desk", "light"), ("phone", "dark"), ("small", "light")]
)
def test_accessible_at_every_size(opened, pond, size, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page, axe = opened(pond, size, scheme), Axe()
    asked(page, lambda: touch(page, 462, 357))
    for tab in TABS:
        page.click(f"#tab-{tab}")
        if tab == "pile":
            by_role(page, "pile-recipe").click()
        if tab == "value":
            by_role(page, "values").select_option("3")
        page.wait_for_timeout(100)
        if size != "small":  # what axe looks at is the same there as on a phone
            found = axe.run(page, None if tab == "mix" else f"#panel-{tab}")
            assert found.violations_count == 0, (tab, found.generate_report())
        wide, there = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= there
        assert page.evaluate(SMALL_TARGETS, ALL_SEEN) == [], tab


def test_the_page_is_small_and_whole(pond, box):
    assert box.stat().st_size <= 350_000
    assert pond.stat().st_size <= 900_000
    text = box.read_text(encoding="utf-8")
    assert not re.search(r"(src|href)=", text.split("<script")[0])


def test_what_cannot_be_a_page_is_said(run, tmp_path):
    Image.new("RGB", (4, 4)).save(tmp_path / "a.tif")
    for words, said in (
        (("--out", tmp_path / "a.pdf"), ".html"),
        ((tmp_path / "a.tif", "--out", tmp_path / "a.html"), "JPEG"),
        ((tmp_path / "none.jpg", "--out", tmp_path / "a.html"), "none.jpg"),
        (("--places", PLACES, "--out", tmp_path / "a.html"), "picture"),
        (("--parts", "99", "--out", tmp_path / "a.html"), "--parts"),
        (("--plan", "--out", tmp_path / "a.html"), "no picture to plan"),
        ((SCENE, "--plan", "--masses", "1", "--out", tmp_path / "a.html"), "masses"),
    ):
        ran = run("page", *words)
        assert ran.status == 2 and said in ran.err and ran.err.count("\n") == 1
    assert not (tmp_path / "a.html").exists()
