#include "desk/prove.hpp"

#include <fmt/format.h>

#include <cmath>

#include "base/base.hpp"
#include "desk/load.hpp"
#include "trace/table_text.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {

namespace {

Result<std::string> path_of(Field const& field, std::string const& from) {
    GW_TRY(auto const name, field.text());
    if (name.empty()) return field.wrong("A file name is needed here.", "name the file");
    return beside(from, name);
}

// "# ambient_kpa: 101.2" of either kind of file.
Result<std::optional<double>> ambient_of(Run const& run, std::string const& path) {
    std::string text;
    if (auto const* report = std::get_if<trace::ReportTable>(&run)) {
        for (auto const& [key, value] : report->header)
            if (key == "ambient_kpa") text = value;
    } else {
        auto const& header = std::get<trace::Trace>(run).header;
        if (auto const found = header.find("ambient_kpa"); found != header.end())
            text = found->second;
    }
    if (text.empty()) return std::optional<double>{};
    auto const value = parse_number(trimmed(text));
    if (!value || !(*value > 50 && *value < 120))
        return fail(Errc::bad_input,
                    "ambient_kpa is no pressure of the air.",
                    path,
                    "give kPa absolute, about 101");
    return std::optional<double>(*value);
}

Result<visit::ProofRun> read_run(std::string const& path,
                                 std::optional<assay::Method> const& method) {
    GW_TRY(auto run, load_run(path));
    return proof_run(std::move(run), path, method);
}

Result<std::vector<visit::ProofRun>> read_runs(Field const& list,
                                               std::string const& from,
                                               std::optional<assay::Method> const& method) {
    GW_TRY(auto const items, list.items());
    std::vector<std::string> paths;
    for (auto const& item : items) {
        GW_TRY(auto const path, path_of(item, from));
        paths.push_back(path);
    }
    // Result has no empty state, so each run waits in an optional.
    auto const loaded = parallel_map(paths.size(), [&](std::size_t i) {
        return std::optional<Result<visit::ProofRun>>(read_run(paths[i], method));
    });
    std::vector<visit::ProofRun> out;
    for (auto const& run : loaded) {
        if (!*run) return pass_on(run->error());
        out.push_back(**run);
    }
    return out;
}

}  // namespace

Result<gas::Reference> reference_of(Field const& root, std::vector<std::string>& warnings) {
    GW_TRY(auto const standard, root.text_or("standard", "iso6976"));
    auto const placed = [](auto result, std::optional<Field> const& field) {
        if (result || !field) return result;
        auto error = std::move(result).error();
        error.where = field->where();
        return decltype(result)(pass_on(std::move(error)));
    };
    GW_TRY(double const combustion, root.number_or("combustion_c", 15));
    GW_TRY(double const metering, root.number_or("metering_c", 15));
    GW_TRY(double const pressure, root.number_or("pressure_kpa", 101.325));
    auto const burnt = placed(gas::combustion_temperature(combustion), root.find("combustion_c"));
    auto const metered = placed(gas::metering_temperature(metering), root.find("metering_c"));
    if (standard == "gpa2172") {
        bool const sixty =
            (!root.find("combustion_c") || (burnt && *burnt == gas::CombustionTemperature::f60)) &&
            (!root.find("metering_c") || (metered && *metered == gas::MeteringTemperature::f60));
        if (!sixty)
            warnings.emplace_back(
                "GPA 2172 values gas at 60 degF: the combustion and metering temperatures of the "
                "proof were not used.");
        GW_CHECK(
            placed(gas::require_base_pressure(kilopascal(pressure)), root.find("pressure_kpa")));
        return gas::Reference(gas::Gpa2172Options{kilopascal(pressure)});
    }
    if (standard != "iso6976")
        return root.find("standard")
            ->wrong(fmt::format("\"{}\" is no standard this program values by.",
                                standard.substr(0, 40)),
                    "take iso6976 or gpa2172");
    gas::Iso6976Options out;
    GW_TRY(out.combustion, burnt);
    GW_TRY(out.metering, metered);
    out.pressure = kilopascal(pressure);
    GW_CHECK(placed(gas::require_metering_pressure(out.pressure), root.find("pressure_kpa")));
    return gas::Reference(out);
}

Result<visit::ProofRun> proof_run(Run run,
                                  std::string const& source,
                                  std::optional<assay::Method> const& method) {
    visit::ProofRun out;
    out.source = source;
    GW_TRY(out.ambient_kpa, ambient_of(run, source));
    if (auto* report = std::get_if<trace::ReportTable>(&run)) {
        out.hash = report->hash;
        if (method) {
            if (auto areas = assay::run_areas(*report, *method))
                out.areas = std::move(*areas);  // a report without areas is judged by its amounts
        }
        out.report = std::move(*report);
        return out;
    }
    auto const& trace = std::get<trace::Trace>(run);
    out.hash = trace.hash;
    if (!method)
        return fail(Errc::bad_input,
                    "This is a trace; without a method nothing says which peak is which.",
                    source,
                    "name a method and a calibration in the proof");
    out.areas = assay::run_areas(trace, *method);
    return out;
}

Result<visit::Proof> prove(std::string const& path, Date on) {
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const document, parse_json(bytes, path));
    auto const root = document.root();
    GW_CHECK(require_schema(root, "proof"));
    visit::ProofInputs in;
    in.on = on;
    GW_TRY(auto const criteria, root.text_or("criteria", "custody"));
    GW_TRY(in.criteria, load_criteria(criteria, path));
    std::vector<std::string> warnings;
    GW_TRY(in.reference, reference_of(root, warnings));
    GW_TRY(in.basis, root.text_or("basis", ""));
    if (!in.basis.empty() && in.basis != "as_found" && in.basis != "as_left")
        return root.find("basis")->wrong("The basis is as_found or as_left.", "correct it");
    if (auto const method = root.find("method")) {
        GW_TRY(auto const file, path_of(*method, path));
        GW_TRY(in.method, load_method(file));
    }
    if (auto const calibration = root.find("calibration")) {
        GW_TRY(auto const file, path_of(*calibration, path));
        GW_TRY(in.calibration, load_calibration(file));
    }
    if (auto const previous = root.find("previous")) {
        GW_TRY(auto const file, path_of(*previous, path));
        GW_TRY(in.previous, load_calibration(file));
    }
    if (auto const passport = root.find("passport")) {
        GW_TRY(auto const file, path_of(*passport, path));
        GW_TRY(in.passport, load_calibration(file));
    }
    if (auto const cylinders = root.find("cylinders")) {
        if (!cylinders->is_object())
            return cylinders->wrong(
                "An object with \"calibration\" and \"proving\" is needed here.");
        if (auto const cylinder = cylinders->find("calibration")) {
            GW_TRY(auto const file, path_of(*cylinder, path));
            GW_TRY(in.calibration_cylinder, load_cylinder(file));
        }
        if (auto const cylinder = cylinders->find("proving")) {
            GW_TRY(auto const file, path_of(*cylinder, path));
            GW_TRY(in.proving_cylinder, load_cylinder(file));
        }
    }
    GW_TRY(auto const runs, root.at("runs"));
    if (!runs.is_object())
        return runs.wrong(
            "An object with \"calibration_gas\", \"proving_gas\" and \"line_gas\" is needed here.");
    if (auto const list = runs.find("calibration_gas")) {
        GW_TRY(in.calibration_gas, read_runs(*list, path, in.method));
    }
    if (auto const list = runs.find("proving_gas")) {
        GW_TRY(in.proving_gas, read_runs(*list, path, in.method));
    }
    if (auto const line = runs.find("line_gas")) {
        if (line->is_array()) {
            GW_TRY(auto stream, read_runs(*line, path, in.method));
            in.line_gas.emplace_back("1", std::move(stream));
        } else {
            GW_TRY(auto const streams, line->members());
            for (auto const& [name, list] : streams) {
                GW_TRY(auto stream, read_runs(list, path, in.method));
                in.line_gas.emplace_back(name, std::move(stream));
            }
        }
    }
    if (in.calibration_gas.empty() && in.proving_gas.empty() && in.line_gas.empty())
        return runs.wrong("The proof names no run.",
                          "give runs on the proving gas, or at least on the calibration gas");
    GW_TRY(auto proof, visit::prove(in));
    proof.warnings.insert(proof.warnings.begin(), warnings.begin(), warnings.end());
    if (in.method.has_value() != in.calibration.has_value())
        proof.warnings.push_back(fmt::format(
            "Only a {} is named: areas are recomputed only with both method and calibration.",
            in.method ? "method" : "calibration"));
    return proof;
}

namespace {

Result<trace::ReportTable> report_of(Run run, std::string const& source) {
    if (auto* report = std::get_if<trace::ReportTable>(&run)) return std::move(*report);
    return fail(Errc::bad_input,
                "This is a detector trace, not a printed report.",
                source,
                "use gaswright trace peaks, or assay run with a method");
}

// "report:17" or "report:17: ...": the line at fault; none for a field of JSON or the whole.
std::optional<std::size_t> line_of(std::string const& where, std::string const& source) {
    if (where.rfind(source + ":", 0) != 0) return std::nullopt;
    auto const number = where.substr(source.size() + 1, where.find(':', source.size() + 1));
    auto const line = parse_number(number);
    if (!line || *line < 1 || *line != std::floor(*line)) return std::nullopt;
    return static_cast<std::size_t>(*line);
}

// Blanked, so that the lines after it keep their numbers.
bool blank_line(std::string& text, std::size_t number) {
    trace::LineReader lines(text);
    trace::Line line;
    while (lines.next(line))
        if (line.number == number) {
            bool const had_words = !trimmed(line.text).empty();
            text.replace(line.offset, line.text.size(), line.text.size(), ' ');
            return had_words;
        }
    return false;
}

}  // namespace

Result<visit::Look> look(LookRequest const& request) {
    GW_TRY(auto const criteria, load_criteria(request.criteria));
    GW_TRY(auto run, load_run(request.report));
    GW_TRY(auto const report, report_of(std::move(run), request.report));
    std::optional<assay::Cylinder> cylinder;
    if (request.cylinder) {
        GW_TRY(cylinder, load_cylinder(*request.cylinder));
    }
    return visit::look(report, cylinder ? &*cylinder : nullptr, criteria, request.on);
}

Result<visit::Look> look_at(LookTexts const& texts) {
    GW_TRY(auto const criteria, metrology::shipped_criteria(texts.criteria));
    // What is neither is answered as a report: that is what the one who typed it meant.
    auto run = run_of(texts.report, "report");
    if (!run) {
        GW_TRY(run, trace::read_report(texts.report, "report"));
    }
    GW_TRY(auto const report, report_of(*std::move(run), "report"));
    std::optional<assay::Cylinder> cylinder;
    if (texts.cylinder) {
        GW_TRY(cylinder, cylinder_of(*texts.cylinder, "cylinder"));
    }
    return visit::look(report, cylinder ? &*cylinder : nullptr, criteria, texts.on);
}

std::vector<Error> report_faults(std::string const& report, std::size_t most) {
    std::vector<Error> out;
    auto decoded = decode_text(report, "report");
    if (!decoded) return {decoded.error()};
    auto text = *std::move(decoded);
    while (out.size() < most) {
        auto const read = trace::read_report(text, "report");
        if (read) return out;
        auto const line = line_of(read.error().where, "report");
        // With rows taken out the whole may look wrong for their sake alone.
        if (line || out.empty()) out.push_back(read.error());
        if (!line || !blank_line(text, *line)) return out;
    }
    return out;
}

}  // namespace gw::desk
