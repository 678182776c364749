#pragma once
/// The open chromatography interchange layout of ASTM E1947 in classic netCDF (CDF-1 and CDF-2):
/// one detector a file. Names of attributes and variables as ASTM E1947/E1948 have them (from
/// memory; check against a purchased copy before claiming conformance).
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

/// Whether the bytes begin as a classic netCDF file, or as one of the later form (which is
/// refused).
bool looks_like_netcdf(std::string_view bytes);

/// Tolerates what is met in the wild: optional items missing, samples as float, double or integers
/// with scale_factor and add_offset, scalars as variables, arrays of one or attributes, minutes or
/// seconds, a delay, times of their own (uniform_sampling_flag "N"), a fixed or record dimension.
/// Refuses a file that is cut short, values that are not finite or never written, fewer than 16
/// samples. Every count is held against the size of the file before memory is asked for.
Result<Trace> read_netcdf(std::string_view bytes, std::string const& source);

/// Category C1 (raw data) of detector `detector` (from 1). Times are stored as float, as the layout
/// wants: the reader takes 0.0199999996 s back to 50 a second. Gaps are written as the line that
/// fills them.
Result<std::string> netcdf_bytes(Trace const& trace, int detector);

}  // namespace gw::trace
