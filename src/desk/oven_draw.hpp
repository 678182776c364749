#pragma once
/// The use-case behind `gaswright oven draw`: where every band stands in every column, against
/// time, with the valves' states and the signal it gives.
#include <optional>
#include <string>
#include <vector>

#include "desk/oven_simulate.hpp"

namespace gw::desk {

struct OvenDrawRequest {
    std::string method;
    std::optional<std::string> gas;  ///< none: equal amounts of all components
    std::string output;              ///< .svg, .png or .pdf
    std::vector<std::string> shifts, faults;
    double width_mm = 280, height_mm = 0;  ///< height 0: by the number of columns
};

struct OvenDrawing {
    std::string output, sha256;
    std::size_t bytes{}, bands{};
    std::vector<std::string> warnings;
};

Result<OvenDrawing> oven_draw(OvenDrawRequest const& request);
Json oven_drawing_json(OvenDrawing const& drawing);
std::string oven_drawing_text(OvenDrawing const& drawing);

}  // namespace gw::desk
