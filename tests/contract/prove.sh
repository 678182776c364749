# gaswright prove: runs on a proving gas made here, right and wrong.
source "$(dirname "$0")/harness.sh"

position_of() {
    local i
    for i in {0..60}; do
        [[ $(json "/findings/$i/id" 2>/dev/null) != "$1" ]] || { echo "$i" && return; }
    done
    echo none
}
expect_finding() { expect_json "/findings/$(position_of "$1")/verdict" "$2"; }

# Printed reports of a gas that the second cylinder certifies; $2: indicated methane, mol%.
report() {
    awk -v m="$2" 'BEGIN {
        print "# normalised: no\ncomponent,mole_percent"
        printf "methane,%.4f\nnitrogen,3.0\nethane,5.0\ncarbon dioxide,1.0\npropane,%.4f\n", m, 91.0 - m }' >"$1"
}
sed 's/INV-1/INV-3/; s/"role": "calibration"/"role": "proving"/; s/"laboratory": "invented"/"laboratory": "another, invented"/' \
    "$files/cylinder.json" >proving.json
cp "$files/cylinder.json" calibration.json
proof() {  # $1..: the runs on the proving gas
    local list
    list=$(printf ', "%s"' "$@")
    cat >proof.json <<JSON
{"schema": "gaswright.proof/1", "criteria": "custody", "standard": "iso6976", "combustion_c": 15, "metering_c": 15,
 "cylinders": {"calibration": "calibration.json", "proving": "proving.json"},
 "runs": {"proving_gas": [${list:2}]}}
JSON
}

report right1.csv 89.500
report right2.csv 89.502
report right3.csv 89.498
proof right1.csv right2.csv right3.csv
run prove proof.json --on 2026-06-01 --json
expect_exit 0
expect_json
expect_json /verdict meets
expect_finding cv_bias meets
expect_near "/findings/$(position_of cv_bias)/value" 0 0.001
expect_finding cv_repeatability meets

# 0.3 mol% of methane read as propane: about half a percent of calorific value.
for i in 1 2 3; do report "wrong$i.csv" 89.2; done
proof wrong1.csv wrong2.csv wrong3.csv
run prove proof.json --on 2026-06-01 --json
expect_exit 1
expect_json /verdict fails
expect_finding cv_bias fails
expect_near "/findings/$(position_of cv_bias)/value" 0.44 0.05
run prove proof.json --on 2026-06-01
expect_exit 1
expect_out "fails"

# Two runs are too few to know how well they repeat.
proof right1.csv right2.csv
run prove proof.json --on 2026-06-01 --json
expect_exit 1
expect_finding cv_repeatability missing

# Without a proving gas nothing is shown, however well the calibration gas reads.
cat >proof.json <<'JSON'
{"criteria": "custody", "standard": "iso6976", "combustion_c": 15, "metering_c": 15,
 "cylinders": {"calibration": "calibration.json"}, "runs": {"calibration_gas": ["right1.csv", "right2.csv", "right3.csv"]}}
JSON
run prove proof.json --on 2026-06-01 --json
expect_exit 1
expect_json /verdict missing
expect_finding cv_bias missing

# Errors: a run that is not there, a criteria set that does not exist, a wrong schema.
proof right1.csv absent.csv
run prove proof.json --on 2026-06-01
expect_exit 3
expect_error absent.csv
proof right1.csv right2.csv right3.csv
sed -i 's/"custody"/"nonsense"/' proof.json
run prove proof.json --on 2026-06-01
expect_exit 2
expect_stderr_lines 1
refused "$files/gas.json:schema" "gaswright.proof/1" prove "$files/gas.json"
refused --on "" prove proof.json --on yesterday
finish
