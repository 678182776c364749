# Help, version, and what is typed wrongly.
source "$(dirname "$0")/harness.sh"

for words in "" gas "gas properties" trace "trace peaks" assay "assay calibrate" "assay run" cylinder "cylinder check" look prove demo; do
    # shellcheck disable=SC2086  # the words are meant to be split
    run $words --help
    expect_exit 0
    expect_stderr_lines 0
    expect "the help of \"$words\" shows an example" grep -qE "(Example|Start with): +gaswright $words" .out
done

run --version
expect_exit 0
expect "a version" grep -qE '^gaswright [0-9]+\.[0-9]+\.[0-9]+$' .out

refused "command line" "--help"
refused "command line" "nonsense" nonsense
refused "command line" "nonsense" gas nonsense
refused "command line" "--help" gas
refused "command line" "COMP" gas properties
refused "command line" "two.json" gas properties one.json two.json
refused --nonsense "" gas properties gas.json --nonsense
refused --pressure-kpa "much" gas properties gas.json --pressure-kpa much
refused --pressure-kpa "" gas properties gas.json --pressure-kpa
refused --pressure-kpa "" gas properties "$files/gas.json" --pressure-kpa nan
refused --rate "above zero" trace peaks run.csv --rate -5
refused --discard "" assay calibrate run.csv --method m --cylinder c --discard -1
refused --method "" assay calibrate run.csv --cylinder c
finish
