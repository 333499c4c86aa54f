"""What readings of a kind cannot tell of a paint, in words."""


from collections.abc import Iterator

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.measure.drawdowns import Model

_RICH = 0.5  # share from which a mix tells of the paint by itself
WHITE = 85.0  # L* from which a paint is taken for a white


def lacks_of(model: Model, paint: int) -> list[str]:
    """Return what readings lack to tell a paint, in words; none for one that is held."""
    if paint in model.known:
        return []
    lacks = []
    if paint != model.white and model.films.shares[:, paint].max() < _RICH:
        lacks.append("no masstone")
    if paint not in _linked(model) or (paint == model.white and _unit_is_alone(model)):
        lacks.append("no mix with the others")
    return lacks


def unlinked(model: Model) -> Iterator[str]:
    """Say which paints no mix links to the unit, by themselves or in groups."""
    of, linked = model.films, _linked(model)
    if model.white is not None and _unit_is_alone(model):
        yield (
            f"no mix of {of.ids[model.white]}: a masstone tells its colour, and not its strength "
            "in mixes, which is a guess"
        )
    left = set(range(len(of.ids))) - linked
    while left:
        group = _linked(model, start={min(left)})
        left -= group
        names, others = (", ".join(of.ids[i] for i in sorted(some)) for some in (group, linked))
        yield (
            f"no mix of {names} with the others: a masstone tells its colour, and not its "
            "strength, which is a guess"
            if len(group) == 1
            else f"no mix links {names} with {others}: how strong they are against those is a "
            "guess; read a mix of one of each"
        )


def _unit_is_alone(model: Model) -> bool:
    """Whether the unit is a paint that is in no mix, and no white, so that its strength counts."""
    of = model.films
    share = of.shares[:, model.white or 0]
    alone = of.reflectance[share[of.sample] == 1]
    mixed = ((share > 0) & (share < 1)).any()
    return not mixed and float(reflectance_to_lab(alone.max(axis=0), viewing())[0]) < WHITE


def rest_tells(model: Model, d: int) -> bool:
    """Return whether the other drawdowns link every paint of one to the unit."""
    rest = model.films.shares.copy()
    rest[d] = 0
    present = set(map(int, np.flatnonzero(model.films.shares[d]))) - set(model.known)
    still = (rest[:, sorted(present)] > 0).any(axis=0)
    return present <= _linked(model, rest) and bool(still.all())


def _linked(
    model: Model, shares: Array | None = None, start: set[int] | None = None
) -> set[int]:
    """Return the paints that mixes link to the unit, each step by a drawdown of several paints."""
    linked = start or set(model.known) or {model.white or 0}
    shares = model.films.shares if shares is None else shares
    while True:
        touched = (shares[:, sorted(linked)] > 0).any(axis=1)
        more = linked | {int(i) for i in np.flatnonzero((shares[touched] > 0).any(axis=0))}
        if more == linked:
            return linked
        linked = more
