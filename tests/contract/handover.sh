# gaswright demo --handover: one page, the same bytes each time.
source "$(dirname "$0")/harness.sh"

run demo --handover page.pdf --json
expect_exit 0
expect_json
expect_json /handover/data/conformity_shown true
expect_file page.pdf
run demo --handover again.pdf
expect_exit 0
expect_out "again.pdf"
expect "the same bytes again" cmp -s page.pdf again.pdf
run demo --handover letter.pdf --paper letter
expect_exit 0
expect "another paper is another page" test "$(cmp -s page.pdf letter.pdf; echo $?)" -eq 1

refused --handover ".pdf" demo --handover page.svg --write folder
expect_no_file folder
refused --paper "a4 or letter" demo --handover other.pdf --paper a3
expect_no_file other.pdf
run demo --handover no/such/folder/page.pdf
expect_exit 3
expect_error no/such/folder/page.pdf
finish
