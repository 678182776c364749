# gaswright trace convert: text to the netCDF interchange layout and back, with the same areas.
source "$(dirname "$0")/harness.sh"

make_trace 4711 >run.csv
run trace peaks run.csv --json
expect_exit 0
area=$(json /peaks/0/area)

run trace convert run.csv -o run.cdf
expect_exit 0
expect_out run.cdf
expect "a classic netCDF file" [ "$(head -c 3 run.cdf)" = CDF ]
run trace peaks run.cdf --json
expect_exit 0
expect_json
expect_near /peaks/0/area "$area" 1e-6

run trace convert run.cdf -o back.csv --json
expect_exit 0
expect_json /output back.csv
run trace peaks back.csv --json
expect_near /peaks/0/area "$area" 1e-6

# A cut file is refused, and nothing is written.
head -c 3000 run.cdf >cut.cdf
run trace convert cut.cdf -o cut.csv
expect_exit 2
expect_error cut.cdf ""
expect_no_file cut.csv
printf '\211HDF\r\n\032\n' >later.nc
run trace peaks later.nc
expect_exit 2
expect_error later.nc netCDF-4
refused -o "suffix" trace convert run.csv -o run.xyz
refused --detector "" trace convert run.csv -o run.cdf --detector 3
finish
