#!/usr/bin/env bash
# bundle.sh OUT PACKED: types from the API's description, type check, bundle into OUT, each file by brotli into PACKED.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
scripts/install.sh
node scripts/types.mjs
node_modules/.bin/tsc --noEmit
node_modules/.bin/vite build --logLevel warn --outDir "$1" --emptyOutDir
node scripts/brotli.mjs "$1" "$2"
