#include "desk/demo_scenario.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/factor_evidence.hpp"
#include "base/base.hpp"
#include "demo_files.hpp"
#include "trace/synthesis.hpp"

namespace gw::desk {

namespace {

Result<std::string> shipped(std::string_view name) {
    for (auto const& file : generated::demo_files)
        if (file.path == name) return std::string(file.text);
    return fail(Errc::not_found, fmt::format("The file {} is not in this program.", name));
}

template <class Read>
auto read_shipped(char const* name, Read read) -> decltype(read(std::declval<Field>())) {
    GW_TRY(auto const text, shipped(name));
    GW_TRY(auto const document, parse_json(text, name));
    return read(document.root());
}

Result<DemoModule> read_module(Field const& field) {
    DemoModule out;
    GW_TRY(out.serial, field.text("serial"));
    GW_TRY(out.stretch, field.number("stretch"));
    GW_TRY(auto const detectors, field.at("detectors"));
    GW_TRY(auto const items, detectors.items());
    for (auto const& item : items) {
        DemoModule::Detector d;
        GW_TRY(d.scale, item.number("scale"));
        GW_TRY(d.tail, item.number("tail"));
        GW_TRY(d.white_noise, item.number("white_noise"));
        GW_TRY(d.flicker_noise, item.number("flicker_noise"));
        GW_TRY(d.offset, item.number("offset"));
        GW_TRY(d.drift_per_s, item.number("drift_per_s"));
        out.detectors.push_back(d);
    }
    GW_TRY(auto const lost, field.at("lost_into_c6_plus"));
    GW_TRY(auto const members, lost.members());
    for (auto const& [name, share] : members) {
        GW_TRY(auto const component, gas::require_component(name, share.where()));
        GW_TRY(double const value, share.number());
        out.lost_into_c6_plus.emplace_back(component, value);
    }
    return out;
}

Result<gas::Composition> read_gas(Field const& field) {
    gas::Composition out;
    GW_TRY(auto const members, field.members());
    for (auto const& [name, amount] : members) {
        GW_TRY(auto const component, gas::require_component(name, amount.where()));
        GW_TRY(double const percent, amount.number());
        out.components.push_back(component);
        out.x.push_back(percent / 100);
    }
    return out;
}

struct Shape {
    double apex_s{}, sigma_s{};
};

Result<std::map<gas::Component, Shape>> read_shapes(Field const& root) {
    std::map<gas::Component, Shape> out;
    GW_TRY(auto const peaks, root.at("peaks"));
    GW_TRY(auto const items, peaks.items());
    for (auto const& item : items) {
        GW_TRY(auto const name, item.text("component"));
        GW_TRY(auto const component, gas::require_component(name, item.where()));
        GW_TRY(double const apex, item.number("apex_s"));
        GW_TRY(double const sigma, item.number("sigma_s"));
        out[component] = {apex, sigma};
    }
    return out;
}

}  // namespace

Result<DemoScenario> demo_scenario() {
    DemoScenario out;
    for (auto const& file : generated::demo_files)
        out.files.emplace_back(std::string(file.path.substr(file.path.rfind('/') + 1)),
                               std::string(file.text));
    GW_TRY(out.scenario_text_, shipped("demo/scenario.json"));
    GW_TRY(auto const document, parse_json(out.scenario_text_, "scenario.json"));
    auto const root = document.root();
    GW_TRY(out.notice, root.text("notice"));
    GW_TRY(out.site, root.text("site"));
    GW_TRY(out.analyser, root.text("analyser"));
    GW_TRY(auto const date, root.text("date"));
    GW_TRY(out.date, parse_date(date, "scenario.json:date"));
    GW_TRY(out.energy_mwh_per_day, root.number("energy_mwh_per_day"));
    GW_TRY(double const days, root.number("days_since_last_good"));
    out.days_since_last_good = static_cast<int>(days);
    GW_TRY(auto const runs, root.at("runs"));
    GW_TRY(auto const counts, runs.members());
    for (auto const& [kind, count] : counts) {
        GW_TRY(double const n, count.number());
        out.runs[kind] = static_cast<std::size_t>(n);
    }
    GW_TRY(auto const gases, root.at("gases"));
    GW_TRY(auto const gas_members, gases.members());
    for (auto const& [name, field] : gas_members) {
        GW_TRY(out.gases[name], read_gas(field));
    }
    GW_TRY(auto const modules, root.at("modules"));
    GW_TRY(auto const module_members, modules.members());
    for (auto const& [name, field] : module_members) {
        GW_TRY(out.modules[name], read_module(field));
    }
    GW_TRY(out.method,
           read_shipped("demo/method.json", [](Field const& f) { return assay::read_method(f); }));
    GW_TRY(out.calibration_as_typed,
           read_shipped("demo/calibration_gas_as_typed.json",
                        [](Field const& f) { return assay::read_cylinder(f); }));
    GW_TRY(out.calibration, read_shipped("demo/calibration_gas.json", [](Field const& f) {
               return assay::read_cylinder(f);
           }));
    GW_TRY(out.proving, read_shipped("demo/proving_gas.json", [](Field const& f) {
               return assay::read_cylinder(f);
           }));
    return out;
}

trace::Trace DemoScenario::run(std::string const& module_name,
                               std::string const& gas_name,
                               std::size_t number) const {
    auto const& module = modules.at(module_name);
    auto const& gas = gases.at(gas_name);
    auto const document =
        *parse_json(scenario_text_, "scenario.json");  // parsed once before without fault
    auto const root = document.root();
    auto const shapes = *read_shapes(root);
    auto const seed = static_cast<std::uint64_t>(*root.number("seed"));
    auto const injection = *root.at("injection");

    // Another stream of random numbers for every run of every gas on every module.
    std::uint64_t stream = number;
    std::string stream_name = module_name;
    stream_name.append("/").append(gas_name);
    for (char const c : stream_name) stream = stream * 131 + static_cast<unsigned char>(c);
    RandomStream random(seed, stream);
    double const common = 1 + *injection.number("common_sd") * random.normal();
    double const single = *injection.number("single_sd");

    std::vector<trace::SyntheticDetector> detectors;
    for (auto const& d : module.detectors) {
        trace::SyntheticDetector out;
        out.white_noise = d.white_noise;
        out.flicker_noise = d.flicker_noise;
        out.offset = d.offset;
        out.drift_per_s = d.drift_per_s;
        detectors.push_back(out);
    }
    std::map<gas::Component, double> areas;  // of the peaks
    auto const detector_of = [&](assay::ExpectedPeak const& peak) {
        return static_cast<std::size_t>(peak.detector - 1);
    };
    for (std::size_t i = 0; i < gas.components.size(); ++i) {
        auto const* peak = method.peak_of(gas.components[i]);
        if (peak == nullptr) continue;
        double const area = module.detectors[detector_of(*peak)].scale * 0.01 *
                            assay::published_response(gas.components[i], {}).value_or(0) * 100 *
                            gas.x[i];
        double kept = 1;
        for (auto const& [component, share] : module.lost_into_c6_plus)
            if (component == gas.components[i]) kept = 1 - share;
        areas[peak->component] += area * kept;
        if (kept < 1) areas[gas::c6_plus] += area * (1 - kept);
    }
    for (auto const& [component, area] : areas) {
        auto const* peak = method.find(component);
        auto const& shape = shapes.at(component);
        double const sigma = shape.sigma_s * module.stretch,
                     tau = module.detectors[detector_of(*peak)].tail * sigma;
        double const jitter = 1 + 0.00004 * random.normal();
        // The shape's own apex lies behind mu by a little less than tau.
        detectors[detector_of(*peak)].peaks.push_back(
            {area * common * (1 + single * random.normal()),
             shape.apex_s * module.stretch * jitter - 0.7 * std::min(tau, sigma),
             sigma,
             tau});
    }
    auto const kicks = *root.at("kicks")->items();
    for (auto const& kick : kicks)
        detectors[static_cast<std::size_t>(*kick.number("detector")) - 1].kicks.push_back(
            {*kick.number("at_s"),
             *kick.number("height"),
             *kick.number("decay_s"),
             *kick.number("step")});

    trace::SynthesisOptions options;
    options.interval_s = 1 / method.sample_rate_hz;
    options.duration_s = method.cycle_s;
    options.seed = seed;
    options.run = stream;
    auto out = trace::synthesise(detectors, options);
    out.source =
        fmt::format("{} {} {}", module_name == "old" ? "as found" : "as left", gas_name, number);
    std::string key = out.source;
    out.header["gas"] = gas_name;
    out.header["notice"] = "invented";
    // The hash of what was generated, so that findings name their evidence.
    std::string bytes;
    for (auto const& signal : out.signals)
        bytes.append(
            reinterpret_cast<char const*>(signal.data()),
            signal.size() * sizeof(float));  // NOLINT(cppcoreguidelines-pro-type-reinterpret-cast)
    out.hash = sha256(bytes);
    return out;
}

}  // namespace gw::desk
