#include "desk/demo_timeline.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "demo_timeline_files.hpp"

namespace gw::desk {

namespace {

Result<Instant> instant(Field const& field, char const* key) {
    GW_TRY(auto const text, field.text(key));
    return parse_instant(text, field.where() + "." + key);
}

}  // namespace

Result<DemoTimeline> demo_timeline(DemoScenario const& scenario) {
    GW_TRY(auto const document,
           parse_json(std::string(generated::demo_timeline_files.front().text), "timeline.json"));
    auto const root = document.root();
    DemoTimeline out;
    GW_TRY(out.plan, root.text("plan"));
    GW_TRY(auto const stages, root.at("stages"));
    GW_TRY(auto const stage_items, stages.items());
    for (auto const& item : stage_items) {
        DemoStage stage;
        GW_TRY(stage.name, item.text("name"));
        GW_TRY(stage.from, instant(item, "from"));
        GW_TRY(stage.to, instant(item, "to"));
        GW_TRY(stage.shown_by, item.text("shown_by"));
        GW_TRY(stage.says, item.text("says"));
        out.stages.push_back(std::move(stage));
    }
    GW_TRY(auto const series, root.at("runs"));
    GW_TRY(auto const series_items, series.items());
    for (auto const& item : series_items) {
        DemoRun run;
        GW_TRY(run.module, item.text("module"));
        GW_TRY(run.gas, item.text("gas"));
        GW_TRY(run.stream, item.text_or("stream", ""));
        GW_TRY(auto const first, instant(item, "first"));
        GW_TRY(double const every_s, item.number("every_s"));
        run.scenario_gas = run.stream.empty() ? run.gas : run.gas + " " + run.stream;
        for (std::size_t i = 0; i < scenario.runs.at(run.gas); ++i) {
            run.number = i + 1;
            run.at = first;
            run.at.milliseconds +=
                static_cast<std::int64_t>(1000 * every_s * static_cast<double>(i));
            run.id = fmt::format("{}-{}-{}",
                                 run.module == "old" ? "as-found" : "as-left",
                                 run.scenario_gas,
                                 run.number);
            std::replace(run.id.begin(), run.id.end(), ' ', '-');
            out.runs.push_back(run);
        }
    }
    std::stable_sort(out.runs.begin(), out.runs.end(), [](auto const& a, auto const& b) {
        return a.at.milliseconds < b.at.milliseconds;
    });
    return out;
}

}  // namespace gw::desk
