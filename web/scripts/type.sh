#!/usr/bin/env bash
# type.sh: makes the page's type, src/type/*.woff2, anew from the package that publishes it. Not part of the build: run
# it when the type is to change. Needs python3-fonttools and python3-brotli (Debian).
# What is left out: hinting (programs that fit stems to the pixels of a screen; today's browsers smooth letters by
# themselves, and it is 40 % of the file), alternate forms, and nothing of the letters. Source and licence: SIL Open Font
# Licence 1.1, public/type-licence.txt; it reserves no name.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
npm pack --silent --pack-destination "$work" @fontsource/atkinson-hyperlegible@5.2.8 >/dev/null
tar -xzf "$work"/*.tgz -C "$work"
for weight in 400 700; do
    /usr/bin/python3 -m fontTools.subset \
        "$work/package/files/atkinson-hyperlegible-latin-$weight-normal.woff2" \
        --unicodes='*' --no-hinting --layout-features=kern --flavor=woff2 \
        --output-file="src/type/atkinson-hyperlegible-$weight.woff2"
done
cp "$work/package/LICENSE" public/type-licence.txt
