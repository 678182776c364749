# Bad input of every kind: exit code 2 (3 for a file that is not there), one line that says where.
source "$(dirname "$0")/harness.sh"

# One kind of damage after the other, to each kind of file.
: >empty
head -c 4096 /dev/urandom >binary
head -c 60 "$files/gas.json" >cut_gas.json
head -c 400 "$files/cylinder.json" >cut_cylinder.json
head -c 300 "$files/method.json" >cut_method.json
make_trace 7 >run.csv
for damaged in empty binary; do
    refused "$damaged" "" gas properties "$damaged"
    refused "$damaged" "" cylinder check "$damaged"
    refused "$damaged" "" trace peaks "$damaged"
    refused "$damaged" "" trace peaks run.csv --method "$damaged"
    refused "$damaged" "" assay run run.csv --method "$files/method.json" --calibration "$damaged"
    refused "$damaged" "" assay calibrate run.csv --method "$files/method.json" --cylinder "$damaged"
done
refused cut_gas.json:2 "JSON" gas properties cut_gas.json
run cylinder check cut_cylinder.json
expect_exit 2
expect_stderr_lines 1
run trace peaks run.csv --method cut_method.json
expect_exit 2
expect_stderr_lines 1

# A composition.
composition() { printf '{"unit": "%s", "components": {%s}}' "$1" "$2" >gas.json; }
composition mol% '"methane": 99, "phlogiston": 1'
refused gas.json:components.phlogiston "phlogiston" gas properties gas.json
composition ppm '"methane": 100'
refused gas.json:unit "ppm" gas properties gas.json
composition mol% '"methane": 101, "ethane": -1'
refused gas.json:components.ethane "" gas properties gas.json
composition mol/mol '"methane": 1e999'
refused gas.json "" gas properties gas.json
composition mol/mol '"methane": 1e300'
refused gas.json:components.methane "" gas properties gas.json --normalise
composition mol/mol '"methane": NaN'
refused gas.json:1 "" gas properties gas.json
composition mol/mol '"methane": "all of it"'
refused gas.json:components.methane "number" gas properties gas.json
composition mol/mol '"methane": 0.5, "C1": 0.5'
refused gas.json:components.C1 "methane" gas properties gas.json
composition mol% ''
refused gas.json:components "" gas properties gas.json
composition mol/mol '"methane": 1}}{"unit": {"a": 1'
refused gas.json:1 "" gas properties gas.json
echo '{"schema": "gaswright.gas/9", "unit": "mol/mol", "components": {"methane": 1}}' >gas.json
refused gas.json:schema "gaswright.gas/9" gas properties gas.json
head -c 300000 /dev/zero | tr '\0' '[' >deep.json
run gas properties deep.json
expect_exit 2
expect_stderr_lines 1

# A cylinder.
spoil() { sed "$1" "$files/cylinder.json" >cylinder.json; }
spoil 's/"unit": "mol%"/"unit": "ppm"/'
refused cylinder.json:certificate.unit "ppm" cylinder check cylinder.json
spoil 's/"value": 89.5/"value": 59.5/'
refused cylinder.json:certificate.components "" cylinder check cylinder.json
spoil 's/"k": 2/"k": 0/'
run cylinder check cylinder.json
expect_exit 2
expect_stderr_lines 1
spoil 's/2028-01-15/soon/'
refused cylinder.json:expires "" cylinder check cylinder.json
spoil 's/"calibration"/"decoration"/'
refused cylinder.json:role "proving" cylinder check cylinder.json
spoil 's/"pressure_kpa": 6000/"pressure_kpa": -6000/'
refused cylinder.json:pressure_kpa "" cylinder check cylinder.json

# A trace: line numbers count from one, the header too.
swap() { awk -v line="$1" -v text="$2" 'NR == line { print text; next } { print }' run.csv >bad.csv; }
swap 2000 "79.88,nan"
refused bad.csv:2000 "" trace peaks bad.csv
swap 2000 "79.88,1e999"
refused bad.csv:2000 "" trace peaks bad.csv
swap 2000 "12.00,2.1"
refused bad.csv:2000 "" trace peaks bad.csv
swap 2000 "79.88"
refused bad.csv:2000 "" trace peaks bad.csv
swap 2000 "79.88,word"
refused bad.csv:2000 "" trace peaks bad.csv
head -n 9 run.csv >short.csv
refused short.csv "" trace peaks short.csv
echo "a letter, not a trace" >letter.txt
run trace peaks letter.txt
expect_exit 2
expect_stderr_lines 1

# A method.
sed 's/"component": "ethane"/"component": "aether"/' "$files/method.json" >method.json
run trace peaks run.csv --method method.json
expect_exit 2
expect_stderr_lines 1
expect "the unknown name is said" grep -q aether .err
sed 's/"window_s": 4/"window_s": -4/' "$files/method.json" >method.json
run trace peaks run.csv --method method.json
expect_exit 2
expect_stderr_lines 1

# Files that cannot be read.
for arguments in "gas properties absent" "cylinder check absent" "trace peaks absent" \
    "trace peaks run.csv --method absent" "assay run absent --method $files/method.json --calibration absent"; do
    # shellcheck disable=SC2086  # the words are meant to be split
    run $arguments
    expect_exit 3
    expect_error absent
done
refused "$work" "folder" gas properties "$work"

# Whatever is wrong, the line stays one line.
printf '{"unit": "mol%%", "components": {"a\\nb\\u001b[31m": 1}}' >gas.json
run gas properties gas.json
expect_exit 2
expect_stderr_lines 1
expect "no control characters reach the terminal" test -z "$(tr -d '\n' <.err | tr -dc '\000-\037')"
finish
