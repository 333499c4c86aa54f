"""Swatch cards: how well they are read, on many rendered ones. Run by hand.

    python tests/benchmarks/bench_cards.py

Six tubes of the table at random, each changed as another maker's might be (load, shift, bend), with
and without their index names; a camera, a light, sheen and slips of the knife at random; the
picture kept whole, or as a JPEG of quality 80. Prints CIEDE2000 of random mixes, what was stated of
it, and on how many cards a tint is refused by name whose label says half or twice the white that is
in it. Invented data: no proof about paint.
"""

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

import mixlab
from mixlab.measure import cards, swatches
from tests.measure import card as making

TABLE = mixlab.read_table()


WHITE = replace(TABLE["titanium-white"], id="yard-white")


def study(seed, named, photo):
    """Misses of one card, the uncertainty stated [CIEDE2000], and whether a tint of wrong parts is
    refused; None if the card was refused."""
    random = np.random.default_rng(seed)
    ids = random.choice([p.id for p in TABLE if not p.is_white], 6, replace=False)
    tubes = [
        making.own_tube(
            TABLE[id], f"own-{id}", load=float(np.exp(random.normal(0, 0.45))),
            shift=float(random.normal(0, 5)), bend=float(random.normal(0, 0.25)),
        )
        for id in ids
    ]  # fmt: skip
    painted = making.paint_card(tubes, WHITE, sheen=float(random.uniform(0.3, 1)), seed=seed)
    camera = making.Camera(
        cast=tuple(random.uniform(0.8, 1.1, 3)), edge=float(random.uniform(0, 0.12)),
        slope=float(random.uniform(0, 0.15)),
    )  # fmt: skip
    Image.fromarray(camera.photograph(painted.reflectance, seed)).save(photo, quality=80)
    index = {t.id: " ".join(t.colour_index) if named else "" for t in tubes}
    file = photo.with_suffix(".toml")
    file.write_text(painted.toml(photo.name, index | {"yard-white": "PW6"}))
    try:
        card = swatches.read_card(file)
        fit = cards.characterise_card(card, TABLE)
    except mixlab.MixlabError as error:
        print(f"  card {seed} refused: {str(error).split(': ', 1)[1]}")
        return None
    truth = {t.id: t for t in tubes} | {"yard-white": WHITE}
    stated = [p.uncertainty for p in fit.paints if p.id != "yard-white"]
    return (
        making.misses_of({p.id: p for p in fit.paints}, truth, random, 200),
        np.sqrt(np.mean(np.square(stated))),
        refused(card, random),
    )


def refused(card, random):
    """Whether a tint that says half or twice its white is refused, by its name."""
    swatches = list(card.swatches)
    i = random.choice([i for i, one in enumerate(swatches) if len(one.parts) > 1])
    parts = dict(swatches[i].parts)
    parts["yard-white"] *= random.choice([0.5, 2.0])
    swatches[i] = replace(swatches[i], parts=parts)
    try:
        cards.characterise_card(replace(card, swatches=tuple(swatches)), TABLE)
    except mixlab.MixlabError as error:
        return str(swatches[i]) in str(error)
    return False


def main(cards_to_read):
    """Print the figures for so many cards."""
    for named, name in ((True, "card.png"), (False, "card.png"), (True, "card.jpg")):
        with tempfile.TemporaryDirectory() as folder:
            done = [study(seed, named, Path(folder, name)) for seed in range(cards_to_read)]
        misses, stated, named_off = zip(*(one for one in done if one is not None), strict=True)
        means, every = [m.mean() for m in misses], np.concatenate(misses)
        print(
            f"{name} {'with' if named else 'without'} index names, "
            f"{len(means)} of {len(done)} cards: "
            f"mean {every.mean():.2f} (by card {min(means):.2f} to {max(means):.2f}), "
            f"median {np.median(every):.2f}, 95 % below {np.percentile(every, 95):.2f}, "
            f"largest {every.max():.2f}; root mean square {np.sqrt(np.mean(every**2)):.2f}, "
            f"stated {np.mean(stated):.2f}; a tint of wrong parts refused by name on "
            f"{sum(named_off)} cards"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
