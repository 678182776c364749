#include "desk/demo.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "metrology/criteria.hpp"

namespace gw::desk {

namespace {

std::vector<assay::RunAreas> areas_of_runs(DemoScenario const& s,
                                           std::string const& module,
                                           std::string const& gas,
                                           std::string const& kind) {
    return parallel_map(s.runs.at(kind), [&](std::size_t i) {
        return assay::run_areas(s.run(module, gas, i + 1), s.method);
    });
}

std::vector<visit::ProofRun> proof_runs(std::vector<assay::RunAreas> const& runs) {
    std::vector<visit::ProofRun> out;
    out.reserve(runs.size());
    for (auto const& run : runs) out.push_back({run.source, run.hash, run, std::nullopt});
    return out;
}

// The table an analyser prints after calibrating: its typed amounts, areas and new factors.
std::string report_of(DemoScenario const& s,
                      assay::Calibration const& calibration,
                      assay::RunAreas const& run,
                      assay::Cylinder const& believed) {
    std::string out = fmt::format(
        "# analyser: {} (invented)\n# factor_kind: "
        "area_per_amount\ncomponent,detector,retention,area,mole_percent,factor\n",
        s.analyser);
    for (auto const& area : run.areas) {
        double amount = 0;
        for (std::size_t i = 0; i < believed.printed.components.size(); ++i) {
            auto const* peak = s.method.peak_of(believed.printed.components[i]);
            if (peak != nullptr && peak->component == area.component)
                amount += 100 * believed.printed.x[i];
        }
        auto const* factor = calibration.find(area.component);
        out += fmt::format("{},{},{},{},{},{}\n",
                           gas::name(area.component),
                           area.detector,
                           fixed(area.retention_s, 2),
                           fixed(area.area, 3),
                           fixed(amount, 4),
                           fixed(factor == nullptr ? 0 : factor->value / 100, 5));
    }
    return out;
}

Result<visit::Proof> proof_of(DemoScenario const& s,
                              metrology::CriteriaSet const& criteria,
                              std::string const& module,
                              assay::Cylinder const& believed,
                              assay::Calibration const& calibration,
                              std::vector<assay::RunAreas> const& calibration_runs,
                              std::optional<assay::Calibration> const& previous) {
    visit::ProofInputs in;
    in.criteria = criteria;
    in.method = s.method;
    in.calibration = calibration;
    in.calibration_cylinder = believed;
    in.proving_cylinder = s.proving;
    in.calibration_gas = proof_runs(calibration_runs);
    in.proving_gas = proof_runs(areas_of_runs(s, module, "proving", "proving"));
    for (auto const* stream : {"1", "2"})
        in.line_gas.emplace_back(
            stream, proof_runs(areas_of_runs(s, module, std::string("line ") + stream, "line")));
    in.previous = previous;
    in.on = s.date;
    in.basis = module == "old" ? "as_found" : "as_left";
    return visit::prove(in);
}

metrology::Finding const* find(std::vector<metrology::Finding> const& findings,
                               std::string_view id) {
    for (auto const& f : findings)
        if (f.id == id) return &f;
    return nullptr;
}

// The findings that carry the story; the rest stay in the JSON.
std::vector<metrology::Finding> leading(std::vector<metrology::Finding> const& findings) {
    std::vector<metrology::Finding> out;
    for (auto const& f : findings) {
        bool const component = f.id.starts_with("component_") || f.id.starts_with("factor_shift");
        if (!component || f.verdict == metrology::Verdict::fails) out.push_back(f);
    }
    return out;
}

double mean_cv(visit::Proof const& proof, std::string_view gas, std::string_view stream) {
    std::vector<double> cv;
    for (auto const& line : proof.runs)
        if (line.gas == gas && line.stream == stream) cv.push_back(line.run.cv);
    return metrology::mean(cv);
}

/// Plates of the heavy chain as n-butane shows them, N = 5.545 (t/w)^2 (IUPAC: peak width at half
/// height); the mean of some runs.
double plates_of_heavy_chain(std::vector<assay::RunAreas> const& runs) {
    auto const butane = *gas::find_component("n-butane");
    std::vector<double> plates;
    for (auto const& run : runs)
        for (auto const& named : run.peaks)
            if (named.component == butane && named.peak.width_half_s > 0)
                plates.push_back(5.545 * std::pow(named.peak.apex_s / named.peak.width_half_s, 2));
    return metrology::mean(plates);
}

}  // namespace

Result<Demo> demo() {
    Demo out;
    GW_TRY(out.scenario, demo_scenario());
    auto const& s = out.scenario;
    GW_TRY(auto const criteria, metrology::shipped_criteria("custody"));
    assay::CylinderCheckOptions check;
    check.on = s.date;
    GW_TRY(out.cylinder_as_typed, assay::cylinder_check(s.calibration_as_typed, criteria, check));

    auto const found_runs = areas_of_runs(s, "old", "calibration", "calibration");
    GW_TRY(out.calibration_as_found,
           assay::calibrate(found_runs, s.method, s.calibration_as_typed));
    out.plates_as_found = plates_of_heavy_chain(found_runs);
    out.printed_report =
        report_of(s, out.calibration_as_found, found_runs.back(), s.calibration_as_typed);
    GW_TRY(auto const report, trace::read_report(out.printed_report, "printed calibration report"));
    GW_TRY(out.look, visit::look(report, nullptr, criteria, s.date));
    GW_TRY(out.as_found,
           proof_of(s,
                    criteria,
                    "old",
                    s.calibration_as_typed,
                    out.calibration_as_found,
                    found_runs,
                    std::nullopt));

    auto const left_runs = areas_of_runs(s, "new", "calibration", "calibration");
    out.plates_as_left = plates_of_heavy_chain(left_runs);
    GW_TRY(out.calibration_as_left, assay::calibrate(left_runs, s.method, s.calibration));
    GW_TRY(out.as_left,
           proof_of(s,
                    criteria,
                    "new",
                    s.calibration,
                    out.calibration_as_left,
                    left_runs,
                    out.calibration_as_found));

    if (auto const* bias = find(out.as_found.findings, "cv_bias"); bias != nullptr && bias->value)
        out.misstated_mwh_per_day = s.energy_mwh_per_day * (1 / (1 + *bias->value / 100) -
                                                            1);  // E (CV_true / CV_as_found - 1)
    return out;
}

std::string demo_text(Demo const& demo) {
    auto const& s = demo.scenario;
    auto const heading = [](char const* text) {
        return fmt::format("\n{}\n{}\n", text, std::string(std::string_view(text).size(), '-'));
    };
    auto const said = [&](visit::Proof const& proof, char const* id) {
        auto const* f = find(proof.findings, id);
        return f == nullptr ? std::string("no value") : metrology::value_text(*f);
    };
    std::string out =
        fmt::format("{}, analyser {}, {}\n{}\n", s.site, s.analyser, to_text(s.date), s.notice);
    out += fmt::format(
        "Two streams; two column chains side by side that end at one detector, the light fraction "
        "first; a run takes {:g} s. Its runs come from the program's own model of such an oven.\n",
        s.method.cycle_s);

    out += heading("1. What the analyser believed");
    out += fmt::format(
        "Read as a sample, its own calibration gas is {} from the certificate it was told: it "
        "would have passed.\n",
        said(demo.as_found, "cv_self_check"));
    out += fmt::format("Its calorific values were {} MJ/m3 on stream 1 and {} MJ/m3 on stream 2.\n",
                       fixed(mean_cv(demo.as_found, "line", "1"), 3),
                       fixed(mean_cv(demo.as_found, "line", "2"), 3));

    out += heading("2. A first look at its printed calibration report");
    out += demo.printed_report + "\n" + visit::look_text(demo.look);

    out += heading("3. What the proving gas shows, as found");
    out += fmt::format("A certified gas that it was not calibrated with reads {}.\n\n",
                       said(demo.as_found, "cv_bias"));
    out += metrology::findings_table(leading(demo.as_found.findings));
    out += fmt::format("\nVerdict as found: {}\n", metrology::name(demo.as_found.verdict));
    out += fmt::format(
        "At {} MWh a day this {} about {} MWh a day; the last good proof was {} days ago.\n",
        fixed(s.energy_mwh_per_day, 0),
        demo.misstated_mwh_per_day > 0 ? "leaves out" : "adds",
        fixed(std::abs(demo.misstated_mwh_per_day), 0),
        s.days_since_last_good);

    out += heading("4. Which suspects follow");
    auto const* sum = find(demo.cylinder_as_typed.findings, "certificate_sum");
    if (sum != nullptr && sum->value)
        out += fmt::format(
            "The certificate as typed adds up to {} mol%; the paper in the cabinet says ethane "
            "4.50, not 4.05.\n",
            fixed(*sum->value, 2));
    for (auto const& f : demo.as_found.findings)
        if (f.id == "component_bias:n-pentane" || f.id == "component_bias:C6+" ||
            f.id == "component_bias:ethane")
            out += fmt::format("{}: {} on the proving gas.\n", f.title, metrology::value_text(f));
    out +=
        "A valve event set too early sends a share of n-pentane into C6+. n-Pentane itself reads "
        "right: the same share is missing from both gases, so the calibration makes up for it.\n"
        "C6+ reads wrong as soon as a gas holds the two in another proportion than the calibration "
        "gas. A later event would mend that.\n";
    out += fmt::format(
        "What no valve time mends: n-butane shows {:.0f} plates, where module {} will show {:.0f}. "
        "The heavy column is spent.\n",
        demo.plates_as_found,
        s.modules.at("new").serial.substr(s.modules.at("new").serial.rfind(' ') + 1),
        demo.plates_as_left);

    out += heading("5. What changed");
    out += fmt::format(
        "Certificate entry corrected to 4.50 mol% ethane. Oven module exchanged: {} out, {} in; "
        "seals renewed; heavy pre-column turned back later.\n",
        s.modules.at("old").serial,
        s.modules.at("new").serial);
    out +=
        "Opening the enclosure needs the permit, gases and power off and proved, and the maker's "
        "instructions; this demonstration skips what a real visit must not.\n";

    out += heading("6. What the proving gas shows, as left");
    out += metrology::findings_table(leading(demo.as_left.findings));
    out += fmt::format("\nVerdict as left: {}\n", metrology::name(demo.as_left.verdict));
    out += fmt::format("Stream 1 now reads {} MJ/m3, stream 2 {} MJ/m3.\n",
                       fixed(mean_cv(demo.as_left, "line", "1"), 3),
                       fixed(mean_cv(demo.as_left, "line", "2"), 3));

    out += heading("7. What may be signed");
    bool const shown = demo.as_left.verdict == metrology::Verdict::meets;
    out += fmt::format(
        "Conformity: {}.\n",
        shown ? "shown on an independent gas, within the limits above"
              : "not shown; the findings marked * above stand between you and a signature");
    out +=
        "Work complete and left safe: that rests on the record of the visit (isolation, leaks, "
        "seals), which these numbers do not replace.\n";
    return out;
}

Json demo_json(Demo const& demo) {
    auto check = metrology::findings_json(demo.cylinder_as_typed.findings);
    return Json{
        {"notice", demo.scenario.notice},
        {"site", demo.scenario.site},
        {"analyser", demo.scenario.analyser},
        {"date", to_text(demo.scenario.date)},
        {"printed_report", demo.printed_report},
        {"look", visit::look_json(demo.look)},
        {"cylinder_as_typed", std::move(check)},
        {"as_found", visit::proof_json(demo.as_found)},
        {"as_left", visit::proof_json(demo.as_left)},
        {"misstated_mwh_per_day", demo.misstated_mwh_per_day},
        {"may_sign",
         Json{{"work", false}, {"conformity", demo.as_left.verdict == metrology::Verdict::meets}}}};
}

Result<std::vector<std::string>> write_demo(Demo const& demo, std::string const& folder) {
    std::error_code problem;
    std::filesystem::create_directories(folder, problem);
    if (problem)
        return fail(Errc::io,
                    fmt::format("The folder cannot be made ({}).", problem.message()),
                    folder,
                    "name another one");
    auto const& s = demo.scenario;
    std::vector<std::string> written;
    auto const put = [&](std::string const& name, std::string const& content) -> Result<> {
        GW_CHECK(write_file(folder + "/" + name, content));
        written.push_back(name);
        return {};
    };
    for (auto const& [name, content] : s.files)
        if (name != "scenario.json") {
            GW_CHECK(put(name, content));
        }
    GW_CHECK(put("printed_report.csv", demo.printed_report));
    GW_CHECK(put("calibration_as_found.json",
                 to_text(assay::calibration_json(demo.calibration_as_found))));
    GW_CHECK(put("calibration_as_left.json",
                 to_text(assay::calibration_json(demo.calibration_as_left))));
    for (auto const* module : {"old", "new"}) {
        bool const found = std::string_view(module) == "old";
        std::string const state = found ? "as_found" : "as_left";
        Json runs = Json::object(), lines = Json::object();
        for (auto const& [kind, count] : s.runs) {
            std::vector<std::string> const gases =
                kind == "line" ? std::vector<std::string>{"line 1", "line 2"}
                               : std::vector<std::string>{kind};
            for (auto const& gas : gases) {
                Json list = Json::array();
                for (std::size_t i = 1; i <= count; ++i) {
                    std::string name = fmt::format("{}_{}_{}.csv", state, gas, i);
                    for (char& c : name)
                        if (c == ' ') c = '_';
                    GW_CHECK(put(name, trace::trace_csv(s.run(module, gas, i))));
                    list.push_back(name);
                }
                if (kind == "line")
                    lines[gas.substr(5)] = list;
                else
                    runs[kind + "_gas"] = list;
            }
        }
        runs["line_gas"] = lines;
        Json proof{
            {"schema", "gaswright.proof/1"},
            {"criteria", "custody"},
            {"standard", "iso6976"},
            {"combustion_c", 15},
            {"metering_c", 15},
            {"basis", state},
            {"method", "method.json"},
            {"calibration", "calibration_" + state + ".json"},
            {"cylinders",
             Json{{"calibration", found ? "calibration_gas_as_typed.json" : "calibration_gas.json"},
                  {"proving", "proving_gas.json"}}},
            {"runs", runs}};
        if (!found) proof["previous"] = "calibration_as_found.json";
        GW_CHECK(put("proof_" + state + ".json", to_text(proof)));
    }
    return written;
}

}  // namespace gw::desk
