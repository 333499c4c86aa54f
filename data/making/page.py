"""Take the picture of the page that the README shows, `data/page.jpg`, in a browser.

Run as ``python -m data.making.page``, with Playwright and Chromium installed.
"""

import io
import shutil
from pathlib import Path

from PIL import Image

from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.paint.tables import read_palette
from mixlab.show.page import pack
from mixlab.show.page.render import picture, place, render
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, read_places
from mixlab.writing import write_whole

WIDTH, HEIGHT = 1280, 800
TOUCHED = 462, 357  # kiln brick in shadow


def main() -> None:
    """Write the page of the scene, touch it, and keep what is seen."""
    from playwright.sync_api import sync_playwright

    view, photo = viewing(), read_photo(bundled("scene.jpg"))
    places = read_places(bundled("scene.csv"), view, Picture(photo, view))
    data = pack(read_palette("mill-pond"), view, picture=picture(photo),
                places=[place(one) for one in places])  # fmt: skip
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"),
                                       args=["--no-sandbox"])  # fmt: skip
        shown = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        shown.set_content(render(data))
        shown.wait_for_selector("html[data-ready]")
        spot = shown.locator("[data-role=picture]").bounding_box()
        assert spot is not None
        x, y = TOUCHED
        scale = spot["width"] / photo.width
        shown.mouse.click(spot["x"] + (x + 0.5) * scale, spot["y"] + (y + 0.5) * scale)
        shown.wait_for_selector("[data-role=answer][data-time]")
        shown.wait_for_timeout(1000)
        seen = shown.screenshot()
        browser.close()
    made = io.BytesIO()
    Image.open(io.BytesIO(seen)).convert("RGB").save(made, "JPEG", quality=88)
    write_whole(Path(bundled("scene.jpg")).with_name("page.jpg"), made.getvalue())


if __name__ == "__main__":
    main()
