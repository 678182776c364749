#pragma once
/// The use-case behind `gaswright gas dewpoint`: where a gas begins to condense.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/phase_envelope.hpp"

namespace gw::desk {

struct GasDewpointOptions {
    gas::CubicEquation equation = gas::CubicEquation::peng_robinson;
    std::optional<Pressure> pressure;
    bool envelope = false;  ///< list the points of the line
    bool normalise = false;
};

struct GasDewpoint {
    GasDewpointOptions asked;
    std::vector<double> dew_temperatures;  ///< K, highest first; empty without a pressure
    std::optional<gas::PhasePoint> cricondentherm, cricondenbar, critical;
    std::vector<gas::PhaseEnvelope::Point> points;
    gas::EnvelopeEnd end{};
    std::string split;  ///< how C6+ was split; "" when there was none
    std::vector<std::string> warnings;
};
Result<GasDewpoint> gas_dewpoint(std::string const& path, GasDewpointOptions const& options);

Json gas_dewpoint_json(GasDewpoint const& dewpoint);
std::string gas_dewpoint_text(GasDewpoint const& dewpoint);

}  // namespace gw::desk
