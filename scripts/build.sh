# build_preset PRESET [TARGET...]: configures and builds, quietly; the whole output is kept in
# build/PRESET/build.log and its end is shown when something fails.
# test_preset PRESET: runs its tests and adds to `passed` and `failed`.
# shellcheck shell=bash
# shellcheck disable=SC2034  # the counts are read by ./test

passed=0
failed=0

# The thread sanitizer of this compiler needs addresses that the kernel does not shuffle. Its test
# programs run during the build too, when their tests are listed.
wrapper_of() {
    if [[ $1 == tsan ]] && setarch -R true 2>/dev/null; then printf 'setarch\n-R\n'; fi
}

build_preset() {
    local preset=$1 wrapper targets=() began=$SECONDS
    shift
    [[ $# -eq 0 ]] || targets=(--target "$@")
    mapfile -t wrapper < <(wrapper_of "$preset")
    local log="build/$preset/build.log"
    mkdir -p "build/$preset"
    say "building $preset"
    if ! {
        "${wrapper[@]}" cmake --preset "$preset" &&
            "${wrapper[@]}" cmake --build --preset "$preset" "${targets[@]}"
    } >"$log" 2>&1 </dev/null; then
        tail -n 60 "$log" >&2
        say "building $preset failed: the end is above, the whole in $log"
        return 1
    fi
    local seconds=$((SECONDS - began))
    [[ $seconds -lt 3 ]] || say "built $preset in $seconds s"
}

test_preset() {
    local preset=$1 wrapper summary
    mapfile -t wrapper < <(wrapper_of "$preset")
    local log="build/$preset/test.log"
    say "testing $preset"
    "${wrapper[@]}" ctest --preset "$preset" >"$log" 2>&1 </dev/null || true  # judged by its summary
    # "99% tests passed, 2 tests failed out of 299": a test that could not run counts as failed.
    summary=$(grep -E '^[0-9]+% tests passed, [0-9]+ tests failed out of [0-9]+$' "$log") || summary=
    if [[ -z $summary ]]; then
        tail -n 40 "$log" >&2
        say "testing $preset ended without a summary: the end is above, the whole in $log"
        failed=$((failed + 1))
        return 0
    fi
    local words bad
    read -ra words <<<"$summary"
    bad=${words[3]}
    passed=$((passed + words[8] - bad))
    failed=$((failed + bad))
    [[ $bad -eq 0 ]] || {
        grep -vE '^ +Start +[0-9]+:| Passed +[0-9.]+ sec' "$log" | grep -v '^$' | tail -n 200 >&2
        say "testing $preset: $bad failed, above; the whole in $log"
    }
}

# check NAME COMMAND...: one check of ./test --all that is not a test program.
check() {
    local what=$1
    shift
    if "$@"; then passed=$((passed + 1)); else
        failed=$((failed + 1))
        say "$what failed"
    fi
}
