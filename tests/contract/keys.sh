# gaswright key and visit sign: keys with and without passphrase, what may be signed by whom.
source "$(dirname "$0")/harness.sh"

store=(--store "$work/record.db")
printf 'a passphrase of some length\n' >pass
pass=(--passphrase-file pass)
run key new a.key --name "A. Person" "${pass[@]}" --json
expect_exit 0
expect_json
print_a=$(json /fingerprint)
expect_json /passphrase true
expect "only its owner may read it" test "$(stat -c %a a.key)" = 600
expect "the passphrase is not in it" bash -c '! grep -q "a passphrase" a.key'
run key show a.key --pem a.pem --json
expect_exit 0
expect_json /fingerprint "$print_a"
expect "openssl works out the same fingerprint" test \
    "$(openssl pkey -pubin -in a.pem -outform DER | sha256sum | cut -c1-64)" = "$print_a"
run key new a.key --name "A. Person" "${pass[@]}"
expect_exit 2
expect_error a.key "never written over"
: >empty
refused passphrase "empty" key new e.key --name "E. Person" --passphrase-file empty
expect_no_file e.key
run key new n.key --name "N. Person" --no-passphrase
expect_exit 0
expect_out "WITHOUT a passphrase"
refused --name "name of its person" key new x.key --name " " --no-passphrase
run key show absent.key
expect_exit 3
printf '{}' >none.key
refused none.key "no key file" key show none.key
expect "a key that others may read is told of" bash -c 'chmod 644 n.key; "$GASWRIGHT" key show n.key 2>&1 >/dev/null | grep -q "others than its owner"'
chmod 600 n.key

run demo --record "${store[@]}" --json
expect_exit 0
id=$(json /visit)
run visit new --plan exchange --analyser PX-9 "${store[@]}" --json
open=$(json /visit)
refused --as "cannot be signed yet" visit sign "$open" --key a.key --as work "${pass[@]}" "${store[@]}"
refused --as "cannot be signed yet" visit sign "$open" --key a.key --as conformity "${pass[@]}" "${store[@]}"
refused --as "under that name" visit sign "$id" --key a.key --as everything "${pass[@]}" "${store[@]}"
printf 'another one\n' >wrong
refused a.key "does not open" visit sign "$id" --key a.key --as work --passphrase-file wrong "${store[@]}"
sed 's/"name": "A. Person"/"name": "B. Person"/' a.key >renamed.key
refused renamed.key "does not open" visit sign "$id" --key renamed.key --as work "${pass[@]}" "${store[@]}"
run visit sign "$id" --key a.key --as work "${pass[@]}" "${store[@]}" --json
expect_exit 0
expect_json /signature/valid true
expect_json /signature/signer "A. Person"
expect_json /signature/key "$print_a"
entry=$(json /signature/entry)
refused --as "signed this already" visit sign "$id" --key a.key --as work "${pass[@]}" "${store[@]}"
refused --as "somebody else" visit sign "$id" --key a.key --as review "${pass[@]}" "${store[@]}"
GASWRIGHT_PASSPHRASE=x run visit sign "$id" --key n.key --as witness --reservation "came late" "${store[@]}" --json
expect_exit 0
expect_json /signature/reservations/0 "came late"
run visit show "$id" "${store[@]}" --json
expect_json /signatures/0/valid true
expect_json /signatures/0/of_earlier_state false
run visit add "$id" --stage prepare --step reason --note "a later word" "${store[@]}"
expect_exit 0
run visit show "$id" "${store[@]}" --json
expect_json /signatures/0/of_earlier_state true
run visit show "$id" "${store[@]}"
expect_out "of an earlier state; recorded since"
run visit undo "$id" --entry "$entry" --reason "wrong visit" "${store[@]}"
expect_exit 0
run visit show "$id" "${store[@]}" --json
expect_json /signatures/0/withdrawn true
run store check "${store[@]}"
expect_exit 0
finish
