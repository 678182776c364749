# gaswright trace pack: many runs in one file, added to, listed, checked, taken out again.
source "$(dirname "$0")/harness.sh"

mkdir runs more out
for seed in 1 2 3; do
    make_trace "$seed" | sed "1a # start: 2026-03-0${seed}T10:00:00Z\n# stream: $seed\n# gas: line\n# ambient_kpa: 99.1" >"runs/r$seed.csv"
done
make_trace 4 | sed '1a # start: 2026-03-04T10:00:00Z' >more/r4.csv

run trace pack make year.gwa runs --json
expect_exit 0
expect_json /runs 3
expect "packed into less than half of the samples as floats" test "$(stat -c %s year.gwa)" -lt 24000
refused year.gwa "stands already" trace pack make year.gwa runs

# A run comes back as it went in, with what was known about it.
run trace pack extract year.gwa --run 2 -o back.csv
expect_exit 0
run trace convert runs/r2.csv -o direct.csv
expect "the same text as without the archive" cmp -s back.csv direct.csv
expect "its stream is kept" grep -q "^# stream: 2" back.csv

# Adding; nothing is added twice.
run trace pack append year.gwa more runs/r1.csv --json
expect_exit 0
expect_json /added 1
expect_json /doubles 1
run trace pack list year.gwa --from 2026-03-02T00:00Z --to 2026-03-04T00:00Z --json
expect_json
expect_json /runs 4
expect_json /list/0/run 2
expect_json /list/1/header/stream 3
run trace pack list year.gwa --content "$(sha256sum more/r4.csv | cut -c 1-16)" --json
expect_json /list/0/run 4
run trace pack extract year.gwa -o out
expect_exit 0
expect "four runs taken out" test "$(find out -type f | wc -l)" -eq 4
run trace pack check year.gwa
expect_exit 0

# An append that was killed: what stood stands, and the next append mends the end.
cp year.gwa cut.gwa
make_trace 5 >more/r5.csv
run trace pack append cut.gwa more/r5.csv
head -c $(($(stat -c %s cut.gwa) - 3000)) cut.gwa >killed.gwa
run trace pack check killed.gwa --json
expect_exit 1
expect_json /runs 4
expect_json /indexed false
run trace pack append killed.gwa more/r5.csv --json
expect_exit 0
expect_json /runs 5
run trace pack check killed.gwa
expect_exit 0

# A damaged run is told by its place; the others are read.
printf '\377' | dd of=year.gwa bs=1 seek=2000 conv=notrunc status=none
run trace pack check year.gwa --json
expect_exit 1
expect_json /damaged 1
expect_json /list/0/run 1
run trace pack extract year.gwa --run 1 -o damaged.csv
expect_exit 2
expect_error "year.gwa:run 1" checksum
expect_no_file damaged.csv
run trace pack extract year.gwa --run 3 -o three.csv
expect_exit 0

# What cannot be packed is named and the rest is packed; nothing at all is refused.
echo "no trace" >runs/notes.txt
run trace pack make rest.gwa runs --json
expect_exit 0
expect_json /runs 3
refused none.gwa "" trace pack make none.gwa runs/notes.txt
expect_no_file none.gwa
refused runs/r1.csv "no archive" trace pack list runs/r1.csv
refused --run "" trace pack extract rest.gwa --run 9 -o x.csv
finish
