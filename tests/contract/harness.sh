# Sourced by every script of this folder: runs the program as a user would and holds what it prints
# against what is promised. A script is a list of sentences; the first that does not hold is printed
# with what the program said, and the script goes on, so that one run shows all.
#
#   run gas properties gas.json       the program; keeps exit code, standard output, standard error
#   run_with FILE gas properties -    the same with FILE as standard input
#   expect_exit 0                     ... then any number of these
#   expect_out TEXT / expect_no_out   standard output holds TEXT / is empty
#   expect_stderr_lines N
#   expect_error WHERE [TEXT]         exactly one line on standard error "gaswright: WHERE: ...TEXT...",
#                                     nothing on standard output
#   expect_json                       standard output is one JSON document and nothing else
#   expect_json /a/0/b TEXT           the value there, as JSON text ("null", "true", "12.5", "word")
#   expect_near /a/0/b VALUE WITHIN   a number there
#   json /a/0/b                       prints the value there
#   expect_no_file PATH
# shellcheck shell=bash
set -uo pipefail

: "${GASWRIGHT:?the program under test}" "${JSON_TOOL:?the reader of JSON}"
files=$(cd "$(dirname "${BASH_SOURCE[0]}")/files" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

checks=0
bad=0
code=0
ran=

run_with() {
    local input=$1
    shift
    ran="gaswright $*"
    code=0
    "$GASWRIGHT" "$@" <"$input" >"$work/.out" 2>"$work/.err" || code=$?
}

run() { run_with /dev/null "$@"; }

expect() {  # $1: what was expected; the rest: a command that says whether it holds
    local sentence=$1
    shift
    checks=$((checks + 1))
    "$@" && return 0
    bad=$((bad + 1))
    {
        echo "NOT SO: $sentence"
        echo "  of: ${ran:0:300} (exit code $code)"
        head -n 4 "$work/.out" | cut -c 1-300 | sed 's/^/  out: /'
        head -n 4 "$work/.err" | cut -c 1-300 | sed 's/^/  err: /'
    } >&2
}

err_lines() { wc -l <"$work/.err"; }
is_one_line_error() {
    [[ $(err_lines) -eq 1 && $(tail -c 1 "$work/.err" | wc -l) -eq 1 && ! -s $work/.out ]] &&
        [[ $(<"$work/.err") == "gaswright: $1: "* && $(<"$work/.err") == *"$2"* ]]
}
json_equals() { [[ $("$JSON_TOOL" get "$1" <"$work/.out" 2>/dev/null) == "$2" ]]; }

expect_exit() { expect "exit code $1" test "$code" -eq "$1"; }
expect_out() { expect "standard output holds \"$1\"" grep -qF -- "$1" "$work/.out"; }
expect_no_out() { expect "standard output is empty" test ! -s "$work/.out"; }
expect_stderr_lines() { expect "$1 lines on standard error" test "$(err_lines)" -eq "$1"; }
expect_error() { expect "one error line at \"$1\" with \"${2:-}\"" is_one_line_error "$1" "${2:-}"; }
expect_no_file() { expect "no file $1" test ! -e "$1"; }
expect_file() { expect "a file $1" test -s "$1"; }

json() { "$JSON_TOOL" get "$1" <"$work/.out"; }
expect_json() {
    if [[ $# -eq 0 ]]; then
        expect "standard output is one JSON document" "$JSON_TOOL" valid <"$work/.out"
    else
        expect "JSON $1 is $2" json_equals "$1" "$2"
    fi
}
expect_near() { expect "JSON $1 is $2 within $3" "$JSON_TOOL" near "$1" "$2" "$3" <"$work/.out"; }

# A refusal of bad input, in one breath: run it, exit code 2, one line at WHERE with TEXT.
refused() {
    local where=$1 text=$2
    shift 2
    run "$@"
    expect_exit 2
    expect_error "$where" "$text"
}

# A trace in the program's own CSV on standard output: Gaussian peaks on a drifting baseline, with
# noise that is the same for the same seed. $1: seed; $2: factor on every area (1).
# nitrogen, methane, ethane, carbon dioxide and propane of files/method.json, areas in mV s.
make_trace() {
    awk -v seed="$1" -v scale="${2:-1}" 'BEGIN {
        n = split("40 60 85 110 140", apex)
        split("1.0 1.2 1.5 1.8 2.0", sigma)
        split("50 800 200 30 120", area)
        print "# unit: mV\ntime_s,signal"
        for (i = 0; i < 4000; ++i) {
            t = i * 0.04
            u = 0  # the sum of twelve uniform numbers less six is all but normal
            for (k = 0; k < 12; ++k) { seed = (seed * 16807) % 2147483647; u += seed / 2147483647 }
            s = 2 + 0.002 * t + 0.01 * (u - 6)
            for (p = 1; p <= n; ++p)
                s += scale * area[p] / (sigma[p] * 2.5066282746) * exp(-0.5 * ((t - apex[p]) / sigma[p]) ^ 2)
            printf "%.2f,%.5f\n", t, s
        }
    }'
}

# The end of every script.
finish() {
    echo "$checks checks, $bad not so"
    [[ $bad -eq 0 && $checks -gt 0 ]]
}
