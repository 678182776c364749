#!/usr/bin/env bash
# bundle.sh OUT: types from the API's description, type check, bundle into OUT.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
scripts/install.sh
node scripts/types.mjs
node_modules/.bin/tsc --noEmit
node_modules/.bin/vite build --logLevel warn --outDir "$1" --emptyOutDir
