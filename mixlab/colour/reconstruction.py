"""A reflectance curve for a colour of which only the colour is known: the smoothest that has it.

References
----------
.. [1] S. A. Burns, "Numerical methods for smoothest reflectance reconstruction", Color Res. Appl.
       45 (2020) 8-21: the least slope squared, free or held between bounds. Quoted from memory.
"""

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, Viewing, lab_to_xyz

_HELD = 1e3  # weight of the colour beside the slope, where bounds leave no closed form


def smoothest(
    lab: ArrayLike, view: Viewing, between: tuple[float, float] | None = None
) -> Array:
    """Return the reflectance (36,) of least slope squared that has a CIELAB (3,) under `view`.

    Parameters
    ----------
    between : the least and the greatest reflectance. Without them a very pure dark colour may dip
        below zero; with them a colour that no such curve has is met as nearly as can be
    """
    n = len(WAVELENGTHS)
    slope = np.diff(np.eye(n), axis=0)
    xyz = lab_to_xyz(lab, view.white)
    # the least of a square under three equations, by Lagrange's multipliers
    system = np.block([[slope.T @ slope, view.weights], [view.weights.T, np.zeros((3, 3))]])
    curve = np.asarray(np.linalg.solve(system, np.concatenate([np.zeros(n), xyz]))[:n])
    if between is None or (between[0] <= curve.min() and curve.max() <= between[1]):
        return curve
    from scipy.optimize import lsq_linear

    weighted = np.vstack([slope, _HELD * view.weights.T / 100])
    wanted = np.concatenate([np.zeros(n - 1), _HELD * xyz / 100])
    return np.asarray(lsq_linear(weighted, wanted, between, method="bvls", tol=1e-12).x)
