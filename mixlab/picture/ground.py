"""A toned ground: what a thin block-in of each pile does over it, and from where on it stands.

A wash or scrubbed paint shows the ground through: lights sink, darks warm or cool with it. Where
the ground has a mass's colour already it may be left bare. A film's theory is that of
:mod:`mixlab.paint.layers`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import Viewing, lab_to_value
from mixlab.paint.layers import THIN, Layer, layer
from mixlab.paint.mixtures import Mixture


@dataclass(frozen=True, eq=False)
class BlockIn:
    """A thin film of one pile over the ground.

    Attributes
    ----------
    layer : the film
    tolerance : miss that passes for the pile's own colour [CIEDE2000]
    """

    layer: Layer
    tolerance: float

    @property
    def view(self) -> Viewing:
        """Light, observer and finish."""
        return self.layer.view

    @property
    def lab(self) -> Array:
        """CIELAB (3,) of the thin film."""
        return np.asarray(self.layer.lab[0])

    @property
    def miss(self) -> float:
        """CIEDE2000 from the pile's own colour to the thin film."""
        return float(ciede2000(self.layer.mixture.lab, self.lab))

    @property
    def lighter(self) -> float:
        """How much lighter than the pile itself the thin film is [Munsell value]."""
        thin, own = lab_to_value(np.array([self.lab, self.layer.mixture.lab]), self.view)
        return float(thin - own)

    @cached_property
    def stands(self) -> float:
        """Coats from which it has its own colour, within the tolerance; inf where it never does."""
        return self.layer.stands(self.tolerance)

    @property
    def left_bare(self) -> bool:
        """Whether the ground has the pile's colour already, within the tolerance."""
        return bool(ciede2000(self.layer.mixture.lab, self.layer.bare) <= self.tolerance)


@dataclass(frozen=True, eq=False)
class Ground:
    """A toned ground, and what each pile does over it.

    Attributes
    ----------
    lab : CIELAB (3,) of the ground
    coats : thickness of the thin block-in; see :data:`mixlab.paint.paints.COAT`
    block_ins : by pile
    """

    lab: Array
    coats: float
    block_ins: tuple[BlockIn, ...]


def on_ground(
    mixtures: Sequence[Mixture], over: Mixture | ArrayLike, tolerance: float = TOLERANCE,
    coats: float = THIN,
) -> Ground:  # fmt: skip
    """Return what a thin block-in of each mix does over a dry ground.

    Parameters
    ----------
    mixtures : one or more, seen alike
    over : the ground; see :func:`mixlab.paint.layers.ground_of`
    tolerance : miss that passes for the pile's own colour [CIEDE2000]
    coats : thickness of the block-in

    Raises
    ------
    LayerError : for a ground that no surface looks like, or a thickness that is none
    """
    first = layer(mixtures[0], over, [coats])
    films = [Layer(mixture, first.ground, first.coats) for mixture in mixtures]
    return Ground(first.bare, coats, tuple(BlockIn(film, tolerance) for film in films))
