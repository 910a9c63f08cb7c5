#!/usr/bin/env bash
# Frame times of a real window on a 48-megapixel picture under software GL: wheel and dragging for
# half a minute, then the window's own report (FLANKLIGHT_FRAMES).
#
#   crates/workbench/benches/real_window.sh [WIDTHxHEIGHT]
#
# Builds what it needs in release mode. Needs what tests/window.sh needs.
set -euo pipefail
size=${1:-1920x1080}
root=$(cd "$(dirname "$0")/../../.." && pwd)
target=${CARGO_TARGET_DIR:-$root/target}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$root"
cargo build --release -q -p workbench --bin flanklight
cargo bench -q -p workbench --bench frames -- --picture "$folder/large.jpg"
{
    echo "sleep 6"
    echo "key ctrl+a type --delay 20 6mm"
    echo "key Return sleep 6"
    for turn in $(seq 12); do
        button=$((turn % 2 ? 4 : 5))
        echo "mousemove $((300 + 30 * turn)) 400 click --repeat 8 --delay 40 $button"
        echo "mousemove 500 400 mousedown 1"
        for i in $(seq 12); do echo "mousemove $((500 + 20 * i)) $((400 + 10 * i)) sleep 0.02"; done
        echo "mouseup 1"
    done
    # Nothing unsaved is left, so that it closes without asking.
    echo "key Escape sleep 0.5 key ctrl+z sleep 4"
    echo close
} | FLANKLIGHT_FRAMES=$folder/report bash tests/window.sh "$folder/shots" "$size" \
    "$target/release/flanklight" open "$folder/large.jpg"
cat "$folder/report"
