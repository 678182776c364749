#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/reference_options.hpp"
#include "desk/gas_compare.hpp"
#include "desk/gas_density.hpp"
#include "desk/gas_dewpoint.hpp"
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

struct GasDensityArgs {
    std::string composition, equation;
    double temperature_c = 15, pressure_kpa = 101.325;
    bool normalise = false, no_phase_check = false, json = false;
};

Result<Answer> gas_density(GasDensityArgs const& args) {
    auto const equation = gas::wide_range_equation(args.equation);
    if (!equation)
        return fail(
            Errc::bad_input,
            fmt::format("\"{}\" is no equation of this command.", args.equation.substr(0, 40)),
            "--eos",
            "take gerg2008 or detail");
    auto density = desk::gas_density(args.composition,
                                     {.equation = *equation,
                                      .temperature = celsius(args.temperature_c),
                                      .pressure = kilopascal(args.pressure_kpa),
                                      .normalise = args.normalise,
                                      .check_phase = !args.no_phase_check});
    if (!density) {
        auto error = density.error();
        if (error.where == "temperature_c") error.where = "--temperature-c";
        if (error.where == "pressure_kpa") error.where = "--pressure-kpa";
        return pass_on(std::move(error));
    }
    return Answer{
        desk::gas_density_json(*density), desk::gas_density_text(*density), density->warnings};
}

void add_gas_density(CLI::App& gas, Context& context) {
    auto args = std::make_shared<GasDensityArgs>();
    auto* command = gas.add_subcommand(
        "density", "Density, compression factor, speed of sound by GERG-2008 or AGA 8 DETAIL");
    command->add_option("COMP", args->composition, "Composition file, - for standard input")
        ->required();
    command->add_option("--eos", args->equation, "gerg2008 or detail")->required();
    command->add_option("--temperature-c", args->temperature_c, "Temperature of the gas, degC")
        ->required();
    command->add_option("--pressure-kpa", args->pressure_kpa, "Pressure of the gas, kPa absolute")
        ->required();
    command->add_flag(
        "--normalise", args->normalise, "Scale the amounts to a total of one, and say so");
    command->add_flag("--no-phase-check",
                      args->no_phase_check,
                      "Do not ask the Peng-Robinson equation whether the state is one phase");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->footer(
        "Example:  gaswright gas density gas.json --eos gerg2008 --temperature-c 10 --pressure-kpa "
        "6000");
    command->callback([args, &context] { context.finish(gas_density(*args), args->json); });
}

struct GasDewpointArgs {
    std::string composition, equation;
    std::optional<double> pressure_kpa, gas_c, outlet_kpa;
    bool envelope = false, normalise = false, json = false;
};

Result<Answer> gas_dewpoint(GasDewpointArgs const& args) {
    auto const equation = gas::cubic_equation(args.equation);
    if (!equation)
        return fail(
            Errc::bad_input,
            fmt::format("\"{}\" is no equation of this command.", args.equation.substr(0, 40)),
            "--eos",
            "take pr or srk");
    if (!args.pressure_kpa && !args.envelope)
        return fail(Errc::bad_input,
                    "Neither a pressure nor the envelope is asked for.",
                    "--pressure-kpa",
                    "give --pressure-kpa P or --envelope");
    desk::GasDewpointOptions options;
    options.equation = *equation;
    options.envelope = args.envelope;
    options.normalise = args.normalise;
    if (args.pressure_kpa) options.pressure = kilopascal(*args.pressure_kpa);
    if (args.gas_c) options.gas_temperature = celsius(*args.gas_c);
    if (args.outlet_kpa) options.outlet = kilopascal(*args.outlet_kpa);
    GW_TRY(auto const dewpoint, desk::gas_dewpoint(args.composition, options));
    return Answer{
        desk::gas_dewpoint_json(dewpoint), desk::gas_dewpoint_text(dewpoint), dewpoint.warnings};
}

void add_gas_dewpoint(CLI::App& gas, Context& context) {
    auto args = std::make_shared<GasDewpointArgs>();
    auto* command = gas.add_subcommand(
        "dewpoint", "Hydrocarbon dew points, cricondentherm, cricondenbar, critical point");
    command->add_option("COMP", args->composition, "Composition file, - for standard input")
        ->required();
    command->add_option("--eos", args->equation, "pr (Peng-Robinson 1978) or srk")->required();
    command->add_option("--pressure-kpa", args->pressure_kpa, "Pressure of the gas, kPa absolute");
    command->add_option("--gas-c",
                        args->gas_c,
                        "Temperature of the gas at that pressure, degC: its margin is told");
    command->add_option("--outlet-kpa",
                        args->outlet_kpa,
                        "Outlet of a regulator that takes the gas so, kPa absolute: its cooling");
    command->add_flag("--envelope", args->envelope, "List the points of the phase envelope");
    command->add_flag(
        "--normalise", args->normalise, "Scale the amounts to a total of one, and say so");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->footer(
        "Example:  gaswright gas dewpoint gas.json --eos pr --pressure-kpa 4000 --gas-c 20 "
        "--outlet-kpa 200");
    command->callback([args, &context] { context.finish(gas_dewpoint(*args), args->json); });
}

struct GasCompareArgs {
    std::string composition;
    bool normalise = false, json = false;
};

Result<Answer> gas_compare(GasCompareArgs const& args) {
    GW_TRY(auto const comparison, desk::gas_compare(args.composition, args.normalise));
    return Answer{desk::gas_comparison_json(comparison),
                  desk::gas_comparison_text(comparison),
                  comparison.warnings};
}

void add_gas_compare(CLI::App& gas, Context& context) {
    auto args = std::make_shared<GasCompareArgs>();
    auto* command =
        gas.add_subcommand("compare", "One gas under every standard and base side by side");
    command->add_option("COMP", args->composition, "Composition file, - for standard input")
        ->required();
    command->add_flag(
        "--normalise", args->normalise, "Scale the amounts to a total of one, and say so");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->footer("Example:  gaswright gas compare gas.json");
    command->callback([args, &context] { context.finish(gas_compare(*args), args->json); });
}

}  // namespace

void add_gas(CLI::App& program, Context& context) {
    auto* gas = program.add_subcommand("gas", "Properties of a gas of known composition");
    gas->require_subcommand(1);
    gas->footer("Example:  gaswright gas properties gas.json --json");
    add_gas_properties(*gas, context);
    add_gas_density(*gas, context);
    add_gas_dewpoint(*gas, context);
    add_gas_compare(*gas, context);
}

}  // namespace gw::app
