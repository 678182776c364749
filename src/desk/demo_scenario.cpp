#include "desk/demo_scenario.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "demo_files.hpp"
#include "oven/simulate.hpp"
#include "trace/synthesis.hpp"

namespace gw::desk {

namespace {

constexpr double flow_sd = 0.00004;  // relative, from run to run

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

Result<std::vector<std::pair<std::string, double>>> read_named_numbers(Field const& field,
                                                                       char const* key) {
    std::vector<std::pair<std::string, double>> out;
    GW_TRY(auto const object, field.at(key));
    GW_TRY(auto const members, object.members());
    for (auto const& [name, value] : members) {
        GW_TRY(double const number, value.number());
        out.emplace_back(name, number);
    }
    return out;
}

Result<DemoModule> read_module(Field const& field) {
    DemoModule out;
    GW_TRY(out.serial, field.text("serial"));
    GW_TRY(out.flow, field.number("flow"));
    GW_TRY(out.scale, field.number("scale"));
    GW_TRY(out.event_shift_s, read_named_numbers(field, "event_shift_s"));
    GW_TRY(out.plates, read_named_numbers(field, "plates"));
    GW_TRY(out.white_noise, field.number("white_noise"));
    GW_TRY(out.flicker_noise, field.number("flicker_noise"));
    GW_TRY(out.offset, field.number("offset"));
    GW_TRY(out.drift_per_s, field.number("drift_per_s"));
    return out;
}

Result<std::vector<DemoKick>> read_kicks(Field const& root) {
    std::vector<DemoKick> out;
    GW_TRY(auto const kicks, root.at("kicks"));
    GW_TRY(auto const items, kicks.items());
    for (auto const& item : items) {
        DemoKick kick;
        GW_TRY(kick.action, item.text("action"));
        GW_TRY(kick.height, item.number("height"));
        GW_TRY(kick.decay_s, item.number("decay_s"));
        GW_TRY(kick.step, item.number("step"));
        out.push_back(kick);
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

/// The twin of the method file, as one module has it.
oven::Oven oven_of(oven::Oven oven, DemoModule const& module, double flow_scatter) {
    for (auto& column : oven.columns) {
        column.holdup_s /= module.flow * flow_scatter;
        for (auto const& [id, factor] : module.plates)
            if (id == column.id) column.plates *= factor;
    }
    for (auto& detector : oven.detectors) detector.scale = module.scale;
    for (auto const& [action, by_s] : module.event_shift_s) oven::shift_event(oven, action, by_s);
    return oven;
}

}  // namespace

Result<DemoScenario> demo_scenario() {
    DemoScenario out;
    for (auto const& file : generated::demo_files)
        out.files.emplace_back(std::string(file.path.substr(file.path.rfind('/') + 1)),
                               std::string(file.text));
    GW_TRY(auto const scenario_text, shipped("demo/scenario.json"));
    GW_TRY(auto const document, parse_json(scenario_text, "scenario.json"));
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
    GW_TRY(out.kicks, read_kicks(root));
    GW_TRY(auto const injection, root.at("injection"));
    GW_TRY(out.injection_common_sd, injection.number("common_sd"));
    GW_TRY(out.injection_single_sd, injection.number("single_sd"));
    GW_TRY(double const seed, root.number("seed"));
    out.seed = static_cast<std::uint64_t>(seed);
    GW_TRY(out.method,
           read_shipped("demo/method.json", [](Field const& f) { return assay::read_method(f); }));
    GW_TRY(out.oven, read_shipped("demo/method.json", [&](Field const& f) {
               return oven::read_oven(f, out.method);
           }));
    for (auto const& [name, gas] : out.gases) GW_CHECK(oven::amounts_of(gas, out.oven, {}));
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
    // Another stream of random numbers for every run of every gas on every module.
    std::uint64_t stream = number;
    std::string stream_name = module_name;
    stream_name.append("/").append(gas_name);
    for (char const c : stream_name) stream = stream * 131 + static_cast<unsigned char>(c);
    RandomStream random(seed, stream);
    double const common = 1 + injection_common_sd * random.normal();
    auto const twin = oven_of(oven, module, 1 + flow_sd * random.normal());
    auto run = oven::simulate(twin, *oven::amounts_of(gases.at(gas_name), twin, {}));
    for (auto& peak : run.peaks) {
        double const amount = common * (1 + injection_single_sd * random.normal());
        for (double& y : peak.signal) y *= amount;
    }

    // Noise, drift and kicks come from the generator of traces; what the columns do, from the twin.
    trace::SyntheticDetector background;
    background.white_noise = module.white_noise;
    background.flicker_noise = module.flicker_noise;
    background.offset = module.offset;
    background.drift_per_s = module.drift_per_s;
    for (auto const& event : twin.programme)
        for (auto const& kick : kicks)
            if (kick.action == event.action)
                background.kicks.push_back({event.at_s, kick.height, kick.decay_s, kick.step});
    trace::SynthesisOptions options;
    options.interval_s = 1 / method.sample_rate_hz;
    options.duration_s = method.cycle_s;
    options.seed = seed;
    options.run = stream;
    auto out = trace::synthesise(
        std::vector<trace::SyntheticDetector>(twin.detectors.size(), background), options);
    for (std::size_t d = 0; d < out.signals.size(); ++d) {
        auto const total = run.total(d);
        for (std::size_t i = 0; i < std::min(total.size(), out.signals[d].size()); ++i)
            out.signals[d][i] += static_cast<float>(total[i]);
    }
    out.source =
        fmt::format("{} {} {}", module_name == "old" ? "as found" : "as left", gas_name, number);
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
