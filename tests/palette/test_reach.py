"""What a palette mixes, and what is asked of it."""

import csv
import io
import json

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.boxes import merged
from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import FAMILIES, hue_family
from mixlab.colour.spaces import lab_to_lch, lab_to_munsell, lch_to_lab, viewing
from mixlab.errors import MixlabError, PhotoError, ReachError
from mixlab.files import bundled
from mixlab.nearest.exact import Search
from mixlab.nearest.many import INSIDE, Seeds
from mixlab.nearest.medium import Medium, medium_of
from mixlab.nearest.sets import all_subsets
from mixlab.palette.comparison import compare
from mixlab.palette.coverage import coverage, each_tube
from mixlab.palette.edge import volume
from mixlab.palette.reach import reach
from mixlab.palette.small_sets import Kit, misses
from mixlab.show.plots import reach as pictures
from mixlab.targets.many import from_list, from_picture
from mixlab.targets.standards import from_standard, inside_optimal, munsell_chips
from tests.palette.cases import fresh_mixes


@pytest.fixture(scope="module")
def chips():
    return munsell_chips()


# --- the gamut -----------------------------------------------------------------------------------


def test_the_nearest_mix_is_that_of_the_exact_search():
    palette = mixlab.read_palette("warm-and-cool")
    medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
    seeds = Seeds.of(medium, 4)
    rng = np.random.default_rng(5)
    inside = medium.lab(rng.dirichlet(np.full(7, 0.3), 60))
    outside = np.stack(
        [rng.uniform(30, 90, 40), rng.uniform(-60, 60, 40), rng.uniform(-60, 80, 40)], axis=1
    )
    labs = np.concatenate([inside, outside])
    shares, lab, miss = seeds.nearest(labs)
    exact = Search(medium, all_subsets(7, 4))
    best = np.array([min(f.miss.min() for f in exact.solve(target)) for target in labs])
    assert np.allclose(shares.sum(axis=1), 1)
    assert np.allclose(medium.lab(shares), lab, atol=1e-9)
    assert np.allclose(ciede2000(labs, lab), miss, atol=1e-6)
    assert (miss - best < 0.05).mean() >= 0.95
    assert (miss - best).max() < 1.0
    assert ((shares > 0).sum(axis=1) <= 4).all()


def test_a_mix_that_a_recipe_finds_is_found():
    """It lies where the nearest seeds of many sets of paints lead into another valley."""
    view = viewing(finish="matt")
    seeds = Seeds.of(medium_of(mixlab.read_palette("warm-and-cool"), view), None)
    assert seeds.nearest([[67.65, 9.89, 40.3]])[2] < 0.05


@pytest.mark.parametrize("finish", ["gloss", "matt"])
@pytest.mark.parametrize("name", mixlab.palette_names())
def test_fresh_mixes_are_found(name, finish):
    """``tests/benchmarks/bench_reach.py`` does the same for 20,000 of each."""
    medium = medium_of(mixlab.read_palette(name), viewing(finish=finish))
    miss = Seeds.of(medium, None).nearest(medium.lab(fresh_mixes(medium.pull, 1500, 8)))[2]
    assert miss.max() < 0.5
    assert (miss < 0.05).mean() >= 0.999


def test_greys_are_found(seven):
    greys = np.stack([np.linspace(32, 96, 30), np.zeros(30), np.zeros(30)], axis=1)
    assert seven.contains(greys, 0.1).all()
    assert (np.nan_to_num(seven.least[(seven.lightness > 32) & (seven.lightness < 96)]) == 0).all()


def test_each_place_of_the_edge_is_a_mix_on_its_ray(seven):
    there = ~np.isnan(seven.greatest)
    lightness, hue = np.meshgrid(seven.lightness, seven.hue, indexing="ij")
    ray = lch_to_lab(np.stack([lightness, np.nan_to_num(seven.greatest), hue], axis=-1))
    off = ciede2000(ray, seven.lab)[there]
    assert off.max() <= INSIDE + 1e-9
    assert np.percentile(off, 95) < 0.1
    assert np.allclose(seven.shares[there].sum(axis=-1), 1)
    assert (seven.least[there] <= seven.greatest[there]).all()
    assert not there[seven.lightness < seven.darkest.lab[0] - 2].any()


def test_no_mix_lies_beyond_the_edge(seven):
    rng = np.random.default_rng(11)
    medium = seven.seeds.medium
    shares = np.concatenate([rng.dirichlet(np.full(7, a), 250) for a in (0.05, 0.2, 1.0)])
    shares = np.concatenate([shares, shares / medium.pull, np.eye(7)])
    labs = medium.lab(shares)
    lightness, chroma, hue = lab_to_lch(labs).T
    edge = seven.greatest_chroma(lightness, hue)
    assert not np.isnan(edge.chroma).any()
    assert (chroma - edge.chroma).max() < 0.3
    assert seven.contains(labs).all()


def test_what_lies_between_the_edges_is_mixed_but_for_dents(seven, earths):
    assert earths.filled > 0.99
    assert 0.95 < seven.filled < 1
    assert seven.volume == pytest.approx(seven.edge_volume * seven.filled)
    assert 0 < seven.volume_error < 0.01 * seven.volume


def test_a_tube_less_is_as_if_looked_for_anew(seven):
    for id in ("ultramarine-blue",):
        rest = [other for other in seven.palette.ids if other != id]
        anew = reach(seven.palette.table.palette(rest))
        without = seven.without(id)
        assert without.palette.ids == rest
        assert without.edge_volume == pytest.approx(anew.edge_volume, rel=0.005)


def test_few_tubes_come_near_to_little(earths):
    shares = earths.by_tubes()
    assert list(shares) == [1, 2, 3, 4]
    assert 0 <= shares[1] < shares[2] < shares[3] < shares[4]
    assert shares[4] > 0.99
    assert earths.by_tubes(4.0)[2] > shares[2]


def test_three_tubes_have_no_volume():
    three = reach(mixlab.read_palette("kiln-earths"), 3)
    assert not three.solid
    assert three.volume == three.volume_error == 0
    labs = np.concatenate([three.seeds.medium.lab([[3.0, 2, 1, 0]]), [[60.0, 10.0, 25.0]]])
    shares, _, miss = three.nearest(labs)
    assert ((shares > 0).sum(axis=1) <= 3).all()
    assert miss[0] < 0.05
    assert miss[1] > 1  # between the sheets


def test_extremes_and_the_highest_chroma(earths):
    assert earths.lightest.mixture.shares == {"titanium-white": 1.0}
    labs = earths.seeds.lab
    assert earths.darkest.lab[0] <= labs[:, 0].min() + 1e-9
    highest_chroma = earths.highest_chroma
    assert highest_chroma["YR"].munsell[2] > 6
    assert "yellow-ochre" in highest_chroma["YR"].mixture.shares
    assert "GY" not in highest_chroma


def test_slices_and_pages_follow_the_edge(seven):
    hue, chroma = seven.slice(5)
    assert hue[0] == 0 and hue[-1] == 360
    assert chroma[0, 1] == pytest.approx(chroma[-1, 1], abs=0.05)
    lightness = 51.6  # of a grey of value 5
    row = int(np.abs(seven.lightness - lightness).argmin())
    assert np.nanmax(np.abs(chroma[::5, 1][:-1] - seven.greatest[row][::3])) < 3
    page = seven.greatest_munsell(15.0, [4.0, 6.0, 8.0])
    assert page.shape == (3,)
    colours = mixlab.colour.spaces.munsell_to_lab(
        np.stack([np.full(3, 15.0), [4.0, 6.0, 8.0], page - 0.1], axis=1), seven.view
    )
    assert seven.contains(colours).all()
    beyond = mixlab.colour.spaces.munsell_to_lab(
        np.stack([np.full(3, 15.0), [4.0, 6.0, 8.0], page + 1], axis=1), seven.view
    )
    assert not seven.contains(beyond, 0.3).any()


def test_two_palettes_side_by_side(earths, seven):
    both = compare(seven, earths)
    assert both.both + both.only_one == pytest.approx(seven.edge_volume)
    assert both.both + both.only_other == pytest.approx(earths.edge_volume)
    assert both.gains_one[0].beyond > 30
    assert sum(gain.volume for gain in both.gains_one) == pytest.approx(both.only_one, rel=0.05)
    same = compare(earths, earths)
    assert same.only_one == same.only_other == 0
    assert same.gains_one == same.gains_other == ()


def palette_file(tmp_path, name, ids):
    return written(tmp_path, f'name = "{name}"\npaints = {json.dumps(ids)}\n', f"{name}.toml")


def test_mixes_of_few_tubes_have_no_volume_to_compare(table, run, tmp_path):
    green = ["titanium-white", "viridian", "arylide-yellow"]
    red = ["titanium-white", "pyrrole-red", "yellow-ochre"]
    both = compare(*(reach(table.palette(ids)) for ids in (green, red)))
    assert not both.solid
    assert np.isnan([both.both, both.only_one, both.only_other]).all()
    assert both.gains_one
    assert all(np.isnan(gain.volume) for gain in both.gains_one)
    beyond = [gain.beyond for gain in both.gains_one]
    assert beyond == sorted(beyond, reverse=True)
    words = ["reach", "--palette", palette_file(tmp_path, "green", green),
             "--against", palette_file(tmp_path, "red", red)]  # fmt: skip
    ran = run(*words)
    assert "Mixes of so few tubes have no volume; beyond: how near the other comes." in ran.out
    assert "in reach of" not in ran.out
    # a palette lacks nothing that its own tubes make
    own = reach(table.palette(green[:2]), 2)
    for tubes in (2, 3):
        assert compare(own, reach(table.palette([*green, "burnt-umber"]), tubes)).gains_one == ()


@pytest.mark.parametrize("name", ["mill-pond", "kiln-earths"])
def test_the_highest_chroma_is_not_beaten_by_single_tubes_nor_random_mixes(name, table):
    palette = mixlab.read_palette(name, table)
    made = reach(palette)
    random = np.random.default_rng(4)
    shares = random.dirichlet(np.full(len(palette), 0.15), 20_000) / made.seeds.medium.pull
    shares = np.concatenate([np.eye(len(palette)), shares / shares.sum(axis=1, keepdims=True)])
    hvc = lab_to_munsell(made.seeds.medium.lab(shares), made.view)
    for i, family in enumerate(FAMILIES):
        mine = hvc[(hue_family(hvc[:, 0]) == i) & (hvc[:, 1] <= 9)]
        if family in made.highest_chroma:
            place = made.highest_chroma[family]
            assert hue_family(place.munsell[0]) == i
            assert place.munsell[2] >= mine[:, 2].max(initial=0) - 0.3
        else:
            assert mine[:, 2].max(initial=0) < 1.3
    few, many = (reach(palette, tubes).highest_chroma for tubes in (1, None))
    for family, place in few.items():
        assert many[family].munsell[2] >= place.munsell[2] - 0.02


def test_so_few_tubes_have_no_areas_to_draw(run, tmp_path):
    plot = tmp_path / "a.png"
    for words, says in (
        (("--tubes", 2), "--tubes 2: so few make no areas to draw"),
        (("--tubes", 1, "--draw", "pages"), "--tubes 1: so few"),
        (("--draw", "coverage", "--chips", "--against", "kiln-earths"), "draws one palette"),
    ):
        ran = run("reach", "--palette", "mill-pond", "--plot", plot, *words)
        assert (ran.status, ran.out) == (2, "")
        assert says in ran.err
        assert not plot.exists()
    asked = written(tmp_path, "5PB 5/6\nN 9.5/\n")
    words = ("reach", "--palette", "kiln-earths", "--tubes", 2, "--targets", asked, "--each-tube")
    ran = run(*words, "--plot", plot)
    assert ran.status == 0 and plot.exists()
    assert "volume lost" not in ran.out
    covered = json.loads(run(*words, "--json").out)
    assert {tube["volume_lost"] for tube in covered["each_tube"]} == {None}


def test_another_light_is_another_reach(earths):
    palette = earths.palette
    warm = reach(palette, view=viewing("A", "10"))
    assert warm.view is viewing("A", "10")
    assert warm.volume != pytest.approx(earths.volume, rel=0.01)
    with pytest.raises(ReachError, match="same light"):
        compare(earths, warm)
    with pytest.raises(ReachError, match="light, observer, finish"):
        coverage(warm, munsell_chips())


def test_what_cannot_be_asked(earths, table):
    with pytest.raises(ReachError, match="must be 1 or more"):
        reach(earths.palette, 0)
    with pytest.raises(ReachError, match="not on the palette"):
        earths.without("viridian")
    with pytest.raises(ReachError, match="only tube"):
        reach(table.palette(["titanium-white"])).without("titanium-white")
    with pytest.raises(ReachError, match="above zero"):
        coverage(earths, munsell_chips(), float("nan"))
    with pytest.raises(ReachError, match="one tube"):
        one = reach(table.palette(["titanium-white"]))
        each_tube(coverage(one, munsell_chips()))


def test_palettes_of_one_and_two_tubes(table):
    one = reach(table.palette(["titanium-white"]))
    assert one.volume == 0 and one.by_tubes() == {}
    two = reach(table.palette(["titanium-white", "bone-black"]))
    assert two.darkest.mixture.shares == {"bone-black": 1.0}
    assert two.contains(two.seeds.medium.lab([[3.0, 1.0]])).all()


def test_volume_of_a_cylinder():
    levels = np.arange(1.25, 100, 2.5)
    greatest = np.where((levels > 20) & (levels < 70), 30.0, np.nan)[:, None] * np.ones(72)
    full = volume(levels, greatest, np.zeros_like(greatest))
    assert full == pytest.approx(np.pi * 30**2 * 50)
    assert volume(levels, greatest, greatest / 3) == pytest.approx(full * 8 / 9)


# --- what is asked ------------------------------------------------------------------------------


def written(tmp_path, text, name="colours.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_lists_of_every_kind_say_the_same(tmp_path):
    hexes = from_list(written(tmp_path, "#8a5a3c\n"))
    named = from_list(written(tmp_path, "name,hex,weight\nbrick,8a5a3c,3\npond,#20303a,1\n"))
    lab = from_list(written(tmp_path, ",".join(f"{v:.6f}" for v in hexes.lab[0]) + "\n"))
    headed = from_list(
        written(tmp_path, "L,a,b\n" + ",".join(f"{v:.6f}" for v in hexes.lab[0]) + "\n")
    )
    munsell = from_list(written(tmp_path, "7.5YR 4/6\nN 5\n"))
    assert named.names == ("brick", "pond")
    assert named.weight.tolist() == [0.75, 0.25]
    for other in (named, lab, headed):
        assert np.allclose(other.lab[0], hexes.lab[0], atol=1e-4)
    assert np.hypot(*munsell.lab[1, 1:]) < 0.5
    assert munsell.weight.tolist() == [0.5, 0.5]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "holds no colours"),
        ("name,hex\n", "holds no colours"),
        ("hex,munsell\n#8a5a3c,5R 4/4\n", "one colour"),
        ("L,a\n1,2\n", "b\\* .* is not a number"),
        ("hex,shade\n#8a5a3c,x\n", "not a column"),
        ("L;a;b\n45;15;20\n", "row 1: write commas between cells, not semicolons"),
        ("hex\n#8a5a3c;2\n", "row 2: write commas between cells"),
        ("#8a5a3c\n45,5;15,1;20,3\n", "row 2: write commas"),
        ("hex,hex\n#8a5a3c,#8a5a3c\n", "twice"),
        ("#8a5a3\n", "row 1: .*sRGB as #8a5a3c"),
        ("45,15,20\n145,0,0\n", "row 2: .*between 0"),
        ("hex,weight\n#8a5a3c,-1\n", "row 2: .*weight"),
        ("hex,weight\n#8a5a3c,0\n", "all zero"),
        ("hex,weight\n#8a5a3c\n", "row 2: 1 cells under 2"),
        ("blue\n", "row 1: .*Munsell"),
    ],
)
def test_a_list_that_cannot_be_read_says_where(tmp_path, text, says):
    with pytest.raises(ReachError, match=says) as error:
        from_list(written(tmp_path, text))
    assert "\n" not in str(error.value)


def test_a_picture_is_weighed_by_area(tmp_path):
    pixels = np.zeros((10, 10, 4), dtype=np.uint8)
    pixels[..., 3] = 255
    pixels[:6] = (138, 90, 60, 255)
    pixels[6:9] = (32, 48, 58, 255)
    pixels[9:] = (255, 0, 0, 0)  # transparent
    path = tmp_path / "bank.png"
    Image.fromarray(pixels).save(path)
    colours = from_picture(path)
    assert colours.by_area
    assert colours.weight == pytest.approx([6 / 9, 3 / 9])
    assert ciede2000(colours.lab[0], from_list(written(tmp_path, "#8a5a3c")).lab[0]) < 0.01
    pixels[..., 3] = 0
    Image.fromarray(pixels).save(path)
    with pytest.raises(PhotoError, match="no pixel of the picture is opaque"):
        from_picture(path)


def test_merging_moves_no_colour_far():
    rng = np.random.default_rng(2)
    labs = np.stack(
        [rng.uniform(20, 95, 4000), rng.uniform(-40, 60, 4000), rng.uniform(-50, 70, 4000)], axis=1
    )
    mean, weight = merged(np.repeat(labs, 2, axis=0), np.ones(8000))
    assert weight.sum() == pytest.approx(8000)
    from scipy.spatial import cKDTree

    _, near = cKDTree(mean).query(labs, k=8)
    off = ciede2000(labs[:, None], mean[near]).min(axis=1)
    assert np.percentile(off, 99) < 1.5


def test_coverage_and_its_words(earths, tmp_path):
    wanted = written(
        tmp_path, "name,munsell,weight\nbrick,10R 5/4,2\npond,5PB 4/10,1\nnight,N 0.3,1\n"
    )
    covered = coverage(earths, from_list(wanted))
    assert covered.within_tolerance.tolist() == [True, False, False]
    assert covered.share == pytest.approx(0.5)
    assert covered.mean_miss == pytest.approx((covered.miss * [2, 1, 1]).sum() / 4)
    assert covered.directions(1)[0] in ("too high in chroma", "of another hue")
    assert covered.directions(2) == ("too dark",)
    assert sum(covered.by_direction().values()) == pytest.approx(0.5)
    families = covered.by_family()
    assert families["PB"] == (0.25, 0.0)
    assert families["N"] == (0.25, 0.0)
    assert sum(all_ for all_, _ in families.values()) == pytest.approx(1)


def test_the_only_way_and_the_substitute(table, tmp_path):
    palette = table.palette(["titanium-white", "yellow-ochre", "raw-sienna", "ultramarine-blue"])
    made = reach(palette)
    mixes = made.seeds.medium.lab([[3.0, 1, 1, 0], [20, 0, 0, 1], [12, 1, 0, 1]])
    rows = [",".join(map(str, lab)) for lab in mixes]
    asked = coverage(made, from_list(written(tmp_path, "\n".join(rows))))
    assert asked.share == 1
    tubes = {tube.id: tube for tube in each_tube(asked)}
    blue = tubes["ultramarine-blue"]
    assert blue.lost >= 0.5
    assert {1, 2} <= set(blue.only_for.tolist())
    assert {id for id, _ in blue.from_table} & {"cobalt-blue", "indanthrone-blue"}
    # what a paint of the table brings back is what a palette with it in that place reaches
    for tube in tubes.values():
        rest = [id for id in palette.ids if id != tube.id]
        some, weight = asked.colours.lab[tube.only_for], asked.colours.weight[tube.only_for]
        for id, back in tube.from_table:
            medium = medium_of(table.palette([*rest, id]), asked.reach.view)
            miss = Seeds.of(medium, None).nearest(some)[2]
            assert back == pytest.approx(weight[miss <= 2].sum() / weight.sum(), abs=1e-9)
    for id, other in (("yellow-ochre", "raw-sienna"), ("raw-sienna", "yellow-ochre")):
        tube = tubes[id]
        assert tube.lost == 0 and not len(tube.only_for) and tube.from_table == ()
        if tube.used:
            assert tube.substitutes[0][0] == other
    assert tubes["titanium-white"].volume_lost > 0.5


def test_chips_are_as_the_renotation_writes_them(chips):
    assert "5R 4/14" in chips.names
    assert "2.5Y 8.0/16" not in chips.names
    assert len(chips) == len(set(chips.names))
    assert chips.weight.sum() == pytest.approx(1)


def test_nothing_is_higher_in_chroma_than_the_optimal_colours(table):
    view = viewing()
    assert inside_optimal(view.white, view)
    assert not inside_optimal(view.white * 1.01, view)
    assert not inside_optimal([1.0, 50.0, 1.0], view)
    for paint in table:
        assert inside_optimal(paint.reflectance @ view.weights, view)


def test_an_unknown_standard_says_which_there_are():
    with pytest.raises(ReachError, match=r"iso-17321-1.*near names"):
        from_standard("iso-17321")


# --- the command --------------------------------------------------------------------------------


def test_the_command_reports(run, tmp_path):
    wanted = written(tmp_path, "10R 5/4\n5PB 4/10\n")
    ran = run("reach", "--palette", "kiln-earths", "--targets", wanted, "--each-tube")
    assert ran.status == 0 and ran.err == ""
    for word in (
        "volume", "Highest chroma of each hue family", "within     1 of 2 (50.0%)",
        "The only way to",
    ):  # fmt: skip
        assert word in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


def test_the_command_for_a_program(run, tmp_path):
    rows, small = tmp_path / "rows.csv", tmp_path / "small.png"
    with Image.open(bundled("scene.jpg")) as scene:
        scene.resize((40, 27)).save(small)
    ran = run("reach", "--palette", "kiln-earths", "--photo", small, "--against",
              "kiln-earths", "--csv", rows, "--json")  # fmt: skip
    covered = json.loads(ran.out)
    assert covered["palette"] == "Kiln earths"
    assert 0.2 < covered["coverage"]["share"] < 1
    assert covered["against"]["only_first"] == 0
    assert 0 < covered["coverage"]["within_count"] < covered["coverage"]["colour_count"]
    assert covered["each_tube"] is None
    assert all(one["greatest_chroma"] >= one["least_chroma"] for one in covered["edge"])
    table = list(csv.DictReader(io.StringIO(rows.read_text())))
    assert len(table) == covered["coverage"]["colour_count"]
    within = sum(float(row["weight"]) for row in table if row["within_tolerance"] == "True")
    assert within == pytest.approx(covered["coverage"]["share"], abs=1e-4)


def test_the_edge_as_rows(run, tmp_path):
    rows = tmp_path / "edge.csv"
    assert run("reach", "--palette", "kiln-earths", "--csv", rows).status == 0
    table = list(csv.DictReader(io.StringIO(rows.read_text())))
    assert all(float(row["greatest_chroma"]) >= float(row["least_chroma"]) for row in table)
    shares = [float(part.split()[0]) for part in table[0]["shares"].split(" + ")]
    assert sum(shares) == pytest.approx(1, abs=1e-5)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--chips", "--photo", "a.jpg"), "in one way"),
        (("--draw", "pages"), "give a file"),
        (("--draw", "cake", "--plot", "a.png"), "drawings: slices, pages, coverage"),
        (("--draw", "coverage", "--plot", "a.png"), "no coverage to draw"),
        (("--plot", "a.gif"), ".png or .svg"),
        (("--grey", "1,1"), "places in a picture: --photo FILE"),
        (("--grey-reflectance", "0.5"), "photo"),
        (("--tubes", "0"), "1 or more"),
        (("--tolerance", "0"), "above zero"),
        (("--standard", "munsell"), "no standard"),
        (("--against", "nowhere"), "no palette"),
        (("--targets", "nowhere.csv"), "cannot be read"),
        (("--photo", "nowhere.jpg"), "no such file"),
    ],
)
def test_bad_words_are_one_line(run, words, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = run("reach", "--palette", "kiln-earths", *words)
    assert ran.status == 2
    assert ran.out == ""
    assert ran.err.count("\n") == 1 and says in ran.err
    assert not list(tmp_path.iterdir())


def test_pictures_are_drawn(run, earths, seven, tmp_path):
    wanted = written(tmp_path, "10R 5/4\n5PB 4/10\n")
    ran = run("reach", "--palette", "kiln-earths", "--targets", wanted, "--plot",
              tmp_path / "a.png", "--draw", "coverage")  # fmt: skip
    assert ran.status == 0
    assert Image.open(tmp_path / "a.png").size[0] > 1000
    pages = pictures.pages([earths])
    assert [panel.get_title(loc="left") for panel in pages.axes[:-1]] == [
        f"5{name}" for name in FAMILIES
    ]
    two = pictures.slices([seven, earths])
    panel = two.axes[1]
    dashes = {line.get_linestyle() for line in panel.lines if len(line.get_xdata()) > 10}
    assert dashes == {"-", "--"}  # parted without hue
    for line in panel.lines:
        if len(line.get_xdata()) > 10:  # no open outlines
            np.testing.assert_allclose(line.get_xydata()[0], line.get_xydata()[-1])
    drawn = pictures.coverage(coverage(earths, from_list(wanted)))
    marks = {m.get_marker() for axes in drawn.axes for m in axes.lines}
    assert {"o", "s"} <= marks


def test_every_mistake_is_a_mixlab_error():
    assert issubclass(ReachError, MixlabError)


@pytest.mark.parametrize("name", ["mill-pond", "kiln-earths"])
def test_far_beyond_reach_the_nearest_mix_is_found(name, table):
    """Held against a search of every set of three tubes, one by one."""
    palette = mixlab.read_palette(name, table)
    kit = Kit(medium_of(palette, viewing()), 3, 2.0)
    random = np.random.default_rng(5)
    labs = random.uniform([15, -90, -90], [95, 90, 90], (120, 3))
    each = misses((kit, labs)).min(axis=1)
    together = Seeds.of(kit.medium, 3).nearest(labs)[2]
    far = each > 10
    assert far.sum() > 50
    assert (together - each)[far].mean() < 0.2
    assert (together > each + 0.1).mean() < 0.1
