#pragma once
/// The use-case behind `gaswright assay evaluate`.
#include <string>

#include "assay/performance.hpp"

namespace gw::desk {

struct Evaluation {
    assay::PerformanceSpec spec;
    assay::Performance performance;
};
Result<Evaluation> evaluate(std::string const& path);

}  // namespace gw::desk
