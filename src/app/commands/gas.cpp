#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "desk/gas_properties.hpp"

namespace gw::app {

namespace {

struct GasPropertiesArgs {
    std::string composition;
    std::string standard = "iso6976";
    double combustion_c = 15, metering_c = 15, pressure_kpa = 101.325;
    bool normalise = false, json = false;
};

/// The same refusal, placed at the option that was typed.
template <class T>
Result<T> at_option(Result<T> result, char const* option) {
    if (result) return result;
    auto error = std::move(result).error();
    error.where = option;
    return pass_on(std::move(error));
}

Result<Answer> gas_properties(GasPropertiesArgs const& args) {
    if (args.standard != "iso6976")
        return fail(
            Errc::bad_input,
            fmt::format("\"{}\" is not offered; only iso6976 is yet.", args.standard.substr(0, 40)),
            "--standard",
            "take iso6976 or leave the option out");
    desk::GasPropertiesOptions options;
    GW_TRY(options.reference.combustion,
           at_option(gas::combustion_temperature(args.combustion_c), "--combustion-c"));
    GW_TRY(options.reference.metering,
           at_option(gas::metering_temperature(args.metering_c), "--metering-c"));
    options.reference.pressure = kilopascal(args.pressure_kpa);
    GW_CHECK(
        at_option(gas::require_metering_pressure(options.reference.pressure), "--pressure-kpa"));
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
        "Calorific values, density and Wobbe index by ISO 6976:2016, with uncertainty");
    command->add_option("COMP", args->composition, "Composition file, - for standard input")
        ->required();
    command->add_option("--standard", args->standard, "iso6976")->capture_default_str();
    command
        ->add_option("--combustion-c", args->combustion_c, "0, 15, 15.55 (60 degF), 20 or 25 degC")
        ->capture_default_str();
    command->add_option("--metering-c", args->metering_c, "0, 15, 15.55 (60 degF) or 20 degC")
        ->capture_default_str();
    command->add_option("--pressure-kpa", args->pressure_kpa, "90 to 110 kPa absolute")
        ->capture_default_str();
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
