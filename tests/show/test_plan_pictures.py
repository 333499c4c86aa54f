"""The page of a plan, the pattern of values, and the outlines that they are drawn with."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.spaces import viewing
from mixlab.errors import PlotError
from mixlab.files import bundled
from mixlab.picture.seen import Seen
from mixlab.picture.values import values_of
from mixlab.show.plots import style
from mixlab.show.plots.plan import MOST_ON_A_SHEET, pattern, plan_sheet
from mixlab.show.plots.shapes import draw_regions, outline
from mixlab.show.plots.values import greys, value_plan

VIEW = viewing()


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("plan") / "scene.png"
    with Image.open(bundled("scene.jpg")) as whole:
        whole.resize((300, 200)).save(path)
    few = mixlab.read_table().palette(
        ["titanium-white", "yellow-ochre", "pyrrole-red", "ultramarine-blue", "viridian"], "few"
    )
    return mixlab.plan(path, few, masses=6)


# --- outlines -------------------------------------------------------------------------------------


def area(path):
    """Return what a path encloses, holes taken out."""
    return sum(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1))
               for x, y in (polygon[:-1].T for polygon in path.to_polygons()))  # fmt: skip


def test_an_outline_is_that_of_the_shape_with_its_hole():
    rows, columns = np.ogrid[:200, :300]
    away = np.hypot(rows - 99.5, columns - 149.5)
    ring = (away < 80) & (away > 30)
    path = outline(ring, step=2.0)
    assert abs(area(path)) == pytest.approx(4 * np.pi * (80**2 - 30**2), rel=0.01)
    assert len(path) < 400  # few corners: a small file
    assert outline(np.zeros((20, 20), dtype=bool)) is None


def test_shapes_cover_the_picture_as_the_map_does(tmp_path):
    rng = np.random.default_rng(0)
    seeds = rng.uniform([0, 0], [120, 180], (9, 2))
    places = np.stack(np.mgrid[:120, :180], axis=-1)[:, :, None, :]
    regions = np.linalg.norm(places - seeds, axis=-1).argmin(axis=-1)
    hexes = [f"#{20 * i:02x}{255 - 20 * i:02x}80" for i in range(9)]
    from matplotlib.figure import Figure

    figure = Figure(figsize=(1.8, 1.2))
    draw_regions(figure.add_axes((0, 0, 1, 1)), regions, hexes)
    figure.savefig(tmp_path / "shapes.png", dpi=100)
    with Image.open(tmp_path / "shapes.png") as drawn:
        pixels = np.asarray(drawn.convert("RGB")).astype(int)
    colours = np.array([[20 * i, 255 - 20 * i, 128] for i in range(9)])
    nearest = np.abs(pixels[:, :, None] - colours).sum(axis=-1).argmin(axis=-1)
    assert (nearest == regions).mean() > 0.96
    assert pixels.sum(axis=-1).max() < 500  # no white between two


# --- values ---------------------------------------------------------------------------------------


def test_the_pattern_is_drawn_in_its_own_greys_and_is_a_small_file(plan, tmp_path):
    made = value_plan(plan.values, VIEW, "a pond")
    words = [text.get_text() for axes in made.axes for text in axes.texts]
    for value, share in zip(plan.values.levels, plan.values.shares, strict=True):
        assert any(word.startswith(f"{value:.1f}\n{100 * share:.1f}") for word in words)
    for kind in ("png", "svg"):
        style.save(value_plan(plan.values, VIEW, "a pond"), tmp_path / f"values.{kind}", VIEW)
    with Image.open(tmp_path / "values.png") as drawn:
        found = {rgb for _, rgb in drawn.convert("RGB").getcolors(10**7)}
    assert {tuple(bytes.fromhex(grey[1:])) for grey in greys(plan.values, VIEW)} <= found
    text = (tmp_path / "values.svg").read_text()
    assert len(text) < 150_000 and "\nQ " in text and "<image" not in text


def test_the_values_of_the_mixes_stand_beside_those_of_the_picture(plan):
    made = pattern(plan)
    titles = {axes.get_title(loc="left") for axes in made.axes}
    assert {"as wanted", "as mixed"} <= titles


def test_one_value_alone_is_drawn():
    flat = values_of(Seen(np.full((60, 90, 3), [50.0, 0, 0]), VIEW), 2)
    assert value_plan(flat, VIEW).axes


# --- the page -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def page(plan):
    return plan_sheet(plan)


def test_the_page_is_a4_and_leaves_no_mass_out(plan, page):
    np.testing.assert_allclose(page.get_size_inches() * 25.4, (210, 297), atol=0.2)
    words = [text.get_text() for axes in page.axes for text in axes.texts]
    for mass in plan.every:
        # in each shape of it in two pictures, the tree, the order
        assert words.count(str(mass.number)) == 4 + 2 * len(mass.elsewhere)
        pile = plan.pile(mass.number)
        how = next(" ".join(word.split()) for word in words
                   if word.startswith(f"{mass.number} = "))  # fmt: skip
        for id, parts in pile.add.items():
            assert id in how and (pile.first or f"{parts:g} {id}" in how)
        if pile.parent is not None:
            assert f" of {pile.parent + 1} + " in how
        assert any(mass.name in word and f"miss {pile.miss:.1f}" in word for word in words)
        # in a grey print values tell the two patches apart
        assert any(word == f"mixed\n{plan.mixed_values[mass.number - 1]:.1f}" for word in words)
    for id, ml in plan.amounts.squeeze.items():
        assert any(word.startswith(f"{id}  {ml:.1f} ml") for word in words)
    assert any("safety data sheets" in word for word in words)


def test_all_of_it_lies_on_the_page_and_apart(plan, page):
    page.draw_without_rendering()
    whole = page.bbox
    for axes in page.axes:
        for text in axes.texts:
            box = text.get_window_extent()
            assert box.x0 >= whole.x0 and box.x1 <= whole.x1
            assert box.y0 >= whole.y0 and box.y1 <= whole.y1
    rows = [text for text in page.axes[0].texts if " = " in text.get_text()]
    assert len(rows) == len(plan.every)
    boxes = [row.get_window_extent() for row in rows]
    assert all(lower.y1 <= upper.y0 for upper, lower in pairwise(boxes))
    assert min(row.get_fontsize() for row in rows) >= 7.5
    pictures = [axes.get_window_extent() for axes in page.axes[1:]]
    assert all(not one.overlaps(other) for i, one in enumerate(pictures) for other in pictures[:i])


def test_a_child_stands_in_from_its_parent(plan, page):
    left: dict[str, tuple[float, float]] = {}
    for text in page.axes[0].texts:  # the order of painting stands below the tree
        if text.get_text().isdigit():
            left[text.get_text()] = max(left.get(text.get_text(), (0, 0)), text.get_position(),
                                        key=lambda at: at[1])  # fmt: skip
    for mass in plan.every:
        parent = plan.pile(mass.number).parent
        if parent is not None:
            (x, y), (above_x, above_y) = left[str(mass.number)], left[str(parent + 1)]
            assert x > above_x and y < above_y


def test_a_tall_picture_and_a_full_page_fit(plan, tmp_path):
    """As many masses as a page holds, of a picture that is higher than wide."""
    every, piles = list(plan.every), list(plan.piles.piles)
    while len(every) < MOST_ON_A_SHEET:
        every.append(replace(every[0], number=len(every) + 1))
        piles.append(replace(piles[0], parent=0, from_parts=1.0, add={"viridian": 1.0}))
    photo = plan.picture.photo
    tall = replace(photo, pixels=photo.pixels[:, :100])
    amounts = replace(plan.amounts, ml=np.ones(len(every)))
    order = replace(plan.order, numbers=tuple(range(1, len(every) + 1)),
                    stages=("darks",) * len(every))  # fmt: skip
    full = replace(
        plan, picture=replace(plan.picture, photo=tall), amounts=amounts, order=order,
        masses=replace(plan.masses, masses=every, accents=[]),
        piles=replace(plan.piles, piles=tuple(piles)),
    )  # fmt: skip
    made = plan_sheet(full)
    test_all_of_it_lies_on_the_page_and_apart(full, made)
    more = replace(full, masses=replace(full.masses, masses=[*every, every[0]]))
    with pytest.raises(PlotError, match="a sheet holds 18 masses with accents, and these are 19"):
        plan_sheet(more)
