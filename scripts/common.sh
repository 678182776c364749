# Sourced by ./run, ./test and the other scripts: where the tree is, and how to speak.
# shellcheck shell=bash
set -euo pipefail

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"

name=${0##*/}  # for messages: run, test

say() { printf '%s: %s\n' "$name" "$*" >&2; }
die() {
    say "$*"
    exit 1
}

# One job a core, unless the user said otherwise in cmake's own variable.
export CMAKE_BUILD_PARALLEL_LEVEL=${CMAKE_BUILD_PARALLEL_LEVEL:-$(nproc)}
