# A valve that moved cuts a peak: trace peaks says which side and about how much, held against the
# twin, which knows the area that reached the detector.
source "$(dirname "$0")/harness.sh"

run demo --write visit
expect_exit 0
cat >gas.json <<'GAS'
{"unit": "mol%", "components": {"nitrogen": {"value": 1.9}, "methane": {"value": 90.8},
 "carbon dioxide": {"value": 0.9}, "ethane": {"value": 4.6}, "propane": {"value": 1.1},
 "isobutane": {"value": 0.18}, "n-butane": {"value": 0.22}, "neopentane": {"value": 0.01},
 "isopentane": {"value": 0.06}, "n-pentane": {"value": 0.05}, "n-hexane": {"value": 0.18}}}
GAS
