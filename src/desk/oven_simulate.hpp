#pragma once
/// The use-case behind `gaswright oven simulate`: a method and a gas in, a trace out.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "oven/oven.hpp"

namespace gw::desk {

/// A method file with its twin.
struct TwinMethod {
    assay::Method method;
    oven::Oven oven;
    std::string text;  ///< the file as read
};
Result<TwinMethod> load_twin(std::string const& path);
/// The same from their texts; `source` stands in messages.
Result<TwinMethod> twin_of(std::string text, std::string const& source);
Result<std::vector<double>> amounts_in(std::string const& text,
                                       std::string const& source,
                                       TwinMethod const& twin,
                                       std::vector<std::string>& warnings);
/// A gas file in the order of the twin's species, with what should be said about it.
Result<std::vector<double>> load_amounts(std::string const& path,
                                         TwinMethod const& twin,
                                         std::vector<std::string>& warnings);

struct OvenSimulateRequest {
    std::string method, gas, output;
    std::uint64_t seed = 1;
    double noise_mv = 0;
    std::vector<std::string> shifts;  ///< "ACTION=+0.5"
    std::vector<std::string> faults;  ///< "NAME=SEVERITY"
};

struct OvenSimulation {
    OvenSimulateRequest request;
    oven::Oven oven;  ///< as run, shifts and faults applied
    oven::Simulated run;
    std::size_t bytes{};
    std::vector<std::string> warnings;
};

/// "ACTION=+0.5" applied to the programme. Refuses an action that no event has, and a shift that
/// moves the event out of the cycle's length either way.
Result<> apply_shift(oven::Oven& oven, std::string const& text, std::string const& option);

Result<OvenSimulation> oven_simulate(OvenSimulateRequest const& request);
Json oven_simulation_json(OvenSimulation const& done);
std::string oven_simulation_text(OvenSimulation const& done);

}  // namespace gw::desk
