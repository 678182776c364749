# gaswright gas density: figures of both equations, ranges, phases, refusals.
source "$(dirname "$0")/harness.sh"

# The test state of AGA Report No. 8 (2017), 400 K and 50 MPa, of the publisher's test material:
# data/published/aga8.json.
cat >aga8.json <<'JSON'
{"unit": "mol/mol", "components": {"methane": 0.77824, "nitrogen": 0.02, "carbon dioxide": 0.06, "ethane": 0.08,
 "propane": 0.03, "isobutane": 0.0015, "n-butane": 0.003, "isopentane": 0.0005, "n-pentane": 0.00165,
 "n-hexane": 0.00215, "n-heptane": 0.00088, "n-octane": 0.00024, "n-nonane": 0.00015, "n-decane": 0.00009,
 "hydrogen": 0.004, "oxygen": 0.005, "carbon monoxide": 0.002, "water": 0.0001, "hydrogen sulfide": 0.0025,
 "helium": 0.007, "argon": 0.001}}
JSON
run gas density aga8.json --eos gerg2008 --temperature-c 126.85 --pressure-kpa 50000 --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_json /eos gerg2008
expect_near /temperature_k 400 1e-9
expect_json /pressure_kpa 50000.0
expect_near /molar_density 12.79828626082062 1e-10
expect_near /density 262.9119225 1e-4
expect_near /compression_factor 1.174690666383717 1e-11
expect_near /speed_of_sound 714.4248840596024 1e-8
expect_json /range extended
expect_out "extended range"
run gas density aga8.json --eos detail --temperature-c 126.85 --pressure-kpa 50000 --json
expect_exit 0
expect_near /molar_density 12.80792403648801 1e-10
expect_near /speed_of_sound 712.6393684057903 1e-8
expect_json /range extended

# Ranges, and a table for people.
at() { run gas density "$files/gas.json" --eos "$1" --temperature-c "$2" --pressure-kpa "$3" "${@:4}"; }
at gerg2008 15 7000 --json
expect_exit 0
expect_json /range normal
expect_json /phase one
expect_json /warnings '[]'
at detail 15 13000 --json
expect_json /range extended
at detail 15 80000 --json
expect_json /range outside
at gerg2008 15 7000
expect_exit 0
expect_out "speed of sound"
expect_out "kg/m3"

# Component order and the unit of the file make no difference.
echo '{"unit": "mol%", "components": {"ethane": 10, "methane": 90}}' >turned.json
echo '{"unit": "mol/mol", "components": {"methane": 0.9, "ethane": 0.1}}' >straight.json
run gas density turned.json --eos gerg2008 --temperature-c 20 --pressure-kpa 5000 --json
rho=$(json /density)
run gas density straight.json --eos gerg2008 --temperature-c 20 --pressure-kpa 5000 --json
expect_near /density "$rho" 1e-10

# A state that splits is said; one may ask not to look. A component the equation lacks is named.
echo '{"unit": "mol/mol", "components": {"methane": 0.95, "n-butane": 0.05}}' >rich.json
run gas density rich.json --eos gerg2008 --temperature-c -60 --pressure-kpa 2000 --json
expect_exit 0
expect_json /phase split
expect_out "split into gas and liquid"
run gas density rich.json --eos gerg2008 --temperature-c -60 --pressure-kpa 2000 --json --no-phase-check
expect_json /phase 'not checked'
echo '{"unit": "mol/mol", "components": {"methane": 0.99, "neopentane": 0.01}}' >neo.json
run gas density neo.json --eos detail --temperature-c 20 --pressure-kpa 2000 --json
expect_exit 0
expect_out "neopentane as n-pentane"

# Refusals.
refused --temperature-c "absolute zero" gas density straight.json --eos gerg2008 --temperature-c -273.15 --pressure-kpa 100
refused --temperature-c "absolute zero" gas density straight.json --eos detail --temperature-c -300 --pressure-kpa 100
refused --pressure-kpa "absolute pressure" gas density straight.json --eos gerg2008 --temperature-c 20 --pressure-kpa 0
refused --pressure-kpa "absolute pressure" gas density straight.json --eos gerg2008 --temperature-c 20 --pressure-kpa -5
refused --pressure-kpa "no density" gas density straight.json --eos gerg2008 --temperature-c 20 --pressure-kpa 1e12
refused --eos "nonesuch" gas density straight.json --eos nonesuch --temperature-c 20 --pressure-kpa 100
echo '{"unit": "mol/mol", "components": {"methane": 1.1, "ethane": -0.1}}' >negative.json
refused negative.json:components.ethane "" gas density negative.json --eos gerg2008 --temperature-c 20 --pressure-kpa 100
refused "$files/gas_short_total.json:components" "0.97" gas density "$files/gas_short_total.json" --eos gerg2008 --temperature-c 20 --pressure-kpa 100
run gas density nowhere.json --eos gerg2008 --temperature-c 20 --pressure-kpa 100
expect_exit 3
run gas density straight.json --eos gerg2008 --pressure-kpa 100
expect_exit 2
expect_stderr_lines 1
finish
