#include "desk/twin_bench.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "trace/thinning.hpp"

namespace gw::desk {

namespace {

// Below a millionth of the highest point nothing is seen, and the digits double the answer.
double shortened(double value) { return std::round(value * 1e5) / 1e5; }

// What a peak may lose or gain beyond what cannot be helped.
double share_limit(oven::PeakShare const& share) {
    oven::RetimeOptions const usual;
    return share.amount < usual.minor_below ? usual.minor_limit : usual.limit;
}

Json programme_json(oven::Oven const& oven) {
    Json out = Json::array();
    for (auto const& event : oven.programme)
        out.push_back({{"at_s", std::round(event.at_s * 1e6) / 1e6},
                       {"action", event.action},
                       {"fixed", oven.injects(event.action)}});
    return out;
}

std::vector<std::string> sorted_actions(oven::Oven const& oven) {
    std::vector<std::string> out;
    for (auto const& event : oven.programme) out.push_back(event.action);
    std::sort(out.begin(), out.end());
    return out;
}

// Moved events may reach a setting of the valves that no path covers.
std::vector<std::string> standstills(oven::Oven const& oven) {
    std::vector<std::string> out;
    std::vector<bool> setting(oven.flags.size());
    for (auto const& event : oven.programme) {
        if (auto const* action = oven.action(event.action))
            for (auto const& set : action->sets) setting[set.first] = set.second;
        if (event.at_s < oven.cycle_s && oven.path_of(setting) == nullptr)
            out.push_back(fmt::format(
                "After \"{}\" at {} s no path fits: the gas stands still until the next event.",
                event.action,
                shortest(event.at_s)));
    }
    return out;
}

}  // namespace

Result<TwinBench> twin_bench(std::string const& method, std::string const& gas) {
    TwinBench out;
    GW_TRY(out.twin, twin_of(method, "method"));
    GW_TRY(out.amounts, amounts_in(gas, "gas", out.twin, out.warnings));
    return out;
}

Result<oven::Oven> with_events(TwinBench const& bench, Json const& programme) {
    auto oven = bench.twin.oven;
    Document const document(std::make_shared<Json const>(programme), "programme");
    GW_TRY(auto const rows, document.root().items());
    std::vector<oven::Event> events;
    for (auto const& row : rows) {
        oven::Event event;
        GW_TRY(event.action, row.text("action"));
        GW_TRY(auto const at, row.at("at_s"));
        GW_TRY(event.at_s, at.number_within(0, oven.cycle_s));
        events.push_back(std::move(event));
    }
    std::stable_sort(
        events.begin(), events.end(), [](auto const& a, auto const& b) { return a.at_s < b.at_s; });
    auto const wanted = sorted_actions(oven);
    oven.programme = std::move(events);
    if (sorted_actions(oven) != wanted)
        return document.root().wrong("These are not the events of this method.",
                                     "give each once: " + joined(wanted, ", "));
    for (auto const& event : bench.twin.oven.programme)
        for (auto const& moved : oven.programme)
            if (moved.action == event.action && oven.injects(event.action) &&
                moved.at_s != event.at_s)
                return document.root().wrong("The injection is the zero of time and stays.");
    return oven;
}

Json twin_run_json(TwinBench const& bench, oven::Oven const& oven, std::size_t most) {
    auto const run = oven::simulate(oven, bench.amounts);
    auto const shares = oven::peak_shares(oven, bench.amounts, run);
    Json detectors = Json::array(), peaks = Json::array();
    for (std::size_t d = 0; d < oven.detectors.size(); ++d) {
        auto const total = run.total(d);
        Json time = Json::array(), signal = Json::array();
        for (auto const i : trace::thinned(total, most)) {
            time.push_back(shortened(static_cast<double>(i) * run.interval_s));
            signal.push_back(shortened(total[i]));
        }
        detectors.push_back({{"detector", d + 1},
                             {"unit", oven.detectors[d].unit},
                             {"time_s", std::move(time)},
                             {"signal", std::move(signal)}});
    }
    for (auto const& share : shares) {
        auto const peak = std::find_if(run.peaks.begin(), run.peaks.end(), [&](auto const& p) {
            return p.reported_as == share.reported_as && p.detector == share.detector;
        });
        if (peak == run.peaks.end()) continue;
        auto const apex = oven::apex(peak->signal, run.interval_s);
        peaks.push_back({{"component", std::string(gas::name(share.reported_as))},
                         {"detector", share.detector + 1},
                         {"apex_s", apex.at_s},
                         {"from_s", share.from_s},
                         {"to_s", share.to_s},
                         {"height", apex.height},
                         {"width_half_s", apex.width_half_s},
                         {"area", peak->area},
                         {"limit_percent", 100 * share_limit(share)},
                         {"lost_percent", 100 * share.loss()},
                         {"gained_percent", 100 * share.gain()}});
    }
    return Json{{"programme", programme_json(oven)},
                {"detectors", std::move(detectors)},
                {"peaks", std::move(peaks)},
                {"calorific_value_error_percent",
                 100 * oven::calorific_value_error(shares, oven, bench.amounts)},
                {"warnings", standstills(oven)}};
}

Json twin_bench_json(TwinBench const& bench) {
    auto const& oven = bench.twin.oven;
    Json columns = Json::array();
    for (auto const& column : oven.columns) columns.push_back(column.id);
    return Json{{"name", bench.twin.method.name},
                {"cycle_s", oven.cycle_s},
                {"time_step_s", bench.twin.method.time_step_s.value_or(0.1)},
                {"programme", programme_json(oven)},
                {"detectors", oven.detectors.size()},
                {"columns", std::move(columns)},
                {"warnings", bench.warnings}};
}

}  // namespace gw::desk
