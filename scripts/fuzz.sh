# fuzz_smoke SECONDS: every fuzz target over a copy of its corpus for that long. One check a target.
# What breaks a promise is left in build/fuzz/finds/; once mended, it goes into tests/regressions/.
# shellcheck shell=bash

fuzz_one() {
    local target=$1 seconds=$2 reader=${1##*/fuzz_} work
    work=build/fuzz/grown/$reader
    mkdir -p "$work" build/fuzz/finds
    local log=build/fuzz/$reader.log
    say "fuzzing $reader for $seconds s"
    "$target" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -print_final_stats=1 \
        -artifact_prefix="build/fuzz/finds/$reader-" "$work" "fuzz/corpus/$reader" >"$log" 2>&1 </dev/null || {
        grep -E '^(==|SUMMARY|artifact_prefix)|#[0-9] ' "$log" | head -n 30 >&2
        return 1
    }
}

fuzz_smoke() {
    local target
    build_preset fuzz fuzzers || {
        failed=$((failed + 1))
        return 0
    }
    for target in build/fuzz/fuzz/fuzz_*; do
        [[ -f $target && -x $target ]] || continue
        check "fuzzing ${target##*/fuzz_}" fuzz_one "$target" "$1"
    done
}
