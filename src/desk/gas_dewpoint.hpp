#pragma once
/// The use-case behind `gaswright gas dewpoint`: where a gas begins to condense.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/phase_envelope.hpp"
#include "gas/water_dew_point.hpp"

namespace gw::desk {

struct GasDewpointOptions {
    gas::CubicEquation equation = gas::CubicEquation::peng_robinson;
    std::optional<Pressure> pressure;
    bool envelope = false;  ///< list the points of the line
    bool normalise = false;
    std::optional<Temperature> gas_temperature;  ///< in the line or the cylinder, at `pressure`
    std::optional<Pressure> outlet;              ///< of a regulator that takes the gas so
    /// K above the highest dew point. Cylinders: 10 to 15 K, common practice, no source; sample
    /// lines: API MPMS 14.1 asks for 30 degF.
    double storage_margin = 15, line_margin = 30 / 1.8;
};

/// How far a gas stays from condensing at the pressure asked for and on every way down from it.
struct Margins {
    std::optional<gas::PhasePoint> highest;  ///< dew point at any pressure up to the one asked for
    std::optional<Temperature> lowest_storage;  ///< `highest` and storage_margin
    std::optional<double> line;                 ///< K: the gas above `highest`
    struct Regulator {
        Temperature outlet;              ///< equal enthalpy by GERG-2008, no heat from outside
        double cooling{};                ///< K; negative when the gas warms
        std::optional<double> smallest;  ///< K above the dew line on the way; none: no dew line met
        Pressure smallest_at;
    };
    std::optional<Regulator> regulator;
};

struct GasDewpoint {
    GasDewpointOptions asked;
    std::vector<double> dew_temperatures;  ///< K, highest first; empty without a pressure
    std::optional<gas::PhasePoint> cricondentherm, cricondenbar, critical;
    std::vector<gas::PhaseEnvelope::Point> points;
    gas::EnvelopeEnd end{};
    Margins margins;                          ///< with a pressure only
    std::optional<gas::WaterDewPoint> water;  ///< of a wet gas, with a pressure
    std::string split;                        ///< how C6+ was split; "" when there was none
    std::vector<std::string> warnings;
};
Result<GasDewpoint> gas_dewpoint(std::string const& path, GasDewpointOptions const& options);

Json gas_dewpoint_json(GasDewpoint const& dewpoint);
std::string gas_dewpoint_text(GasDewpoint const& dewpoint);

}  // namespace gw::desk
