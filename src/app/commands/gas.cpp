#include <CLI/CLI.hpp>

#include "app/commands.hpp"

namespace gw::app {

void add_gas(CLI::App& program, Context&) { program.add_subcommand("gas", "Properties of a gas of known composition"); }

}  // namespace gw::app
