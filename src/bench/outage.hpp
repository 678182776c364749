#pragma once
/// How long an analyser will be away, and what its substitute composition does to the energy of
/// each stream meanwhile.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

struct OutageStep {
    std::string name;
    Measured time;  ///< s
};
struct OutageStream {
    std::string name;
    Measured flow;         ///< m3/s at the metering conditions
    double fallback_cv{};  ///< J/m3, in force meanwhile
    Measured expected_cv;  ///< J/m3: what the gas will truly be; u: how it wanders from day to day
};
struct StreamError {
    std::string name;
    double energy{};        ///< J, as it will be billed
    Measured percent;       ///< fallback less expected, of the expected
    Measured energy_error;  ///< J, indicated less expected
    double largest{};       ///< J: |error| + 2 u
};
struct Outage {
    Measured time;  ///< s
    std::vector<StreamError> streams;
    Measured total_error;  ///< J; the streams' wanderings taken as independent
};
/// Error of a stream, of the volume V metered meanwhile: V (cv_fallback - cv_expected).

Result<Outage> outage(std::vector<OutageStep> const& steps,
                      std::vector<OutageStream> const& streams);

/// The billing value of daily values: their mean with amounts below `step` ignored (UK SI 1996/439
/// reg. 3(2): 0.1 MJ/m3), J/m3. Refuses an empty list and a step that is not above zero.
Result<double> billing_calorific_value(std::vector<double> const& daily, double step = 0.1e6);

}  // namespace gw::bench
