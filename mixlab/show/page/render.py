"""The page as HTML: template, style and modules put together, and the policy that guards them.

References
----------
.. [1] W3C, Content Security Policy Level 3: script-src and style-src by hash, worker-src.
"""

import base64
import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from mixlab.errors import PhotoError
from mixlab.files import read_bytes
from mixlab.show.page import WORKER, joined
from mixlab.targets.photo_files import Photo
from mixlab.targets.places import Place
from mixlab.text import json_text, visible

SHARED = ("colour.js", "munsell.js", "pixels.js")
"""The modules of the engine that the main thread needs as well."""

VIEW = (
    "dom.js", "text.js", "passages.js", "state.js", "picture.js", "touch.js", "answer.js",
    "tubes.js", "tones.js", "bench.js", "plan.js", "list.js", "sheet.js", "view.js",
)  # fmt: skip
"""The modules of what is seen and touched, each after those that it takes from."""

_HERE = Path(__file__).parent
_KINDS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "GIF": "image/gif"}


def render(data: dict[str, Any]) -> str:
    """Return the page, HTML, of what was packed for it; see :func:`mixlab.show.page.pack`."""
    may = {"worker-src": "blob:", "img-src": "blob: data:", "media-src": "blob:"}
    return whole("page.html", ("base.css", "style.css"), (*SHARED, *VIEW), data, may,
                 palette=visible(data["palette"]["name"]), engine=joined(WORKER))  # fmt: skip


def whole(
    template: str, styles: Iterable[str], modules: Iterable[str], data: dict[str, Any],
    may: Mapping[str, str], **given: Any,
) -> str:  # fmt: skip
    """Return a page of one file: a template of this folder with its styles, modules and data.

    Nothing runs or is shaped but the modules and the styles, and nothing is fetched; `may` has the
    further directives of its policy. `given` goes to the template.
    """
    import jinja2

    script, style = joined(modules), "".join(map(_text, styles))
    policy = {
        "default-src": "'none'", "script-src": _hash(script), "style-src": _hash(style), **may,
        "base-uri": "'none'", "form-action": "'none'",
    }  # fmt: skip
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return environment.get_template(template).render(
        policy="; ".join(f"{key} {value}" for key, value in policy.items()),
        style=style, script=script, data=_safe(data), **given,
    )  # fmt: skip


def picture(photo: Photo) -> dict[str, str]:
    """Return a picture as the page holds it; PhotoError for a kind that browsers do not read."""
    from PIL import Image

    with Image.open(photo.path) as image:
        kind = _KINDS.get(image.format or "")
    if kind is None:
        raise PhotoError(f"{photo.path}: browsers read JPEG, PNG, WebP and GIF; save it as JPEG")
    content = base64.b64encode(read_bytes(photo.path, PhotoError)).decode()
    return {"src": f"data:{kind};base64,{content}", "name": photo.path.name}


def place(one: Place) -> dict[str, Any]:
    """Return a passage as the page holds it: where it is, or its colour."""
    if one.at is None:
        return {"name": one.name, "lab": one.target.lab.tolist()}
    x, y = one.at.tolist()
    return {"name": one.name, "x": x, "y": y, "radius": one.radius}


def _text(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")


def _hash(content: str) -> str:
    digest = hashlib.sha256(content.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _visible(value: Any) -> Any:
    """Return what the page holds, no name in it with what turns the order of writing."""
    match value:
        case str():
            return visible(value)
        case dict():
            return {key: _visible(one) for key, one in value.items()}
        case list():
            return [_visible(one) for one in value]
    return value


def _safe(data: dict[str, Any]) -> str:
    """Return JSON in which no text can end the element that holds it, nor begin another."""
    text = json_text(_visible(data), separators=(",", ":"), allow_nan=False)
    for character in "<>&":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text
