#pragma once
/// The use-case behind `gaswright assay evaluate`.
#include <optional>
#include <string>
#include <vector>

#include "assay/performance.hpp"

namespace gw::desk {

struct EvaluateRequest {
    std::string spec;
    std::optional<std::string> output;  ///< map: .svg, .png or .pdf
    std::vector<std::string> axes;      ///< two components of the map; empty: the widest two
};
struct Evaluation {
    assay::PerformanceSpec spec;
    assay::Performance performance;
    std::optional<std::string> drawn;
};
Result<Evaluation> evaluate(EvaluateRequest const& request);

}  // namespace gw::desk
