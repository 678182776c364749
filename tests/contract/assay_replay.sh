# gaswright assay replay: many runs into one table, the same bytes whatever the threads, resumed
# after a kill, and never stopped by one bad run.
source "$(dirname "$0")/harness.sh"

mkdir runs
for seed in 1001 2002 3003; do make_trace "$seed" >"cal$seed.csv"; done
run assay calibrate cal1001.csv cal2002.csv cal3003.csv --method "$files/method.json" \
    --cylinder "$files/cylinder.json" -o calibration.json
for n in 1 2 3 4 5 6 7; do
    make_trace "$((9000 + n))" | sed "1a # start: 2026-03-0${n}T10:00:00Z" >"runs/r$n.csv"
done
given=(--method "$files/method.json" --calibration calibration.json)

run assay replay runs "${given[@]}" -o folder.csv --json
expect_exit 0
expect_json
expect_json /runs 7
expect_json /failed 0
expect "a row for each run under one header" test "$(wc -l <folder.csv)" -eq 8
expect "no part is left" test ! -e folder.csv.part -a ! -e folder.csv.part.json
expect "run, start and total come first" grep -q '^run,start,unnormalised_total,mole_percent:' folder.csv

# The figures are those of assay run; runs that are followed agree within a fiftieth of a percent.
cell() { # $1: file, $2: row from 1, $3: column title
    awk -F, -v row="$2" -v title="$3" 'NR == 1 { for (i = 1; i <= NF; ++i) if ($i == title) c = i }
        NR == row + 1 { print $c }' "$1"
}
for n in 1 4 7; do
    run assay run "runs/r$n.csv" "${given[@]}" --json
    expect_near /properties/real/gross_cv_volume/value "$(cell folder.csv "$n" gross_cv_volume)" 0.003
    expect_near /unnormalised_total "$(cell folder.csv "$n" unnormalised_total)" 0.02
done

# A list and an archive of the same runs give the same figures; the number of threads changes nothing.
ls runs/*.csv >list.txt
run assay replay list.txt "${given[@]}" -o list.csv --threads 1
expect_exit 0
run assay replay list.txt "${given[@]}" -o list3.csv --threads 3
expect "the same bytes from one thread and three" cmp -s list.csv list3.csv
run trace pack make year.gwa runs
run assay replay year.gwa "${given[@]}" -o archive.csv
expect_exit 0
expect "the archive's figures are the folder's" \
    cmp -s <(cut -d, -f2-20 archive.csv) <(cut -d, -f2-20 folder.csv)

# A run that cannot be read becomes a row with its reason.
printf 'runs/r1.csv\nruns/none.csv\n# left out\nruns/bad.csv\nruns/r2.csv\n' >mixed.txt
echo "time_s,signal" >runs/bad.csv
run assay replay mixed.txt "${given[@]}" -o mixed.csv --json
expect_exit 0
expect_json /runs 4
expect_json /failed 2
expect "the reason stands in the row" grep -q '^runs/none.csv,.*failed: ' mixed.csv
expect "the run after it is valued" grep -qE '^runs/r2.csv,[^,]*,[0-9.]+,' mixed.csv

# Killed and begun again: goes on where it stood, to the same bytes.
for i in $(seq 20); do cat list.txt; done >long.txt
run assay replay long.txt "${given[@]}" -o long.csv
expect_exit 0
"$GASWRIGHT" assay replay long.txt "${given[@]}" -o killed.csv --careful --threads 1 2>/dev/null &
pid=$!
for i in $(seq 200); do
    [[ -e killed.csv.part && $(wc -l <killed.csv.part) -gt 40 ]] && break
    sleep 0.05
done
kill -9 "$pid" 2>/dev/null
wait "$pid" 2>/dev/null
expect "the kill left a part" test -s killed.csv.part
printf 'torn line, no end' >>killed.csv.part
run assay replay long.txt "${given[@]}" -o killed.csv
expect_exit 2
expect_error killed.csv.part "begun with"
run assay replay long.txt "${given[@]}" -o killed.csv --careful --json
expect_exit 0
expect "it goes on from whole blocks" test "$(json /resumed)" -ge 32
run assay replay long.txt "${given[@]}" -o careful.csv --careful
expect "the same table as without the kill" cmp -s killed.csv careful.csv

refused list.csv "no run that exists" assay replay list.csv "${given[@]}" -o x.csv
finish
