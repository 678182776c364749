# gaswright demo: the story from start to end, and its files through the commands that it shows.
source "$(dirname "$0")/harness.sh"

run demo
expect_exit 0
expect_stderr_lines 0
expect_out "nvented"
expect_out "Verdict as found: fails"
expect_out "Verdict as left: meets"

run demo --json
expect_exit 0
expect_json
expect_json /as_found/verdict fails
expect_json /as_left/verdict meets
expect_json /may_sign/conformity true
as_found=$(json /as_found/verdict)
cp .out first
run demo --json
expect "the same bytes again" cmp -s first .out
run demo --json --write files_of_the_demo
expect_exit 0
expect_json

# What it wrote is what any user could bring.
run prove files_of_the_demo/proof_as_found.json --on 2026-05-19 --json
expect_exit 1
expect_json /verdict "$as_found"
run prove files_of_the_demo/proof_as_left.json --on 2026-05-19 --json
expect_exit 0
expect_json /verdict meets
run look files_of_the_demo/printed_report.csv --json
expect_exit 1
expect_json
run cylinder check files_of_the_demo/proving_gas.json --on 2026-05-19 --json
expect_json
run trace peaks files_of_the_demo/as_left_line_1_1.csv --method files_of_the_demo/method.json --json
expect_exit 0
expect_json

echo "a file in the way" >in_the_way
run demo --write in_the_way
expect "refused or failed" test "$code" -ge 2
expect_stderr_lines 1
finish
