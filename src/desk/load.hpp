#pragma once
/// Files become values: one loader for each kind, so that every command reads it the same way.
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "assay/calibration.hpp"
#include "assay/cylinder.hpp"
#include "assay/method.hpp"
#include "metrology/criteria.hpp"
#include "trace/series_table.hpp"
#include "trace/trace.hpp"

namespace gw::desk {

/// A `cylinder` file with its hash.
Result<assay::Cylinder> load_cylinder(std::string const& path);
/// Files from their bytes: kept evidence is read like any other file. One that is far longer than
/// its kind ever is, is refused before it is read.
Result<assay::Cylinder> cylinder_of(std::string_view bytes, std::string const& source);
Result<assay::Method> method_of(std::string_view bytes, std::string const& source);
Result<assay::Calibration> calibration_of(std::string_view bytes, std::string const& source);

/// A shipped criteria set by name, else a `criteria` file. `from`: the file that names it (its path
/// is then relative to that file); empty for the command line.
Result<metrology::CriteriaSet> load_criteria(std::string const& name_or_path,
                                             std::string const& from = {});

/// A `method`, a `calibration`, a `composition`'s characterisation: each with its hash.
Result<assay::Method> load_method(std::string const& path);
Result<assay::Calibration> load_calibration(std::string const& path);

/// Whatever stands for one run: a trace or a printed report, told apart by its content.
using Run = std::variant<trace::Trace, trace::ReportTable>;
Result<Run> load_run(std::string const& path, std::optional<double> rate_hz = {});
/// The same from bytes that were read already; `source` stands in messages.
Result<Run> run_of(std::string_view bytes,
                   std::string const& source,
                   std::optional<double> rate_hz = {});
/// A table of readings. It is read with all its cells in memory, some twelve times over: one that
/// is longer than longest_table is refused.
inline constexpr std::size_t longest_table = 8UL << 20;  // bytes; a year of hourly rows of 15: 1 MB
Result<trace::SeriesTable> series_of(std::string_view bytes, std::string const& source);
/// Areas of a run under the method's names.
Result<assay::RunAreas> areas_of(Run const& run, assay::Method const& method);

}  // namespace gw::desk
