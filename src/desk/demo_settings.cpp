#include "desk/demo_settings.hpp"

#include <fmt/format.h>

#include <cmath>

#include "base/base.hpp"

namespace gw::desk {

namespace {

constexpr double approach_s = 540;            // time constant of the invented oven
constexpr std::uint64_t settling_stream = 7;  // of random numbers: no run's

std::string line(std::string const& name, std::string const& value, std::string const& unit) {
    return fmt::format("{},{},{}\n", name, value, unit);
}

}  // namespace

std::string demo_settings(Demo const& demo, std::string const& module) {
    auto const& s = demo.scenario;
    bool const old = module == "old";
    auto const& calibration = old ? demo.calibration_as_found : demo.calibration_as_left;
    auto const& cylinder = old ? s.calibration_as_typed : s.calibration;
    std::string out = "setting,value,unit\n";
    out += line("analyser", s.analyser, "");
    out += line("oven module", s.modules.at(module).serial, "");
    out += line("streams", "2", "");
    out += line("cycle", shortest(s.method.cycle_s), "s");
    auto oven = s.oven;
    for (auto const& [action, by_s] : s.modules.at(module).event_shift_s)
        oven::shift_event(oven, action, by_s);
    for (auto const& event : oven.programme)
        out += line("valve: " + event.action, fixed(event.at_s, 1), "s");
    for (auto const& peak : s.method.peaks) {
        out += line(fmt::format("retention: {}", gas::name(peak.component)),
                    fixed(peak.retention_s, 1),
                    "s");
        out += line(
            fmt::format("window: {}", gas::name(peak.component)), fixed(peak.window_s, 1), "s");
    }
    out += line("calibration gas", cylinder.serial, "");
    for (std::size_t i = 0; i < cylinder.printed.components.size(); ++i)
        out += line(fmt::format("calibration gas: {}", gas::name(cylinder.printed.components[i])),
                    fixed(100 * cylinder.printed.x[i], 3),
                    "mol%");
    for (auto const& factor : calibration.factors)
        out += line(fmt::format("factor: {}", gas::name(factor.component)),
                    fixed(factor.value / 100, 5),
                    "mV s/mol%");
    out += line("automatic calibration every", "24", "h");
    out += line("alarm: unnormalised total low", "98", "mol%");
    out += line("alarm: unnormalised total high", "102", "mol%");
    out += line("reference: combustion", "15", "degC");
    out += line("reference: metering", "15", "degC");
    return out;
}

std::string demo_settling(DemoScenario const& scenario, Instant power_on, Instant until) {
    RandomStream random(scenario.seed, settling_stream);
    double methane_s = 0;
    for (auto const& peak : scenario.method.peaks)
        if (gas::name(peak.component) == "methane") methane_s = peak.retention_s;
    std::string out = "time,oven_c,retention:methane,baseline\n";
    for (auto at = power_on; at.milliseconds <= until.milliseconds; at.milliseconds += 60000) {
        double const t = static_cast<double>(at.milliseconds - power_on.milliseconds) / 1000;
        double const gone = std::exp(-t / approach_s);
        double const oven = 80 - 47 * gone + 0.004 * random.normal();
        double const retention = methane_s * (1 + 0.09 * gone) + 0.004 * random.normal();
        double const baseline = 12 + 6 * gone + 0.003 * random.normal();
        out += fmt::format(
            "{},{},{},{}\n", to_text(at), fixed(oven, 3), fixed(retention, 3), fixed(baseline, 3));
    }
    return out;
}

}  // namespace gw::desk
