#pragma once
/// The use-cases behind `gaswright prove` and `gaswright look`: files in, findings out.
#include <optional>
#include <string>

#include "visit/visit.hpp"

namespace gw::desk {

/// Reads a `proof` file and everything it names (paths relative to it), and judges it as of `on`.
Result<visit::Proof> prove(std::string const& path, Date on);

struct LookRequest {
    std::string report;
    std::optional<std::string> cylinder;
    std::string criteria = "custody";
    Date on;
};
Result<visit::Look> look(LookRequest const& request);

}  // namespace gw::desk
