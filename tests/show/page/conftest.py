"""A real browser for the page's tests."""

import os
import shutil

import pytest

from mixlab.show.cli import main

REQUIRED = "CI" in os.environ or os.environ.get("MIXLAB_BROWSER") == "required"


SIZES = {
    "projector": {"viewport": {"width": 1280, "height": 720}},
    "desk": {"viewport": {"width": 1440, "height": 900}},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
              "device_scale_factor": 2},
    "small": {"viewport": {"width": 360, "height": 640}, "has_touch": True, "is_mobile": True},
}  # fmt: skip


def _without(why):
    (pytest.fail if REQUIRED else pytest.skip)(f"{why}; these tests drive a real browser")


@pytest.fixture(scope="session")
def chromium():
    """Chromium, headless; without it the tests skip, or fail where a browser is required."""
    try:
        from playwright.sync_api import Error, sync_playwright
    except ImportError:
        _without("the Python package playwright is not installed")
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        _without("Chromium is not installed (on Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        except Error as error:
            _without(f"Chromium does not start: {error.message.splitlines()[0]}")
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def firefox(tmp_path_factory):
    """Firefox, headless; without it the tests skip, or fail where a browser is required."""
    path = shutil.which("firefox-esr") or shutil.which("firefox")
    if path is None:
        _without("Firefox is not installed (on Debian: apt-get install firefox-esr)")
    from tests.show.page.firefox import Firefox

    try:
        browser = Firefox(path, tmp_path_factory.mktemp("profile"))
    except (OSError, RuntimeError, TimeoutError) as error:
        _without(f"Firefox does not start: {error}")
    yield browser
    browser.close()


def _written(folder, name, *words):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", ["mixlab", "page", *map(str, words), "--out", str(folder / name)])
        with pytest.raises(SystemExit) as end:
            main()
    assert end.value.code == 0
    return folder / name


@pytest.fixture(scope="session")
def written(tmp_path_factory):
    """Write a page: ``written("pond.html", "photo.jpg", "--palette", "mill-pond")``."""
    folder = tmp_path_factory.mktemp("pages")
    return lambda name, *words: _written(folder, name, *words)


@pytest.fixture
def opened(chromium):
    """Open a page, offline, and return it; every fault and request of it fails the test."""
    contexts, faults, asked = [], [], []

    def opened(path, size="desk", scheme="light", **more):
        context = chromium.new_context(**SIZES[size], color_scheme=scheme, offline=True, **more)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        page.on("request", lambda request: asked.append(request.url))
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready]", timeout=60_000)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not faults
    outside = [url for url in asked if not url.startswith(("file:", "blob:", "data:"))]
    assert not outside
