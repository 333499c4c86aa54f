from dataclasses import replace

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import TOLERANCE
from mixlab.mixing import recipes
from mixlab.mixing.recipes import LOOKED_AT, MOST_PAINTS, find_recipe
from mixlab.nearest.medium import medium_of
from mixlab.nearest.short_list import short_list
from mixlab.paint.tables import write_table

TABLE = mixlab.read_table()
EVERYTHING = TABLE.palette(TABLE.ids)
VIEW = mixlab.viewing()


@pytest.fixture(scope="module")
def many(tmp_path_factory):
    """A table of many paints, and the bundled ones among them."""
    rng = np.random.default_rng(3)
    paints = [
        replace(paint, id=f"{paint.id}-{i}", name="", K=paint.K * more, S=paint.S * less)
        for i in range(6) for paint in TABLE
        for more, less in [np.exp(rng.normal(0, 0.3, (2, 1)) + rng.normal(0, 0.02, (2, 36)))]
    ]  # fmt: skip
    path = tmp_path_factory.mktemp("tables") / "many.csv"
    write_table(paints, path)
    return path, len(paints)


def test_what_is_looked_at_holds_what_all_hold(monkeypatch):
    rng = np.random.default_rng(7)
    labs = [EVERYTHING.mix(dict(zip(rng.choice(TABLE.ids, 2, replace=False), (2, 1), strict=True)))
            .lab for _ in range(6)] + [[60, 60, 30], [30, -40, 30], [20, 5, -5]]  # fmt: skip
    of_all = [find_recipe(lab, EVERYTHING, max_tubes=2) for lab in labs]
    monkeypatch.setattr(recipes, "MOST_PAINTS", 30)
    for lab, whole in zip(labs, of_all, strict=True):
        some = find_recipe(lab, EVERYTHING, max_tubes=2)
        assert some.looked_at <= LOOKED_AT < whole.looked_at == len(TABLE)
        assert (some.in_reach, some.recipe.tubes) == (whole.in_reach, whole.recipe.tubes)
        assert some.by_count[-1].miss <= max(whole.by_count[-1].miss + 0.3, TOLERANCE)


def test_what_must_be_used_is_looked_at():
    medium, needed = medium_of(EVERYTHING, VIEW), [TABLE.ids.index("viridian"), 3]
    chosen = short_list(medium, np.array([45.0, 40, 30]), 10, needed)
    assert len(chosen) == 10 and set(needed) <= set(chosen.tolist())
    assert (np.diff(chosen) > 0).all()


def test_of_very_many_paints_a_few_are_looked_at_and_it_is_said(many, run):
    path, count = many
    text = run("recipe", "8a5a3c", "--table", path, "--only").out
    assert f"of {count} paints, " in text and "those that promise" in text
    made = mixlab.read_table(path)
    answer = find_recipe([45, 15, 20], made.palette(made.ids), must=[made.ids[9]])
    assert answer.looked_at <= LOOKED_AT < MOST_PAINTS < count
    assert made.ids[9] in answer.recipe.parts


def test_what_looks_at_all_refuses_very_many(many, run):
    failed = run("reach", "--table", many[0], "--only")
    assert (failed.status, failed.out) == (2, "")
    assert f"{many[1]} tubes are more than the {MOST_PAINTS}" in failed.err
