# gaswright oven: the twin simulated, retimed, fitted and drawn.
source "$(dirname "$0")/harness.sh"

method=$files/oven_series.json
gas=$files/oven_gas.json

run oven simulate "$method" --gas "$gas" -o run.csv --json
expect_exit 0
expect_json
expect_json /samples 12000
expect_json /detectors 1
expect_near /mass_balance/worst_imbalance 0 1e-9
expect_near /peaks/0/apex_s 164.47 0.08
expect_near /peaks/1/area 1884.96 0.5
expect "the trace begins at time zero" grep -qE "^0(\.0+)?,0" run.csv
run trace peaks run.csv --method "$method" --json
expect_exit 0

# The same seed gives the same bytes, another seed others; without noise none.
run oven simulate "$method" --gas "$gas" --noise 0.01 --seed 3 -o a.csv
expect_exit 0
run oven simulate "$method" --gas "$gas" --noise 0.01 --seed 3 -o b.csv
run oven simulate "$method" --gas "$gas" --noise 0.01 --seed 4 -o c.csv
expect "the same seed, the same bytes" cmp -s a.csv b.csv
expect "another seed, other noise" test "$(cmp a.csv c.csv 2>&1 | wc -l)" -gt 0

# Stored peaks move by release minus store alone.
run oven simulate "$method" --gas "$gas" --event-shift "store C=-1" -o s.csv --json
expect_near /peaks/0/apex_s 165.47 0.08
run oven simulate "$method" --gas "$gas" --event-shift "store C=-1" --event-shift "release C=+1" -o s.csv --json
expect_near /peaks/0/apex_s 166.47 0.08
# A concentration detector's area goes as 1/flow.
run oven simulate "$method" --gas "$gas" --fault leak_upstream=0.02 -o f.csv --json
expect_near /peaks/1/area 1923.43 1

refused --event-shift "stow C" oven simulate "$method" --gas "$gas" --event-shift "stow C=1" -o no.csv
refused --event-shift "ACTION=SECONDS" oven simulate "$method" --gas "$gas" --event-shift "store C" -o no.csv
refused --fault "gremlin" oven simulate "$method" --gas "$gas" --fault gremlin=1 -o no.csv
refused "$files/method.json" "oven block" oven simulate "$files/method.json" --gas "$gas" -o no.csv
expect_no_file no.csv
run oven simulate missing.json --gas "$gas" -o no.csv
expect_exit 3

# The second layout: two chains and a third carrier, light fraction first.
second=$(dirname "$0")/../../data/demo/method.json
run oven simulate "$second" --gas "$gas" -o second.csv --json
expect_exit 0
expect_json /samples 9000
expect_near /mass_balance/worst_imbalance 0 1e-9

# A planted error is found again.
run oven retime "$method" --gas "$gas" --json
expect_exit 0
expect_json
best=$(json /programme/1/at_s)
sed 's/"at_s": 21.8/"at_s": 19.8/' "$method" >early.json
run oven retime early.json --gas "$gas" -o mended.json --json
expect_exit 0
expect_near /programme/1/at_s "$best" 0.3
expect_json /programme/1/feasible true
expect_json /moved/0/action "reverse A"
run oven simulate mended.json --gas "$gas" -o mended.csv
expect_exit 0

# The twin fitted to a run of a slower analyser with a late event.
sed -e 's/"holdup_s": 3.2,/"holdup_s": 3.232,/; s/"holdup_s": 19.2,/"holdup_s": 19.392,/; s/"holdup_s": 16.6,/"holdup_s": 16.766,/' \
    "$method" >slow.json
run oven simulate slow.json --gas "$gas" --event-shift "reverse A=+0.4" --noise 0.005 -o slow.csv
run oven fit "$method" slow.csv --gas "$gas" -o fitted.json --json
expect_exit 0
expect_json
expect_json /parameters/0/name "flow"
expect_near /parameters/0/value 0.990099 0.001
run oven simulate fitted.json --gas "$gas" -o again.csv
expect_exit 0

run oven draw "$method" --gas "$gas" -o bands.svg --json
expect_exit 0
expect_json
expect "the SVG names its columns" grep -q "columns A B C against time" bands.svg
refused --output "svg" oven draw "$method" -o bands.txt
finish
