"""What the page reads from strangers, in a real browser: files of passages, and what it had kept.

A file gives the passages that Python reads from it, or an error of one short line where Python
refuses it, within 5 s; whatever was kept, the page takes up what makes sense. The fixed set is in
tests/show/page/test_passages.py. By hand: ``python -m tests.fuzz.browser SECONDS [SEED]``; it stops
at the first fault and shows it.
"""

import base64
import json
import math
import random
import shutil
import sys
import time

import numpy as np

from mixlab import limits
from mixlab.colour.spaces import viewing
from mixlab.errors import TargetError
from mixlab.files import read_text
from mixlab.paint.tables import read_palette
from mixlab.show import page
from mixlab.show.page.render import SHARED
from mixlab.targets.places import saved_places, seen
from mixlab.text import visible
from tests.fuzz.readers import file_of
from tests.fuzz.seeds import FAULTS, SEEDS, changed, restructured

VIEW = viewing("A", "10")
"""How the page sees; most files are of another light."""

GOOD = {
    "mixlab": "passages", "light": "D65", "observer": "2",
    "picture": {"name": "kiln.jpg", "width": 1200, "height": 800},
    "places": [
        {"name": "brick", "lab": [45, 15, 20]},
        {"name": "birch bark", "x": 120, "y": 330.5, "radius": 4, "lab": [80.25, -1, 6]},
        {"name": "pond \u00e4 \u6c34", "x": 0, "y": 799},
    ],
}  # fmt: skip
KEPT = {
    "light": "D65", "observer": "2", "finish": "matt", "tolerance": 1.5, "most": 3, "parts": 8,
    "key": "fit", "pile": {"titanium-white": 2, "bone-black": 0.25},
    "tubes": ["titanium-white", "bone-black", "burnt-sienna"], "must": ["burnt-sienna"],
    "passages": [
        {**one, "of": GOOD["picture"], "plan": i or None} for i, one in enumerate(GOOD["places"])
    ],
}  # fmt: skip
"""What a page of the studio palette keeps."""

_READ = """async ([files, data]) => {
  const told = [];
  for (const [name, content] of files) {
    const bytes = Uint8Array.from(atob(content), (c) => c.charCodeAt(0)), begun = performance.now();
    let one;
    try {
      one = { places: await readPassages(new File([bytes], name), data) };
    } catch (error) {
      one = { error: error.message, kind: error.constructor.name };
    }
    told.push(JSON.stringify({ ...one, time: performance.now() - begun }));
  }
  return told;
}"""
_RECALL = """(stores) => stores.map((text) => {
  const before = { ...state };
  Object.assign(state, { pile: {}, must: new Set() });
  localStore.set(STORE, text);
  recall();
  const { passages, finish, tolerance, most, parts, key, pile } = state;
  passages.forEach((passage) => [isHere(passage), passage.lab?.map((v) => v.toFixed(1))]);
  const told = {
    passages, finish, tolerance, most, parts, key, pile,
    tubes: [...state.tubes], must: [...state.must],
  };
  remember();
  const again = localStore.get(STORE);
  Object.assign(state, before);
  return JSON.stringify({ ...told, again });
})"""
_AROUND = """(data) => {
  const script = (id) => `<script type="text/plain" id="${id}"></script>`;
  document.body.innerHTML = script("data") + script("engine");
  document.getElementById("data").textContent = data;
  globalThis.localStore = new Map();
  Object.defineProperty(globalThis, "localStorage", { value: {
    getItem: (key) => localStore.get(key) ?? null,
    setItem: (key, text) => localStore.set(key, text),
  } });
}"""


def tab_of(browser):
    """Return a blank tab with the page's own reader and memory in it, and what they are given."""
    data = page.pack(read_palette("studio"), VIEW)
    tab = browser.new_page()
    tab.evaluate(_AROUND, json.dumps(data))
    names = (*SHARED, "text.js", "passages.js", "state.js")
    tab.add_script_tag(content=page.joined(names))
    return tab, data


# --- files of passages ----------------------------------------------------------------------------


def files(count, seed=1):
    """Yield names and bytes of files, most of them changed ones; always the same."""
    rng = random.Random(f"passages {seed}")
    json_seeds = [json.dumps(GOOD).encode(), *(one for one in SEEDS["places"] if one[:1] == b"{")]
    for data in (*json_seeds, *FAULTS["places"]):
        yield "passages.json", data
    for _ in range(count):
        if rng.random() < 0.5:
            data = changed(rng.choice(json_seeds), rng)
        else:
            content = restructured(GOOD, rng)
            text = json.dumps(content, ensure_ascii=rng.random() < 0.5)
            data = text.encode(errors="surrogatepass")
        yield rng.choice(("passages.json", "a\n\x1b[31m\u202eb.json", "x" * 300)), data


def read_there(tab, data, cases):
    """Return what the browser makes of each file: its passages, or the error."""
    given = [(name, base64.b64encode(content).decode()) for name, content in cases]
    need = {key: data[key] for key in ("view", "white", "whites")}
    return [json.loads(told) for told in tab.evaluate(_READ, [given, need])]


def read_here(content):
    """Return the passages as Python reads them, as the page tells of them; None if it refuses."""
    path = file_of(content)
    try:
        text = read_text(path, TargetError, limits.TOML_BYTES)
        if not text.lstrip().startswith("{"):
            return None  # CSV, which the page does not read
        under, saved = saved_places(path, text)
    except TargetError:
        return None
    return [{
        "name": visible(one.name)[:120],
        **({} if one.lab is None else {"lab": seen(one.lab, under, VIEW).tolist()}),
        **({} if one.at is None else {"x": one.at[0], "y": one.at[1], "radius": one.radius or 0}),
    } for one in saved]  # fmt: skip


def fault_of_file(content, told):
    """Return what is wrong with what the browser made of a file; "" if nothing is."""
    if told["time"] > 5_000:
        return "it took longer than 5 s"
    if "error" in told:
        message = told["error"]
        if told["kind"] != "Error" or visible(message) != message or not 0 < len(message) <= 300:
            return "no short line"
        return "" if read_here(content) is None else "Python takes it"
    own = read_here(content)
    if own is None or len(own) != len(told["places"]):
        return "Python does not take it, or not all"
    for mine, theirs in zip(own, told["places"], strict=True):
        theirs.pop("of", None)
        if not np.allclose(mine.pop("lab", 0), theirs.pop("lab", 0), rtol=0, atol=1e-6):
            return "another colour"
        if mine != theirs:
            return f"another passage: {mine}"
    return ""


# --- what was kept --------------------------------------------------------------------------------


KEPT_FAULTS = (
    "", "null", "5", '"x"', "[]", "{}", "{", '{"passages": [null, "x", 5, [], {}]}',
    '{"finish": "toString", "key": ["fit"], "most": [2], "tolerance": "1"}',
    '{"passages": [{"lab": [50, 0, 0], "answer": "x"}]}',
)  # fmt: skip
"""What once kept the page from starting, or was taken up as it stood."""


def stores(count, seed=1):
    """Yield texts that may stand in the browser's memory; always the same."""
    rng = random.Random(f"kept {seed}")
    yield from KEPT_FAULTS
    yield json.dumps(KEPT)
    for _ in range(count):
        yield json.dumps(restructured(KEPT, rng))


def recalled(tab, texts):
    """Return the state that the page takes up from each text, and what it then keeps."""
    return [json.loads(told) for told in tab.evaluate(_RECALL, list(texts))]


def fault_of_state(state, data):
    """Return what makes no sense in a state that was taken up; "" if all does."""
    ids = {paint["id"] for paint in data["paints"] if paint["offered"]}
    whole = all(isinstance(state[key], int) and 1 <= state[key] <= most
                for key, most in (("most", 6), ("parts", 24)))  # fmt: skip
    if not (whole and state["finish"] in data["finishes"] and _number(state["tolerance"], 0, 20)
            and state["key"] in ("fit", "none", *"3456789")):  # fmt: skip
        return "settings"
    tubes = set(state["tubes"])
    if not (tubes and tubes <= ids and set(state["must"]) <= tubes and set(state["pile"]) <= tubes
            and len(state["must"]) <= state["most"]
            and all(_number(n, 0, 99) and n for n in state["pile"].values())):  # fmt: skip
        return "tubes"
    if len(state["passages"]) > limits.PLACES or not all(map(_is_sane, state["passages"])):
        return "passages"
    again = json.loads(state["again"])
    if [one["name"] for one in again["passages"]] != [one["name"] for one in state["passages"]]:
        return "what is kept of it"
    return ""


def _number(value, low, high):
    return type(value) in (int, float) and low <= value <= high


def _is_sane(passage):
    name, lab, of = passage["name"], passage.get("lab"), passage.get("of")
    place = [passage[key] for key in ("x", "y", "radius") if key in passage]
    if set(passage) - {"name", "lab", "x", "y", "radius", "of", "plan"} or visible(name) != name:
        return False
    if lab is not None and not (_number(lab[0], 0, 100) and _number(math.hypot(*lab), 0, 500)):
        return False
    if place and not (len(place) == 3 and all(_number(n, 0, 1e9) for n in place)):
        return False
    is_known = of is None or isinstance(of["name"], str)
    return is_known and (lab or place) and _number(passage.get("plan", 1), -math.inf, math.inf)


# --- by hand --------------------------------------------------------------------------------------


def main():
    """Feed both for some seconds, from the seed on."""
    from playwright.sync_api import sync_playwright

    ends, seed = time.monotonic() + float(sys.argv[1]), int((*sys.argv, "1000")[2])
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        tab, data = tab_of(browser)
        while time.monotonic() < ends:
            seed += 1
            cases = list(files(1_000, seed))
            found = [(fault_of_file(content, told), content, told) for (_, content), told
                     in zip(cases, read_there(tab, data, cases), strict=True)]  # fmt: skip
            texts = list(stores(1_000, seed))
            found += [(fault_of_state(told, data), text, told) for text, told
                      in zip(texts, recalled(tab, texts), strict=True)]  # fmt: skip
            if faults := sorted((one for one in found if one[0]), key=lambda one: len(one[1])):
                raise SystemExit(f"seed {seed}: {len(faults)} faults, as {faults[0]}")
            taken = sum("places" in one[2] for one in found)
            print(f"seed {seed}: {len(found)} and no fault; {taken} files taken", flush=True)
        browser.close()


if __name__ == "__main__":
    main()
