# gaswright gas compare and gas properties --standard gpa2172.
source "$(dirname "$0")/harness.sh"

echo '{"unit": "mol/mol", "components": {"methane": 1}}' >methane.json
run gas compare methane.json --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_json /rows/0/standard iso6976
expect_json /rows/0/combustion_c 15.0
expect_json /rows/0/percent_off_first 0.0
# ISO 6976:2016, table 3: 891.51 kJ/mol at 15 degC; ideal 37.706 MJ/m3, real 0.2 % more.
expect_near /rows/0/gross_cv_volume/value 37.78 0.01
expect_out '"Btu/ft3"'
run gas compare methane.json
expect_exit 0
expect_out "GPA 2172, 60 degF, 14.730 psia, saturated"
refused "$files/gas_short_total.json:components" "0.97" gas compare "$files/gas_short_total.json"
run gas compare "$files/gas_short_total.json" --normalise --json
expect_exit 0
expect_out "normalised"

# GPA 2145-16: methane 1010.0 Btu/ft3, ideal, at 14.696 psia.
run gas properties methane.json --standard gpa2172 --pressure-psia 14.696 --json
expect_exit 0
expect_json /standard gpa2172
expect_near /ideal/gross_cv_volume/value 1010.0 0.05
expect_json /real/gross_cv_volume/unit Btu/ft3
expect "saturated gas holds less" awk -v a="$(json /real/gross_cv_volume_saturated/value)" -v b="$(json /real/gross_cv_volume/value)" 'BEGIN { exit !(a / b > 0.980 && a / b < 0.985) }'
run gas properties methane.json --standard gpa2172 --pressure-kpa 101.559775 --json
at_base=$(json /real/gross_cv_volume/value)
run gas properties methane.json --standard gpa2172 --pressure-psia 14.73 --json
expect_near /real/gross_cv_volume/value "$at_base" 1e-4
refused --combustion-c "60 degF" gas properties methane.json --standard gpa2172 --combustion-c 25
refused --pressure-kpa "" gas properties methane.json --standard gpa2172 --pressure-kpa 0
refused --pressure-psia "" gas properties methane.json --standard gpa2172 --pressure-psia -3
finish
