"""Files of passages, and what the browser had kept, whoever wrote them.

By hand, for longer: tests/fuzz/browser.py.
"""

import json

import numpy as np
import pytest

from mixlab.colour.spaces import viewing
from tests.fuzz import browser

GOOD = json.dumps(browser.GOOD)


@pytest.fixture(scope="module")
def tab(chromium):
    tab, data = browser.tab_of(chromium)
    yield tab, data
    tab.close()


def test_the_page_takes_what_python_takes(tab):
    cases = list(browser.files(3_000))
    told = browser.read_there(*tab, cases)
    faults = [(fault, content, one) for (_, content), one in zip(cases, told, strict=True)
              if (fault := browser.fault_of_file(content, one))]  # fmt: skip
    assert not faults
    taken = sum("places" in one for one in told)
    assert 300 < taken < 2_000  # both sides are tried


def test_passages_are_read_as_they_were_written(tab):
    (told,) = browser.read_there(*tab, [("a.json", GOOD.encode())])
    brick, birch, pond = told["places"]
    assert [one["name"] for one in (brick, birch, pond)] == ["brick", "birch bark", "pond ä 水"]
    assert all(one["of"] == browser.GOOD["picture"] for one in (brick, birch, pond))
    assert (birch["x"], birch["y"], birch["radius"]) == (120, 330.5, 4) and "x" not in brick
    assert "lab" not in pond
    assert brick["lab"] != browser.GOOD["places"][0]["lab"]  # it was saved under another light


REFUSED = {
    b"\xff\xfe": "not JSON",
    GOOD.replace("45, 15, 20", "NaN, 15, 20").encode(): "not JSON",
    GOOD.replace("brick", "br\x7fick").encode(): "not JSON",
    GOOD.replace('"D65"', '["D65"]').encode(): "light and observer",
    GOOD.replace('"D65"', '"toString"').encode(): "light and observer",
    GOOD.replace('"2"', "2").encode(): "light and observer",
    GOOD.replace("45, 15, 20", '"45", 15, 20').encode(): "passage 1: lab",
    GOOD.replace("45, 15, 20", "45, 150, 150").encode(): "passage 1: lab",
    GOOD.replace('"brick"', "5").encode(): "passage 1: its name",
    GOOD.replace("330.5", '"330"').encode(): "passage 2: x and y",
    GOOD.replace('"radius": 4', '"radius": -4').encode(): "passage 2: the radius",
    GOOD.replace('"kiln.jpg"', "null").encode(): "its picture",
    json.dumps({**browser.GOOD, "places": []}).encode(): "no passages",
}  # fmt: skip


def test_what_is_refused_is_said(tab):
    told = browser.read_there(*tab, [("a\n\u202eb" * 50, content) for content in REFUSED])
    for (content, words), one in zip(REFUSED.items(), told, strict=True):
        assert words in one["error"], (content, one)
        assert one["error"].startswith("a\\n\\u202eb") and len(one["error"]) < 200
        assert browser.read_here(content) is None


@pytest.mark.parametrize(
    "name", ["tab\tbed\r\n", "\x00\x1b[31m\x9b", "\u202e\u2066\u2028", "half \ud800 of",
             "\U0001f3a8 ä 水", "already \\x1b"],
)  # fmt: skip
def test_names_are_written_out_as_python_does(tab, name):
    assert tab[0].evaluate("name => visible(name)", name) == browser.visible(name)


def test_what_was_kept_is_taken_up_as_far_as_it_makes_sense(tab):
    texts = list(browser.stores(1_500))
    told = browser.recalled(tab[0], texts)
    faults = [(fault, text, state) for text, state in zip(texts, told, strict=True)
              if (fault := browser.fault_of_state(state, tab[1]))]  # fmt: skip
    assert not faults
    assert 300 < sum(len(state["passages"]) == 3 for state in told) < 1_400


def test_what_was_kept_well_comes_back_whole(tab):
    (state,) = browser.recalled(tab[0], [json.dumps(browser.KEPT)])
    for key in ("finish", "tolerance", "most", "parts", "key", "pile", "tubes", "must"):
        assert state[key] == browser.KEPT[key]
    brick, *others = state["passages"]
    assert [one["name"] for one in (brick, *others)] == ["brick", "birch bark", "pond ä 水"]
    now = browser.seen(np.array([45.0, 15, 20]), viewing(), browser.VIEW)  # as it is now
    np.testing.assert_allclose(brick["lab"], now, rtol=0, atol=1e-6)
    again = json.loads(state["again"])
    (twice,) = browser.recalled(tab[0], [state["again"]])
    assert json.loads(twice["again"]) == again  # nothing creeps from one visit to the next


# --- the page itself ------------------------------------------------------------------------------

HOSTILE = [
    "5", "{", '{"passages": 5, "finish": "toString", "tubes": [null, {}], "pile": "x"}',
    '{"passages": [null, "x", 7, [], {}, {"lab": "x"}, {"x": 1}, {"lab": [1e999, 0, 0]}]}',
    json.dumps({**browser.KEPT, "passages": [{**one, "answer": {"wanted": 5}, "plan": "7"}
                                             for one in browser.KEPT["passages"]]}),
    json.dumps({**browser.KEPT, "finish": ["matt"], "key": ["fit"], "most": 2.5, "parts": "8",
                "must": browser.KEPT["tubes"] * 9, "passages": browser.KEPT["passages"] * 500}),
]  # fmt: skip


def test_whatever_was_kept_the_page_starts_and_works(opened, written):
    page = opened(written("kept.html", "--palette", "studio"))
    key = page.evaluate("() => Object.keys(localStorage).find(key => key.startsWith('mixlab'))")
    for text in HOSTILE:
        page.evaluate("([key, text]) => { addEventListener('pagehide', () => "
                      "localStorage.setItem(key, text)); }", [key, text])  # fmt: skip
        page.reload()
        page.wait_for_selector("html[data-ready]", timeout=60_000)
        rows = page.locator("[data-role=passages] li")
        assert rows.count() in (0, 3, 64), text
        assert page.locator("[data-role=notice]").text_content() == "", text
        page.fill("[data-role=typed]", "45,15,20")
        page.press("[data-role=typed]", "Enter")
        page.wait_for_selector("[data-role=answer][data-recipe]", timeout=60_000)


def test_a_kept_picture_that_is_none_leaves_the_page_as_it_was(opened, written):
    page = opened(written("kept-picture.html", "--palette", "studio"))
    page.evaluate("""async () => {
      const key = Object.keys(localStorage).find((key) => key.startsWith("mixlab"));
      const opening = indexedDB.open("mixlab", 1);
      opening.onupgradeneeded = () => opening.result.createObjectStore("pictures");
      await new Promise((done) => { opening.onsuccess = done; });
      const doing = opening.result.transaction("pictures", "readwrite");
      doing.objectStore("pictures").put({ bytes: { length: 5 }, type: 7, name: null }, key);
      await new Promise((done) => { doing.oncomplete = done; });
      opening.result.close();
    }""")
    page.reload()
    page.wait_for_selector("html[data-ready]", timeout=60_000)
    said = page.locator("[data-role=notice]").text_content()
    assert said == "null: this is no picture that the browser reads; JPEG, PNG and WebP are"
