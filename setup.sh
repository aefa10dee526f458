#!/usr/bin/env bash
# Installs what StreakTrack needs from the system and what a bare Debian or Ubuntu lacks. Safe to run again: does nothing when all is there.
#   ./setup.sh          to build and run
#   ./setup.sh --dev    also to run the tests: ffmpeg (second reader, encoder of test clips), Chromium, Node.js and npm (browser tests)
set -euo pipefail

run_packages=(libgtk-3-0 libdrm2 libatomic1)   # what the native OpenCV library of the NuGet package links against
dev_packages=(ffmpeg chromium nodejs npm)
node_folder=tests/StreakTrack.Worksheet.Browser   # its package.json names the accessibility rules and the type checker

usage() { sed -n '2,4s/^# \{0,1\}//p' "$0"; }
say() { printf 'setup: %s\n' "$*"; }

dev=false
for argument in "$@"; do
    case "$argument" in
        --dev) dev=true ;;
        -h|--help) usage; exit 0 ;;
        *) printf 'setup: unknown option %s (known: --dev)\n' "$argument" >&2; exit 2 ;;
    esac
done

wanted=("${run_packages[@]}")
if $dev; then wanted+=("${dev_packages[@]}"); fi

if command -v dotnet >/dev/null 2>&1 && dotnet --list-sdks 2>/dev/null | grep -q '^10\.'; then
    say "the .NET 10 SDK is there"
else
    say "the .NET 10 SDK is missing: install it first, see https://learn.microsoft.com/dotnet/core/install/"
    missing_sdk=true
fi

if ! command -v dpkg-query >/dev/null 2>&1 || ! command -v apt-get >/dev/null 2>&1; then
    say "this is no Debian or Ubuntu system. Install by hand what corresponds to:"
    say "  GTK 3, libdrm and libatomic (to run)"
    if $dev; then say "  ffmpeg 5.1 or newer, Chromium, Node.js 18 or newer and npm (to test)"; fi
    exit 1
fi

# Ubuntu 24.04 and later, and Debian 13, renamed the GTK package for 64-bit time stamps; the old name may be a virtual one there.
installed() {
    dpkg-query -W -f='${db:Status-Status}\n' "$1" 2>/dev/null | grep -qx installed \
        || dpkg-query -W -f='${db:Status-Status}\n' "$1t64" 2>/dev/null | grep -qx installed
}

provided() {   # the package, or for programs of the tests the program from wherever it came
    case "$1" in
        ffmpeg) command -v ffmpeg >/dev/null 2>&1 && command -v ffprobe >/dev/null 2>&1 ;;
        chromium) command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 ;;
        nodejs) command -v node >/dev/null 2>&1 ;;
        npm) command -v npm >/dev/null 2>&1 ;;
        *) installed "$1" ;;
    esac
}

missing=()
for package in "${wanted[@]}"; do provided "$package" || missing+=("$package"); done

if [ "${#missing[@]}" -eq 0 ]; then
    say "nothing to install: ${wanted[*]} are there"
else
    as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null 2>&1; then
            say "${missing[*]} are missing, and this is neither root nor is there sudo. As root, run:"
            say "  apt-get install --no-install-recommends ${missing[*]}"
            exit 1
        fi
        as_root=(sudo)
    fi
    say "installing ${missing[*]}"
    export DEBIAN_FRONTEND=noninteractive
    # Old package lists name versions that are gone; a failed refresh still leaves the old lists to try.
    "${as_root[@]}" apt-get update -q || say "the package lists could not be refreshed; trying with those that are there"
    "${as_root[@]}" apt-get install -q -y --no-install-recommends "${missing[@]}"
fi

if $dev; then
    cd "$(dirname "$0")"
    # npm notes in this file what it has installed.
    if [ "$node_folder/node_modules/.package-lock.json" -nt "$node_folder/package-lock.json" ]; then
        say "the browser tests' npm packages are there"
    else
        npm ci --prefix "$node_folder" --no-audit --no-fund
    fi
fi

if [ "${missing_sdk:-false}" = true ]; then exit 1; fi
say "done"
