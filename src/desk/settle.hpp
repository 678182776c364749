#pragma once
/// The use-case behind `gaswright settle`.
#include <optional>
#include <string>

#include "visit/settle.hpp"

namespace gw::desk {

struct Settled {
    trace::SeriesTable series;
    visit::Settlement settlement;
};
/// limits: path of a limits file; none: the usual limits.
Result<Settled> settle(std::string const& series, std::optional<std::string> const& limits);

}  // namespace gw::desk
