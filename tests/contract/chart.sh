# gaswright chart: a drift with a date, a break, a figure.
source "$(dirname "$0")/harness.sh"

# Daily totals: a drift from day 60, an exchange on day 100 that puts them right.
awk 'BEGIN { seed = 11
    print "time_s,total,event"
    for (d = 0; d < 160; ++d) {
        u = -6; for (k = 0; k < 12; ++k) { seed = (seed * 16807) % 2147483647; u += seed / 2147483647 }
        y = 100 + 0.05 * u
        if (d >= 60 && d < 100) y -= 0.02 * (d - 60)
        printf "%d,%.5f,%s\n", d * 86400, y, d == 100 ? "module exchanged" : "" } }' >life.csv

run chart life.csv --run-length 500 --json
expect_exit 0
expect_json
expect_json /charts/0/name total
expect_json /charts/0/stretches/0/change/kind drift
expect_near /charts/0/stretches/0/change/at 5184000 500000
expect "the interval holds the onset" \
    awk -v a="$(json /charts/0/stretches/0/change/interval/0)" -v b="$(json /charts/0/stretches/0/change/interval/1)" 'BEGIN { exit !(a <= 5184000 && 5184000 <= b) }'
expect_json /charts/0/stretches/0/cusum/signals/0/side low
expect_json /charts/0/stretches/1/event "module exchanged"
expect_json /charts/0/stretches/1/change/kind none
expect_near /charts/0/stretches/1/ewma/L 2.962 0.002

run chart life.csv -o life.svg
expect_exit 0
expect_out "life.svg drawn"
expect_file life.svg
expect "an SVG" grep -q "<svg" life.svg

run chart life.csv life.csv --json
expect_exit 0
expect_json /series/1/source life.csv
run chart life.csv --break 4320000 --json
expect_json /charts/0/stretches/1/event break

refused --column "no column" chart life.csv --column oven_c
refused --run-length "not offered" chart life.csv --run-length 1
refused --output "" chart life.csv -o life.txt
printf 'a,b\n1,2\n' >bad.csv
refused bad.csv:1 "time" chart bad.csv
finish
