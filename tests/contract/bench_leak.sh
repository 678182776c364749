# gaswright bench leak: pressure decay with temperatures, by options and by a file.
source "$(dirname "$0")/harness.sh"

# Common practice, no source for the figures: 50 mL, 5000 to 4975 mbar, most of the fall is cooling.
run bench leak --volume "50 +- 2 mL" --p1 "5000 +- 1 mbar" --p2 "4975 +- 1 mbar" --t1 "298.15 +- 0.1 K" --t2 "296.9 +- 0.1 K" \
    --time "900 s" --limit "1e-3 mbar L/s" --json
expect_exit 0
expect_json
expect_json /sum leak
expect_near /results/leak_rate/value 2.2524418996292502e-4 1e-12
expect_json /results/leak_rate/unit "mbar L/s"
expect_near /results/fall_corrected/value 405.439541933265 1e-6
expect "u above zero" awk -v u="$(json /results/leak_rate/u)" 'BEGIN { exit !(u > 1e-5) }'
expect_json /findings/0/id leak_rate
expect_json /findings/0/verdict meets
expect_json /verdict meets

# The same from a file, in other units.
cat >leak.json <<'JSON'
{"schema": "gaswright.bench-leak/1", "volume": {"value": 50, "u": 2, "unit": "mL"}, "p1": "5 +- 0.001 bar", "p2": "497.5 +- 0.1 kPa",
 "t1": {"value": 25, "u": 0.1, "unit": "degC"}, "t2": "74.75 +- 0.18 degF", "time": 15, "limit": 1e-3}
JSON
run bench leak leak.json --json
expect_exit 0
expect_near /results/leak_rate/value 2.2524418996292502e-4 1e-9
run_with leak.json bench leak - --show "leak_rate=Pa m3/s" --json
expect_near /results/leak_rate/value 2.2524418996292502e-5 1e-10
run bench leak leak.json --limit "1e-5 mbar L/s" --json
expect_exit 1
expect_json /findings/0/verdict unclear
expect "it says how long to wait" grep -q "min would" .out

# Without temperature nothing is shown.
run bench leak --volume 50mL --p1 5bar --p2 4.975bar --time 15min --limit 1e-3 --json
expect_exit 1
expect_json /findings/0/verdict missing
expect_json /findings/0/value null
# Gauge pressures need the pressure of the air.
run bench leak --volume 50mL --p1 4barg --p2 3.975barg --ambient 100kPa --t1 25 --t2 25 --time 15min --json
expect_near /results/leak_rate/value 1.388888888888889e-3 1e-9

run bench leak --help
expect_out "Formula: Q = V (p1 - p2 T1/T2)/t"
expect_out "40 CFR 1065.644"
refused --volume "needs volume" bench leak --p1 5bar --p2 4.9bar --time 15min
refused --volume "no unit" bench leak --volume "50 bar" --p1 5bar --p2 4.9bar --time 15min
refused --time "above zero" bench leak --volume 50mL --p1 5bar --p2 4.9bar --time 0
refused --show "no unit of leak_rate" bench leak leak.json --show leak_rate=bar
sed 's/"volume"/"volumen"/' leak.json >bad.json
refused bad.json:volumen "no input" bench leak bad.json
sed 's/"p2": "497.5/"p2": "many/' leak.json >bad.json
refused bad.json:p2 "no number" bench leak bad.json
sed 's/bench-leak/bench-lag/' leak.json >bad.json
run bench leak bad.json
expect_exit 2
run bench leak absent.json
expect_exit 3
expect_error absent.json
finish
