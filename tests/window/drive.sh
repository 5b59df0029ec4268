#!/usr/bin/env bash
# Drives the real window on a virtual display, takes pictures of it and looks at the file it saved. Needs xvfb, xdotool,
# imagemagick. The places are those of Larkmead Close in a window of 1440 by 900.
# Usage: tests/window/drive.sh PROGRAM FOLDER
set -euo pipefail
program=$(realpath "$1")
plan=$(realpath "$(dirname "$0")/../../sample-plans/larkmead-close.json")
folder=$2
mkdir -p "$folder"
folder=$(realpath "$folder")
copy="$folder/plan.json"
cp "$plan" "$copy"

display=:$((90 + RANDOM % 9000))
Xvfb "$display" -screen 0 1440x900x24 >/dev/null 2>&1 &
xvfb=$!
export DISPLAY=$display
unset WAYLAND_DISPLAY
trap 'kill "${app:-}" "$xvfb" 2>/dev/null || true' EXIT
for _ in $(seq 50); do xdotool getdisplaygeometry >/dev/null 2>&1 && break; sleep 0.1; done

"$program" "$copy" >"$folder/window.log" 2>&1 &
app=$!
window=$(xdotool search --sync --onlyvisible --name Aubergine | tail -1)
xdotool windowmove "$window" 0 0 windowsize "$window" 1440 900
# Without a window manager nobody gives the window the keyboard.
xdotool windowfocus --sync "$window"
sleep 1

shot() { sleep 0.6; import -window root "$folder/$1.png"; }
drag() { # from x y to x y
    xdotool mousemove "$1" "$2"; sleep 0.1; xdotool mousedown 1; sleep 0.1
    for step in 1 2 3 4 5 6 7 8; do
        xdotool mousemove $(($1 + ($3 - $1) * step / 8)) $(($2 + ($4 - $2) * step / 8)); sleep 0.03
    done
    sleep 0.1
    if [ "${5:-}" != hold ]; then xdotool mouseup 1; sleep 0.2; fi
}

shot 01-opened
# Bed B3 three feet to the right, looked at before and after it is let go.
drag 512 530 555 530 hold
shot 02-dragging
xdotool mouseup 1
shot 03-dragged
xdotool key 2; shot 04-pressure
xdotool key 4; shot 05-contact
xdotool key Escape; shot 06-contact-plan
xdotool key F8; shot 07-finding
xdotool key 1
drag 90 345 300 360 hold; shot 08-bed-held; xdotool mouseup 1; shot 09-bed-dropped
drag 90 369 300 360; shot 10-lines-dropped
drag 90 536 420 585 hold; shot 11-filter-held; xdotool mouseup 1; shot 12-filter-inserted
xdotool key p; xdotool mousemove 340 420 click 1; sleep 0.2; xdotool mousemove 420 450; shot 13-run; xdotool key Escape; xdotool key Escape
xdotool key ctrl+o; shot 14-unsaved; xdotool key Escape
xdotool key ctrl+shift+s; sleep 1; shot 15-typed-path; xdotool key Escape
xdotool key F1; shot 16-keys; xdotool key Escape
xdotool key 4; xdotool key F11; shot 17-present; xdotool key Escape; xdotool key n; xdotool mousemove 700 120 click 1; sleep 0.7; xdotool type --delay 40 'Is this drained?'; sleep 1; shot 19-note; xdotool key Escape; sleep 0.7; xdotool key Escape; sleep 0.5
xdotool mousemove 112 20; sleep 0.5; xdotool click 1; sleep 1; xdotool mousemove 128 601; sleep 0.5; xdotool click 1; shot 20-dark; xdotool key 2; shot 21-dark-pressure
xdotool key ctrl+s; shot 18-saved
xdotool key ctrl+q
for _ in $(seq 50); do kill -0 "$app" 2>/dev/null || break; sleep 0.2; done
if kill -0 "$app" 2>/dev/null; then echo "The window did not close." >&2; exit 1; fi
grep -i panicked "$folder/window.log" && exit 1
is_dark() { [ "$(convert "$1" -colorspace gray -format '%[fx:mean<0.4]' info:)" = 1 ]; }
if is_dark "$folder/01-opened.png" || ! is_dark "$folder/20-dark.png"; then echo "The dark look was not chosen." >&2; exit 1; fi
# What was done with the pointer is in the file: bed B3 stands three feet further right, and there is one bed more.
east_of_b3() { grep -A30 '^ *"B3": {' "$1" | grep -m1 '"at_m"' | sed 's/.*\[\([^,]*\),.*/\1/'; }
moved=$(awk -v a="$(east_of_b3 "$plan")" -v b="$(east_of_b3 "$copy")" 'BEGIN { print (b - a > 0.91 && b - a < 0.92) }')
if [ "$moved" != 1 ]; then echo "Bed B3 was not moved by three feet." >&2; exit 1; fi
if [ $(($(grep -c '"use":' "$plan") + 1)) -ne "$(grep -c '"use":' "$copy")" ]; then echo "No bed was dropped." >&2; exit 1; fi
# The filter cut the run that it was dropped on in two.
runs() { grep -c '"role": "lateral"' "$1"; }
if [ $(($(runs "$plan") + 1)) -ne "$(runs "$copy")" ]; then echo "No filter stands in the run." >&2; exit 1; fi
"$program" check "$copy" >/dev/null || test $? -eq 1
echo "pictures in $folder"
