"""Linear least squares, typed."""

from __future__ import annotations

import numpy as np

from gaugebench.model.arrays import F64


def least_squares(basis: F64, values: F64) -> tuple[F64, F64]:
    """Coefficients (k,) of the columns of `basis` (n, k) that meet `values` (n,) best, and what is
    left over (n,). Columns that say the same share a coefficient."""
    found, rest = least_squares_each(basis[np.newaxis], values)
    return found[0], rest[0]


def least_squares_each(basis: F64, values: F64) -> tuple[F64, F64]:
    """As `least_squares`, for several bases (m, n, k) at once: (m, k) and (m, n)."""
    size = np.sqrt(np.einsum("mij,mij->mj", basis, basis))
    size[size == 0] = 1.0
    unit = basis / size[:, np.newaxis]
    turned = unit.swapaxes(1, 2)
    # The columns have unit length, so that this much on the diagonal changes nothing but keeps
    # columns that say the same solvable. Far faster than a general solver for a few columns.
    square = turned @ unit + 1e-12 * np.eye(basis.shape[2])
    found = np.linalg.solve(square, (turned @ values)[:, :, np.newaxis])
    rest: F64 = values - (unit @ found)[:, :, 0]
    return np.asarray(found[:, :, 0], np.float64) / size, rest


def columns(*parts: F64) -> F64:
    """Vectors (n,) side by side, shape (n, k)."""
    side: F64 = np.concatenate([p.reshape(len(p), -1) for p in parts], axis=1)
    return side


def weighted_spread(jacobian: F64) -> F64:
    """Standard deviations (k,) of the parameters of a fit whose rows have unit noise."""
    size = np.asarray(np.linalg.norm(jacobian, axis=0), np.float64)
    size[size == 0] = 1.0
    inverse = np.linalg.pinv(np.linalg.qr(jacobian / size)[1])
    return np.asarray(np.sqrt(np.sum(inverse * inverse, axis=1)) / size, np.float64)
