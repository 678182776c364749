#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/reference_options.hpp"
#include "desk/gas_properties.hpp"

namespace gw::app {

namespace {

struct GasPropertiesArgs {
    std::string composition;
    ReferenceArgs reference;
    bool normalise = false, json = false;
};

Result<Answer> gas_properties(GasPropertiesArgs const& args) {
    desk::GasPropertiesOptions options;
    GW_TRY(options.reference, reference_of(args.reference));
    options.normalise = args.normalise;
    GW_TRY(auto const properties, desk::gas_properties(args.composition, options));
    return Answer{desk::gas_properties_json(properties),
                  desk::gas_properties_text(properties),
                  properties.warnings};
}

void add_gas_properties(CLI::App& gas, Context& context) {
    auto args = std::make_shared<GasPropertiesArgs>();  // lives as long as the callback
    auto* command = gas.add_subcommand(
        "properties",
        "Calorific values, density and Wobbe index by ISO 6976:2016 or GPA 2172, with uncertainty");
    command->add_option("COMP", args->composition, "Composition file, - for standard input")
        ->required();
    add_reference_options(*command, args->reference);
    command->add_flag(
        "--normalise", args->normalise, "Scale the amounts to a total of one, and say so");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->footer("Example:  gaswright gas properties gas.json --combustion-c 25 --metering-c 0");
    command->callback([args, &context] { context.finish(gas_properties(*args), args->json); });
}

}  // namespace

void add_gas(CLI::App& program, Context& context) {
    auto* gas = program.add_subcommand("gas", "Properties of a gas of known composition");
    gas->require_subcommand(1);
    gas->footer("Example:  gaswright gas properties gas.json --json");
    add_gas_properties(*gas, context);
}

}  // namespace gw::app
