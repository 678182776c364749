#pragma once
/// When things happened in the demonstration: data/demo/timeline.json.
#include <string>
#include <vector>

#include "base/time.hpp"
#include "desk/demo_scenario.hpp"

namespace gw::desk {

struct DemoStage {
    std::string name;
    Instant from, to;
    std::string shown_by;  ///< "runs", "telling" or "nothing"
    std::string says;
};

struct DemoRun {
    std::string id;            ///< for addresses: "as-found-line-1-2"
    std::string module;        ///< "old", "new": of the scenario
    std::string gas, stream;   ///< "calibration", "proving", "line" with its stream
    std::string scenario_gas;  ///< "line 1": of the scenario
    std::size_t number{};      ///< from 1, on that gas and module
    Instant at;
};

struct DemoTimeline {
    std::string plan;
    std::vector<DemoStage> stages;  ///< in order
    std::vector<DemoRun> runs;      ///< in order of time
};

Result<DemoTimeline> demo_timeline(DemoScenario const& scenario);

}  // namespace gw::desk
