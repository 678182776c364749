#!/usr/bin/env bash
# refuse.sh FILE COMPILER FLAG...: the file must compile with GW_CORRECT (so that nothing but the
# mistake stops it) and must be refused without.
set -euo pipefail
file=$1
shift
compile() { "$@" -std=c++20 -fsyntax-only -Werror=unused-result "$file"; }

compile "$@" -DGW_CORRECT || {
    echo "the correct use does not compile, so the refusal would prove nothing: $file"
    exit 1
}
if compile "$@" 2>/dev/null; then
    echo "the compiler took the mistake: $file"
    exit 1
fi
