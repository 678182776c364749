# The demonstration's whole visit: signed by two people, exported, checked with standard tools alone and by
# the program, brought into another store; every changed byte found; a record cut off or written anew found.
source "$(dirname "$0")/harness.sh"

store=(--store "$work/record.db")
printf 'words to open it\n' >pass
pass=(--passphrase-file pass)
run key new a.key --name "A. Person" "${pass[@]}" --json
expect_exit 0
json /trust >trust.txt
run key new b.key --name "B. Person" "${pass[@]}" --json
json /trust >>trust.txt
run demo --record "${store[@]}" --json
expect_exit 0
id=$(json /visit)
run visit show "$id" "${store[@]}" --json
expect_json /may_sign/work true
expect_json /may_sign/conformity true
for as in work conformity; do
    run visit sign "$id" --key a.key --as $as "${pass[@]}" "${store[@]}"
    expect_exit 0
done
run visit sign "$id" --key b.key --as witness --reservation "stream 2 seen as left only" "${pass[@]}" "${store[@]}"
expect_exit 0
run visit export "$id" -o bundle.zip --key a.key "${pass[@]}" "${store[@]}" --json
expect_exit 0
expect_json
run visit export "$id" -o again.zip --key a.key "${pass[@]}" "${store[@]}"
expect "the same record gives the same bytes" cmp -s bundle.zip again.zip

# ---- by the program
run visit verify bundle.zip --trust trust.txt --json
expect_exit 0
expect_json /intact true
expect_json /trusted true
expect_json /first_bad null
expect_json /signatures/2/signer "B. Person"
run visit verify bundle.zip --json
expect_exit 0
expect_json /trusted false
head -n 1 trust.txt >half.txt
run visit verify bundle.zip --trust half.txt --json
expect_exit 1
expect_json /intact true
expect_json /trusted false
sed 's/A. Person/C. Person/' trust.txt >swapped.txt
run visit verify bundle.zip --trust swapped.txt --json
expect_exit 1
expect_json /trusted false

# ---- by standard tools alone: the commands of docs/bundle.md
(
    unzip -q bundle.zip -d handover && cd handover || exit 1
    sha256sum --check --strict --quiet manifest.sha256 || exit 2
    openssl pkeyutl -verify -pubin -inkey manifest.pem -rawin -in manifest.sha256 -sigfile manifest.sig || exit 3
    for t in signatures/*.txt; do
        openssl pkeyutl -verify -pubin -inkey "${t%.txt}.pem" -rawin -in "$t" -sigfile "${t%.txt}.sig" || exit 4
    done
    for p in manifest.pem signatures/*.pem; do
        grep -q "^$(openssl pkey -pubin -in "$p" -outform DER | sha256sum | cut -c1-64)  " ../trust.txt || exit 5
    done
    for e in journal/*.txt; do
        n=$(sed -n 's/^sequence: //p' "$e") h=$(sha256sum <"$e" | cut -c1-64)
        first=$(head -n 1 chain.txt | cut -d' ' -f1)
        [ "$n" -lt "$first" ] || grep -qx "$n $h" chain.txt || exit 6
    done
    for t in signatures/*.txt; do
        grep -qx "$(sed -n 's/^journal: \([0-9]*\):/\1 /p' "$t")" chain.txt || exit 7
        sha256sum signed/* | grep -q "^$(sed -n 's/^findings: //p' "$t")" || exit 8
    done
    [ "$(wc -l <manifest.sha256)" -eq "$(find . -type f ! -name manifest.sha256 ! -name manifest.sig | wc -l)" ] || exit 9
) >by_hand.txt 2>&1
expect "unzip, sha256sum and openssl agree (step $?: $(tail -n 1 by_hand.txt))" test "$(grep -c "Verified Successfully" by_hand.txt)" -eq 4
expect "by hand: every check went through" bash -c '! grep -qiE "fail|error" by_hand.txt'
for file in handover.pdf handover.html handover.json findings.json visit.json README.txt settings/difference.txt chain.txt; do
    expect_file "handover/$file"
done
expect "every run is there" test "$(find handover/runs -name '*.csv' | wc -l)" -eq 36
expect "the difference of the settings is one" grep -q "^+ calibration gas: ethane,4.500" handover/settings/difference.txt

# ---- the handover
expect "qpdf is content" qpdf --check handover/handover.pdf >/dev/null
expect "every font is embedded" test -z "$(pdffonts handover/handover.pdf | tail -n +3 | awk '$(NF-4) != "yes"')"
pdftotext -layout handover/handover.pdf handover.txt
for words in "Conformity shown" "INVENTED DATA" "Passed over, not done" "Leak test" "Settling" "Substitute period" \
    "Limits as they were that day" "What an auditor asks" "$(sed -n 1p trust.txt | cut -c1-64)" "no authority to proceed"; do
    expect "the handover says: $words" grep -qF -- "$words" handover.txt
done
expect "nothing that an auditor asks is missing from the demonstration" bash -c '! grep -q "NOT THERE" handover.txt'
expect "the page has no script and fetches nothing" bash -c '! grep -qiE "<script|src=\"http|href=\"http|url\(" handover/handover.html'
expect "the data of the first page give the sum printed on it" \
    grep -qF "$(sha256sum <handover/handover.json | cut -c1-64)" handover.txt
run visit report "$id" -o report.pdf --html report.html --paper letter "${store[@]}" --json
expect_exit 0
expect_file report.html
refused --output "named like one" visit report "$id" -o report.txt "${store[@]}"

# ---- any changed byte is found and named
size=$(stat -c %s bundle.zip)
flip() {  # $1: place; the byte there gets another value
    cp bundle.zip bad.zip
    local byte
    byte=$(od -An -tu1 -j "$1" -N 1 bundle.zip)
    printf "$(printf '\\%03o' $(((byte + 1) % 256)))" | dd of=bad.zip bs=1 seek="$1" conv=notrunc status=none
}
missed=0
for ((k = 0; k < 24; k++)); do
    flip $((size * k / 24 + k % 7))
    run visit verify bad.zip --json
    [[ $code -eq 1 ]] && json_equals /intact false && [[ $(json /first_bad/file) ]] || missed=$((missed + 1))
done
for place in 0 4 6 8 10 14 18 22 26 30 $((size - 1)) $((size - 70)) $((size - 120)) $((size - 300)); do
    flip "$place"
    run visit verify bad.zip --json
    [[ $code -eq 1 ]] && json_equals /intact false || missed=$((missed + 1))
done
expect "no changed byte was missed" test "$missed" -eq 0
repacked() {  # $1: file; the rest: a command that changes it in the folder; the zip is packed anew by hand
    rm -rf other other.zip && cp -r handover other
    (cd other && "${@:2}")
    (cd other && zip -q -r ../other.zip .) || true
    run visit verify other.zip --json
    expect_exit 1
    expect_json /intact false
}
if command -v zip >/dev/null; then
    repacked visit.json sed -i 's/meets/fails/' visit.json
    expect_json /first_bad/file visit.json
    repacked handover.pdf rm handover.pdf
    expect_json /first_bad/file handover.pdf
    repacked more sh -c 'echo more >more.txt'
    expect_json /first_bad/file more.txt
fi
head -c 5000 bundle.zip >cut.zip
run visit verify cut.zip --json
expect_exit 1
run visit import cut.zip --store other.db
expect_exit 2
expect_no_file other.db
flip $((size / 2))
run visit import bad.zip --store other.db
expect_exit 2
expect_error bad.zip "not intact"
expect_no_file other.db

# ---- elsewhere
run visit import bundle.zip --trust trust.txt --store other.db --by "C. Person" --json
expect_exit 0
expect_json /trusted true
added=$(json /added)
expect "entries came over" test "$added" -gt 80
run visit show "$id" --store other.db --json
expect_exit 0
expect_json /may_sign/conformity true
for i in 0 1 2; do
    expect_json /signatures/$i/valid true
done
expect_json /signatures/0/of_earlier_state false  # to bring it over changes nothing of it
run visit import bundle.zip --store other.db --json
expect_exit 0
expect_json /added 0
expect_json /known "$added"
run visit import bundle.zip "${store[@]}" --json
expect_json /added 0  # it is at home here
run store check --store other.db --json
expect_exit 0
run store check --against bundle.zip --store other.db --json
expect_exit 0
run visit export "$id" -o twice.zip --key b.key "${pass[@]}" --store other.db
expect_exit 0
run visit verify twice.zip --trust trust.txt --json
expect_exit 0
expect_json /trusted true

# ---- the record against its bundle
run store check --against bundle.zip "${store[@]}" --json
expect_exit 0
expect_json /intact true
run store backup whole.db "${store[@]}"
# A keeper who cuts the tail off, or writes another one, and makes the chain sound again.
run demo --record --store rewritten.db --json
run store check --store rewritten.db
expect_exit 0
run store check --against bundle.zip --store rewritten.db --json
expect_exit 1
expect_json /intact false

last=$(sqlite3 whole.db 'SELECT max(sequence) FROM journal')
run visit add "$id" --stage prepare --step reason --note "after the bundle" "${store[@]}"
run store check --against bundle.zip "${store[@]}" --json
expect_exit 0  # what came later is no fault
run visit export "$id" -o later.zip --key a.key "${pass[@]}" "${store[@]}"
run store check --against later.zip --store whole.db --json
expect_exit 1
expect "the end that is missing is named" test "$(json /first_bad/entry)" = $((last + 1))
run visit import later.zip --store other.db --json
expect_exit 0
expect_json /added 1  # only what is new
run store check --against absent.zip "${store[@]}"
expect_exit 3
printf 'no zip' >none.zip
run visit verify none.zip --json
expect_exit 1
expect_json /intact false
finish
