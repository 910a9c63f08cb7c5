"""Writes jpeg/*.jpg: one part of a demonstration picture as encoders write it in several ways.
Run in this folder, with Pillow: python3 jpegs.py"""
from PIL import Image

part = Image.open("../../../../demo-projects/slit/slit.jpg").convert("RGB").crop((700, 500, 1003, 727))
grey = part.convert("L")
for name, image, how in [
    ("progressive", part, dict(progressive=True)),
    ("progressive-grey", grey, dict(progressive=True, optimize=True)),
    ("grey", grey, dict()),
    ("full-colour", part, dict(subsampling=0)),
    ("half-colour", part, dict(subsampling=1, optimize=True)),
    ("restart-rows", part, dict(subsampling=2, restart_marker_rows=1)),
    ("restart-blocks", part, dict(subsampling=2, restart_marker_blocks=7)),
    ("progressive-restarts", part, dict(progressive=True, restart_marker_blocks=5)),
    ("coarse", part, dict(quality=20)),
    ("finest", part, dict(quality=100)),
]:
    image.save(f"jpeg/{name}.jpg", **({"quality": 90} | how))
