# gaswright trace peaks: a trace made here, so that its peaks are known.
source "$(dirname "$0")/harness.sh"

make_trace 4711 >run.csv
run trace peaks run.csv --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_near /noise/rms 0.01 0.001
expect_near /noise/drift_per_s 0.002 0.0002
apex=(40 60 85 110 140)
area=(50 800 200 30 120)
width=(2.355 2.826 3.532 4.239 4.710)  # 2.3548 sigma
for i in 0 1 2 3 4; do
    expect_json "/peaks/$i/component" null
    expect_near "/peaks/$i/apex_s" "${apex[i]}" 0.03
    expect_near "/peaks/$i/area" "${area[i]}" 0.15
    expect_near "/peaks/$i/width_half_s" "${width[i]}" 0.02
    expect_near "/peaks/$i/asymmetry" 1 0.02
    expect_json "/peaks/$i/flags" "[]"
done
expect "there is no sixth peak" test -z "$(json /peaks/5 2>/dev/null)"
expect_json /peaks/4/resolution_next null

run trace peaks run.csv --method "$files/method.json" --json
names=(nitrogen methane ethane "carbon dioxide" propane)
for i in 0 1 2 3 4; do expect_json "/peaks/$i/component" "${names[i]}"; done

run trace peaks run.csv --method "$files/method.json"
expect_exit 0
expect_out "carbon dioxide"
expect_out "mV s"

# The same bytes give the same bytes; the same samples in a foreign dialect give the same peaks.
run trace peaks run.csv --json
cp .out first
run trace peaks run.csv --json
expect "the same bytes again" cmp -s first .out
sed -n 's/^\([0-9.]*\),\([0-9.-]*\)$/\1;\2/p' run.csv | tr . , | sed 's/$/\r/' >foreign.txt
run trace peaks foreign.txt --json
expect_exit 0
expect_near /peaks/1/area 800 0.15
expect_near /peaks/1/apex_s 60 0.03

# One column has no time: the rate gives it.
sed -n 's/^[0-9.]*,\([0-9.-]*\)$/\1/p' run.csv >bare.txt
run trace peaks bare.txt --rate 25 --json
expect_exit 0
expect_near /peaks/1/apex_s 60 0.03
run trace peaks bare.txt --json
expect_exit 2
expect_stderr_lines 1
refused --rate "above zero" trace peaks bare.txt --rate 0

# Samples never recorded are flagged, not refused.
awk -F, '!($1 > 58 && $1 < 59)' run.csv >gap.csv
run trace peaks gap.csv --json
expect_exit 0
expect_out '"gap"'

# A flat signal has no peaks; a report has no signal.
awk 'BEGIN { print "time_s,signal"; for (i = 0; i < 400; ++i) printf "%.1f,1.5\n", i / 10 }' >flat.csv
run trace peaks flat.csv --json
expect_exit 0
expect_json /peaks "[]"
refused "$files/report.csv" "report" trace peaks "$files/report.csv"

# Diagnostics with their definitions; a step of the baseline is told with its size.
awk -F, '/^[0-9]/ { if ($1 >= 98) $2 += 3; printf "%s,%.5f\n", $1, $2; next } { print }' run.csv >step.csv
run trace peaks step.csv --json
expect_exit 0
expect_near /peaks/0/plates 1600 50 # 8 ln 2 (40 / 2.3548)^2: the first peak has a standard deviation of 1 s
expect_out '"signal_to_noise"'
expect_near /events/0/baseline_step 3 0.1
expect_near /events/0/at_s 98 0.2
finish
