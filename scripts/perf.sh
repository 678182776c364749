# perf_smoke: builds the benchmarks and lets each run as short as it can. No figure is judged: the machine
# is shared. What is judged is that they still build and run; each counts as one.
# shellcheck shell=bash

perf_smoke() {
    local program
    if ! build_preset perf; then
        failed=$((failed + 1))
        return 0
    fi
    for program in build/perf/perf/*_perf; do
        if "$program" --benchmark_min_time=0.001 >"$program.log" 2>&1 </dev/null; then
            passed=$((passed + 1))
        else
            tail -n 20 "$program.log" >&2
            say "the benchmark $program failed: above"
            failed=$((failed + 1))
        fi
    done
}
