"""A browser for the page: Debian's Chromium, without a network."""

import os
import shutil

import pytest

from mixlab.show.cli import main

SIZES = {
    "desk": {"viewport": {"width": 1440, "height": 900}},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
              "device_scale_factor": 2},
    "small": {"viewport": {"width": 360, "height": 640}, "has_touch": True, "is_mobile": True},
}  # fmt: skip


@pytest.fixture(scope="session")
def browser():
    """Chromium; without one the tests skip on a user's machine, and fail where CI is set."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    why = ""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        why = "playwright is not installed: pip install '.[test]'"
    if chromium is None:
        why = why or "no chromium is installed, which the page is tried in"
    if why:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(why)
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


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
def opened(browser):
    """Open a page, offline, and return it; every fault and request of it fails the test."""
    contexts, faults, asked = [], [], []

    def opened(path, size="desk", scheme="light", **more):
        context = browser.new_context(**SIZES[size], color_scheme=scheme, offline=True, **more)
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
