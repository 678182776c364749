# gaswright settle: approaches, a leak, a heater and the weather, made here.
source "$(dirname "$0")/harness.sh"

# $1: awk expression of t for oven_c, $2: for total; $3: how many readings, two minutes apart.
series() {
    awk -v n="$3" "BEGIN { seed = 7
        print \"time_s,oven_c,total\"
        for (i = 0; i < n; ++i) { t = 120 * i
            for (c = 0; c < 2; ++c) { u[c] = -6; for (k = 0; k < 12; ++k) { seed = (seed * 16807) % 2147483647; u[c] += seed / 2147483647 } }
            printf \"%d,%.5f,%.5f\n\", t, $1 + 0.01 * u[0], $2 + 0.01 * u[1] } }"
}
echo '{"oven_c": 0.05, "total": 0.05}' >limits.json

series '80 - 60 * exp(-t / 1800)' '100' 40 >warm_up.csv
run settle warm_up.csv --limits limits.json --json
expect_exit 1
expect_json
expect_json /settled false
expect_near /ready_at 12762 300
expect_near /quantities/0/time_constant_s 1800 20
expect_near /quantities/0/remaining_change 4.46 0.1
expect_json /quantities/1/settled true
expect "the interval holds the true time" \
    awk -v a="$(json /ready_interval/0)" -v b="$(json /ready_interval/1)" 'BEGIN { exit !(a <= 12762.1 && 12762.1 <= b) }'

series '80 - 60 * exp(-t / 1800)' '100' 180 >rest.csv
run settle rest.csv --limits limits.json --json
expect_exit 0
expect_json /settled true

series '80' '100 - 2e-4 * t' 90 >leak.csv
run settle leak.csv --limits limits.json --json
expect_exit 1
expect_json /looks_like/0 leak
expect_json /ready_at null
expect_json /ready_interval null

series '60 + 0.005 * t' '100' 90 >heater.csv
run settle heater.csv --limits limits.json --json
expect_json /looks_like/0 heater

series '80' '100 + 0.4 * sin(t / 2000) + 0.2 * sin(t / 700 + 1)' 90 >weather.csv
run settle weather.csv --limits limits.json --json
expect_json /looks_like/0 barometer
run settle weather.csv --limits limits.json
expect_exit 1
expect_out "Not settled"

# Times of the series: instants come back as instants.
awk 'BEGIN { print "time,oven_c"; for (i = 0; i < 40; ++i) printf "2026-03-02T10:%02d:00+01:00,%.6f\n", i, 80 - 60 * exp(-i / 10) }' >clock.csv
run settle clock.csv --limits limits.json --json
expect "the ready time is an instant" bash -c "[[ \$('$JSON_TOOL' get /ready_at <.out) == 2026-03-02T11:*+01:00 ]]"

# Too few readings say nothing.
series '80' '100' 5 >few.csv
run settle few.csv --limits limits.json --json
expect_exit 1
expect_json /settled false

printf 'time_s,oven_c\n0,80\n60,warm\n' >bad.csv
refused bad.csv:3 "no number" settle bad.csv
printf 'time_s,oven_c\n60,80\n0,80\n' >bad.csv
refused bad.csv:3 "backward" settle bad.csv
echo '{"oven_c": 0}' >bad.json
refused bad.json:oven_c "above zero" settle rest.csv --limits bad.json
run settle absent.csv
expect_exit 3
expect_error absent.csv
finish
