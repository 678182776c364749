#pragma once
/// The options of every command that values a gas: standard and reference conditions.
#include <functional>
#include <optional>
#include <string>

#include "base/result.hpp"
#include "gas/reference.hpp"

namespace CLI {
class App;
}

namespace gw::app {

struct ReferenceArgs {
    std::string standard = "iso6976";
    double combustion_c = 15, metering_c = 15, pressure_kpa = 101.325;
    std::optional<double> pressure_psia;
    std::function<bool(char const*)> typed;  ///< was this option given on the command line
};

void add_reference_options(CLI::App& command, ReferenceArgs& args);
/// Refusals are placed at the option that was typed.
Result<gas::Reference> reference_of(ReferenceArgs const& args);

}  // namespace gw::app
