#include "desk/demo_handover.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "constant_tables.hpp"
#include "desk/trace_draw.hpp"

namespace gw::desk {

namespace {

report::TraceFigure figure_of(DemoScenario const& s,
                              std::string const& module,
                              std::string const& basis) {
    auto figure = trace_figure(s.run(module, "calibration", s.runs.at("calibration")), &s.method);
    figure.title = basis;
    figure.subtitle = fmt::format("calibration gas, last run, {}", s.modules.at(module).serial);
    return figure;
}

std::vector<report::Checksum> evidence_of(Demo const& demo) {
    std::vector<report::Checksum> out;
    for (auto const& [name, content] : demo.scenario.files)
        if (name != "scenario.json") out.push_back({name, sha256(content)});
    out.push_back({"printed_report.csv", sha256(demo.printed_report)});
    out.push_back({"calibration_as_found.json",
                   sha256(to_text(assay::calibration_json(demo.calibration_as_found)))});
    out.push_back({"calibration_as_left.json",
                   sha256(to_text(assay::calibration_json(demo.calibration_as_left)))});
    for (auto const* proof : {&demo.as_found, &demo.as_left})
        for (auto const& line : proof->runs) out.push_back({line.run.source, line.run.hash});
    return out;
}

}  // namespace

report::Handover demo_handover(Demo const& demo, std::string const& version) {
    auto const& s = demo.scenario;
    report::Handover out;
    out.site = s.site;
    out.analyser = s.analyser;
    out.occasion = fmt::format("Oven module exchanged ({} out, {} in); proved as found and as left",
                               s.modules.at("old").serial,
                               s.modules.at("new").serial);
    out.date = s.date;
    out.invented = s.notice;
    out.as_found = demo.as_found.findings;
    out.as_left = demo.as_left.findings;
    out.criteria = "custody";
    if (demo.misstated_mwh_per_day != 0)
        out.consequence = fmt::format(
            "At {} MWh a day the error as found {} about {} MWh a day; the last good proof was {} "
            "days before.",
            fixed(s.energy_mwh_per_day, 0),
            demo.misstated_mwh_per_day > 0 ? "leaves out" : "adds",
            fixed(std::abs(demo.misstated_mwh_per_day), 0),
            s.days_since_last_good);
    out.traces = {figure_of(s, "old", "As found"), figure_of(s, "new", "As left")};
    out.evidence = evidence_of(demo);
    for (auto const& table : generated::constant_tables)
        out.tables.push_back({std::string(table.path), sha256(table.text)});
    out.program = "gaswright " + version;
    return out;
}

Result<report::Paper> paper_of(std::string const& name) {
    auto const paper = lowered(name);
    if (paper == "a4") return report::Paper::a4;
    if (paper == "letter") return report::Paper::letter;
    return fail(Errc::bad_input,
                fmt::format("\"{}\" is no paper this page is made for.", name),
                "--paper",
                "give a4 or letter");
}

Result<> check_handover_file(std::string const& file, std::string const& option) {
    auto const format = report::format_of(file, option);
    if (format && *format == report::Format::pdf) return {};
    return fail(Errc::bad_input,
                fmt::format("A handover is a PDF; \"{}\" is not named like one.", file),
                option,
                "end the name in .pdf");
}

Result<WrittenHandover> write_handover(report::Handover const& handover,
                                       std::string const& file,
                                       report::Paper paper) {
    GW_CHECK(check_handover_file(file));
    GW_TRY(auto const bytes, report::handover_pdf(handover, paper));
    GW_CHECK(write_file(file, bytes));
    return WrittenHandover{
        file, sha256(bytes), report::handover_json(handover), report::data_checksum(handover)};
}

}  // namespace gw::desk
