# gaswright bench purge, lag, shelter, carrier, cylinder, storage, line, outage, spares.
source "$(dirname "$0")/harness.sh"

# Common practice, no source for the figures, recomputed by hand from the formula of --help.
run bench purge --from 79% --to 10ppm --low 1bar --high 5bar --json
expect_exit 0
expect_near /results/cycles_exact/value 7.0069202696944135 1e-9
expect_near /results/cycles/value 8 0
refused --to "" bench purge --from 0.5 --to 0.6 --low 1bar --high 5bar
run bench purge --to 1000ppm --volume "1 +- 0.1 L" --flow "100 mL/min" --json
expect_near /results/volumes/value 6.907755278982137 1e-9
expect_near /results/time/value 69.07755 1e-4
expect_near /results/time/u 6.907755 1e-4
refused --flow "one of the two" bench purge --to 10ppm

run bench lag --length 30m --bore 4mm --pressure 3.01325bar --temperature 298.15K --flow 1L/min --cycle 240s --json
expect_exit 0
expect_near /results/lag/value 61.62647302 1e-4
expect_near /results/age_fresh/value 181.62647302 1e-4
run bench lag --length 98.4251968503937ft --bore 0.15748031496063in --pressure 43.7035psi --temperature 77degF --flow 3L/min --limit 15s --json
expect_exit 1
expect_near /results/lag/value 20.54215767 1e-3
expect_json /findings/0/verdict fails
cat >lag.json <<'JSON'
{"flow": "1 L/min", "gas": {"unit": "mol/mol", "components": {"methane": 0.95, "ethane": 0.05}},
 "sections": [{"name": "probe to regulator", "length": "2 m", "bore": 4, "pressure": "60 bar", "temperature": 20},
              {"name": "line", "length": 30, "bore": 4, "pressure": "3 bar", "pressure_out": "2 bar", "temperature": 30},
              {"name": "filter", "volume": "50 mL", "pressure": "2 bar", "mixes": 1}]}
JSON
run bench lag lag.json --json
expect_exit 0
expect "high pressure holds the most: Z below one lengthens it" \
    awk -v t="$(json /results/section_1/value)" 'BEGIN { ideal = 0.0251327 * 60 / 1.01325 * 273.15 / 293.15 * 60; exit !(t > 1.05 * ideal && t < 1.4 * ideal) }'
expect "a filter adds about three of its turnovers" \
    awk -v a="$(json /results/lag/value)" -v b="$(json /results/lag_95/value)" -v f="$(json /results/section_3/value)" 'BEGIN { exit !(b - a > 2.98 * f && b - a < 3.01 * f) }'

run bench shelter --room 25m3 --released 8.84m3 --json
expect_exit 1
expect_near /results/oxygen_at_once/value 14.675055666146259 1e-6
expect_json /findings/0/verdict fails
expect "it defers to local rules" grep -q "local rules" .out
run bench shelter --room 25m3 --flow 0.5L/min --air-changes 2 --json
expect_exit 0
refused --released "Nothing is released" bench shelter --room 25m3

run bench carrier --gas helium --volume 50L --pressure 200bar --least 10bar --flow "50 +- 2 mL/min" --json
expect_exit 0
expect_near /results/endurance/value 116.1 0.6
expect_near /results/content/value 8.36 0.03
run bench carrier --gas helium --volume 50L --pressure 12bar --least 10bar --flow 50mL/min --lead-time 14d --json
expect_exit 1
expect_json /findings/0/verdict fails
refused --least "least pressure already" bench carrier --gas helium --volume 50L --pressure 5bar --least 10bar --flow 50mL/min
run bench carrier --gas unobtainium --volume 50L --pressure 50bar --least 10bar --flow 50mL/min
expect_exit 3

cat >rich.json <<'JSON'
{"unit": "mol%", "components": {"methane": 85, "ethane": 8, "propane": 4, "n-butane": 1.5, "n-pentane": 0.7, "n-hexane": 0.3, "nitrogen": 0.5}}
JSON
run bench cylinder --gas rich.json --volume 10L --pressure 60bar --least 10bar --runs 6 --cycle 240s --run-flow 50mL/min --purge 1L --json
expect_exit 0
expect "real gas is more than ideal" awk -v c="$(json /results/content/value)" 'BEGIN { exit !(c > 0.47 * 1.05 && c < 0.9) }'
run bench storage --gas rich.json --pressure 60bar --coldest=-5degC --json
expect_exit 1
expect_json /findings/0/id cold_exposure
expect_json /findings/0/verdict fails
least=$(json /results/least_storage/value)
run bench storage --gas rich.json --pressure 60bar --margin 20 --json
expect_near /results/least_storage/value "$(awk -v l="$least" 'BEGIN { printf "%.9f", l + 10 }')" 1e-6
run bench storage --gas "$files/cylinder.json" --pressure 30bar --json
expect "a certificate is a gas too" test "$code" -le 1
run bench line --gas rich.json --pressure 60barg --temperature 60degC --ambient 100kPa --water 100ppm --json
expect_exit 0
expect_json /findings/0/verdict meets

run bench outage --time "6 +- 1 h" --flow 50000m3/h --fallback-cv 39.5 --expected-cv "39.4 +- 0.1 MJ/m3" --json
expect_exit 0
expect_near /results/energy_error_1/value 8.333333333 1e-6
expect_near /results/error_percent_1/value 0.253807106599 1e-9
expect_near /results/energy_error_1/u 8.4486 1e-3
cat >outage.json <<'JSON'
{"steps": [{"name": "cool", "time": 45}, {"name": "exchange", "time": "1 +- 0.25 h"}, {"name": "warm", "time": "150 +- 30 min"}],
 "streams": [{"name": "north", "flow": 50000, "fallback": "rich.json", "expected_cv": "45 +- 0.1"}, {"name": "south", "flow": 1000, "fallback_cv": "1060 Btu/ft3", "expected_cv": 39.4}]}
JSON
run bench outage outage.json --json
expect_exit 0
expect_near /results/time/value 4.25 1e-9
expect_near /results/time/u 0.55901699 1e-6
expect_json /inputs/streams/0/fallback rich.json
refused --expected-cv "one of the two" bench outage --time 6h --flow 5e4m3/h --fallback-cv 39.5

run bench spares --units 60 --mtbf 6years --lead-time 20weeks --service 95% --json
expect_near /results/stock/value 7 0
for sum in leak purge lag carrier cylinder storage line outage shelter spares misstatement; do
    run bench "$sum" --help
    expect_exit 0
    expect_out "Formula"
    expect_out "Example"
done
finish
