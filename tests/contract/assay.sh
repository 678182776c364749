# gaswright assay calibrate and run: three runs on a certified gas, then the same gas read back.
source "$(dirname "$0")/harness.sh"

for seed in 1001 2002 3003; do make_trace "$seed" >"cal$seed.csv"; done
run assay calibrate cal1001.csv cal2002.csv cal3003.csv --method "$files/method.json" \
    --cylinder "$files/cylinder.json" -o calibration.json
expect_exit 0
expect_file calibration.json
expect_out "methane"
run assay calibrate cal1001.csv cal2002.csv cal3003.csv --method "$files/method.json" \
    --cylinder "$files/cylinder.json" --json
expect_exit 0
expect_json
expect_json /schema gaswright.calibration/1
expect_json /cylinder INV-1
expect "--json prints what -o writes" cmp -s .out calibration.json
# area / mole fraction: 800 / 0.895 and 120 / 0.015
expect_near /components/methane/factor 893.85 0.3
expect_near /components/propane/factor 8000 12
expect_near /components/methane/retention_s 60 0.02

# The calibration gas read back is the certificate, whatever the size of the injection.
make_trace 4004 1.03 >again.csv
run assay run again.csv --method "$files/method.json" --calibration calibration.json --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_near /unnormalised_total 103 0.05
expect_json /composition/unit mol/mol
expect_near /composition/components/methane 0.895 0.0002
expect_near /composition/components/propane 0.015 0.00004
expect_json /properties/real/gross_cv_volume/unit MJ/m3
cp .out assayed
run assay run again.csv --method "$files/method.json" --calibration calibration.json
expect_exit 0
expect_out "carbon dioxide"

# The composition of a run is a composition file: its calorific value is the run's.
"$JSON_TOOL" get /composition <assayed >composition.json
value=$("$JSON_TOOL" get /properties/real/gross_cv_volume/value <assayed)
u=$("$JSON_TOOL" get /properties/real/gross_cv_volume/u <assayed)
run gas properties composition.json --json
expect_exit 0
expect_near /real/gross_cv_volume/value "$value" 1e-9
expect_near /real/gross_cv_volume/u "$u" 1e-9
run assay run again.csv --method "$files/method.json" --calibration calibration.json --json --metering-c 0
expect_json /properties/metering_c 0.0

# A printed report stands in for a trace.
run assay run "$files/report.csv" --method "$files/method.json" --calibration calibration.json --json
expect_exit 0
expect_near /composition/components/methane 0.895 0.0003

# Nothing is written when something fails.
refused "$files/gas.json:schema" "gaswright.cylinder/1" assay calibrate cal1001.csv \
    --method "$files/method.json" --cylinder "$files/gas.json" -o never.json
expect_no_file never.json
run assay calibrate cal1001.csv missing.csv --method "$files/method.json" \
    --cylinder "$files/cylinder.json" -o never.json
expect_exit 3
expect_error missing.csv
expect_no_file never.json
awk -F, '$1 < 70 || /^[#t]/' cal1001.csv >cut.csv  # ethane and later never came
run assay calibrate cut.csv --method "$files/method.json" --cylinder "$files/cylinder.json" -o never.json
expect_exit 2
expect_stderr_lines 1
expect_no_file never.json
run assay calibrate cal1001.csv --method "$files/method.json" --cylinder "$files/cylinder.json" \
    -o no/such/folder/calibration.json
expect_exit 3
expect_error no/such/folder/calibration.json

# A certificate without uncertainty is taken, and that is said in the answer.
run assay calibrate cal1001.csv cal2002.csv cal3003.csv --method "$files/method.json" \
    --cylinder "$files/cylinder_without_uncertainty.json" --json
expect_exit 0
expect_out "uncertaint"

# First order and Monte Carlo (JCGM 101) side by side; the same seed gives the same draws.
run assay run again.csv --method "$files/method.json" --calibration calibration.json --monte-carlo 1 --json
expect_exit 0
expect_json /gross_cv_volume_distribution/stable true
expect_near /gross_cv_volume_distribution/monte_carlo/u "$(json /gross_cv_volume_distribution/linear/u)" 0.002
expect_near /gross_cv_volume_distribution/monte_carlo/value "$(json /gross_cv_volume_distribution/linear/value)" 0.002
finish
