#pragma once
/// What a wrong calorific value has cost: energy and money between two moments, from the volumes
/// and the error as found.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

/// One stretch of metered gas; hourly as a rule.
struct MeteredGas {
    double from_s{}, to_s{};
    double volume_m3{};  ///< at the metering reference conditions
    double cv_mj_m3{};   ///< as indicated, same conditions
};

/// When the error began. half_period: half the time since the last good check, at most the cap
/// (a rule of many supply contracts; common practice, no source for the cap).
enum class OnsetRule { known, change_point, half_period };

struct Onset {
    OnsetRule rule = OnsetRule::known;
    double at_s{};                       ///< known, change_point
    std::optional<double> from_s, to_s;  ///< 95 % interval of a change point
    double last_good_s{};                ///< half_period
    std::optional<double> cap_s;         ///< half_period
};

enum class ErrorCourse { step, ramp };  ///< there at once, or grown evenly from nothing

struct ErrorCause {
    std::string name;
    Measured percent;  ///< its part of the error
};

struct MisstatementInputs {
    std::vector<MeteredGas> gas;  ///< rising in time, not overlapping
    Measured error_percent;       ///< of the calorific value as found: indicated less true
    std::vector<ErrorCause> causes;
    Onset onset;
    double found_s{};
    ErrorCourse course = ErrorCourse::step;
    double volume_u_percent = 0;  ///< of all volumes together, k = 1
    std::optional<double> price_per_mwh;
};

struct CauseCost {
    std::string name;
    Measured mwh;
    std::optional<Measured> money;
};

struct Misstatement {
    double from_s{}, to_s{};
    double indicated_mwh{};  ///< energy as billed in that time
    Measured mwh;            ///< indicated less true: above zero, the buyer paid too much
    double linear_mwh{};     ///< energy times error, as contracts often word it
    double u_of_error_mwh{}, u_of_onset_mwh{}, u_of_volume_mwh{};
    std::optional<Measured> money;
    std::vector<CauseCost> causes;  ///< with "not explained" last where the parts do not add up
    std::vector<std::string> warnings;
};

/// Indicated energy E with error e holds E e / (1 + e) too much. u: of the error; of the onset
/// (change point: its interval; half period: even over the whole time since the last good check);
/// of the volume. Fails when the onset lies after the finding, or when no gas was metered between.
Result<Misstatement> misstatement(MisstatementInputs const& inputs);

}  // namespace gw::bench
