# gaswright trace draw: the same figure as SVG, PNG and PDF, by the suffix.
source "$(dirname "$0")/harness.sh"

make_trace 4711 >run.csv
run trace draw run.csv --method "$files/method.json" -o run.svg
expect_exit 0
expect_stderr_lines 0
expect_out "run.svg"
for name in nitrogen methane ethane "carbon dioxide" propane; do
    expect "the SVG holds $name" grep -q "$name" run.svg
done
if command -v python3 >/dev/null; then
    expect "the SVG is well-formed" python3 -c 'import sys, xml.dom.minidom; xml.dom.minidom.parse(sys.argv[1])' run.svg
fi

magic() { [[ $(head -c "$1" "$2" | tr -d '\0') == "$3" ]]; }
for format in svg png pdf; do
    run trace draw run.csv -o "once.$format" --json
    expect_exit 0
    expect_json
    expect_json /output "once.$format"
    expect_json /peaks 5
    run trace draw run.csv -o "again.$format"
    expect "the same bytes again: $format" cmp -s "once.$format" "again.$format"
done
expect "a PNG" magic 4 once.png "$(printf '\211PNG')"
expect "a PDF" magic 5 once.pdf "%PDF-"

# Part of the run, another size.
run trace draw run.csv -o part.svg --from 50 --to 100 --detector 1 --width-mm 100 --height-mm 60
expect_exit 0
expect_file part.svg

# What cannot be drawn is refused before anything is written.
for name in run.jpg run picture.svgz; do
    refused --output "svg" trace draw run.csv -o "$name"
    expect_no_file "$name"
done
refused --width-mm "" trace draw run.csv -o no.svg --width-mm 1
refused --height-mm "" trace draw run.csv -o no.svg --height-mm 1e9
refused --detector "detector 2" trace draw run.csv -o no.svg --detector 2
refused --from "" trace draw run.csv -o no.svg --from 1000
refused --to "" trace draw run.csv -o no.svg --from 50 --to 40
refused "$files/report.csv" "report" trace draw "$files/report.csv" -o no.svg
expect_no_file no.svg

# A place that cannot be written.
run trace draw run.csv -o no/such/folder/run.svg
expect_exit 3
expect_error no/such/folder/run.svg
run trace draw missing.csv -o run.svg
expect_exit 3
finish
