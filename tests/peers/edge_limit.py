"""A general-purpose sub-pixel contour beside our own edges, on the same pictures.

    cargo run --release -p picture --example edge_limit -- DIR
    python3 tests/peers/edge_limit.py DIR

scikit-image's `find_contours` (PyPI) gets every advantage a careful user would give it: the
pictures in linear light, its level half-way between the medians of dark and light; once as they are
and once smoothed by a Gaussian of 1 px. Spreads are in units of the Cramér-Rao bound derived in
crates/picture/docs/edge-limit.md: of points against that of one row or column of pixels, of straight
lines laid through 70 px of edge against that of the stretch, levels known. Smoothing trades noise
along the edge between neighbours, so points of a smoothed picture may lie below a bound that is for
one row or column; lines may not. Bias is the larger mean of the two sides.
"""

import csv
import math
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np
import skimage
from skimage.filters import gaussian, threshold_otsu
from skimage.io import imread
from skimage.measure import find_contours

# As in the example that drew the pictures.
MIDDLE, HALF_WIDTH = (200.3, 199.6), 40.0
STRETCHES = [(-140, -70), (-70, 0), (0, 70), (70, 140)]


def linear(samples):
    v = samples / 65535.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def add(found, light, angle):
    split = threshold_otsu(light)
    level = 0.5 * (np.median(light[light < split]) + np.median(light[light >= split]))
    points = np.vstack(find_contours(light, level)) + 0.5  # (row, column) of pixel centres
    s, c = math.sin(angle), math.cos(angle)
    dx, dy = points[:, 1] - MIDDLE[0], points[:, 0] - MIDDLE[1]
    along, out = dx * c + dy * s, dy * c - dx * s
    for side, sign in enumerate((-1, 1)):
        for low, high in STRETCHES:
            off = sign * out - HALF_WIDTH
            near = (along > low) & (along < high) & (abs(off) < 3)
            found["points", side].extend(off[near])
            line = np.polyfit(along[near] - 0.5 * (low + high), off[near], 1)
            found["lines", side].append(line[1])


def summary(found, bounds):
    bias = max((np.mean(found["points", side]) for side in (0, 1)), key=abs)
    spread = {
        what: math.sqrt(np.mean([np.var(found[what, side], ddof=1) for side in (0, 1)]))
        for what in ("points", "lines")
    }
    return bias, spread["points"] / bounds[0], spread["lines"] / bounds[1]


def main(directory):
    settings, bounds = {}, {}
    for row in csv.DictReader(open(directory / "pictures.csv")):
        key = (row["blur_px"], row["angle_deg"])
        raw, smooth = settings.setdefault(key, (defaultdict(list), defaultdict(list)))
        bounds[key] = float(row["cut_bound_px"]), float(row["stretch_bound_px"])
        light = linear(imread(directory / row["file"]).astype(float))
        angle = math.radians(float(row["angle_deg"]))
        add(raw, light, angle)
        add(smooth, gaussian(light, 1.0), angle)
    ours = {(r["blur_px"], r["angle_deg"]): r for r in csv.DictReader(open(directory / "ours.csv"))}
    print(f"scikit-image {skimage.__version__}, numpy {np.__version__}\n")
    print("| blur px | slope | ours: bias px | points | lines "
          "| find_contours: bias px | points | lines | smoothed: bias px | points | lines |")
    print("|" + "---|" * 11)
    worst = np.zeros((3, 3))
    for key, (raw, smooth) in settings.items():
        own = ours[key]
        rows = [tuple(float(own[k]) for k in ("bias_px", "point_ratio", "line_ratio")),
                summary(raw, bounds[key]), summary(smooth, bounds[key])]
        worst = np.maximum(worst, np.abs(rows))
        cells = " | ".join(f"{b:+.4f} | {p:.2f} | {l:.2f}" for b, p, l in rows)
        print(f"| {key[0]} | {key[1]}° | {cells} |")
    cells = " | ".join(f"{b:.4f} | {p:.2f} | {l:.2f}" for b, p, l in worst)
    print(f"| worst | | {cells} |")


main(Path(sys.argv[1]))
