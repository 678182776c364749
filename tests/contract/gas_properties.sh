# gaswright gas properties: values, units, reference conditions, totals.
source "$(dirname "$0")/harness.sh"

# Pure methane has its values printed in ISO 6976:2016: table 3 (gross molar 890.58 kJ/mol at 25 degC,
# 891.51 at 15 degC, 892.92 at 0 degC) and table 1 (molar mass 16.04246 kg/kmol).
echo '{"unit": "mol/mol", "components": {"C1": 1}}' >methane.json
run gas properties methane.json --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_near /ideal/gross_cv_molar/value 891.51 0.005
expect_near /ideal/molar_mass/value 16.04246 0.000005
expect_json /ideal/gross_cv_molar/unit kJ/mol
expect_json /real/gross_cv_volume/unit MJ/m3
expect_json /standard iso6976
expect_json /combustion_c 15.0
expect_json /metering_c 15.0
expect_json /pressure_kpa 101.325
run gas properties methane.json --json --combustion-c 25 --metering-c 0
expect_near /ideal/gross_cv_molar/value 890.58 0.005
expect_json /metering_c 0.0
run gas properties methane.json --json --combustion-c 0
expect_near /ideal/gross_cv_molar/value 892.92 0.005

# All quantities of both groups, with uncertainty; a table for people without --json.
run gas properties "$files/gas.json" --json
for group in ideal real; do
    for quantity in molar_mass compression_factor gross_cv_molar net_cv_molar gross_cv_mass net_cv_mass \
        gross_cv_volume net_cv_volume density relative_density gross_wobbe net_wobbe; do
        for part in value u unit; do
            expect "JSON has /$group/$quantity/$part" json "/$group/$quantity/$part" >.found
        done
    done
done
run gas properties "$files/gas.json"
expect_exit 0
expect_out "gross calorific value, volume"
expect_out "MJ/m3"

# A density at another pressure is in proportion, but for what little compression adds.
run gas properties "$files/gas.json" --json
at_101=$(json /ideal/density/value)
run gas properties "$files/gas.json" --json --pressure-kpa 91.1925
expect_near /ideal/density/value "$(awk -v d="$at_101" 'BEGIN { printf "%.12g", 0.9 * d }')" 1e-9

# A total that is off is refused, unless scaling is asked for; then it is said.
refused "$files/gas_short_total.json:components" "0.97" gas properties "$files/gas_short_total.json" --json
run gas properties "$files/gas_short_total.json" --json --normalise
expect_exit 0
expect_out "normalised"
normalised=$(json /real/gross_cv_volume/value)
awk 'BEGIN { printf "{\"unit\": \"mol/mol\", \"components\": {\"methane\": %.17g, \"ethane\": %.17g, \"nitrogen\": %.17g}}", 92/97, 3/97, 2/97 }' >scaled.json
run gas properties scaled.json --json
expect_near /real/gross_cv_volume/value "$normalised" 1e-9

# What the standard has no values for is refused at the option.
refused --combustion-c "18" gas properties methane.json --combustion-c 18
refused --metering-c "25" gas properties methane.json --metering-c 25
refused --pressure-kpa "89" gas properties methane.json --pressure-kpa 89
refused --standard "none" gas properties methane.json --standard none
finish
