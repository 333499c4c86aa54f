"""A real browser for the page's tests."""

import os
import shutil

import pytest

REQUIRED = "CI" in os.environ or os.environ.get("MIXLAB_BROWSER") == "required"


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
