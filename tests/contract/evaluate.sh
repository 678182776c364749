# gaswright assay evaluate: planted response functions, and what must be refused.
source "$(dirname "$0")/harness.sh"

# Gases with a curved response of methane (0.991 x + 1e-4 x^2, area = amount at 90) and lines for the
# others. $1: file; $2: how many gases; $3: factor on the propane entry of the third certificate.
spec() {
    awk -v n="$2" -v wrong="${3:-1}" 'BEGIN {
        split("0.90 0.84 0.95 0.87 0.92 0.81 0.89 0.96 0.83", m)
        split("0.04 0.09 0.02 0.06 0.05 0.08 0.07 0.015 0.10", e)
        split("0.02 0.01 0.012 0.035 0.005 0.04 0.015 0.008 0.03", p)
        print "{\"schema\": \"gaswright.evaluation/1\", \"assumed\": \"proportional\", \"calibration_gas\": 0,"
        print "\"range\": {\"methane\": [0.80, 0.97], \"ethane\": [0.01, 0.10], \"propane\": [0.004, 0.04], \"nitrogen\": [0.004, 0.07]},"
        print "\"limits\": {\"gross_cv_volume\": {\"error_percent\": 0.1}}, \"standard\": \"iso6976\", \"combustion_c\": 15,"
        print "\"metering_c\": 15, \"compositions\": 4000, \"seed\": 1, \"reference_gases\": ["
        for (g = 1; g <= n; ++g) {
            x = 1 - m[g] - e[g] - p[g]
            cert = g == 3 ? p[g] * wrong : p[g]
            if (g > 1) print ","
            printf "{\"components\": {\"methane\": {\"value\": %.9f, \"u\": 1e-5}, \"ethane\": {\"value\": %.9f, \"u\": 1e-5}, \"propane\": {\"value\": %.9f, \"u\": 5e-6}, \"nitrogen\": {\"value\": %.9f, \"u\": 1e-5}},", m[g], e[g], cert, x
            printf "\"responses\": {"
            printf "\"methane\": ["; for (k = 0; k < 4; ++k) printf "%s%.9f", k ? "," : "", (0.991 * 100 * m[g] + 1e-4 * 10000 * m[g] * m[g]) * (1 + (k % 2 ? 1e-5 : -1e-5)); printf "],"
            printf "\"ethane\": ["; for (k = 0; k < 4; ++k) printf "%s%.9f", k ? "," : "", 130 * e[g] * (1 + (k % 2 ? 1e-5 : -1e-5)); printf "],"
            printf "\"propane\": ["; for (k = 0; k < 4; ++k) printf "%s%.9f", k ? "," : "", 150 * p[g] * (1 + (k % 2 ? 1e-5 : -1e-5)); printf "],"
            printf "\"nitrogen\": ["; for (k = 0; k < 4; ++k) printf "%s%.9f", k ? "," : "", 110 * x * (1 + (k % 2 ? 1e-5 : -1e-5)); printf "]}}"
        }
        print "]}" }' >"$1"
}

spec nine.json 9
run assay evaluate nine.json --json
expect_exit 0
expect_json
expect_json /functions/methane/order 2
expect_near /functions/methane/coefficients/2 1e-4 1e-5
expect_near /functions/methane/coefficients/1 0.991 0.002
expect_json /functions/ethane/order 1
expect_near /functions/ethane/coefficients/1 1.30 0.001
expect_json /reduced false
expect_json /properties/gross_cv_volume/share_inside 1.0
expect_near /properties/gross_cv_volume/mean_error_percent 0 0.05
expect_near /components/methane/mean_error 0 0.05
cp .out first.json
run assay evaluate nine.json --json
expect "the same bytes twice" cmp -s .out first.json
run assay evaluate nine.json
expect_exit 0
expect_out "share inside"

# A certificate entry that is 5 % wrong does not lie on any allowed curve.
spec wrong.json 9 1.05
run assay evaluate wrong.json --json
expect_json /functions/propane/fits false
expect_json /functions/ethane/fits true

expect_exit 1
expect_json /verdict unclear

# A response that leaves its limit somewhere in the range is no favourable verdict.
sed 's/"error_percent": 0.1/"error_percent": 0.005/' nine.json >tight.json
run assay evaluate tight.json --json
expect_exit 1
expect_json /verdict fails

# By GPA 2172 the relative errors are the same to a hundredth of the error.
sed 's/"iso6976"/"gpa2172"/' nine.json >us.json
run assay evaluate us.json --json
expect_exit 0
expect_near /properties/gross_cv_volume/largest_error_percent "$("$JSON_TOOL" get /properties/gross_cv_volume/largest_error_percent <first.json)" 0.001

# A map to look at.
run assay evaluate nine.json -o map.svg --map ethane --map nitrogen
expect_exit 0
expect_file map.svg
expect "an SVG" grep -q "<svg" map.svg
expect_out "map.svg drawn"
refused --map "other than methane" assay evaluate nine.json -o map.svg --map methane --map ethane
refused --output "" assay evaluate nine.json -o map.txt

# Two gases: said to be reduced, with more uncertainty than nine give.
spec two.json 2
run assay evaluate two.json --json
expect_json /reduced true

sed 's/"calibration_gas": 0/"calibration_gas": 9/' nine.json >bad.json
refused "bad.json:calibration_gas" "no reference gas" assay evaluate bad.json
sed 's/"methane": \[0.80, 0.97\]/"methane": [80, 97]/' nine.json >bad.json
refused "bad.json:range.methane" "mol/mol" assay evaluate bad.json
sed 's/gross_cv_volume/joy/' nine.json >bad.json
refused "bad.json:limits.joy" "no property" assay evaluate bad.json
run assay evaluate absent.json
expect_exit 3
expect_error absent.json
finish
