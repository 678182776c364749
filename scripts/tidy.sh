# tidy_sources: clang-tidy over src/, as many files at once as there are cores. Adds one check a
# file to `passed` and `failed`; findings go to standard error.
# shellcheck shell=bash

clang_tidy() { if command -v clang-tidy-14 >/dev/null; then clang-tidy-14 "$@"; else clang-tidy "$@"; fi; }

tidy_one() {  # prints only findings: the count of suppressed warnings is no news
    local file=$1 out
    if ! out=$(clang_tidy --quiet -p "$root/build/tidy" "$file" 2>/dev/null); then
        printf '%s\n' "$out" >&2
        printf 'finding %s\n' "$file"
    fi
}

tidy_sources() {
    local files with_findings=0
    build_preset tidy gw_generated || {
        failed=$((failed + 1))
        return 0
    }
    say "reading src/ with clang-tidy"
    mapfile -t files < <(git ls-files 'src/*.cpp')
    export -f tidy_one clang_tidy
    export root
    with_findings=$(printf '%s\0' "${files[@]}" |
        xargs -0 -n 1 -P "$CMAKE_BUILD_PARALLEL_LEVEL" bash -c 'tidy_one "$1"' _ | wc -l)
    failed=$((failed + with_findings))
    passed=$((passed + ${#files[@]} - with_findings))
}
