"""The lesson page's engine is the twin of the Python: colours, peaks, curves, and the words."""

import numpy as np
import pytest

from mixlab.colour import spaces
from mixlab.mixing.complements import cancelled, complements
from mixlab.mixing.ladders import Path, grey_of
from mixlab.mixing.stages import evenly_scattered, points, stage
from mixlab.mixing.value_chroma import report
from mixlab.paint.tables import read_palette
from mixlab.show import page
from mixlab.show.page.lesson import ENGINE, VIEW, pack_lesson
from mixlab.show.why import alone, step, why

SHARES = (0.004, 0.03, 0.08, 0.2, 0.5, 0.8, 0.95, 0.995, 1.0)
PAINTS = (
    "ultramarine-blue", "cadmium-yellow-light", "phthalo-blue-green-shade", "dioxazine-violet",
    "burnt-sienna", "bone-black", "quinacridone-magenta", "chromium-oxide-green",
)  # fmt: skip
START = """data => {
  const view = {weights: data.weights, white: data.white, specular: data.specular};
  globalThis.setting = {surface: data.surface, view, table: renotationOf(data.munsell)};
  globalThis.paints = Object.fromEntries(unpacked(data.paints).map((one) => [one.id, one]));
  globalThis.asked = (id, parts) => {
    const pile = pileOf(Object.entries(parts).map(([one, n]) => [paints[one], n]));
    return pathOf(paints[id], pile, paints["titanium-white"], setting); };
}"""
FOUND = """([id, parts, addition, shares]) => {
  const path = asked(id, parts), report = reportOf(path), first = stageAt(path, 0);
  const toward = stageAt(path, 1), inside = report.peak.share > 0 && report.peak.share < 1;
  const peak = inside ? stageAt(path, report.peak.share) : first;
  const words = shares.map((share) => stepWords(first, stageAt(path, share), toward, peak, addition,
    id, addition === "grey" ? "the grey" : Object.keys(parts)[0],
    addition === "black" ? evenlyScattered(path, share) : null));
  const cancel = addition === "mix" ? cancelled(path) : null;
  return {report, first, words, alone: aloneWords(first, id), cancel,
    cancelled: cancel && cancelWords(cancel, first, toward, Object.keys(parts)[0]),
    strength: strengthWords(report), stages: shares.map((share) => stageAt(path, share))}; }"""


@pytest.fixture(scope="module")
def tubes():
    return read_palette("studio")


@pytest.fixture(scope="module")
def engine(chromium, tubes):
    tab = chromium.new_page()
    tab.add_script_tag(content=page.joined(ENGINE))
    tab.evaluate(START, pack_lesson(tubes, spaces.viewing(), "white"))
    yield tab
    tab.close()


def cases(table, paint):
    start = table.mix({paint: 1})
    yield "white", {"titanium-white": 1}
    if paint != "bone-black":
        yield "grey", dict(grey_of(table["titanium-white"], table["bone-black"], start).parts)
        yield "black", {"bone-black": 1}
    yield "mix", {"burnt-umber": 1}
    yield "mix", {"phthalo-green-blue-shade": 1}


@pytest.mark.parametrize("paint", PAINTS)
def test_figures_and_words_are_those_of_python(engine, tubes, paint):
    """To 1e-6 in CIELAB and C*, to a millionth in shares of peaks; sentences letter for letter."""
    table = tubes.table
    for addition, parts in cases(table, paint):
        start, toward = table.mix({paint: 1}), table.mix(parts)
        path, own = Path(start, toward), report(start, toward)
        made = engine.evaluate(FOUND, [paint, parts, addition, SHARES])
        for key in ("start", "peak", "half", "neutral"):
            twin, here = made["report"][key], getattr(own, key)
            assert (twin is None) == (here is None), key
            if here is None:
                continue
            # where the top is flat its place is not sharp, and its height is
            assert abs(twin["chroma"] - here.chroma) < 1e-6
            assert abs(twin["share"] - here.share) < 1e-6
        first = own.stages[0]
        peak = own.stages[1] if 0 < own.peak.share < 1 else first
        added = "the grey" if addition == "grey" else next(iter(parts))
        assert made["alone"] == alone(first, paint)
        for i, point in enumerate(points(path, SHARES)):
            here, twin = stage(path, point), made["stages"][i]
            assert np.abs(np.subtract(twin["point"]["lab"], point.lab)).max() < 1e-6
            assert twin["point"]["munsell"] == point.munsell
            assert np.abs(np.subtract(twin["reflectance"], here.reflectance)).max() < 1e-9
            evenly = evenly_scattered(path, point.share) if addition == "black" else None
            assert made["words"][i] == step(
                first, here, own.added, peak, addition, paint, added, evenly
            ), point.share
        if addition == "mix":
            found = cancelled(path, table["titanium-white"])
            assert abs(made["cancel"]["left"] - found.left) < 1e-6
            if first.point.chroma >= 5:
                assert made["cancelled"] == why(own, "mix", found)[-2:]
        if addition == "white" and own.rises and own.peak.chroma >= 5:
            assert made["strength"] == why(own, "white")[-1]


def test_another_light_observer_and_finish(chromium, tubes):
    view = spaces.viewing("A", "10", "satin")
    tab = chromium.new_page()
    tab.add_script_tag(content=page.joined(ENGINE))
    tab.evaluate(START, pack_lesson(tubes, view, "white"))
    start, white = (tubes.table.mix({id: 1}, view) for id in ("cobalt-teal", "titanium-white"))
    own = report(start, white)
    made = tab.evaluate(FOUND, ["cobalt-teal", {"titanium-white": 1}, "white", [0.5]])
    tab.close()
    (point,) = points(own.path, [0.5])
    assert np.abs(np.subtract(made["stages"][0]["point"]["lab"], point.lab)).max() < 1e-6
    peak = own.stages[1] if 0 < own.peak.share < 1 else own.stages[0]
    assert made["words"][0] == step(own.stages[0], stage(own.path, point), own.added, peak,
                                    "white", "cobalt-teal", "titanium-white")  # fmt: skip


def test_the_complement_that_it_chooses_is_as_good_as_python_s(engine, tubes):
    """Looked for coarsely: another one only if it leaves hardly more chroma."""
    for paint in ("cadmium-red-light", "yellow-ochre"):
        found = complements(tubes.table.mix({paint: 1}), tubes)
        left = {other.id: one.left for other, one in found}
        chosen = engine.evaluate(
            "paint => complementAmong(Object.values(paints).filter((p) => p.tube && p.chromatic && "
            "p.id !== paint), paints[paint], paints['titanium-white'], setting).id", paint,
        )  # fmt: skip
        assert left[chosen] < found[0][1].left + 1.5


def test_figures_are_written_as_python_writes_them(engine):
    some = [0, 0.5, 1.5, 2.5, 0.25, 0.35, 12.5, 99.5, 123456.0, 0.000012, 0.1234, 9.95, 98.5, 1e-5]
    twin = engine.evaluate(
        "some => some.map((n) => [fixed(n, 0), fixed(n, 1), counting(n, 2), counting(n, 4)])", some
    )
    assert twin == [[f"{n:.0f}", f"{n:.1f}", f"{n:.2g}", f"{n:.4g}"] for n in some]


def test_what_is_seen_takes_nothing_from_the_recipe_tool():
    assert not {*VIEW, *ENGINE} & {"lattice.js", "search.js", "worker.js", "mixes.js", "pixels.js"}
