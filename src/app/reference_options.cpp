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
    command.add_option("--standard", args.standard, "iso6976, or gpa2172 in US units at 60 degF")
        ->capture_default_str();
    command
        .add_option("--combustion-c", args.combustion_c, "0, 15, 15.55 (60 degF), 20 or 25 degC")
        ->capture_default_str();
    command.add_option("--metering-c", args.metering_c, "0, 15, 15.55 (60 degF) or 20 degC")
        ->capture_default_str();
    auto* kpa = command
                    .add_option("--pressure-kpa",
                                args.pressure_kpa,
                                "Reference pressure, kPa absolute: 90 to 110; gpa2172 80 to 120")
                    ->capture_default_str();
    command.add_option("--pressure-psia", args.pressure_psia, "The same in psia, such as 14.73")
        ->excludes(kpa);
    args.typed = [&command](char const* option) { return command.count(option) > 0; };
}

Result<gas::Reference> reference_of(ReferenceArgs const& args) {
    auto const pressure =
        args.pressure_psia ? gas::psia(*args.pressure_psia) : kilopascal(args.pressure_kpa);
    char const* const pressure_option = args.pressure_psia ? "--pressure-psia" : "--pressure-kpa";
    auto const combustion =
        at_option(gas::combustion_temperature(args.combustion_c), "--combustion-c");
    auto const metering = at_option(gas::metering_temperature(args.metering_c), "--metering-c");
    if (args.standard == "gpa2172") {
        auto const other = [&](char const* option, bool sixty) {
            return args.typed && args.typed(option) && !sixty;
        };
        bool const burnt_at_60 = combustion && *combustion == gas::CombustionTemperature::f60;
        bool const metered_at_60 = metering && *metering == gas::MeteringTemperature::f60;
        for (auto const& [option, sixty] :
             {std::pair("--combustion-c", burnt_at_60), std::pair("--metering-c", metered_at_60)})
            if (other(option, sixty))
                return fail(Errc::bad_input,
                            "GPA 2172 values gas at 60 degF only.",
                            option,
                            "take 15.55 or leave the option out");
        GW_CHECK(at_option(gas::require_base_pressure(pressure), pressure_option));
        return gas::Reference(gas::Gpa2172Options{pressure});
    }
    if (args.standard != "iso6976")
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no standard this program values by.",
                                args.standard.substr(0, 40)),
                    "--standard",
                    "take iso6976 or gpa2172");
    gas::Iso6976Options reference;
    GW_TRY(reference.combustion, combustion);
    GW_TRY(reference.metering, metering);
    reference.pressure = pressure;
    GW_CHECK(at_option(gas::require_metering_pressure(reference.pressure), pressure_option));
    return gas::Reference(reference);
}

}  // namespace gw::app
