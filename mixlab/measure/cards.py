"""A swatch card to K and S of the tubes on it.

A photograph gives three numbers for a swatch, and a curve is 72: what the three leave open is taken
from what is known of paints beforehand. Each tube starts from a curve (the table's of the same
Colour Index name, or the one of the table that explains its swatches best, or a flat one), with a
stated spread about it: pigment load, absorption and scattering apart, a shift along the spectrum, a
smooth bend. The most probable curves are found by least squares on CIEDE2000, together with what
else is unsure: the sheen, the exposure, the cast, the camera's idea of colour, and the parts of
each pile.
How uncertain a tube is comes out of the same equations.

References
----------
.. [1] Tarantola, *Inverse Problem Theory* (SIAM 2005), ch. 3: least squares with a prior, its
       covariance, and the evidence for it.
.. [2] Rasmussen, Williams, *Gaussian Processes for Machine Learning* (MIT Press 2006), ch. 2 and
       5.4.2: smooth curves from few data; leaving one out.
"""


import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from mixlab.arrays import one_thread
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_lch, lab_to_munsell, reflectance_to_lab, viewing
from mixlab.errors import CardError
from mixlab.measure.card_fit import NUDGE, CardModel, SolvedCard
from mixlab.measure.card_layout import Card, Swatch
from mixlab.measure.card_priors import (
    A_WHITE,
    LIKE_PIGMENT,
    NOTHING_KNOWN,
    SAME_PIGMENT,
    Prior,
    bears,
)
from mixlab.paint import optics
from mixlab.paint.paints import Paint
from mixlab.paint.tables import PigmentTable
from mixlab.text import visible

DOUBTFUL = 18.0
"""Square of how far a swatch may lie from what the others say of it, in spreads: beyond it chance
takes one swatch in 2000, if all spreads are as stated (chi-square, three degrees of freedom)."""

CLOSER = 0.4
"""Where a card agrees better than the spreads have it, the bound follows, down to this share."""

OTHER_WHITE = 2.0
"""Spread of the load where the card's white is not in the table: it may hide far less than another,
against which every tube looks strong [logarithm]."""
_MEDIAN = 2.366  # of chi-square, three degrees of freedom
_MANY = 3  # tubes far from their names, if most are: from here on the picture is doubted
_LIKELY = 5  # curves of the table that are tried for a tube without an index name


@dataclass(frozen=True, eq=False)
class SwatchFit:
    """How a swatch agrees.

    Attributes
    ----------
    swatch : as it was read
    miss : of the curves that were found [CIEDE2000]
    cross_validated_miss : of the curves that the others tell [CIEDE2000]
    distance : from what the others say; squared Mahalanobis distance
    """

    swatch: Swatch
    miss: float
    cross_validated_miss: float
    distance: float


@dataclass(frozen=True, eq=False)
class CardFit:
    """Tubes recovered from a card.

    Attributes
    ----------
    paints : in the order of the card, with `uncertainty` the likely CIEDE2000 of a prediction
    swatches : how each swatch agrees
    started : what each tube started from, in words, by tube
    sheen : share of the surface's reflection that the camera saw
    notes : in words
    """

    paints: tuple[Paint, ...]
    swatches: tuple[SwatchFit, ...]
    started: dict[str, str]
    sheen: float
    notes: tuple[str, ...]


def characterise_card(card: Card, table: PigmentTable) -> CardFit:
    """Return the tubes of a card, starting from the curves of a table.

    Raises
    ------
    CardError : if there is no white, or a swatch contradicts the others
    """
    same = {id: [p for p in table if bears(p, index)] for id, index in card.tubes.items()}
    white = _white_of(card)
    first = next((p for p in (*same[white], *table) if p.is_white), None)
    if first is None:
        raise CardError(f"{table.path}: the table has no white to start from")
    of_white = Prior.about(first, A_WHITE)
    with one_thread():
        priors = {
            id: of_white if id == white else _best_start(card, id, white, of_white, same, table)
            for id in card.tubes
        }
        solved = CardModel(card.swatches, priors, card.white, first.surface).solve()
        _check(card, solved)
        uncertainty = _uncertainty(solved, white)
    model = solved.model
    named = [id for id in priors if same[id] and id != white]
    far = [id for id in named if not priors[id].near]
    started = {id: _in_words(prior, id == white) for id, prior in priors.items()}
    for id in far:
        started[id] += f", far from {same[id][0].id}: is its index name right?"
    # a white that the table does not have is a unit of its own
    unit = first.unit if first in same[white] else white
    paints = []
    for id, k, s in zip(card.tubes, *model.curves(solved.unknowns), strict=True):
        start = priors[id].start or first
        # what a paint of the same name can hurt with, so can this one
        alike = bears(start, card.tubes[id])
        paints.append(Paint(
            id=id, name=id.replace("-", " "), colour_index=card.tubes[id], K=k, S=s,
            transparency=start.transparency if alike else "", basis="measured",
            source=f"photo of the swatch card {visible(card.path.name)}, from {started[id]}",
            cautions=start.cautions if alike else "read the maker's safety data sheet",
            surface=start.surface, uncertainty=uncertainty[id], unit=unit,
        ))  # fmt: skip
    misses = ciede2000(model.observed, model.lab(solved.unknowns))
    columns = zip(card.swatches, misses, *solved.cross_validated, strict=True)
    fits = tuple(SwatchFit(swatch, *map(float, figures)) for swatch, *figures in columns)
    notes = [*_notes(card, white, unit)]
    if len(far) >= _MANY and 2 * len(far) > len(named):
        notes.insert(0, (
            f"{len(far)} of {len(named)} tubes are far from paint of their index names: rather "
            "than the names, the picture may be at fault; photograph the card without haze or "
            "light on the lens, save it unedited, and check what the neutrals reflect"
        ))  # fmt: skip
    sheen = float(model.sheen(solved.unknowns))
    return CardFit(tuple(paints), fits, started, sheen, tuple(notes))


def _check(card: Card, solved: SolvedCard) -> None:
    """Refuse a card of which one swatch contradicts the others."""
    misses, distances = solved.cross_validated
    worst = int(np.argmax(distances))
    usual = float(np.median(distances)) / _MEDIAN
    if distances[worst] > DOUBTFUL * np.clip(usual, CLOSER, 1):
        unseen = [f"; {one}" for one in card.unseen]
        if unseen:
            unseen[0] = f"; or the picture is at fault: {card.unseen[0]}"
        raise CardError(
            f"{card.path}: {card.swatches[worst]} contradicts the others: it reads "
            f"{misses[worst]:.1f} CIEDE2000 from what they say{solved.as_if(worst)}; "
            "paint or photograph it again, check its parts, its place and its tubes' index names, "
            f"or take it out{''.join(unseen)}"
        )


def _white_of(card: Card) -> str:
    """Return the white that is in most swatches; CardError if there is none."""
    if not card.whites:
        raise CardError(
            f"{card.path}: no tube is a white; paint the tints with one, and list it under "
            '[tubes], as yard-white = "PW6"'
        )
    return max(card.whites, key=lambda id: sum(id in s.parts for s in card.swatches))


def _best_start(
    card: Card, id: str, white: str, of_white: Prior, same: Mapping[str, Sequence[Paint]],
    table: PigmentTable,
) -> Prior:  # fmt: skip
    """Return the prior under which the swatches of one tube are most probable.

    A paint of the same index name stands for it, unless it lies so far off that another would do.
    """
    own = [s for s in card.swatches if id in s.parts and set(s.parts) <= {id, white}]
    load = None if of_white.start in same[white] else OTHER_WHITE
    alike = same[id]
    if not own:
        return (
            Prior.about(alike[0], SAME_PIGMENT, load) if alike else Prior.about(None, NOTHING_KNOWN)
        )

    def best(tried: Sequence[Prior]) -> Prior:
        def unlikely(prior: Prior) -> float:
            priors = {id: prior, white: of_white}
            return CardModel(own, priors, card.white, table.paints[0].surface).solve(12).unlikely

        return min(tried, key=unlikely)

    tried = [Prior.about(p, spread, load) for p in alike for spread in (SAME_PIGMENT, LIKE_PIGMENT)]
    if tried and (of_same := best(tried)).near:
        return of_same
    others = (p for p in table if not p.is_white and p not in alike)
    likely = sorted(others, key=lambda p: _unlike(p, own, id, of_white))[:_LIKELY]
    tried += [Prior.about(paint, LIKE_PIGMENT, load) for paint in likely]
    return best([*tried, Prior.about(None, NOTHING_KNOWN)])


def _unlike(paint: Paint, swatches: Sequence[Swatch], id: str, of_white: Prior) -> float:
    """Return how far the swatches of a tube are from those of a paint [CIEDE2000].

    In the mean, at the best of a few pigment loads.
    """
    k, s = np.split(np.exp(of_white.mean), 2)
    loads = np.exp(np.linspace(-1.2, 1.2, 7))
    own = np.array([swatch.parts[id] / sum(swatch.parts.values()) for swatch in swatches])
    share = np.stack([loads[:, None] * own, np.broadcast_to(1 - own, (7, len(own)))], axis=-1)
    seen = paint.surface.measured(
        optics.opaque(optics.mix(share, [paint.K, k]), optics.mix(share, [paint.S, s]))
    )
    misses = ciede2000(np.array([s.lab for s in swatches]), reflectance_to_lab(seen, viewing()))
    return float(misses.mean(axis=1).min())


def _uncertainty(solved: SolvedCard, white: str) -> dict[str, float]:
    """Return the likely CIEDE2000 of predictions with each tube.

    By the covariance of the fit, in the mean over the tube alone, in tints, and half and half with
    each of the others in white: root of the mean square.
    """
    model = solved.model
    ids = list(model.priors)
    count = model.ends[len(ids) - 1]
    covariance = solved.covariance()[:count, :count]
    steps = np.eye(len(solved.unknowns))[:count]
    likely = {}
    for id in ids:
        mixes = [{id: 1.0}]
        if id != white:
            mixes += [{id: 1.0, white: n} for n in (1.0, 4.0, 16.0)]
            mixes += [
                {id: 1.0, other: 1.0, white: n}
                for other in ids if other not in (id, white) for n in (1.0, 6.0)
            ]  # fmt: skip
        parts = np.array([[mix.get(one, 0.0) for one in ids] for mix in mixes])
        moved = np.vstack([solved.unknowns, solved.unknowns + NUDGE * steps])
        labs = reflectance_to_lab(model.surface.measured(model.layers(moved, parts)), viewing())
        slopes = difference(labs[0], labs[1:]) / NUDGE
        mean_square = np.einsum("uqc,uv,vqc->", slopes, covariance, slopes) / len(mixes)
        likely[id] = float(np.sqrt(mean_square))
    return likely


def _in_words(prior: Prior, white: bool) -> str:
    if prior.start is None:
        return "a flat curve, as no paint of the table explains it"
    if white:
        return f"{prior.start.id}, whose scattering is the unit"
    if prior.near:
        return f"{prior.start.id}, of the same index name"
    return f"{prior.start.id}, which explains it best"


# CIELCh hues that paint of a Colour Index name may have, generously [degrees, from and to]: green
# gold is PG10, turquoise PB36, maroon PV29; browns, blacks, whites, metals claim none; ours
_HUES = {
    "R": ("red", 320, 80), "O": ("orange", 15, 95), "Y": ("yellow", 40, 130),
    "G": ("green", 75, 250), "B": ("blue", 165, 335), "V": ("violet", 255, 50),
}  # fmt: skip
_COLOURED = 20.0  # C* below which a swatch has no hue to speak of


def _other_hue(card: Card, id: str) -> Iterator[str]:
    """Doubt a name whose hue the swatch of a tube and white that is highest in chroma lacks."""
    own = [s for s in card.swatches if id in s.parts and set(s.parts) <= {id, *card.whites}]
    letters = {re.sub(r"\d.*", "", name[1:]).upper() for name in card.tubes[id]}
    if not own or id in card.whites or len(letters) != 1 or not letters <= set(_HUES):
        return
    name, low, high = _HUES[letters.pop()]
    highest = max(own, key=lambda swatch: float(lab_to_lch(swatch.lab)[1]))
    _, chroma, hue = lab_to_lch(highest.lab)
    if chroma > _COLOURED and (hue - low) % 360 > (high - low) % 360:
        munsell = write_munsell(lab_to_munsell(highest.lab, viewing()), decimals=0)
        yield (
            f"{card.tubes[id][0]} is the name of a {name}, and the swatch of {id} that is highest "
            f"in chroma is {munsell}: is its index name right?"
        )


def _notes(card: Card, white: str, unit: str) -> Iterator[str]:
    yield from card.notes
    for id in card.tubes:
        yield from _other_hue(card, id)
    if unit == white:
        yield (
            f"the table has no white like {white}: strengths are relative to it, and these tubes "
            "cannot be mixed with those of the table"
        )
    else:
        yield f"{white} is taken to hide like the table's: strengths are relative to that"
    for id in card.tubes:
        own = [swatch for swatch in card.swatches if id in swatch.parts]
        alone = any(len(swatch.parts) == 1 for swatch in own)
        if not alone and id == white:
            yield f"no swatch of {id} alone: its colour is taken for the table's"
        elif not alone:
            yield f"no masstone of {id}: its darkest mixes are a guess"
        elif id != white and all(len(swatch.parts) == 1 for swatch in own):
            yield f"no tint of {id}: a masstone does not tell its strength, which is a guess"
