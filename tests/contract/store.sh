# gaswright store: any changed byte of what was recorded is found and named, through sqlite3 and through
# the file's own bytes; a cut tail; backup while open; the record checked with standard tools alone.
source "$(dirname "$0")/harness.sh"

db=$work/record.db
store=(--store "$db")
run visit new --plan exchange --analyser PX-1 "${store[@]}" --json
id=$(json /visit)
expect_exit 0
run visit add "$id" --stage prepare --step reason --value "a reason" "${store[@]}"
run visit add "$id" --stage prepare --step "calibration certificate" --file "$files/cylinder.json" "${store[@]}"
expect_exit 0
run visit undo "$id" "${store[@]}"
run thing add instrument G-17 --set calibration_due=2027-01-01 "${store[@]}"
run cylinder add "$files/cylinder.json" "${store[@]}"
expect_exit 0
run store check "${store[@]}" --json
expect_exit 0
expect_json
expect_json /intact true
expect_json /first_bad null
entries=$(json /entries)
head=$(json /head)
run store check "${store[@]}" --head "$entries:$head" --json
expect_exit 0
run store check "${store[@]}"
expect_exit 0
expect_out "$entries:$head"
refused --head "no head" store check "${store[@]}" --head nonsense
expect "sqlite3 finds the file sound" test "$(sqlite3 "$db" 'PRAGMA integrity_check')" = ok

tampered() {  # $1: SQL; a copy of the store is changed, and the check must find and name it
    cp "$db" copy.db
    rm -f copy.db-wal copy.db-shm
    sqlite3 copy.db "$1" || echo "sqlite3 refused: $1" >&2
    run store check --store copy.db --json
    expect_exit 1
    expect_json /intact false
    expect "named: $1" test "$(json /first_bad/what)" != null
}
# Every column of every table.
sqlite3 "$db" "SELECT m.name || ' ' || c.name || ' ' || c.type FROM sqlite_master m, pragma_table_info(m.name) c
    WHERE m.type = 'table'" | while read -r table column type; do
    case $column-$type in
        one-*) continue ;;  # the schema allows 1 only
        *-INTEGER) change="$column + 100" ;;
        *-BLOB) change="CAST($column || 'x' AS BLOB)" ;;
        *) change="$column || 'x'" ;;
    esac
    echo "UPDATE $table SET $column = $change WHERE rowid = (SELECT max(rowid) FROM $table)"
done >changes
expect "there are many columns" test "$(wc -l <changes)" -gt 30
while read -r change; do tampered "$change"; done <changes
tampered "UPDATE journal SET body = replace(body, 'a reason', 'another') WHERE body LIKE '%a reason%'"
expect_json /first_bad/entry 4
tampered "DELETE FROM journal WHERE sequence = 4"
expect_json /first_bad/entry 4
tampered "DELETE FROM journal WHERE sequence = (SELECT max(sequence) FROM journal)"
tampered "CREATE TRIGGER t AFTER INSERT ON journal BEGIN SELECT 1; END"
# Whoever rewrites the whole tail consistently is found by a head that was noted elsewhere.
cp "$db" cut.db
sqlite3 cut.db "DELETE FROM journal WHERE sequence > 5; DELETE FROM things WHERE kind != 'analyser'; DELETE FROM evidence WHERE sha256 NOT IN
    (SELECT evidence FROM journal); UPDATE head SET entries = 5, hash = (SELECT hash FROM journal WHERE sequence = 5);
    UPDATE visits SET entries = 3, last = 5, changed = (SELECT recorded FROM journal WHERE sequence = 5)"
run store check --store cut.db --head "$entries:$head" --json
expect_exit 1
expect "the missing end is named" grep -q "end is missing" .out

# Raw bytes: every place where a recorded text lies in the file.
flip() {  # $1: text in the file; its first letter becomes a Z
    local at
    at=$(grep -obaF -- "$1" "$db" | head -n 1 | cut -d: -f1)
    cp "$db" copy.db
    rm -f copy.db-wal copy.db-shm
    printf Z | dd of=copy.db bs=1 seek="$at" conv=notrunc status=none
    run store check --store copy.db --json
    expect_exit 1
    expect_json /intact false
    expect "named: $1" test "$(json /first_bad/what)" != null
}
for text in "a reason" "calibration_due" "$id" "$head" "prepare" "sha256"; do flip "$text"; done
printf 'this was a database once, and somebody wrote over all of it............' >ruin.db
run store check --store ruin.db --json
expect_exit 1
expect_json /intact false
run store check --store absent.db
expect_exit 3
expect_no_file absent.db
run store check --store "$work"
expect_exit 3

# A copy, and no overwriting.
run store backup copy2.db "${store[@]}" --json
expect_exit 0
expect_json /entries "$entries"
expect_json /head "$head"
refused copy2.db "overwrites nothing" store backup copy2.db "${store[@]}"
run store migrate "${store[@]}" --json
expect_exit 0
expect_json /backup null

# Without this program: the hash of an entry by sqlite3 and openssl, as docs/record.md says.
form="'gaswright.entry/1' || char(10) || 'sequence: ' || sequence || char(10) || 'recorded: ' || recorded || char(10)
    || 'subject: ' || subject || char(10) || 'kind: ' || kind || char(10) || 'who: ' || who || char(10)
    || 'evidence: ' || evidence || char(10) || 'body: ' || body || char(10) || 'previous: ' || previous || char(10)"
for ((n = 1; n <= entries; ++n)); do
    made=$(sqlite3 "$db" "SELECT $form FROM journal WHERE sequence = $n" | head -c -1 | openssl dgst -sha256 -r | cut -c 1-64)
    expect "entry $n by openssl" test "$made" = "$(sqlite3 "$db" "SELECT hash FROM journal WHERE sequence = $n")"
done
expect "the chain ends at the head" test "$(sqlite3 "$db" "SELECT hash FROM journal WHERE sequence = $entries")" = "$head"

# Killed in the middle, again and again: what was answered is there.
answered=0
for round in 1 2 3 4 5 6 7 8 9 10 11 12; do
    ("$GASWRIGHT" visit add "$id" --stage prepare --step reason --note "round $round" "${store[@]}" --json >answer.json 2>/dev/null) &
    pid=$!
    sleep "0.00$((round % 7))"
    kill -9 "$pid" 2>/dev/null
    wait "$pid" 2>/dev/null
    [[ ! -s answer.json ]] || answered=$("$JSON_TOOL" get /entry <answer.json)
    run store check "${store[@]}" --json
    expect_exit 0
    expect "nothing answered is lost" test "$(json /entries)" -ge "$answered"
done

# Several at once keep one chain.
for n in 1 2 3 4 5 6; do
    "$GASWRIGHT" visit add "$id" --stage prepare --step reason --note "at once $n" "${store[@]}" >/dev/null 2>&1 &
done
wait
run store check "${store[@]}" --json
expect_exit 0
run visit show "$id" "${store[@]}" --json
for n in 1 2 3 4 5 6; do expect "note $n" grep -q "at once $n" .out; done
finish
