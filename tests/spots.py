"""Readings on a grid, and a surface through them."""

from __future__ import annotations

import numpy as np

from estimator.solve.surface import Ground, fit_ground


def names(n: int) -> tuple[str, ...]:
    return tuple(f"Survey row {i + 5}" for i in range(n))


def grid(columns: int, rows: int, step: float = 10.0) -> np.ndarray:
    x, y = np.meshgrid(np.arange(columns) * step, np.arange(rows) * step)
    return np.stack([x.ravel(), y.ravel()], axis=1)


def fitted(points: object, heights: object) -> Ground:
    return fit_ground(points, heights, names(len(np.asarray(heights))))


def rotation(deg: float) -> np.ndarray:
    t = np.deg2rad(deg)
    return np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
