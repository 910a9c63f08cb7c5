"""Times of ours, from file to fitted form, beside OpenCV merely looking at the same picture.

    cargo run --release -p lamp --example big -- DIR
    cargo build --release -p fit --example stopwatch
    python3 tests/peers/read_speed.py DIR target/release/examples/stopwatch

OpenCV (PyPI opencv-python-headless) with one thread: `imread` in grey, `GaussianBlur` (5 x 5,
sigma 1.2), `Canny` (50, 150), `findContours` (all points kept). That is its quickest way; read as
`imread` reads when told nothing else, in colour, and then turned grey, it is shown beside. Medians of seven runs each, the two
taking turns, so that whatever else the machine does falls on both. Ratios, not times, are the
result; on a busy machine those by processor time, and none for the two threads.
"""

import json
import os
import statistics
import subprocess
import sys
import time

import cv2

BAR_MM = "6.0"  # the rod in all pictures of the example `big`
RUNS = 7
# Of ours in one process each time: the peer, too, finds its memory where it left it.
WARM = ("--runs", "5")


def peer(path, colour=False):
    start, busy = time.perf_counter(), time.thread_time()
    if colour:
        grey = cv2.cvtColor(cv2.imread(path), cv2.COLOR_BGR2GRAY)
    else:
        grey = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    read = time.perf_counter()
    edges = cv2.Canny(cv2.GaussianBlur(grey, (5, 5), 1.2), 50, 150)
    cv2.findContours(edges, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    spent = time.perf_counter() - start, read - start, time.thread_time() - busy
    return [1e3 * s for s in spent]


def ours(stopwatch, *words):
    out = subprocess.run([stopwatch, *words], check=True, capture_output=True, text=True)
    return json.loads(out.stdout)


def main(directory, stopwatch):
    cv2.setNumThreads(1)
    path = {name: os.path.join(directory, f"{name}.jpg") for name in ("12mp", "48mp")}
    load = lambda: f"{os.getloadavg()[0]:.1f}"
    before = load()
    peer(path["12mp"])
    times, coloured, runs, both = [], [], {"12mp": [], "48mp": []}, []
    for _ in range(RUNS):
        times.append(peer(path["12mp"]))
        coloured.append(peer(path["12mp"], colour=True))
        for name in runs:
            runs[name].append(ours(stopwatch, path[name], BAR_MM, *WARM))
        both.append(ours(stopwatch, path["12mp"], BAR_MM, *WARM, "--threads", "2")["ms"])
    whole, read, busy = (statistics.median(t) for t in zip(*times))
    colour, _, colour_busy = (statistics.median(t) for t in zip(*coloured))
    median = lambda name, what="ms": statistics.median(r[what] for r in runs[name])
    folder = {n: [] for n in (1, 2)}
    for _ in range(3):
        for n in folder:
            words = ("--folder", os.path.join(directory, "folder"), BAR_MM, "--threads", str(n))
            folder[n].append(ours(stopwatch, *words))
    one, two = (statistics.median(r["ms"] for r in folder[n]) for n in (1, 2))
    pictures, failed = folder[1][0]["pictures"], folder[1][0]["failed"]
    memory = {name: max(r["peak_bytes"] / r["pixels"] for r in runs[name]) for name in runs}
    print(f"OpenCV {cv2.__version__}, one thread; load {before} before, {load()} after\n")
    print("| what | ms | of which on a processor |\n|---|---|---|")
    print(f"| OpenCV, 12 MP: read, blur, Canny, findContours | {whole:.0f} | {busy:.0f} |")
    print(f"| of which reading | {read:.0f} | |")
    print(f"| the same, read in colour and turned grey | {colour:.0f} | {colour_busy:.0f} |")
    for name in runs:
        parts = ", ".join(f"{p} {median(name, p + '_ms'):.0f}" for p in ("open", "trace", "find", "fit"))
        print(f"| ours, {name[:2]} MP: file to form ({parts}) "
              f"| {median(name):.0f} | {median(name, 'busy_ms'):.0f} |")
    shared = statistics.median(both)
    print(f"| ours, 12 MP, on two threads | {shared:.0f} | |")
    print(f"| ours, folder of {pictures} at 12 MP, one thread ({failed} failed) | {one:.0f} | |")
    print(f"| the same on two threads | {two:.0f} | |\n")
    large, small = ((median(n), median(n, "busy_ms")) for n in ("48mp", "12mp"))
    print("| ratio | value | by processor time | limit |\n|---|---|---|---|")
    print(f"| ours on one thread / OpenCV at 12 MP | {small[0] / whole:.2f} | {small[1] / busy:.2f} | 1.5 (goal 1.0) |")
    print(f"| ours on two threads / OpenCV on one | {shared / whole:.2f} | | |")
    print(f"| ours on one thread / OpenCV reading colour | {small[0] / colour:.2f} | {small[1] / colour_busy:.2f} | |")
    print(f"| 48 MP / 12 MP | {large[0] / small[0]:.2f} | {large[1] / small[1]:.2f} | 4.5 |")
    for name in runs:
        print(f"| peak memory / decoded grey picture, {name[:2]} MP | {memory[name]:.2f} | | 5 |")
    print(f"| one thread / two threads, folder of {pictures} | {one / two:.2f} | | at least 1.7 |")


main(*sys.argv[1:3])
