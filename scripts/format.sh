# unformatted FILE...: prints those whose form is not that of .clang-format.
# sources: every C++ file of the tree that git knows.
# shellcheck shell=bash

clang_format() { if command -v clang-format-14 >/dev/null; then clang-format-14 "$@"; else clang-format "$@"; fi; }

sources() { git -C "$root" ls-files '*.cpp' '*.hpp'; }

unformatted() {
    local file
    for file in "$@"; do
        clang_format --style=file --dry-run -Werror "$file" 2>/dev/null || printf '%s\n' "$file"
    done
}
