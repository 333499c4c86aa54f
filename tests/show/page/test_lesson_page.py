"""The lesson page in a real browser: the guess first, the slider, keys, two paints, every size."""

import re

import pytest

import mixlab
from mixlab.colour.spaces import lab_to_hex
from mixlab.files import bundled
from mixlab.mixing.stages import points, stage
from mixlab.mixing.value_chroma import report
from mixlab.show.why import alone, step

SET = """share => { const slider = document.querySelector('[data-role=share]');
  slider.value = Math.round(1000 * 2 / Math.PI * Math.asin(Math.sqrt(share)));
  slider.dispatchEvent(new Event('input')); }"""
TARGETS = """() => [...document.querySelectorAll('button, select, label.button, summary, #share')]
  .filter(e => e.checkVisibility()).map(e => [e.textContent || e.id, e.getBoundingClientRect()])
  .filter(([, spot]) => Math.min(spot.width, spot.height) < 44).map(([name]) => name)"""
HOSTILE = "<img src=x onerror=\"document.title='caught'\"></script><b>"


@pytest.fixture(scope="session")
def white(written):
    return written("white.html", "--lesson", "white")


def by_role(page, name):
    return page.locator(f"[data-role={name}]")


def drawn(page):
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => setTimeout(done)))")


def to(page, share):
    page.evaluate(SET, share)
    drawn(page)
    return float(by_role(page, "share").get_attribute("data-share"))


def guess(page, share=0.2):
    to(page, share)
    for button in by_role(page, "guess").all():
        if button.is_visible():
            button.click()
    drawn(page)


def plain(lines):
    """Return sentences without the ties between figures and units, and without capitals."""
    return [line.replace("\xa0", " ").lower() for line in lines]


def choose(page, lesson):
    page.locator(f"label:has([value={lesson}])").click()
    drawn(page)


def test_the_guess_comes_first(opened, white):
    page = opened(white)
    to(page, 0.08)
    assert by_role(page, "munsell").text_content() == ""
    assert "C*" not in page.locator(".study").text_content().replace("Chroma C*, value", "")
    assert "C*" not in by_role(page, "share").get_attribute("aria-valuetext")
    assert page.locator(".along .curve").count() == 0
    assert page.locator(".reflected .curve").count() == 1
    guess(page, 0.2)
    table = mixlab.read_table()
    own = report(table.mix({"ultramarine-blue": 1}), table.mix({"titanium-white": 1}))
    said = plain([by_role(page, "told").text_content()])[0]
    assert "you guessed 20 %" in said and f"c* {own.peak.chroma:.1f}" in said
    assert page.locator(".along .curve").count() == 1
    (mark,) = [text for text in page.locator(".along text").all_text_contents() if "peak" in text]
    assert float(mark.split()[1]) == pytest.approx(100 * own.peak.share, abs=0.06)
    by_role(page, "anew").click()
    drawn(page)
    assert page.locator(".along .curve").count() == 0 and by_role(page, "guess").is_visible()


@pytest.mark.parametrize("paint", ["ultramarine-blue", "cadmium-red-light"])
def test_the_words_follow_the_slider_as_python_says_them(opened, white, paint):
    page, table = opened(white), mixlab.read_table()
    by_role(page, "paint").select_option(paint)
    guess(page)
    own = report(table.mix({paint: 1}), table.mix({"titanium-white": 1}))
    first, names = own.stages[0], (table[paint].name, table["titanium-white"].name)
    peak = own.stages[1] if 0 < own.peak.share < 1 else first
    for wanted in (0, 0.02, 0.08, 0.5, 0.95, 1):
        share = to(page, wanted)
        assert abs(share - wanted) <= 0.002
        (point,) = points(own.path, [share])
        said = [alone(first, names[0])] if share == 0 else step(
            first, stage(own.path, point), own.added, peak, "white", *names)  # fmt: skip
        assert plain(by_role(page, "words").locator("p").all_text_contents()) == plain(said)
        assert by_role(page, "munsell").text_content() == point.munsell
        shown = page.locator(".swatch-large .patch").nth(1).evaluate("e => e.style.backgroundColor")
        levels = [int(v) for v in re.findall(r"\d+", shown)]
        assert levels == list(bytes.fromhex(lab_to_hex(point.lab, own.path.start.view)[1:]))


def test_everything_by_keyboard(opened, white):
    page = opened(white)
    by_role(page, "share").focus()
    for key, share in (("ArrowRight", 0.001), ("ArrowUp", 0.002), ("PageUp", 0.052),
                       ("ArrowLeft", 0.051), ("End", 1), ("ArrowDown", 0.999), ("Home", 0),
                       ("PageDown", 0)):  # fmt: skip
        page.keyboard.press(key)
        drawn(page)
        assert float(by_role(page, "share").get_attribute("data-share")) == share, key
    to(page, 0.5)
    page.keyboard.press("ArrowRight")
    drawn(page)
    assert float(by_role(page, "share").get_attribute("data-share")) == 0.51
    by_role(page, "guess").focus()
    page.keyboard.press("Enter")
    drawn(page)
    assert page.evaluate("document.activeElement.dataset.role") == "anew"
    page.locator("[value=white]").focus()
    page.keyboard.press("ArrowRight")
    drawn(page)
    assert "black" in page.title() and by_role(page, "other").input_value() == "bone-black"
    by_role(page, "two").focus()
    page.keyboard.press("Space")
    assert page.locator(".study").count() == 2


def test_touched_on_the_chart_and_by_the_buttons(opened, white):
    page = opened(white, "phone")
    guess(page)
    by_role(page, "more").tap()
    drawn(page)
    before = float(by_role(page, "share").get_attribute("data-share"))
    assert before == pytest.approx(0.21, abs=0.002)
    page.locator(".along svg").scroll_into_view_if_needed()
    spot = page.locator(".along .axis").evaluate("e => e.getBoundingClientRect().toJSON()")
    page.touchscreen.tap(spot["x"] + spot["width"] / 2, spot["y"] - 20)
    drawn(page)
    assert float(by_role(page, "share").get_attribute("data-share")) == pytest.approx(0.5, abs=0.02)


def test_the_other_lessons_and_two_paints(opened, white):
    page = opened(white)
    answers = {"black": "half gone", "grey": "half gone", "complement": "neutral"}
    for lesson, answer in answers.items():
        choose(page, lesson)
        guess(page, 0.3)
        assert page.locator(".along text.answer").text_content().startswith(answer)
        assert by_role(page, "words").locator("p").count() >= 1
        assert by_role(page, "other").is_disabled() == (lesson == "grey")
    assert page.locator(".tint").is_visible() and "let down with white" in page.locator(
        "[data-role=further]").text_content()  # fmt: skip
    by_role(page, "two").click()
    choose(page, "white")
    by_role(page, "paint").nth(1).select_option("bone-black")
    drawn(page)
    guess(page)
    assert [one.text_content()[:3] for one in by_role(page, "told").all()] == ["You", "The"]
    assert page.locator(".study").nth(1).locator(".along .curve").count() == 1
    assert by_role(page, "share-of").text_content() == "titanium white"
    by_role(page, "other").nth(1).select_option("zinc-white")
    drawn(page)
    assert by_role(page, "share-of").text_content() == "added"
    by_role(page, "two").click()
    assert page.locator(".study").count() == 1


@pytest.mark.parametrize(
    ("size", "scheme"),
    [("projector", "light"), ("desk", "dark"), ("phone", "dark"), ("small", "light")],
)
def test_accessible_at_every_size(opened, white, size, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page, axe = opened(white, size, scheme), Axe()
    looked = [axe.run(page)] if size == "desk" else []
    guess(page)
    to(page, 0.5)
    by_role(page, "notes").locator("details").evaluate_all("all => all.forEach(e => e.open = true)")
    for two in (False, True):
        if two:
            by_role(page, "two").click()
            drawn(page)
        if size == "desk" or (size == "phone" and two):
            looked.append(axe.run(page))
        wide, there = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= there
        assert page.evaluate(TARGETS) == []
    for found in looked:
        assert found.violations_count == 0, found.generate_report()


def test_all_is_in_sight_from_the_back_row(opened, white):
    """At 1280 by 720 all lies on one screen, in type of 16 px and more."""
    page = opened(white, "projector")
    guess(page)
    to(page, 0.5)
    edge = page.locator(".dock").bounding_box()["y"]
    for part in page.locator(".swatch-large, figure, .reason").all():
        spot = part.bounding_box()
        assert spot["y"] >= 0 and spot["y"] + spot["height"] <= edge + 1
    for share in (0, 0.03, 0.08, 0.5, 0.95):
        to(page, share)
        over = "e => [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth]"
        assert page.locator(".reason").evaluate(over) == [0, 0], share
    small = "all => Math.min(...all.map(e => parseFloat(getComputedStyle(e).fontSize)))"
    assert page.locator(".study text, .study p, .study figcaption").evaluate_all(small) >= 16


def test_small_whole_and_guarded(opened, white, written, tmp_path):
    assert white.stat().st_size < 300_000
    text = white.read_text(encoding="utf-8")
    assert not re.search(r"(src|href)=", text.split("<script")[0])
    page = opened(white)
    policy = page.locator("meta[http-equiv]").get_attribute("content")
    assert "default-src 'none'" in policy and "unsafe" not in policy and "blob" not in policy
    rows = bundled("paints.csv").read_text().splitlines()
    kept = [row for row in rows if row.split(",")[0] in ("id", "titanium-white", "bone-black")]
    mine = next(row for row in rows if row.startswith("burnt-sienna,")).split(",", 2)
    quoted = HOSTILE.replace('"', '""')
    table = tmp_path / "own.csv"
    table.write_text("\n".join([*kept, f'{mine[0]},"{quoted}",{mine[2]}']) + "\n")
    own = opened(written("own.html", "--lesson", "black", "--table", table, "--only"))
    guess(own)
    assert own.title() != "caught" and own.locator("img, b b").count() == 0
    assert by_role(own, "notes").text_content().count("<img") == 1


def test_what_cannot_be_a_lesson_is_said(run, tmp_path):
    out = ("--out", tmp_path / "a.html")
    for words, said in (
        (("--lesson", "purple", *out), "complement"),
        (("photo.jpg", "--lesson", "white", *out), "PHOTO"),
        (("--lesson", "white", "--tubes", "3", *out), "--tubes"),
    ):
        ran = run("page", *words)
        assert ran.status == 2 and said in ran.err and ran.err.count("\n") == 1
    assert not (tmp_path / "a.html").exists()
