#!/usr/bin/env bash
# Starts the program in a virtual display, sends it mouse and keys, takes pictures of what it shows.
#
#   tests/window.sh FOLDER WIDTHxHEIGHT PROGRAM [ARGUMENT …] <<'STEPS'
#   sleep 3
#   shot first                 # FOLDER/first.png
#   mousemove 300 200 click 1  # anything xdotool understands
#   close                      # asks the window to close, as its close button would
#   STEPS
#
# Succeeds when every step did and, after `close`, the program ended by itself with status 0.
# The program gets an empty home, so that it starts as it does for a newcomer.
# Debian: xvfb xdotool imagemagick libgl1-mesa-dri libegl1 libxkbcommon-x11-0 python3
set -euo pipefail

folder=$1 size=$2
shift 2
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$folder"
home=$(mktemp -d)
program='' server=''
end() {
    [ -z "$program" ] || kill "$program" 2>/dev/null || true
    [ -z "$server" ] || kill "$server" 2>/dev/null || true
    rm -rf "$home"
}
trap end EXIT
fail() {
    echo "window.sh: $1" >&2
    sed 's/^/  program: /' "$folder/program.log" >&2
    exit 1
}

export LIBGL_ALWAYS_SOFTWARE=1
unset WAYLAND_DISPLAY WAYLAND_SOCKET

# Starts a server on the display it picks itself, or on the one that is named, and succeeds once a
# client is answered: servers that start side by side may pick the same number, and one of them ends.
serve() {
    : >"$home/display"
    Xvfb "$@" -displayfd 3 -screen 0 "${size}x24" -nolisten tcp \
        3>"$home/display" 2>>"$folder/server.log" &
    server=$!
    for _ in $(seq 200); do
        kill -0 "$server" 2>/dev/null || break
        number=$(cat "$home/display")
        if [ -n "$number" ]; then
            export DISPLAY=":$number"
            [ "$(timeout 10 xdotool getdisplaygeometry 2>/dev/null)" != "${size/x/ }" ] || return 0
        fi
        sleep 0.1
    done
    kill "$server" 2>/dev/null || true
    wait "$server" 2>/dev/null || true
    server=''
    return 1
}
: >"$folder/server.log"
serve || serve || serve ":$((100 + RANDOM % 800))" || serve ":$((100 + RANDOM % 800))" || {
    echo "window.sh: no display came up" >&2
    sed 's/^/  server: /' "$folder/server.log" >&2
    exit 1
}

env HOME="$home" XDG_STATE_HOME="$home/state" XDG_CONFIG_HOME="$home/config" \
    XDG_DATA_HOME="$home/data" "$@" >"$folder/program.log" 2>&1 &
program=$!
window=''
for _ in $(seq 300); do
    kill -0 "$program" 2>/dev/null || fail "the program ended before it showed a window"
    window=$(xdotool search --onlyvisible --pid "$program" 2>/dev/null | tail -n 1 || true)
    [ -n "$window" ] && break
    sleep 0.1
done
[ -n "$window" ] || fail "no window within 30 s"
sleep 1
xdotool windowfocus "$window" # there is no window manager here: without focus no key arrives

while read -r verb rest; do
    case "$verb" in
        '' | \#*) ;;
        sleep) sleep "$rest" ;;
        shot) import -window root "$folder/$rest.png" ;;
        close)
            python3 "$here/close_window.py" "$window"
            for _ in $(seq 100); do kill -0 "$program" 2>/dev/null || break; sleep 0.1; done
            ! kill -0 "$program" 2>/dev/null || fail "still there 10 s after it was asked to close"
            status=0
            wait "$program" || status=$?
            program=''
            [ "$status" = 0 ] || fail "ended with status $status"
            exit 0
            ;;
        # shellcheck disable=SC2086 — a step is several arguments
        *) xdotool $verb $rest ;;
    esac
    kill -0 "$program" 2>/dev/null || fail "the program ended during \"$verb $rest\""
done
