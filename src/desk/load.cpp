#include "desk/load.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"

namespace gw::desk {

namespace {

Result<Document> document_of(std::string_view bytes, std::string const& source) {
    constexpr std::size_t most = 4UL << 20;  // bytes; a method with its oven has some ten thousand
    if (bytes.size() > most)
        return fail(Errc::out_of_range,
                    "The file is far too long for one of this kind.",
                    source,
                    "give the file itself, without what was put beside it");
    return parse_json(bytes, source);
}

}  // namespace

Result<assay::Cylinder> cylinder_of(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const document, document_of(bytes, source));
    GW_TRY(auto cylinder, assay::read_cylinder(document.root()));
    cylinder.sha256 = sha256(bytes);
    return cylinder;
}

Result<assay::Method> method_of(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const document, document_of(bytes, source));
    GW_TRY(auto method, assay::read_method(document.root()));
    method.hash = sha256(bytes);
    return method;
}

Result<assay::Calibration> calibration_of(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const document, document_of(bytes, source));
    GW_TRY(auto calibration, assay::read_calibration(document.root()));
    calibration.hash = sha256(bytes);
    return calibration;
}

Result<assay::Cylinder> load_cylinder(std::string const& path) {
    GW_TRY(auto const bytes, read_file(path));
    return cylinder_of(bytes, path);
}

Result<metrology::CriteriaSet> load_criteria(std::string const& name_or_path,
                                             std::string const& from) {
    auto const shipped = metrology::shipped_criteria();
    if (std::find(shipped.begin(), shipped.end(), name_or_path) != shipped.end())
        return metrology::shipped_criteria(name_or_path);
    // A bare word that is no file is a misspelt name; "cannot be opened" would hide the three that
    // exist.
    auto const path = from.empty() ? name_or_path : beside(from, name_or_path);
    auto const bytes = read_file(path);
    if (!bytes) {
        if (bytes.error().code == Errc::io &&
            name_or_path.find_first_of("./\\") == std::string::npos)
            return fail(Errc::not_found,
                        fmt::format("There is no criteria set \"{}\".", name_or_path.substr(0, 60)),
                        from.empty() ? "--for" : from,
                        "choose " + joined(shipped, ", ") + ", or give a file");
        return pass_on(bytes.error());
    }
    GW_TRY(auto const document, parse_json(*bytes, path));
    GW_TRY(auto set, metrology::read_criteria(document.root()));
    if (set.name.empty()) set.name = name_or_path;
    return set;
}

Result<assay::Method> load_method(std::string const& path) {
    GW_TRY(auto const bytes, read_file(path));
    return method_of(bytes, path);
}

Result<assay::Calibration> load_calibration(std::string const& path) {
    GW_TRY(auto const bytes, read_file(path));
    return calibration_of(bytes, path);
}

Result<trace::SeriesTable> series_of(std::string_view bytes, std::string const& source) {
    if (bytes.size() > longest_table)
        return fail(Errc::out_of_range,
                    fmt::format("A table of {:.0f} MB is longer than the {:.0f} MB that are read.",
                                1e-6 * static_cast<double>(bytes.size()),
                                1e-6 * static_cast<double>(longest_table)),
                    source,
                    "give fewer columns or a shorter time");
    return trace::read_series(bytes, source);
}

Result<Run> load_run(std::string const& path, std::optional<double> rate_hz) {
    GW_TRY(auto const bytes, read_file(path));
    return run_of(bytes, path, rate_hz);
}

Result<Run> run_of(std::string_view bytes,
                   std::string const& source,
                   std::optional<double> rate_hz) {
    if (trace::looks_like_report(bytes)) {
        GW_TRY(auto report, trace::read_report(bytes, source));
        return Run(std::move(report));
    }
    trace::TraceReadOptions options;
    options.rate_hz = rate_hz;
    GW_TRY(auto trace, trace::read_trace(bytes, source, options));
    return Run(std::move(trace));
}

Result<assay::RunAreas> areas_of(Run const& run, assay::Method const& method) {
    if (auto const* trace = std::get_if<trace::Trace>(&run))
        return assay::run_areas(*trace, method);
    return assay::run_areas(std::get<trace::ReportTable>(run), method);
}

}  // namespace gw::desk
