# gaswright bench misstatement: the half-period rule with its cap, volumes from a file, causes.
source "$(dirname "$0")/harness.sh"

# The rule is that of tariffs filed with a regulator; the numbers are made here.
run bench misstatement --flow 1200000 --cv 39.5 --error -0.35 --last-good 0 --found 46 --cap-days 16 --json
expect_exit 0
expect_json
expect_near /days 16 1e-9
expect_near /misstatement/value -739.9230640575277 1e-6
expect_near /misstatement_linear_mwh -737.3333333333334 1e-6
expect_json /onset_rule half_period

awk 'BEGIN { print "time,volume_m3,cv"; for (d = 1; d <= 20; ++d) for (h = 0; h < 24; ++h) printf "2026-03-%02dT%02d:00:00Z,50000,39.5\n", d, h }' >volumes.csv
run bench misstatement volumes.csv --error 0.5 --error-u 0.05 --onset 2026-03-06T00:00:00Z --onset-from 2026-03-05T00:00:00Z \
    --onset-to 2026-03-07T00:00:00Z --found 2026-03-16T00:00:00Z --price 30 --currency EUR --cause "wrong certificate=0.3:0.02" \
    --cause "cut=0.2:0.03" --json
expect_exit 0
expect_near /days 10 1e-9
expect_near /misstatement/value 655.06 0.1
expect_near /u_parts_mwh/error 65.2 0.2
expect_near /u_parts_mwh/onset 33.4 0.2
expect_near /money/value 19651.7 3
expect_json /money/unit EUR
expect_json /causes/0/cause "wrong certificate"
run bench misstatement volumes.csv --error 0.5 --onset 2026-03-06T00:00:00Z --found 2026-03-16T00:00:00Z --ramp
expect_exit 0
expect_out "overstated"

refused --onset "needed once" bench misstatement volumes.csv --error 0.5 --found 2026-03-16T00:00:00Z
refused --onset "does not lie before" bench misstatement volumes.csv --error 0.5 --onset 2026-03-17T00:00:00Z --found 2026-03-16T00:00:00Z
refused --cause "percent" bench misstatement volumes.csv --error 0.5 --onset 2026-03-06T00:00:00Z --found 2026-03-16T00:00:00Z --cause half
printf 'time_s,cv\n0,1\n1,1\n' >bad.csv
refused bad.csv "volume_m3" bench misstatement bad.csv --error 0.5 --onset 0 --found 1
finish
