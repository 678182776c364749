# A file argument "-" is standard input; a closed pipe is a fault of the output.
source "$(dirname "$0")/harness.sh"

run gas properties "$files/gas.json" --json
cp .out from_file
run_with "$files/gas.json" gas properties - --json
expect_exit 0
expect "standard input gives the same answer" cmp -s from_file .out

run_with "$files/cylinder.json" cylinder check - --on 2026-06-01 --json
expect_exit 0
expect_json /verdict meets

make_trace 5 >run.csv
run_with run.csv trace peaks - --json
expect_exit 0
expect_near /peaks/1/apex_s 60 0.03

echo '{"unit": "ppm", "components": {}}' >bad.json
run_with bad.json gas properties -
expect_exit 2
expect_error "standard input:unit" "ppm"
run gas properties -
expect_exit 2
expect_error "standard input" "empty"

if [[ -w /dev/full ]]; then
    code=0
    "$GASWRIGHT" gas properties "$files/gas.json" >/dev/full 2>.err || code=$?
    : >.out
    ran="gaswright gas properties gas.json >/dev/full"
    expect_exit 3
    expect_stderr_lines 1
fi
finish
