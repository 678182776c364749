#!/usr/bin/env bash
# install.sh: brings web/node_modules to what package-lock.json says; nothing to do when it is there.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
command -v npm >/dev/null || {
    echo "web: npm is missing; apt-get install nodejs npm, or run ./run, which does" >&2
    exit 1
}
state="$(sha256sum <package-lock.json) node $(node --version)"
stamp=node_modules/.installed
exec 9>.install.lock
flock 9  # two builds at once share the folder
[[ -f $stamp && $(<"$stamp") == "$state" ]] && exit 0
for attempt in 1 2 3; do
    if npm ci --no-audit --no-fund --loglevel=error; then
        printf '%s' "$state" >"$stamp"
        exit 0
    fi
    echo "web: npm ci failed, attempt $attempt of 3" >&2
    sleep $((attempt * 3))
done
exit 1
