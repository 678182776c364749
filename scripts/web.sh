# The tests of the page; each adds to `passed` and `failed`. web/node_modules is there once the program
# is built.
# shellcheck shell=bash

web_tool() { (cd "$root/web" && scripts/install.sh && node scripts/types.mjs && "node_modules/.bin/$1" "${@:2}"); }

# Pure functions of web/src/lib, by Vitest: one a test.
web_unit_tests() {
    local log=build/web-test.json good bad
    say "testing the page's functions"
    mkdir -p build
    rm -f "$log"  # an old answer must not stand for a new one
    web_tool vitest run --reporter=json --outputFile="$root/$log" >build/web-test.log 2>&1 </dev/null || true
    read -r good bad < <(node -e '
        const { numPassedTests, numFailedTests, numFailedTestSuites } = JSON.parse(require("fs").readFileSync(process.argv[1]));
        console.log(numPassedTests, Math.max(numFailedTests, numFailedTestSuites));' "$log" 2>/dev/null) || good=0 bad=1
    [[ $good -gt 0 ]] || bad=$((bad > 0 ? bad : 1))  # a run without tests has shown nothing
    passed=$((passed + good))
    failed=$((failed + bad))
    [[ $bad -eq 0 ]] || {
        tail -n 60 build/web-test.log >&2
        say "testing the page's functions: $bad failed"
    }
}

web_lint() { check "web lint" web_tool biome ci .; }

# The page in a browser, one journey after another; pictures in build/screens.
web_journey() {
    local journey
    say "walking through the page in a browser"
    for journey in tests/journeys/*.mjs; do
        [[ $journey == */browser.mjs ]] && continue  # what they share
        check "the page in a browser: $(basename "$journey" .mjs)" node "$journey" build/release/gaswright build/screens
    done
}
