"""The reason in words: every figure is the JSON's, and every claim of a band holds on the curves.

All paints toward white, black and their own grey, and forty toward five other paints. Each sentence
must be one that is known here; its figures are read back and its claims computed anew.
"""

import re
from types import SimpleNamespace

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import WAVELENGTHS, lab_to_munsell, munsell_to_lab, reflectance_to_lab
from mixlab.mixing.complements import cancelled
from mixlab.mixing.ladders import Path, drift, grey_of
from mixlab.mixing.stages import points, stage
from mixlab.mixing.value_chroma import report
from mixlab.paint import optics
from mixlab.show.cli.ladder_output import OUTPUTS, LadderReport
from mixlab.show.report import record
from mixlab.show.why import alone, step, why

TABLE = mixlab.read_table()
VIEW = mixlab.viewing()
WHITE, BLACK = TABLE["titanium-white"], TABLE["bone-black"]
COLOURED = [paint.id for paint in TABLE if not paint.is_white]
OTHERS = ("ultramarine-blue", "burnt-umber", "phthalo-blue-green-shade", "arylide-yellow",
          "quinacridone-magenta")  # fmt: skip
SEEN = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)
WEIGHTS = (VIEW.weights / VIEW.white).sum(axis=1)
EDGES = {"blue": (420, 490), "green": (500, 570), "red": (580, 700)}
WANTED = ("start", "peak", "neutral", "cancelled", "why", "curves", "addition", "evenly_scattered")
FIELDS = [one for one in OUTPUTS["blend"].fields if one.key in WANTED]


def told(paint, addition, other):
    """Return what a command would write of a paint with an addition, and its report."""
    start = TABLE.mix({paint: 1})
    toward = grey_of(WHITE, BLACK, start) if addition == "grey" else TABLE.mix({other: 1})
    found = report(start, toward)
    tint = (None, cancelled(found.path, WHITE)) if addition == "mix" else None
    made = LadderReport(SimpleNamespace(path=found.path), found, addition, with_white=tint)
    return record(FIELDS, made), found


def cases(paint):
    yield from (("white", WHITE.id), ("black", BLACK.id), ("grey", BLACK.id))
    if paint in COLOURED[:40]:
        yield from (("mix", other) for other in OTHERS)


# --- figures in words -----------------------------------------------------------------------------


def near(text, value, percent=True):
    """Check a figure in words against the JSON's, by the last digit that is written."""
    digits = len(text.partition(".")[2])
    value = 100 * value if percent else value
    rounded = 0.006 if percent else 1e-4 * abs(value)
    if percent and value < 1 and digits:
        digits = max(digits, 2)
    assert abs(float(text) - value) <= 0.5 * 10.0**-digits + rounded, (text, value)


P = r"([\d.]+) %"
PLACE = r"(\d+) nm(, where the eye sees little)?"
PLACES = PLACE + rf"(?: \(and again {P} at {PLACE}\))?"
MOST = rf"most light, {P}, at {PLACES}, and least, {P}, at {PLACES}"
MOVES = r"(?:rises from|falls from|stays at) [\d.]+ %(?: to [\d.]+ %)?"
MOVED = rf"the maximum ({MOVES}), at {PLACES}, and the minimum ({MOVES}), at {PLACES}"
HUE = r"([\d.]+[A-Z]+)"


def extremes(given, curve, sign, rows):
    """Check a maximum (sign 1) or minimum (-1) in words: figure, place, the eye, and that it is."""
    nm, little, again, other, other_little = given
    reflectances = sign * np.array(curve["reflectances"])
    seen, height = reflectances[SEEN], reflectances[float(nm) == WAVELENGTHS][0]
    assert height >= seen.max() - 0.02 * abs(seen.max()) - 2e-5
    assert bool(little) == (WEIGHTS[float(nm) == WAVELENGTHS][0] < 0.05 * WEIGHTS.max())
    assert rows[0]["nm"] == float(nm) and rows[0]["height"] == pytest.approx(
        sign * height, abs=6e-5)  # fmt: skip
    assert (rows[1] is None) == (again is None)
    if again is not None:
        near(again, rows[1]["height"])
        assert rows[1]["nm"] == float(other)
        low = WAVELENGTHS[SEEN][seen.argmin()]
        top = WAVELENGTHS[SEEN][seen.argmax()]
        assert min(top, float(other)) <= low <= max(top, float(other))
        assert sign * rows[1]["height"] >= seen.min() + 0.45 * np.ptp(seen)
        assert bool(other_little) == (
            WEIGHTS[float(other) == WAVELENGTHS][0] < 0.05 * WEIGHTS.max())  # fmt: skip


def both(curve, which):
    return curve[f"reflectance_{which}"], curve[f"second_{which}"]


def most_and_least(given, curve):
    high, *maximum = given[:6]
    low, *minimum = given[6:12]
    near(high, curve["reflectance_maximum"]["height"])
    near(low, curve["reflectance_minimum"]["height"])
    extremes(maximum, curve, 1, both(curve, "maximum"))
    extremes(minimum, curve, -1, both(curve, "minimum"))


def moved(given, first, here):
    for way, places, sign, which in ((given[0], given[1:6], 1, "maximum"),
                                     (given[6], given[7:12], -1, "minimum")):  # fmt: skip
        was, now = (at[f"reflectance_{which}"]["height"] for at in (first, here))
        figures = re.findall(P, way)
        near(figures[-1], now)
        near(figures[0], was)
        assert way.startswith("stays") or way.startswith("rises") == (now > was)
        extremes(places, here, sign, both(here, which))


def bands(curve):
    values = np.array(curve["reflectances"])
    within = [(a <= WAVELENGTHS) & (b >= WAVELENGTHS) for a, b in EDGES.values()]
    return np.array([WEIGHTS[w] @ values[w] / WEIGHTS[w].sum() for w in within])


def ratio(curve):
    return curve["reflectance_minimum"]["height"] / curve["reflectance_maximum"]["height"]


# --- the sentences that there are -----------------------------------------------------------------


def by_itself(given, case):
    *places, chroma = given
    most_and_least(places, case.first)
    near(chroma, case.first["lch"][1], percent=False)


def its_own(given, case):
    munsell, chroma, *places = given
    assert case.data["addition"]["munsell"] == munsell
    near(chroma, case.data["addition"]["lch"][1], percent=False)
    most_and_least(places, case.data["addition"])


def with_some(given, case):
    share, *places, chroma, value, _, named = given
    here = case.at(share)
    most_and_least(places, here)
    near(chroma, here["lch"][1], percent=False)
    near(value, here["munsell_value"], percent=False)
    assert named in (None, here["munsell"])


def rising(given, case):
    share, *places, lighter, chroma, value, reason = given
    here = case.at(share)
    moved(places, case.first, here)
    near(chroma, here["lch"][1], percent=False)
    near(value, here["munsell_value"], percent=False)
    assert here["lch"][1] > case.first["lch"][1] and "chroma" in lighter
    gaps = [at["reflectance_maximum"]["height"] - at["reflectance_minimum"]["height"]
            for at in (case.first, here)]  # fmt: skip
    assert bool(reason) == (gaps[1] > gaps[0])


def falling(given, case):
    begun, share, *places, chroma, value, at_peak, before, after = given
    here, gained = case.at(share), case.data["peak"]["lch"][1] - case.first["lch"][1]
    moved(places, case.first, here)
    near(chroma, here["lch"][1], percent=False)
    near(value, here["munsell_value"], percent=False)
    assert here["lch"][1] < case.data["peak"]["lch"][1]
    assert {"More white takes chroma": gained > 0.99,
            "White only takes chroma": case.data["peak"]["share"] == 0,
            "White adds next to no chroma, and then takes it": gained < 1.01}[begun]  # fmt: skip
    if before is not None:
        was = case.curves[1] if case.data["peak"]["share"] > 0 else case.first
        assert not at_peak or gained > 0.99
        assert ratio(here) > ratio(was)
        near(before, ratio(was) if not at_peak else ratio(case.curves[1]))
        near(after, ratio(here))


def k_over_s(given, case):
    nm, before, again, after = given
    assert before == again
    place = int(np.flatnonzero(float(nm) == WAVELENGTHS)[0])
    for text, at in ((before, case.first), (after, case.last)):
        assert float(text) == pytest.approx(at["k_over_s"][place], rel=0.055)
    assert float(nm) == case.last["reflectance_minimum"]["nm"]


def dominates(given, case):
    said = set()
    for span in given[0].split(" and "):
        low, _, high = span.partition("-")
        said |= set(range(int(low), int(high or low) + 1, 10))
    now, before = (np.array(at["scattering_dominates"]) for at in (case.last, case.first))
    assert said == set(WAVELENGTHS[now & ~before & SEEN].astype(int))


def other_addition(given, case):
    share, *places, chroma, value, chroma_was, value_was = given
    here = case.at(share)
    moved(places, case.first, here)
    for text, at, key in ((chroma, here, "C"), (chroma_was, case.first, "C"),
                          (value, here, "V"), (value_was, case.first, "V")):  # fmt: skip
        near(text, at["lch"][1] if key == "C" else at["munsell_value"], percent=False)


def hue(at):
    return float(lab_to_munsell(at["lab"], VIEW)[0])


def turned_by(first, here):
    return (hue(here) - hue(first) + 50) % 100 - 50


def holds(given, case):
    assert [at["munsell"].split()[0] for at in (case.first, case.last)] == list(given)
    assert abs(turned_by(case.first, case.last)) < 1.01


def turns(given, case):
    was, now, steps, toward, degrees, *more = given
    light, (gains, on, most, most_was) = more[:6], more[6:]
    first, here = case.first, case.last
    assert [at["munsell"].split()[0] for at in (first, here)] == [was, now]
    turned = turned_by(first, here)
    near(steps, abs(here["hue_turn"]["hue_steps"]), percent=False)
    # the JSON's four digits of a near neutral leave its hue open
    assert turned == pytest.approx(here["hue_turn"]["hue_steps"], abs=0.02)
    assert toward == here["hue_turn"]["toward"]
    if degrees is not None:
        near(degrees, abs(here["hue_turn"]["drift"]), percent=False)
        near(degrees, abs(float(drift(first["lab"], here["lab"]))), percent=False)
    for at, figures in ((first, light[:3]), (here, light[3:])):
        for text, name, value in zip(figures, EDGES, bands(at), strict=True):
            near(text, at["bands"][name])
            near(text, value)
    names, (before, after) = list(EDGES), (np.cbrt(bands(at)) for at in (first, here))
    if gains is not None:
        one, other = names.index(gains), names.index(on)
        assert (after[one] - after[other]) / np.ptp(after) > (
            before[one] - before[other]) / np.ptp(before)  # fmt: skip
        # a hue goes round from red by green to blue, or back, toward the band that gains
        top = after.argmax()
        assert one == (top - np.sign(turned)) % 3 and top not in (one, other)
    if most is not None:
        assert most == names[after.argmax()] and most_was == names[before.argmax()] != most


def scattering(given, case):
    part, red, green, steps = given
    path, share = case.found.path, case.last["share"]
    k, s = np.zeros(36), np.zeros(36)
    for amount, end in ((1 - share, path.start), (share, path.toward)):
        flat = np.average(end.S, weights=VIEW.weights[:, 1])
        k, s = k + amount * flat * end.K / end.S, s + amount * flat
    flat = reflectance_to_lab(path.start.surface.measured(optics.opaque(k, s)), VIEW)
    without, whole = (turned_by(case.first, at) for at in ({"lab": flat}, case.last))
    assert float(steps) == pytest.approx(abs(without), abs=0.06)
    assert float(part) == pytest.approx(100 * (1 - without / whole), abs=1.5)
    for text, (low, high) in ((red, EDGES["red"]), (green, EDGES["green"])):
        mean = path.start.S[(low <= WAVELENGTHS) & (high >= WAVELENGTHS)].mean()
        assert float(text) == pytest.approx(mean, rel=0.05)
    assert float(red) < float(green)
    np.testing.assert_allclose(flat, case.data["evenly_scattered"]["lab"], atol=1e-3)


def tubes(given, case):
    for text, strength in zip(given, (0.5, 2.0), strict=True):
        parts = strength * case.data["peak"]["share"] / (1 - case.data["peak"]["share"])
        near(text, parts / (1 + parts))


def cancels(given, case):
    how, left, share, one, other = given
    at = case.data["cancelled"]
    near(left, at["let_down_C"], percent=False)
    near(share, at["share"])
    near(one, at["ends_C"][0], percent=False)
    near(other, at["ends_C"][1], percent=False)
    assert at["let_down_C"] < min(at["ends_C"])
    assert {"cancel": at["let_down_C"] < 5.001,
            "come near to cancelling": 4.999 < at["let_down_C"] < min(at["ends_C"]) / 2 + 0.01,
            "do not cancel": at["let_down_C"] > min(at["ends_C"]) / 2 - 0.01}[how]  # fmt: skip


def cancels_nowhere(given, case):
    at = case.data["cancelled"]
    assert at["let_down_C"] > 0.97 * min(at["ends_C"])
    near(given[0], at["ends_C"][0], percent=False)
    near(given[1], at["ends_C"][1], percent=False)


def spare(case):
    ends = case.found.path.start, case.found.path.toward
    return SEEN & np.all([end.K[SEEN].max() / 4 > end.K for end in ends], axis=0)


def spared(given, case):
    said = set()
    for span in given[0].split(" and "):
        low, _, high = span.partition("-")
        said |= set(range(int(low), int(high or low) + 1, 10))
    assert said == set(WAVELENGTHS[spare(case)].astype(int))
    named = [name for name, (low, high) in EDGES.items()
             if any(low <= nm <= high for nm in said)]  # fmt: skip
    assert re.split(r", | and ", given[1]) == named


SENTENCES = [
    (rf"By itself \S.* gives back {MOST}; what lies between the two is its chroma, C\* (\d+)\.",
     by_itself),
    (rf"\S.* by itself has hardly any chroma, C\* ([\d.]+): it gives back {MOST}\.",
     lambda given, case: by_itself((*given[1:], given[0]), case)),
    (rf"\S.* by itself is (\S+ \S+), C\* ([\d.]+): it gives back {MOST}\.", its_own),
    (rf"At {P} of \S+(?: grey)? it gives back {MOST}: C\* (\d+) at value ([\d.]+)(, (\S+ \S+))?\.",
     with_some),
    (rf"At {P} of \S+ {MOVED}: (lighter[^:]*?), C\* (\d+) at value ([\d.]+)\."
     r"( White sends light back out before the paint has taken it all, and most so where the paint "
     r"absorbs least\.)?", rising),
    (rf"(\w+ white takes chroma|White \w+ .*chroma.*)\. At {P} of \S+ {MOVED}: C\* (\d+) at value "
     rf"([\d.]+)\.(?: The minimum (at the peak )?was {P} of the maximum, and is {P} of it now\.)?",
     falling),
    (r"At (\d+) nm, that minimum, K/S was ([\d.]+): light was absorbed ([\d.]+) times as readily "
     r"as scattered\. Now it is ([\d.]+)\.", k_over_s),
    (r"Scattering dominates now, where absorption did before, at (.*) nm: there the mix tends to "
     r"white's own colour\.", dominates),
    (rf"At {P} of \S+(?: grey)? {MOVED}: C\* (\d+) at value ([\d.]+); by itself \S+ has C\* "
     r"(\d+) at value ([\d.]+)\.", other_addition),
    (rf"The hue holds within a step of Munsell's hundred: {HUE} to {HUE}\.", holds),
    (rf"The hue turns from {HUE} to {HUE}, ([\d.]+) Munsell steps toward ([A-Z]+)"
     r"(?: \(CIELAB, whose angles bend, has (\d+) degrees\))?\. Of blue, green and red light it "
     rf"gave back {P}, {P} and {P}, and now {P}, {P} and {P}(?:: as the eye counts, (\w+) has "
     r"gained on (\w+)|: the most is (\w+) now, and was (\w+))?\.", turns),
    (rf"{P} of that turn comes of scattering: \S+ scatters red light less than green, S ([\d.]+) "
     r"and ([\d.]+)\. Did each paint scatter all light alike, the hue would turn ([\d.]+) Munsell "
     r"steps only\.", scattering),
    (rf"Tubes of one name may well be half as strong, or twice: then the peak is at {P} of white, "
     rf"or at {P}\.", tubes),
    (r"The two ([a-z ]+): let down with white to value 5, C\* ([\d.]+) is left at "
     rf"{P} of \S+; by themselves they have C\* (\d+) and (\d+) so\.", cancels),
    (r"The two do not cancel: let down with white to value 5, no mix of them has less chroma than "
     r"one by itself; by themselves they have C\* (\d+) and (\d+) so\.", cancels_nowhere),
    (r"\S+ has too little chroma to cancel any: let down with white to value 5, C\* ([\d.]+)\.",
     lambda given, case: near(given[0], case.data["cancelled"]["ends_C"][1], percent=False)),
    (r"No light is spared by both: everywhere the one or the other absorbs at least a quarter of "
     r"its most\.", lambda given, case: spare(case).any() and pytest.fail("some is")),
    (r"Both spare light of (.*) nm \((.*)\): there neither absorbs a quarter of its most, and that "
     r"light is left over\.", spared),
]  # fmt: skip
SENTENCES = [(re.compile(pattern), check) for pattern, check in SENTENCES]


class Case:
    """What was told of one ladder."""

    def __init__(self, data, found):
        self.data, self.found, self.curves = data, found, data["curves"]
        self.first, self.last = self.curves[0], self.curves[-1]

    def at(self, share):
        """Return the curves at a share in words."""
        return min(self.curves[1:], key=lambda at: abs(100 * at["share"] - float(share)))


@pytest.mark.parametrize("paint", COLOURED)
def test_every_figure_is_the_jsons_and_every_claim_holds(paint):
    for addition, other in cases(paint):
        if TABLE[paint] is TABLE[other]:  # no ladder goes from a paint to itself
            continue
        case = Case(*told(paint, addition, other))
        for sentence in case.data["why"]:
            known = [(found, check) for pattern, check in SENTENCES
                     if (found := pattern.fullmatch(sentence))]  # fmt: skip
            assert known, sentence
            known[0][1](known[0][0].groups(), case)


def said(paint, addition, other):
    return " ".join(told(paint, addition, other)[0]["why"])


# --- what a teacher says --------------------------------------------------------------------------


def test_the_minimum_of_a_phthalo_blues_tint_is_not_where_the_masstones_was():
    _, found = told("phthalo-blue-green-shade", "white", WHITE.id)
    first, _, half = found.stages
    seen = half.reflectance[SEEN]
    masstones = half.reflectance[first.minimum.nm == WAVELENGTHS][0]
    assert masstones > half.minimum.height + 0.1  # 57 % there, and 40 %
    assert half.minimum.height < 0.45 and seen.min() == half.reflectance[WAVELENGTHS == 700][0]


def test_the_blue_of_a_dioxazine_violet_is_told():
    _, found = told("dioxazine-violet", "white", WHITE.id)
    first, _, half = found.stages
    assert [one.nm for one in first.maxima] == [700]
    red, blue = half.maxima
    assert red.faint and not blue.faint and 440 <= blue.nm <= 460 and blue.height > 0.75
    assert "again 79 % at 450 nm" in said("dioxazine-violet", "white", WHITE.id)


def test_ultramarine_turns_to_blue_as_green_gains_on_red_and_cielab_exaggerates_it():
    turn = told("ultramarine-blue", "white", WHITE.id)[0]["curves"][-1]["hue_turn"]
    assert (turn["gains"], turn["on"], turn["toward"]) == ("green", "red", "B")
    assert -3 < turn["hue_steps"] < -1 and turn["drift"] < -25
    # one Munsell hue, at the values and chromas of the tints, bends as much in CIELAB
    labs = munsell_to_lab([[79.2, 2.0, 12.0], [79.2, 7.0, 6.0]], VIEW)
    assert abs(float(drift(labs[0], labs[1]))) == pytest.approx(13, abs=5)


def test_cadmium_red_turns_to_a_bluish_pink_as_blue_gains_on_green():
    turn = told("cadmium-red-light", "white", WHITE.id)[0]["curves"][-1]["hue_turn"]
    assert (turn["gains"], turn["on"], turn["toward"]) == ("blue", "green", "RP")
    assert -6 < turn["hue_steps"] < -2


@pytest.mark.parametrize("yellow", ["lemon-yellow", "arylide-yellow", "cadmium-yellow-medium"])
def test_half_of_yellow_and_black_turning_green_is_scattering(yellow):
    data, found = told(yellow, "black", BLACK.id)
    last = found.stages[-1].point
    whole, without = ((at.hue - found.start.hue) for at in (last, found.evenly_scattered))
    assert 0.3 < 1 - without / whole < 0.65
    assert "comes of scattering" in " ".join(data["why"])


def test_yellow_and_phthalo_blue_do_not_cancel_and_leave_green():
    words = said("arylide-yellow", "mix", "phthalo-blue-green-shade")
    assert "The two do not cancel" in words and "510-550 nm (green)" in words
    path = Path(TABLE.mix("1 arylide-yellow"), TABLE.mix("1 phthalo-blue-green-shade"))
    hues, _, _ = lab_to_munsell(path.lab([0.1, 0.3, 0.5]), VIEW).T
    assert ((hues > 30) & (hues < 60)).all()
    assert "The two cancel" in said("ultramarine-blue", "mix", "burnt-umber")
    grey = said("cadmium-orange", "mix", BLACK.id)
    assert "bone-black has too little chroma to cancel any" in grey and "The two" not in grey


def test_a_near_black_is_not_said_to_change_value_alone():
    words = said("bone-black", "white", WHITE.id)
    assert "hardly any chroma, C* 1.3" in words and "2.7PB 5.5/1.0" in words
    assert "The grey by itself is 2.9PB" in said("cadmium-orange", "grey", BLACK.id)


def test_any_step_of_a_ladder_is_explained():
    for paint in ("ultramarine-blue", "cadmium-orange", "bone-black"):
        path = report(TABLE.mix({paint: 1}), TABLE.mix({WHITE.id: 1})).path
        found = report(path.start, path.toward)
        first, peak = found.stages[0], found.stages[1 if found.peak.share else 0]
        assert alone(first, paint) == why(found, "white")[0]
        for at in points(path, [0.001, 0.03, 0.2, 0.6, 0.99, 1.0]):
            here = stage(path, at)
            words = step(first, here, found.added, peak, "white", paint, WHITE.id)
            assert all(re.fullmatch(r"[A-Z].*\.", one) and "nan" not in one for one in words)
            assert words[0].startswith(("At ", "White ", "More "))
            rising = here.point.share <= peak.point.share and found.rises
            assert ("higher in chroma too" in words[0]) == rising or first.point.chroma < 5
