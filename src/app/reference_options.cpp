#include "app/reference_options.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

namespace gw::app {

namespace {

template <class T>
Result<T> at_option(Result<T> result, char const* option) {
    if (result) return result;
    auto error = std::move(result).error();
    error.where = option;
    return pass_on(std::move(error));
}

}  // namespace

void add_reference_options(CLI::App& command, ReferenceArgs& args) {
    command.add_option("--standard", args.standard, "iso6976")->capture_default_str();
    command
        .add_option("--combustion-c", args.combustion_c, "0, 15, 15.55 (60 degF), 20 or 25 degC")
        ->capture_default_str();
    command.add_option("--metering-c", args.metering_c, "0, 15, 15.55 (60 degF) or 20 degC")
        ->capture_default_str();
    command.add_option("--pressure-kpa", args.pressure_kpa, "90 to 110 kPa absolute")
        ->capture_default_str();
}

Result<gas::Iso6976Options> reference_of(ReferenceArgs const& args) {
    if (args.standard != "iso6976")
        return fail(
            Errc::bad_input,
            fmt::format("\"{}\" is not offered; only iso6976 is yet.", args.standard.substr(0, 40)),
            "--standard",
            "take iso6976 or leave the option out");
    gas::Iso6976Options reference;
    GW_TRY(reference.combustion,
           at_option(gas::combustion_temperature(args.combustion_c), "--combustion-c"));
    GW_TRY(reference.metering,
           at_option(gas::metering_temperature(args.metering_c), "--metering-c"));
    reference.pressure = kilopascal(args.pressure_kpa);
    GW_CHECK(at_option(gas::require_metering_pressure(reference.pressure), "--pressure-kpa"));
    return reference;
}

}  // namespace gw::app
