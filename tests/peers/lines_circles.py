"""Least-squares lines and circles by numpy and scipy (PyPI), for crates/fit/tests/lines_circles.rs.

    python3 tests/peers/lines_circles.py > crates/fit/tests/data/lines_circles.json

Distances are perpendicular in both cases. Lines `y cos a - x sin a = c` come from the singular value
decomposition of the centred points, which needs no iteration; circles from scipy's
`least_squares(method="lm")`, which is MINPACK. Standard deviations are from the Jacobian at the
solution and the residual variance, the Jacobian by complex steps, not by the formulas of the test.
"""

import json

import numpy as np
import scipy
from scipy.optimize import least_squares


def line_off(p, x, y):
    return y * np.cos(p[0]) - x * np.sin(p[0]) - p[1]


def circle_off(p, x, y):
    return np.sqrt((x - p[0]) ** 2 + (y - p[1]) ** 2) - p[2]


def jacobian(off, p, x, y):
    columns = []
    for i in range(len(p)):
        moved = np.array(p, complex)
        moved[i] += 1e-30j
        columns.append(off(moved, x, y).imag / 1e-30)
    return np.column_stack(columns)


def line(x, y):
    mx, my = x.mean(), y.mean()
    along = np.linalg.svd(np.column_stack([x - mx, y - my]))[2][0]
    a = np.arctan2(along[1], along[0])
    a -= np.pi * np.round(a / np.pi)  # directions, not arrows
    return np.array([a, my * np.cos(a) - mx * np.sin(a)])


def circle(x, y):
    # Algebraic start (a linear problem), then the perpendicular distances themselves.
    m = np.column_stack([2 * x, 2 * y, np.ones_like(x)])
    cx, cy, c = np.linalg.lstsq(m, x**2 + y**2, rcond=None)[0]
    start = [cx, cy, np.sqrt(c + cx**2 + cy**2)]
    tight = dict(xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=10000)
    exact = lambda p: jacobian(circle_off, p, x, y)
    p = least_squares(lambda p: circle_off(p, x, y), start, exact, method="lm", **tight).x
    for _ in range(5):  # linear steps on the library's QR, to the last digits
        p = p - np.linalg.lstsq(exact(p), circle_off(p, x, y), rcond=None)[0]
    return p


def case(name, kind, x, y):
    x, y = np.asarray(x, float), np.asarray(y, float)
    off, p = (line_off, line(x, y)) if kind == "line" else (circle_off, circle(x, y))
    r, j = off(p, x, y), jacobian(off, p, x, y)
    variance = r @ r / (len(x) - len(p))
    singular, turn = np.linalg.svd(j)[1:]
    sd = np.sqrt(variance * ((turn.T / singular) ** 2).sum(axis=1))
    return dict(name=name, kind=kind, points=list(zip(x.tolist(), y.tolist())),
                parameters=p.tolist(), deviations=sd.tolist(), sum_of_squares=float(r @ r))


def arc(rng, cx, cy, radius, start_deg, length_deg, n, noise):
    t = np.radians(start_deg + length_deg * np.arange(n) / (n - 1))
    r = radius + noise * rng.standard_normal(n)
    return np.round(cx + r * np.cos(t), 6), np.round(cy + r * np.sin(t), 6)


def flank(rng, x, y, angle_deg, length, n, noise):
    a, t = np.radians(angle_deg), length * np.arange(n) / n
    o = noise * rng.standard_normal(n)
    return (np.round(x + t * np.cos(a) - o * np.sin(a), 6),
            np.round(y + t * np.sin(a) + o * np.cos(a), 6))


def main():
    rng = np.random.default_rng(1901)
    cases = [
        # K. Pearson, "On lines and planes of closest fit" (1901), the ten points of his example.
        case("pearson", "line", [0, .9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4],
             [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]),
        # Gander, Golub, Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994).
        case("gander", "circle", [1, 2, 5, 7, 9, 3], [7, 6, 8, 7, 5, 7]),
    ]
    for angle in (0, 14.5, 45, 60, 89.9, -75):
        points = flank(rng, 2310.7, 1204.3, angle, 160, 160, 0.05)
        cases.append(case(f"flank at {angle} degrees", "line", *points))
    cases.append(case("three points", "line", [1500, 1501, 1502], [700, 700.2, 700.1]))
    for radius, length, noise in ((40, 360, 0.05), (6.5, 120, 0.05), (55, 100, 0.3), (400, 15, 0.02)):
        points = arc(rng, 1803.2, 911.9, radius, 37, length, 120, noise)
        cases.append(case(f"arc of {length} degrees, radius {radius}", "circle", *points))
    source = f"tests/peers/lines_circles.py with numpy {np.__version__} and scipy {scipy.__version__}"
    rows = ",\n".join(json.dumps(c) for c in cases)
    print(f'{{"source": "{source}", "cases": [\n{rows}\n]}}')


main()
