#pragma once
/// The demonstration as the page shows it: a visit on a line of time, and every run in detail.
/// Shapes: data/api/openapi.json.
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "desk/demo.hpp"

namespace gw::desk {

struct DemoVisit {
    Json visit;                                                      ///< the whole but the traces
    std::map<std::string, std::function<Json()>, std::less<>> runs;  ///< by id; made when asked for
};

/// What is known before a run is read: site, analyser, stages, and when which gas was run.
Result<Json> demo_outline();

/// The story of demo(), told on the invented timeline. The functions of `runs` own what they need.
Result<DemoVisit> demo_visit();

}  // namespace gw::desk
