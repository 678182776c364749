# gaswright gas dewpoint: dew points, the whole envelope, margins, refusals.
source "$(dirname "$0")/harness.sh"

cat >rich.json <<'JSON'
{"unit": "mol/mol", "components": {"methane": 0.85, "ethane": 0.08, "propane": 0.04, "n-butane": 0.015,
 "n-pentane": 0.008, "n-hexane": 0.004, "n-heptane": 0.002, "n-octane": 0.001}}
JSON
for eos in pr srk; do
    run gas dewpoint rich.json --eos $eos --pressure-kpa 4000 --json
    expect_exit 0
    expect_json
    expect_stderr_lines 0
    expect_json /eos $eos
    expect_json /pressure_kpa 4000.0
    expect "one dew temperature at 4 MPa" test -n "$(json /dew_temperatures_k/0)" -a -z "$(json /dew_temperatures_k/1 2>/dev/null)"
    for point in cricondentherm cricondenbar critical; do
        for part in temperature_k pressure_kpa; do
            expect "JSON has /$point/$part" json "/$point/$part" >.found
        done
    done
    expect "no envelope unasked" test -z "$(json /envelope 2>/dev/null)"
done

# Between the critical pressure and the cricondenbar there are two, the higher first.
run gas dewpoint rich.json --eos pr --envelope --json
expect_exit 0
expect_json /pressure_kpa null
expect_json /envelope/0/branch dew
expect_json /envelope_end closed
expect_out '"bubble"'
middle=$(awk -v a="$(json /critical/pressure_kpa)" -v b="$(json /cricondenbar/pressure_kpa)" 'BEGIN { printf "%.10g", (a + b) / 2 }')
above=$(awk -v b="$(json /cricondenbar/pressure_kpa)" 'BEGIN { printf "%.10g", b + 1 }')
run gas dewpoint rich.json --eos pr --pressure-kpa "$middle" --json
expect "the second is colder" awk -v a="$(json /dew_temperatures_k/0)" -v b="$(json /dew_temperatures_k/1)" 'BEGIN { exit !(a > b && b > 100) }'
run gas dewpoint rich.json --eos pr --pressure-kpa "$above" --json
expect_exit 0
expect_json /dew_temperatures_k '[]'
expect_out "no dew point"

# Water is left out of the equation and the rest scaled; it has a dew point of its own.
run gas dewpoint rich.json --eos pr --pressure-kpa 4000 --json
dry=$(json /dew_temperatures_k/0)
cat >wet.json <<'JSON'
{"unit": "mol/mol", "components": {"methane": 0.84915, "ethane": 0.07992, "propane": 0.03996, "n-butane": 0.014985,
 "n-pentane": 0.007992, "n-hexane": 0.003996, "n-heptane": 0.001998, "n-octane": 0.000999, "water": 0.001}}
JSON
run gas dewpoint wet.json --eos pr --pressure-kpa 4000 --gas-c 60 --json
expect_exit 0
expect_near /dew_temperatures_k/0 "$dry" 1e-6
expect_out "Water was left out"
expect_json /margins/water/range normal
expect_near /margins/water/dew_temperature_k 303 6

# Margins of a cylinder, a line and a regulator.
run gas dewpoint rich.json --eos pr --pressure-kpa 6000 --gas-c 60 --outlet-kpa 200 --json
expect_exit 0
expect "storage is 15 K above" awk -v a="$(json /margins/lowest_storage_temperature_k)" -v b="$(json /margins/highest_dew_point/temperature_k)" 'BEGIN { d = a - b - 15; exit !(d * d < 1e-12) }'
expect "the gas cools" awk -v a="$(json /margins/regulator/cooling_k)" 'BEGIN { exit !(a > 5 && a < 60) }'
run gas dewpoint rich.json --eos pr --pressure-kpa 6000 --gas-c 25 --outlet-kpa 200
expect_exit 0
expect_out "lowest safe storage"
expect_out "regulator outlet"

# C6+ is split, and how is said.
echo '{"unit": "mol/mol", "components": {"methane": 0.98, "propane": 0.015, "C6+": 0.005}}' >lumped.json
run gas dewpoint lumped.json --eos pr --pressure-kpa 4000 --json
expect_exit 0
expect_out "47.466"
usual=$(json /dew_temperatures_k/0)
echo '{"unit": "mol/mol", "components": {"methane": 0.98, "propane": 0.015, "C6+": 0.005}, "characterisation": {"C6+": {"n-hexane": 1}}}' >hexane.json
run gas dewpoint hexane.json --eos pr --pressure-kpa 4000 --json
expect "pure hexane condenses later" awk -v a="$(json /dew_temperatures_k/0)" -v b="$usual" 'BEGIN { exit !(a < b - 5) }'

# Refusals.
refused --pressure-kpa "envelope" gas dewpoint rich.json --eos pr
refused --pressure-kpa "" gas dewpoint rich.json --eos pr --pressure-kpa 0
refused --pressure-kpa "" gas dewpoint rich.json --eos pr --pressure-kpa -100
refused --eos "vdw" gas dewpoint rich.json --eos vdw --pressure-kpa 4000
refused --gas-c "absolute zero" gas dewpoint rich.json --eos pr --pressure-kpa 4000 --gas-c -274
refused --gas-c "pressure" gas dewpoint rich.json --eos pr --envelope --gas-c 20
refused --outlet-kpa "inlet temperature" gas dewpoint rich.json --eos pr --pressure-kpa 4000 --outlet-kpa 200
refused --outlet-kpa "below" gas dewpoint rich.json --eos pr --pressure-kpa 4000 --gas-c 20 --outlet-kpa 4000
echo '{"unit": "mol/mol", "components": {"water": 1}}' >water.json
refused water.json:components "water" gas dewpoint water.json --eos pr --pressure-kpa 100
# One component alone condenses at its vapour pressure: methane at 101.325 kPa near 111.7 K.
echo '{"unit": "mol/mol", "components": {"methane": 1}}' >methane.json
run gas dewpoint methane.json --eos pr --pressure-kpa 101.325 --envelope --json
expect_exit 0
expect_near /dew_temperatures_k/0 111.67 0.5
expect_near /critical/temperature_k 190.56 0.05
run gas dewpoint methane.json --eos srk --pressure-kpa 6000 --json
expect_exit 0
expect_json /dew_temperatures_k '[]'
finish
