# gaswright visit: a whole exchange on the demonstration's recorded runs, from the command line alone,
# interrupted and resumed; ended in each of the three ways; orders and holds kept.
source "$(dirname "$0")/harness.sh"

run demo --write demo
store=(--store "$work/record.db")

visit_id=
who="A. Person"
new() {  # $1: analyser
    run visit new --plan exchange --analyser "$1" "${store[@]}" --by "A. Person" --json
    expect_exit 0
    expect_json
    visit_id=$(json /visit)
}
# add STAGE STEP OPTION...: one thing recorded, which must be taken.
add() {
    local stage=$1 step=$2
    shift 2
    run visit add "$visit_id" --stage "$stage" --step "$step" --by "$who" "${store[@]}" --json "$@"
    expect_exit 0
}
read_back() {  # by a second person
    who="B. Person"
    add "$1" "$2" --value "as the paper"
    who="A. Person"
}
add_runs() {  # $1 stage, $2 step, $3 beginning of the names, further: options
    local stage=$1 step=$2 names=$3 file
    shift 3
    for file in demo/"$names"*.csv; do add "$stage" "$step" --run "$file" "$@"; done
}
show() { run visit show "$visit_id" "${store[@]}" --json; }
# The printed form is fixed: a step's name, its class, its state on the lines that follow.
step_state() {  # $1: name of a step; of the last show
    grep -A 2 -F "\"name\": \"$1\"," "$work/.out" | grep -A 1 '"class"' | sed -n 's/.*"state": "\(.*\)".*/\1/p'
}
expect_step() { expect "step $1 is $2" test "$(step_state "$1")" = "$2"; }
stage_state() { grep -A 2 -F "\"name\": \"$1\"," "$work/.out" | grep -A 1 '"title"' | sed -n 's/.*"state": "\(.*\)".*/\1/p'; }
expect_stage() { expect "stage $1 is $2" test "$(stage_state "$1")" = "$2"; }
finding_at() {  # $1 id, $2 basis: its place in the list
    local i
    for i in $(grep -E '^      "id": ' "$work/.out" | grep -nxF "      \"id\": \"$1\"," | cut -d: -f1); do
        [[ $(json "/findings/$((i - 1))/basis" 2>/dev/null) != "$2" ]] || { echo $((i - 1)) && return; }
    done
    echo none
}
finding() { json "/findings/$(finding_at "$1" "$2")/verdict" 2>/dev/null || echo none; }  # its verdict

# A warm-up that has come to rest, one reading a minute.
awk 'BEGIN { print "time_s,oven_c,retention:methane"
    for (i = 0; i < 240; ++i) { t = 60 * i; s = (s * 16807 + 11) % 2147483647; n = s / 2147483647 - 0.5
        printf "%d,%.4f,%.4f\n", t, 80 - 30 * exp(-t / 900) + 0.004 * n, 60 + 4 * exp(-t / 900) + 0.01 * n } }' >warm_up.csv

prepare() {
    run thing add analyser "$1" "${store[@]}" --set 'needs={"streams": 2, "carrier": "helium"}'
    expect_exit 0
    run thing add module "M-2" "${store[@]}" --set 'offers={"streams": 4, "carrier": "helium"}'
    expect_exit 0
    new "$1"
    add prepare reason --value "proving out of limit"
    add prepare "instruments in date" --value "gauge G-17, due 2027-01-01"
    add prepare "spare chosen" --value M-2
    add prepare "seal kit" --value 12 --unit rings
    add prepare "calibration certificate" --file demo/calibration_gas_as_typed.json
    read_back prepare "calibration certificate read back"
    add prepare "proving certificate" --file demo/proving_gas.json
    read_back prepare "proving certificate read back"
    add prepare "people told" --value "control room, billing"
}
arrive() {
    add arrive "this device" --value "in the office only, 30 m from the shelter"
    add arrive hazards --value "helium, natural gas, heat, working alone"
    add arrive permit --value "0012"
    add arrive "permit end" --value 2099-01-01T18:00:00Z
    add arrive "gas test" --value 0 --unit %LEL --with T-3
    add arrive "oxygen test" --value 20.9 --unit % --with T-3
    add arrive "clock of the analyser" --value -95 --unit s
    add arrive "clock of the flow computer" --value 3
    add arrive "clock of the laptop" --value 0
    add arrive "fallback in force" --value "since 08:20"
    add arrive "automatic calibration off" --value "off at 08:31"
}
as_found() {
    add "as found" "settings saved" --file demo/printed_report.csv
    add "as found" "settings kept twice" --value "on the stick, read"
    add "as found" method --file demo/method.json
    add "as found" "calibration as found" --file demo/calibration_as_found.json
    add_runs "as found" "line gas as found" as_found_line_1 --stream 1
    add_runs "as found" "line gas as found" as_found_line_2 --stream 2
    add_runs "as found" "calibration gas as found" as_found_calibration
    add_runs "as found" "proving gas as found" as_found_proving
}
decide() {
    add decide decision --value "exchange, certificate corrected"
    add decide "replacement confirmed" --value "label read"
}
make_safe() {
    add "make safe" "sample gas off" --value "both valves, tag 7"
    add "make safe" "calibration gas off" --value "both cylinders"
    add "make safe" "power off and locked" --value "lock 12"
    add "make safe" "proved dead" --value "0 V" --with V-2
    add "make safe" "cooled with carrier flowing" --value 118 --unit degF --with T-9
    add "make safe" "carrier off" --value "at the bottle"
    add "make safe" "actuation gas off" --value "bled"
    add "make safe" "zero held" --value 0.1 --unit "kPa gauge" --with G-17
}
exchange() {
    add exchange "opened under gas test" --value 0 --unit %LEL --with T-3
    add exchange "flow dies away" --value "at once"
    add exchange "module out" --value M-1
    add exchange "rings out" --value 9
    add exchange "module in" --value M-2
    add exchange "rings renewed" --value 9 --unit rings
    add exchange "fixings tightened" --value "3 passes"
}
restore() {
    add restore "carrier and actuation gas on" --value slowly
    # 30 mL, 20 Pa in an hour at even temperature: 1.7e-6 mbar L/s with the gauges' uncertainty.
    cat >leak.json <<'JSON'
{"volume": {"value": 30, "u": 1, "unit": "mL"}, "p1": {"value": 500.00, "u": 0.02, "unit": "kPa"},
 "p2": {"value": 499.98, "u": 0.02, "unit": "kPa"}, "t1": {"value": 20.0, "u": 0.01, "unit": "degC"},
 "t2": {"value": 20.0, "u": 0.01, "unit": "degC"}, "time": {"value": 60, "unit": "min"}}
JSON
    add restore tight --file leak.json --with G-17
    add restore purged --value "30 min, regulator 6 times"
    add restore "enclosure closed" --value "inspected"
    add restore "gas test before power" --value 0 --unit %LEL --with T-3
    add restore "power on" --value 12:31
    add restore "sample and calibration gas on" --value 12:40
}
rest() {
    add settle "settling series" --file warm_up.csv
    add retime "valve programme" --file demo/method.json
    add retime "programme read back" --value same
    add calibrate "certificate in the analyser" --file demo/calibration_gas.json
    read_back calibrate "certificate in the analyser read back"
    add_runs calibrate "calibration gas runs" as_left_calibration
    add_runs prove "proving gas runs" as_left_proving
}
hand_back() {
    add calibrate "factors accepted" --value "in order"
    add "hand back" "line gas on" --value "both streams"
    add_runs "hand back" "line gas as left" as_left_line_1 --stream 1
    add_runs "hand back" "line gas as left" as_left_line_2 --stream 2
    add "hand back" "automatic calibration on" --value on
    add "hand back" "fallback off" --value "every component seen live"
    add "hand back" "settings after" --file demo/printed_report.csv
    add "hand back" "covers, vents, heat trace" --value done
    add "hand back" "permit closed" --value "0012, 16:05"
}

# ---- the whole visit, completed
prepare PX-1
show
expect_stage prepare done
expect_near /stages/0/steps/3/evidence/0/value 12 0
arrive
show
expect_json /stages/1/steps/2/evidence/0/value 0012  # a permit's number is no twelve
expect_json /clocks/0/offset_s -95.0
expect_json /minutes/fits true
refused --step "comes after" visit add "$visit_id" --stage "hand back" --step "fallback off" --value early "${store[@]}"
refused --step "comes after" visit add "$visit_id" --stage exchange --step "module out" --value early "${store[@]}"
as_found
show
expect "cv_bias fails as found" test "$(finding cv_bias as_found)" = fails
decide
make_safe
# Interrupted overnight: what need not hold any more is asked for again.
run visit interrupt "$visit_id" --reason "night; carrier off, power locked" "${store[@]}"
expect_exit 0
run visit add "$visit_id" --stage exchange --step "opened under gas test" --value 0 --unit %LEL "${store[@]}"
expect_exit 2
expect_error "$visit_id" "interrupted"
run visit resume "$visit_id" "${store[@]}"
expect_exit 0
show
expect_step "gas test" open
expect_step "zero held" open
expect_step "settings saved" done
for step in "this device" hazards; do add arrive "$step" --value "as yesterday"; done
add arrive permit --value "0013"
add arrive "permit end" --value 2099-01-02T18:00:00Z
add arrive "gas test" --value 1 --unit %LEL
add arrive "oxygen test" --value 20.9 --unit %
add "make safe" "sample gas off" --value tagged
add "make safe" "calibration gas off" --value tagged
add "make safe" "power off and locked" --value "lock 12"
add "make safe" "proved dead" --value "0 V"
add "make safe" "zero held" --value 0.2 --unit "kPa gauge"
exchange
restore
rest
show
expect "as left is provisional before the factors are accepted" grep -q '"provisional": true' "$work/.out"
expect_json /may_sign/conformity false
hand_back
run visit end "$visit_id" --as completed "${store[@]}" --json
expect_exit 0
show
expect_exit 0
for stage in prepare arrive "as found" decide "make safe" exchange restore settle retime calibrate prove "hand back"; do
    expect_stage "$stage" done
done
expect "the certificate as typed does not add up" test "$(finding certificate_sum as_found)" = fails
expect "as it is in the analyser now it does" test "$(finding certificate_sum as_left)" = meets
expect "cv_bias meets as left" test "$(finding cv_bias as_left)" = meets
expect "settled" test "$(finding settled as_left)" = meets
expect "rings balance" test "$(finding rings_balance as_left)" = meets
expect "tight" test "$(finding leak_rate as_left)" = meets
expect "the spare fits" test "$(finding compatibility "")" = meets
expect_json /may_sign/work true
expect_json /may_sign/conformity true
expect_json /end/as completed
expect "findings name their inputs" grep -q "$(sha256sum demo/as_left_proving_1.csv | cut -c 1-64)" "$work/.out"
show
cp .out first.json
show
expect "the same record shows the same" cmp -s <(grep -v permit_left first.json) <(grep -v permit_left .out)
run visit add "$visit_id" --stage prepare --step reason --value late "${store[@]}"
expect_exit 2
expect_error "$visit_id" "ended as completed"
run visit show "$visit_id" "${store[@]}"
expect_out "work complete and left safe: may be signed"

# The findings are those of the proof on the same files.
run prove demo/proof_as_left.json --on 2026-05-19 --json
bias=$(json /findings/0/value)
show
expect_near "/findings/$(finding_at cv_bias as_left)/value" "$bias" 1e-12

# ---- on fallback: the spare does not settle
prepare PX-2
arrive
as_found
decide
make_safe
exchange
restore
run visit back "$visit_id" --to "leave on fallback" --reason "oven hangs" --until 2026-06-01 "${store[@]}"
expect_exit 2
expect_error --owner "last day"
run visit back "$visit_id" --to "leave on fallback" --reason "oven hangs" --until 2026-06-01 --owner "C. Person" "${store[@]}"
expect_exit 0
add "leave on fallback" "left: fallback seen" --value yes
add "leave on fallback" "left: until and owner" --value "C. Person, 1 June"
add "leave on fallback" "left: safe" --value "gases on, power on, closed"
run visit end "$visit_id" --as on-fallback "${store[@]}" --json
expect_exit 0
show
expect_json /end/owner "C. Person"
expect_json /may_sign/work true
expect_json /may_sign/conformity false
run due --on 2026-05-25 --within 10 "${store[@]}" --json
expect_exit 0
expect "the end of the fallback falls due" grep -q "end of fallback (C. Person)" .out

# ---- abandoned: a storm while it is open
prepare PX-3
arrive
as_found
decide
make_safe
add exchange "opened under gas test" --value 0 --unit %LEL
run visit end "$visit_id" --as abandoned --reason storm "${store[@]}"
expect_exit 0
show
expect_json /may_sign/work false
run visit undo "$visit_id" --reason "first make it safe" "${store[@]}"
expect_exit 0
run visit back "$visit_id" --to "stop and make safe" --reason storm "${store[@]}"
expect_exit 0
for step in gases power enclosure "people told"; do add "stop and make safe" "stopped: $step" --value noted; done
add "stop and make safe" "stopped: area tested" --value 0 --unit %LEL
run visit end "$visit_id" --as abandoned --reason storm "${store[@]}"
expect_exit 0
show
expect_json /state abandoned
expect_json /may_sign/work true

# ---- holds, corrections, refusals
new PX-4
run visit add "$visit_id" --stage arrive --step "gas test" --override "in a hurry" "${store[@]}"
expect_exit 2
expect_error --override "nobody overrides it alone"
add arrive "gas test" --override "meter is broken; fixed heads read zero" --second "B. Person" --permit 0012
show
expect_step "gas test" passed
add arrive "oxygen test" --not-done "no meter"
add prepare "people told" --override "line was busy"
add prepare "proving certificate" --not-obtainable "no proving gas on site; ladder of weaker proofs"
add prepare "seal kit" --not-applicable "nothing will be opened"
show
expect_step "oxygen test" not_done
expect_step "people told" overridden
expect_step "proving certificate" not_obtainable
expect_step "seal kit" not_applicable
expect_json /may_sign/work false
add arrive "gas test" --value 25 --unit %LEL
show
expect_step "gas test" open
add prepare reason --value "wrong words"
run visit undo "$visit_id" --reason "meant another visit" "${store[@]}" --json
expect_exit 0
show
expect_json /stages/0/steps/0/evidence/0/standing withdrawn
add "as found" "line gas as found" --note "stream 2 is shut in"  # a note is taken anywhere
refused --stage "choose prepare" visit add "$visit_id" --stage lunch --step x --value y "${store[@]}"
refused --step "choose reason" visit add "$visit_id" --stage prepare --step x --value y "${store[@]}"
refused --unit "is no unit" visit add "$visit_id" --stage arrive --step "gas test" --value 1 --unit kPa "${store[@]}"
refused --unit "needs its unit" visit add "$visit_id" --stage arrive --step "gas test" --value 1 "${store[@]}"
refused --at "still to come" visit add "$visit_id" --stage prepare --step reason --value x --at 2199-01-01T00:00:00Z "${store[@]}"
refused "command line" "nothing to record" visit add "$visit_id" --stage prepare --step reason "${store[@]}"
refused --plan "There is no plan" visit new --plan picnic --analyser PX-1 "${store[@]}"
refused ID "no visit" visit show nothing "${store[@]}"
refused --as "does not end as" visit end "$visit_id" --as finished "${store[@]}"
printf 'not json' >bad.json
run visit add "$visit_id" --stage "as found" --step method --file bad.json "${store[@]}"
expect_exit 2
run visit add "$visit_id" --stage "as found" --step method --file absent.json "${store[@]}"
expect_exit 3
run visit show x --store absent.db
expect_exit 3
expect_no_file absent.db
refused --plan "There is no plan" visit new --plan picnic --analyser PX-1 --store absent.db
expect_no_file absent.db

run visit list "${store[@]}" --json
expect_exit 0
expect_json /visits/0/state open
expect_json /visits/3/state completed
run visit list "${store[@]}" --open --json
expect_json /visits/0/analyser PX-4
run visit list --analyser PX-2 "${store[@]}"
expect_out on-fallback
run thing show analyser PX-1 "${store[@]}" --json
expect_json /visits/0/state completed
run cylinder add demo/proving_gas.json "${store[@]}"
expect_exit 0
run cylinder read KD-2206 --pressure-kpa 4100 --ambient-c 2 "${store[@]}"
expect_exit 0
run cylinder show KD-2206 "${store[@]}" --json
expect_near /known/readings/1/pressure_kpa 4100 0
expect_json /due 2028-02-10
run store check "${store[@]}" --json
expect_exit 0
expect_json /intact true
finish
