# gaswright look: one printed report, no set-up.
source "$(dirname "$0")/harness.sh"

expect_finding() { expect "finding $1 is $2" finding_is "$1" "$2"; }
finding_is() {
    local i
    for i in {0..40}; do
        [[ $(json "/findings/$i/id" 2>/dev/null) == "$1" ]] || continue
        [[ $(json "/findings/$i/verdict") == "$2" ]] && return 0
    done
    return 1
}

# Factors fall as the molar response of a thermal conductivity detector rises: in order.
cat >report.csv <<'TEXT'
# factor_kind: amount_per_area
component,retention,mole_percent,factor
nitrogen,40,2.5,1.34
methane,60,89.0,1.58
carbon dioxide,80,1.0,1.18
ethane,100,5.0,1.10
propane,120,1.8,0.87
isobutane,140,0.3,0.76
n-butane,160,0.4,0.73
TEXT
run look report.csv --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_finding factor_order meets
expect_finding unnormalised_total meets
run look report.csv
expect_exit 0
expect_out "Factors in the order of the detector"

# Propane and n-butane exchanged: out of order, and the verdict says so.
sed 's/^propane,120,1.8,0.87/propane,120,1.8,0.73/; s/^n-butane,160,0.4,0.73/n-butane,160,0.4,0.87/' report.csv >swapped.csv
run look swapped.csv --json
expect_exit 1
expect_finding factor_order fails
expect_json /verdict fails

# A total of 97 mol% is a finding, not a refusal; beyond 90 to 110 it is no report.
sed 's/89.0/86.0/' report.csv >short.csv
run look short.csv --json
expect_exit 1
expect_finding unnormalised_total fails

# Standard input, certificate beside it, errors.
run_with report.csv look - --json
expect_exit 0
run look "$files/report.csv" --cylinder "$files/cylinder.json" --on 2026-06-01 --json
expect_json
expect_finding expiry meets
run look absent.csv
expect_exit 3
expect_error absent.csv
printf 'component,factor\nphlogiston,1\n' >unknown.csv
refused unknown.csv:2 "phlogiston" look unknown.csv
: >empty.csv
refused empty.csv "" look empty.csv
refused --for "custody" look report.csv --for nonsense
finish
