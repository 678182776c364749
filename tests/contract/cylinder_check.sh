# gaswright cylinder check: findings, the day of use, cold, certificates that say little.
source "$(dirname "$0")/harness.sh"

position_of() {  # of a finding's id in the list
    local i
    for i in 0 1 2 3 4 5 6 7; do
        [[ $(json "/findings/$i/id" 2>/dev/null) != "$1" ]] || { echo "$i" && return; }
    done
    echo none
}
expect_finding() { expect_json "/findings/$(position_of "$1")/verdict" "$2"; }

run cylinder check "$files/cylinder.json" --on 2026-06-01 --json
expect_exit 0
expect_json
expect_stderr_lines 0
expect_json /verdict meets
for id in certificate_sum expiry pressure cold_exposure can_decide; do expect_finding "$id" meets; done
expect_finding certificate_cv missing  # the certificate prints none; nothing hangs on it

run cylinder check "$files/cylinder.json" --on 2026-06-01
expect_exit 0
expect_out "Verdict: meets"

# The verdict changes the exit code: out of date, or below its minimum temperature.
run cylinder check "$files/cylinder.json" --on 2028-01-16 --json
expect_exit 1
expect_json /verdict fails
expect_finding expiry fails
expect_near "/findings/$(position_of expiry)/value" -1 0
run cylinder check "$files/cylinder.json" --on 2026-06-01 --ambient-c -15 --json
expect_exit 1
expect_finding cold_exposure fails

# A certificate without uncertainties is taken; what it cannot show is said.
run cylinder check "$files/cylinder_without_uncertainty.json" --on 2026-06-01 --json
expect_exit 1
expect_json
expect_finding certificate_sum meets
expect_finding can_decide missing
expect_json /verdict missing

# A total that is off is a finding, not a refusal.
sed 's/"value": 89.5/"value": 88.5/' "$files/cylinder.json" >short.json
run cylinder check short.json --on 2026-06-01 --json
expect_exit 1
expect_finding certificate_sum fails

for scheme in custody us-federal oiml-a; do
    run cylinder check "$files/cylinder.json" --on 2026-06-01 --for "$scheme" --json
    expect_json
    expect_finding certificate_sum meets
done
refused --for "custody" cylinder check "$files/cylinder.json" --for nonsense
refused --on "2026" cylinder check "$files/cylinder.json" --on 2026-13-01
refused --ambient-c "" cylinder check "$files/cylinder.json" --ambient-c 400
finish
